from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from planner_kit.errors import PlanFileError
from planner_kit.pitch.masts import compass_point, masts_from, read_masts

HEADER = (
    "mast_id,name,lat,lon,height_m,service,operator,band_mhz,eirp_dbm,channel,polarisation,"
    "erp_w,notes,source\n"
)


def test_list_is_read_with_gaps_left_missing(tmp_path: Path) -> None:
    path = tmp_path / "masts.csv"
    path.write_text(
        HEADER
        + "m1,One,54,0.1,,mobile,Northwave,800,,,,,,made\n"
        + "t1,Two,54.2,0.1,150,tv,,,,30,horizontal,10000,,made\n"
    )
    masts = read_masts(path)
    assert len(masts) == 2
    assert np.isnan(masts["height_m"].iloc[0])
    seen = masts_from(masts, 54.0, 0.0)
    assert seen["frequency_mhz"].tolist() == [800.0, 546.0]
    assert np.isnan(seen["power_dbm"].iloc[0])
    assert seen["power_dbm"].iloc[1] == pytest.approx(72.15)


def test_wrong_service_names_row_and_column(tmp_path: Path) -> None:
    path = tmp_path / "masts.csv"
    path.write_text(HEADER + "m1,One,54,0.1,30,radio,Northwave,800,60,,,,,made\n")
    with pytest.raises(PlanFileError, match="row 2, column service"):
        read_masts(path)


def test_no_file_gives_empty_list_that_can_be_used() -> None:
    assert masts_from(read_masts(None), 54.0, 0.0).empty


def test_masts_come_nearest_first_and_input_is_unchanged(masts) -> None:
    given = masts({"mast_id": "far", "lon": 0.5}, {"mast_id": "near", "lon": 0.1})
    before = given.copy(deep=True)
    assert masts_from(given, 54.0, 0.0)["mast_id"].tolist() == ["near", "far"]
    assert given.equals(before)


@pytest.mark.parametrize(
    ("bearing", "word"), [(0, "north"), (359, "north"), (90, "east"), (213, "south-south-west")]
)
def test_compass_points(bearing: float, word: str) -> None:
    assert compass_point(bearing) == word


@pytest.mark.parametrize("band", ["0.8", "800000", "800000000"])
def test_frequency_in_another_unit_is_refused(tmp_path: Path, band: str) -> None:
    path = tmp_path / "masts.csv"
    path.write_text(HEADER + f"m1,One,54,0.1,30,mobile,Northwave,{band},60,,,,,made\n")
    with pytest.raises(PlanFileError, match=r"row 2, column band_mhz.*outside 30 to 100000"):
        read_masts(path)
