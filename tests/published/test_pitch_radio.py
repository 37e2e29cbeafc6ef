"""Radio on the pitch against the ITU-R Recommendations and a second geodesic library."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from planner_kit.pitch.diffraction import (
    delta_bullington,
    knife_edge_loss_db,
    obstructed_smooth_heights_m,
    smooth_earth_heights_m,
)
from planner_kit.pitch.masts import masts_from, read_masts
from planner_kit.pitch.propagation import (
    channel_frequency_mhz,
    eirp_of_erp_dbm,
    field_strength_dbuv_m,
    free_space_loss_db,
    fresnel_radius_m,
)
from tests.conftest import open_data_files

P525 = "ITU-R P.525-5 (2024), point-to-point links: Lbf = 32.4 + 20 log f + 20 log d (MHz, km)"
P525_FIELD = "ITU-R P.525-2, point-to-area links, equation (1): e = sqrt(30 p) / d"
P526 = "ITU-R P.526-8 (2003), section 2, equation (3): R = 550 sqrt(n d1 d2 / ((d1 + d2) f))"
P1812 = "ITU-R P.1812-8, validation profiles and intermediate results of the Study Group 3 software"


@pytest.mark.published(source=P525)
@pytest.mark.parametrize("frequency_mhz", [470.0, 800.0, 2600.0])
@pytest.mark.parametrize("distance_km", [0.5, 6.0, 80.0])
def test_free_space_loss_is_that_of_the_recommendation(frequency_mhz, distance_km) -> None:
    printed = 32.4 + 20 * np.log10(frequency_mhz) + 20 * np.log10(distance_km)
    assert free_space_loss_db(distance_km, frequency_mhz) == pytest.approx(printed, abs=0.06)


@pytest.mark.published(source=P525_FIELD)
def test_field_of_one_kilowatt_at_ten_kilometres() -> None:
    field_uv_m = np.sqrt(30 * 1000.0) / 10_000 * 1e6
    loss = free_space_loss_db(10.0, 600.0)
    found = field_strength_dbuv_m(60.0, loss, 600.0)
    assert found == pytest.approx(20 * np.log10(field_uv_m), abs=0.02)


@pytest.mark.published(source=P526)
def test_fresnel_radius_is_that_of_the_practical_formula() -> None:
    printed = 550 * np.sqrt(3.0 * 5.0 / (8.0 * 800.0))
    assert fresnel_radius_m(3.0, 5.0, 800.0) == pytest.approx(printed, rel=0.005)


@pytest.mark.published(
    source="ITU-R P.526-15, section 4.1: single knife edge; an edge on the line of sight halves "
    "the field, which is 6 dB"
)
def test_edge_on_the_line_of_sight_halves_the_field() -> None:
    assert knife_edge_loss_db(0.0) == pytest.approx(20 * np.log10(2), abs=0.05)
    assert knife_edge_loss_db(-1.0) == 0.0


@pytest.mark.from_memory(
    settle="the channel plan of GE06 (8 MHz raster, channel 21 at 474 MHz) and the half-wave "
    "dipole's gain of 2.15 dBi in ITU-R BS.561"
)
def test_channel_plan_and_dipole_gain() -> None:
    assert channel_frequency_mhz([21, 60]).tolist() == [474.0, 786.0]
    assert np.isnan(channel_frequency_mhz(20))
    assert eirp_of_erp_dbm(1000.0) == pytest.approx(62.15)


@pytest.mark.published(source="GeographicLib for Python, Karney's geodesic: a second library")
@pytest.mark.parametrize(
    ("lat", "lon"), [(54.3, 0.4), (53.9, -0.35), (54.0, 0.0001), (55.2, 1.9), (-54.0, 170.0)]
)
def test_distance_and_bearing_agree_with_a_second_library(tmp_path, lat, lon) -> None:
    path = tmp_path / "masts.csv"
    path.write_text(f"mast_id,lat,lon,service\nm1,{lat},{lon},mobile\n")
    row = masts_from(read_masts(path), 54.0, 0.0).iloc[0]
    other = Geodesic.WGS84.Inverse(54.0, 0.0, lat, lon)
    assert row["distance_km"] * 1000 == pytest.approx(other["s12"], abs=0.001)
    assert row["bearing_deg"] == pytest.approx(other["azi1"] % 360, abs=1e-6)


LOGS = open_data_files("itu-r-p1812/validation_results/*_log.csv")


def read_log(path: Path) -> dict[str, list[float]]:
    """Every figure of a log by its name, in the order in which it stands there."""
    figures: dict[str, list[float]] = {}
    with path.open(encoding="utf-8-sig") as lines:
        for row in csv.reader(lines):
            if len(row) < 4:
                continue
            try:
                figures.setdefault(row[0].strip(), []).append(float(row[3]))
            except ValueError:
                continue
    return figures


def read_profile(path: Path) -> np.ndarray:
    with path.open(encoding="utf-8-sig") as lines:
        rows = list(csv.reader(lines))
    marks = [row[0] if row else "" for row in rows]
    first, last = marks.index("{Begin of Profile}") + 2, marks.index("{End of Profile}")
    return np.array([[float(cell) for cell in row[:4]] for row in rows[first:last]])


@pytest.mark.published(source=P1812)
@pytest.mark.parametrize("log", LOGS, ids=lambda path: path.stem)
def test_diffraction_of_the_validation_profiles(log: Path) -> None:
    figures = read_log(log)
    profile = read_profile(
        log.parents[1] / "validation_profiles" / re.sub(r"_\d+_log$", ".csv", log.stem)
    )
    d, bare, cover = profile[:, 0], profile[:, 1], profile[:, 3]
    covered = bare.copy()
    covered[1:-1] += cover[1:-1]
    start, end = bare[0] + figures["htg (m)"][0], bare[-1] + figures["hrg (m)"][0]
    frequency = figures["f (GHz)"][0]

    def loss(radius_km: float):
        return delta_bullington(
            d,
            covered,
            start,
            end,
            frequency,
            radius_km,
            polarisation="horizontal" if figures["pol"][0] == 1 else "vertical",
            bare_height_m=bare,
        )

    # The log's median loss is on the median effective earth; the parts are of its last run, on
    # the earth radius exceeded for beta0 of the time, 3 x 6371 km (equation (7b)).
    # It takes 0.3 m GHz for the speed of light; 0.0005 dB allows for that.
    median, rare = loss(figures["ae (km)"][0]), loss(3 * 6371.0)
    assert median.loss_db == pytest.approx(figures["Ld50 (dB)"][0], abs=5e-4)
    assert rare.terrain_db == pytest.approx(figures["Lbulla (dB)"][0], abs=5e-4)
    assert rare.smooth_db == pytest.approx(figures["Lbulls (dB)"][0], abs=5e-4)
    assert rare.spherical_db == pytest.approx(figures["Ldsph (dB)"][0], abs=5e-4)
    smooth = smooth_earth_heights_m(d, bare)
    assert smooth[0] == pytest.approx(figures["hst (m)"][0], abs=1e-3)
    assert smooth[1] == pytest.approx(figures["hsr (m)"][0], abs=1e-3)
    lowered = obstructed_smooth_heights_m(d, bare, start, end)
    assert lowered[0] == pytest.approx(figures["hstd (m)"][0], abs=1e-3)
    assert lowered[1] == pytest.approx(figures["hsrd (m)"][0], abs=1e-3)


@pytest.mark.published(source=P1812)
def test_there_are_validation_profiles() -> None:
    if not LOGS:
        pytest.skip("the open data of ITU-R P.1812 are not on this machine")
    assert len(LOGS) >= 3
