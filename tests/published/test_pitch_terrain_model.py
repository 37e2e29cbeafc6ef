"""Losses over random and real ground against the Longley-Rice model, written by others."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner_kit.pitch.diffraction import knife_edge_loss_db
from planner_kit.pitch.path_loss import path_loss
from planner_kit.pitch.signal_path import climate

ITMLOGIC = (
    "itmlogic 1.2 (E. Oughton and others), the irregular terrain model of Hufford, Longley and "
    "Kissick, NTIA report 82-100 (1982), point to point: another model in another library"
)
WHY = "itmlogic is not installed (it is in the dev extra)"


def longley_rice_db(
    height_m: np.ndarray, step_m: float, above_m: tuple[float, float], frequency_mhz: float
) -> float:
    """Free space and the reference attenuation over a profile, average ground, temperate air."""
    qlrpfl = pytest.importorskip("itmlogic.preparatory_subroutines.qlrpfl", reason=WHY).qlrpfl
    wave_number = frequency_mhz / 47.7
    ground = np.sqrt(complex(15, 376.62 * 0.005 / wave_number) - 1)
    refractivity = 320.0
    found = qlrpfl(
        {
            "eps": 15, "sgm": 0.005, "klim": 5, "klimx": 0, "lvar": 5, "mdvar": 11, "mdvarx": 11,
            "kwx": 0, "wn": wave_number, "ens": refractivity, "gma": 157e-9, "zgnd": ground,
            "gme": 157e-9 * (1 - 0.04665 * math.exp(refractivity / 179.3)), "hg": list(above_m),
            "pfl": [len(height_m) - 1, step_m, *map(float, height_m)],
        }
    )  # fmt: skip
    away_km = (len(height_m) - 1) * step_m / 1000
    free = 32.45 + 20 * math.log10(frequency_mhz) + 20 * math.log10(away_km)
    return free + float(found["aref"])


def compared_db(profiles: list[tuple[np.ndarray, float]], seed: int) -> np.ndarray:
    """Our loss and the other model's over some profiles, with masts and frequencies at random."""
    rng = np.random.default_rng(seed)
    found = []
    for height, step_m in profiles:
        above = float(rng.uniform(15, 60)), float(rng.uniform(1.5, 6))
        frequency = float(rng.uniform(450, 2600))
        along = np.arange(len(height)) * step_m / 1000
        ours = path_loss(along, height, *above, frequency / 1000, climate(50.0))
        other = longley_rice_db(height, step_m, above, frequency)
        found.append((float(ours.loss_db), other))
    return np.array(found)


@pytest.mark.published(source=f"{ITMLOGIC}; its knife-edge function, after Fresnel's integral")
@pytest.mark.parametrize("nu", [0.0, 0.5, 1.0, 2.0, 4.0])
def test_knife_edge_is_that_of_the_other_library(nu: float) -> None:
    edge = pytest.importorskip("itmlogic.diffraction_attenuation.aknfe", reason=WHY)
    assert knife_edge_loss_db(nu) == pytest.approx(edge.aknfe(nu**2), abs=0.15)


@pytest.mark.published(source=ITMLOGIC)
def test_random_ground_loses_as_much_as_in_the_other_model() -> None:
    rng = np.random.default_rng(0)
    profiles = []
    for _ in range(60):
        height = 60 + np.cumsum(rng.normal(0, 4, int(rng.integers(80, 400))))
        profiles.append((height - min(height.min(), 0), 100.0))
    found = compared_db(profiles, 1)
    apart = found[:, 0] - found[:, 1]
    # The other model adds up edges and counts two rays where there is a line of sight; planners
    # take such models to differ by 6 to 10 dB of standard deviation.
    assert apart.std() < 10
    assert abs(np.median(apart)) < 12
    assert np.corrcoef(found.T)[0, 1] > 0.9


@pytest.mark.published(source=ITMLOGIC)
def test_real_ground_orders_places_as_the_other_model(real_profiles) -> None:
    # Over mountains the other model adds up edges and its authors warn of it, so that only the
    # order of the places is compared: what is heard worse in one is heard worse in the other.
    found = compared_db(real_profiles, 3)
    assert np.corrcoef(found.T)[0, 1] > 0.9
