"""Diffraction over random ground against a second radio library, where it is installed."""

from __future__ import annotations

import warnings

import numpy as np
import pytest

from planner_kit.pitch.diffraction import delta_bullington


@pytest.mark.published(
    source="pycraf 2.1 (B. Winkel and A. Jessner), loss_diffraction of ITU-R P.452-16 section 4.2: "
    "the same delta-Bullington construction, written by others"
)
@pytest.mark.parametrize("seed", range(8))
def test_diffraction_agrees_over_random_ground(seed: int) -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        pathprof = pytest.importorskip(
            "pycraf.pathprof", reason="pycraf is not installed (pip install --no-deps pycraf)"
        )
        units = pytest.importorskip("astropy.units", reason="astropy is not installed")
    rng = np.random.default_rng(seed)
    n, step_m = 240, 100.0
    height = 60 + np.cumsum(rng.normal(0, 4.0, n))
    height -= min(height.min(), 0)
    distance = np.arange(n) * step_m
    frequency_ghz = float(rng.uniform(0.5, 2.6))
    above = (float(rng.uniform(15, 60)), float(rng.uniform(1.5, 6)))
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        path = pathprof.PathProp(
            frequency_ghz * units.GHz, 285 * units.K, 1013 * units.hPa,
            0 * units.deg, 53 * units.deg, 0 * units.deg, 53.2 * units.deg,
            above[0] * units.m, above[1] * units.m, 100 * units.m, 50 * units.percent,
            delta_N=40 * units.dimensionless_unscaled / units.km,
            N0=325 * units.dimensionless_unscaled,
            hprof_dists=distance / 1000 * units.km, hprof_heights=height * units.m,
            hprof_bearing=0 * units.deg, hprof_backbearing=180 * units.deg, polarization=0,
        )  # fmt: skip
        other = pathprof.loss_diffraction(path)[0]
    ours = delta_bullington(
        distance / 1000, height, height[0] + above[0], height[-1] + above[1], frequency_ghz,
        path.a_e_50.to_value(units.km), polarisation="horizontal",
    )  # fmt: skip
    assert float(ours.loss_db) == pytest.approx(float(other.value), abs=0.1)
