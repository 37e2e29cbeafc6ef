from __future__ import annotations

import numpy as np
import pytest
from geographiclib.geodesic import Geodesic

from planner_kit.pitch.coverage import median_levels_dbm
from planner_kit.pitch.receivers import phone_receiver
from planner_kit.pitch.signal_path import great_circles
from planner_kit.pitch.signals import signal_table
from planner_kit.trip.household import Phone


class Hills:
    """Rolling ground with hills of 120 m, 5 km apart."""

    def heights_m(self, lon, lat):
        return 60 + 60 * np.sin(np.asarray(lon) * 80) * np.cos(np.asarray(lat) * 120)

    def profile(self, lon1, lat1, lon2, lat2, *, step_m=50.0):
        path = Geodesic.WGS84.InverseLine(lat1, lon1, lat2, lon2)
        distance = np.linspace(0, path.s13, int(np.ceil(path.s13 / step_m)) + 1)
        spots = [path.Position(float(s)) for s in distance]
        lon, lat = np.array([p["lon2"] for p in spots]), np.array([p["lat2"] for p in spots])

        class Line:
            distance_m = distance
            height_m = self.heights_m(lon, lat)

        return Line()


def test_many_places_at_once_agree_with_one_by_one(masts) -> None:
    ground, phone = Hills(), phone_receiver(Phone(owner="Ann", operator="Northwave"))
    lat, lon = np.array([54.0, 54.05, 53.93]), np.array([0.0, 0.02, -0.1])
    found = median_levels_dbm(lat, lon, 54.0, 0.1, 30, 62, 800, ground, step_m=50)
    for i in range(3):
        row = signal_table(lat[i], lon[i], (phone,), masts({}), ground).iloc[0]
        assert found[i] == pytest.approx(row["free_space_dbm"] - row["diffraction_db"], abs=0.5)


def test_shape_is_kept_and_unknown_ground_stays_unknown(half_known) -> None:
    lon, lat = np.meshgrid([0.0, 0.02, 0.06], [54.0, 54.01])
    level = median_levels_dbm(lat, lon, 54.0, 0.03, 30, 62, 800, half_known)
    assert level.shape == (2, 3)
    assert np.isfinite(level[:, :2]).all()
    assert np.isnan(level[:, 2]).all()


def test_cutting_into_parts_changes_nothing(monkeypatch, flat) -> None:
    lon, lat = np.meshgrid(np.linspace(0, 0.1, 9), np.linspace(54, 54.1, 7))
    whole = median_levels_dbm(lat, lon, 54.05, 0.3, 30, 62, 800, flat)
    monkeypatch.setattr("planner_kit.pitch.coverage._POINTS_AT_ONCE", 1000)
    assert np.allclose(whole, median_levels_dbm(lat, lon, 54.05, 0.3, 30, 62, 800, flat))


def test_great_circle_stays_near_the_geodesic() -> None:
    lon, lat = great_circles(np.array([0.0]), np.array([50.0]), 1.2, 50.4, 11)
    line = Geodesic.WGS84.InverseLine(50.0, 0.0, 50.4, 1.2)
    for i in range(11):
        other = line.Position(line.s13 * i / 10)
        gap = Geodesic.WGS84.Inverse(lat[0, i], lon[0, i], other["lat2"], other["lon2"])["s12"]
        assert gap < 30


def test_no_places_give_no_levels(flat) -> None:
    assert median_levels_dbm([], [], 54, 0, 30, 62, 800, flat).shape == (0,)
