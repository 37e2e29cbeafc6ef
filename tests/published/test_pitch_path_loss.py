"""The whole loss over a path against the validation results of ITU-R P.1812."""

from __future__ import annotations

import csv
import re
from pathlib import Path

import numpy as np
import pytest

from planner_kit.pitch.path_loss import Climate, path_loss
from tests.conftest import open_data_files

P1812 = "ITU-R P.1812-8, validation profiles and intermediate results of the Study Group 3 software"


LOGS = open_data_files("itu-r-p1812/validation_results/*_log.csv")


def read_log(path: Path) -> dict[str, list[float]]:
    """Every figure of a log by its name and equation, in the order in which it stands there."""
    figures: dict[str, list[float]] = {}
    with path.open(encoding="utf-8-sig") as lines:
        for row in csv.reader(lines):
            if len(row) >= 4 and re.fullmatch(r"-?[\d.]+(e[+-]?\d+)?", row[3].strip()):
                figures.setdefault(row[0].strip(), []).append(float(row[3]))
    return figures


def read_profile(path: Path) -> np.ndarray:
    with path.open(encoding="utf-8-sig") as lines:
        rows = list(csv.reader(lines))
    marks = [row[0] if row else "" for row in rows]
    first, last = marks.index("{Begin of Profile}") + 2, marks.index("{End of Profile}")
    return np.array([[float(cell) for cell in row[:5]] for row in rows[first:last]])


@pytest.mark.published(source=P1812)
@pytest.mark.parametrize("log", LOGS, ids=lambda path: path.stem)
def test_every_intermediate_value_of_the_validation_results(log: Path) -> None:
    figures = read_log(log)
    profile = read_profile(
        log.parents[1] / "validation_profiles" / re.sub(r"_\d+_log$", ".csv", log.stem)
    )
    found = path_loss(
        profile[:, 0],
        profile[:, 1],
        figures["htg (m)"][0],
        figures["hrg (m)"][0],
        figures["f (GHz)"][0],
        Climate(figures["DN"][0], figures["N0"][0], figures["phi (deg)"][0]),
        cover_m=profile[:, 3],
        zone=profile[:, 4],
        time_pct=figures["p (%)"][0],
        polarisation="horizontal" if figures["pol"][0] == 1 else "vertical",
        from_coast_km=figures["dct (km)"][0],
        to_coast_km=figures["dcr (km)"][0],
    )
    horizon = found.horizon
    # Losses in dB to 0.01; lengths, heights and angles to a thousandth of their unit.
    losses = {
        "Lbfs": found.free_space_db,
        "Lb0p": found.line_of_sight_db,
        "Lb0b": found.line_of_sight_beta_db,
        # The log's parts of the diffraction are those of its last run, at 3 x 6371 km.
        "Lbulla (dB)": found.rare.terrain_db,
        "Lbulls (dB)": found.rare.smooth_db,
        "Ldsph (dB)": found.rare.spherical_db,
        "Ld50 (dB)": found.diffraction_median_db,
        "Ldb (dB)": found.diffraction_beta_db,
        "Ldp (dB)": found.diffraction_db,
        "Lbd50 (dB)": found.with_median_diffraction_db,
        "Lbd (dB)": found.with_diffraction_db,
        "Lminb0p (dB)": found.least_sight_db,
        "Lba (dB)": found.ducting_db,
        "Lminbap (dB)": found.least_ducting_db,
        "Lbda (dB)": found.with_ducting_db,
        "Lbam (dB)": found.modified_db,
        "Lbs (dB)": found.scatter_db,
        "Lbc (dB)": found.combined_db,
        "Lb (dB)": found.loss_db,
        "Ep (dBuV/m)": 199.36 + 20 * np.log10(figures["f (GHz)"][0]) - found.loss_db,
    }
    others = {
        "dlt (km)": horizon.from_km,
        "dlr (km)": horizon.to_km,
        "th_t (mrad)": horizon.from_mrad,
        "th_r (mrad)": horizon.to_mrad,
        "th (mrad)": horizon.path_mrad,
        "w": found.sea_frac,
        "dtm (km)": found.longest_land_km,
        "dlm (km)": found.longest_inland_km,
        "b0 (%)": found.beta0_pct,
        "ae (km)": found.earth_radius_km,
        "hte (m)": horizon.from_effective_m,
        "hre (m)": horizon.to_effective_m,
        "hm (m)": horizon.roughness_m,
        "Fi": found.time_factor,
        "Fj": found.angle_factor,
        "Fk": found.distance_factor,
    }
    wrong = [
        f"{name}: {float(value):.6g}, not {figures[name][0]:.6g}"
        for names, within in ((losses, 0.01), (others, 0.001))
        for name, value in names.items()
        if not abs(float(value) - figures[name][0]) <= within
    ]
    assert not wrong


@pytest.mark.published(source=P1812)
def test_many_paths_at_once_give_what_each_gives_alone() -> None:
    if not LOGS:
        pytest.skip("the open data of ITU-R P.1812 are not on this machine")
    profile = read_profile(open_data_files("itu-r-p1812/validation_profiles/*_10km*.csv")[0])
    climate = Climate(45.0, 326.0, 53.2)
    heights = np.stack([profile[:, 1], profile[::-1, 1] + 5.0])
    frequency = np.array([0.6, 1.8])
    together = path_loss(profile[:, 0], heights, 40.0, 3.0, frequency, climate)
    for row in range(2):
        alone = path_loss(profile[:, 0], heights[row], 40.0, 3.0, frequency[row], climate)
        assert together.loss_db[row] == pytest.approx(float(alone.loss_db), abs=1e-9)
