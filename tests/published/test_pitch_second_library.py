"""Diffraction over random and real ground against a second radio library, where it is installed."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from planner_kit.pitch.diffraction import delta_bullington

PYCRAF = (
    "pycraf 2.1 (B. Winkel and A. Jessner), loss_diffraction of ITU-R P.452-16 section 4.2: the "
    "same delta-Bullington construction, written by others"
)


def both_db(
    distance_km: np.ndarray, height_m: np.ndarray, above_m: tuple[float, float], f_ghz: float
) -> tuple[float, float]:
    """Our diffraction loss and the other library's over a profile."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        pathprof = pytest.importorskip(
            "pycraf.pathprof", reason="pycraf is not installed (pip install --no-deps pycraf)"
        )
        units = pytest.importorskip("astropy.units", reason="astropy is not installed")
        path = pathprof.PathProp(
            f_ghz * units.GHz, 285 * units.K, 1013 * units.hPa,
            0 * units.deg, 53 * units.deg, 0 * units.deg, 53.2 * units.deg,
            above_m[0] * units.m, above_m[1] * units.m, 100 * units.m, 50 * units.percent,
            delta_N=40 * units.dimensionless_unscaled / units.km,
            N0=325 * units.dimensionless_unscaled,
            hprof_dists=distance_km * units.km, hprof_heights=height_m * units.m,
            hprof_bearing=0 * units.deg, hprof_backbearing=180 * units.deg, polarization=0,
        )  # fmt: skip
        other = pathprof.loss_diffraction(path)[0]
        radius_km = path.a_e_50.to_value(units.km)
    start, end = height_m[0] + above_m[0], height_m[-1] + above_m[1]
    ours = delta_bullington(
        distance_km, height_m, start, end, f_ghz, radius_km, polarisation="horizontal"
    )
    return float(ours.loss_db), float(other.value)


@pytest.mark.published(source=PYCRAF)
@pytest.mark.parametrize("seed", range(8))
def test_diffraction_agrees_over_random_ground(seed: int) -> None:
    rng = np.random.default_rng(seed)
    height = 60 + np.cumsum(rng.normal(0, 4.0, 240))
    height -= min(height.min(), 0)
    frequency_ghz = float(rng.uniform(0.5, 2.6))
    above = (float(rng.uniform(15, 60)), float(rng.uniform(1.5, 6)))
    ours, other = both_db(np.arange(240) * 0.1, height, above, frequency_ghz)
    assert ours == pytest.approx(other, abs=0.1)


@pytest.mark.published(source=PYCRAF)
def test_diffraction_agrees_over_real_ground(real_profiles) -> None:
    rng = np.random.default_rng(5)
    for height, step_m in real_profiles[:30]:
        frequency_ghz = float(rng.uniform(0.5, 2.6))
        above = (float(rng.uniform(15, 60)), float(rng.uniform(1.5, 6)))
        along = np.arange(len(height)) * step_m / 1000
        ours, other = both_db(along, height, above, frequency_ghz)
        assert ours == pytest.approx(other, abs=0.1)
