"""Hand-made ground, masts and households for the tests of the pitch."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
import pytest
from pyproj import Geod

from planner_kit.pitch.masts import MAST_COLUMNS
from planner_kit.trip.household import Household
from planner_kit.trip.reading import TripInputs
from planner_kit.trip.trip import Trip

if TYPE_CHECKING:
    from collections.abc import Callable

_WGS84 = Geod(ellps="WGS84")


@dataclass(frozen=True)
class Line:
    distance_m: np.ndarray
    height_m: np.ndarray


@dataclass(frozen=True)
class MadeGround:
    """Ground whose height is a function of (lon, lat)."""

    height_of: Callable[[np.ndarray, np.ndarray], np.ndarray]

    def heights_m(self, lon, lat) -> np.ndarray:
        return self.height_of(np.asarray(lon, dtype=float), np.asarray(lat, dtype=float))

    def profile(self, lon1, lat1, lon2, lat2, *, step_m: float = 50.0) -> Line:
        azimuth, _, total = _WGS84.inv(lon1, lat1, lon2, lat2)
        distance = np.linspace(0.0, total, max(int(np.ceil(total / step_m)), 1) + 1)
        n = len(distance)
        lon, lat, _ = _WGS84.fwd(np.full(n, lon1), np.full(n, lat1), np.full(n, azimuth), distance)
        return Line(distance, self.heights_m(np.asarray(lon), np.asarray(lat)))


@pytest.fixture
def flat() -> MadeGround:
    return MadeGround(lambda lon, lat: np.full(np.shape(lon), 50.0))


@pytest.fixture
def ridge() -> MadeGround:
    """Level ground with a ridge of 400 m across 0.05 degrees east."""
    return MadeGround(lambda lon, lat: np.where(np.abs(lon - 0.05) < 0.005, 400.0, 50.0))


@pytest.fixture
def half_known() -> MadeGround:
    """Level ground that is not known east of 0.05 degrees."""
    return MadeGround(lambda lon, lat: np.where(lon > 0.05, np.nan, 50.0))


def mast_row(**given) -> dict:
    row = {
        "mast_id": "m1", "name": "Made Mast", "lat": 54.0, "lon": 0.1, "height_m": 30.0,
        "service": "mobile", "operator": "Northwave", "band_mhz": 800.0, "eirp_dbm": 62.0,
        "channel": pd.NA, "polarisation": "vertical", "erp_w": np.nan, "notes": "", "source": "",
    }  # fmt: skip
    return {**row, **given}


@pytest.fixture
def masts() -> Callable[..., pd.DataFrame]:
    def made(*rows: dict) -> pd.DataFrame:
        frame = pd.DataFrame(
            [mast_row(**row) for row in rows], columns=[c.name for c in MAST_COLUMNS]
        )
        return frame.astype({"channel": "Int64"})

    return made


HOUSEHOLD = {
    "schema": 1,
    "name": "Made household",
    "home": {"lat": 54.0, "lon": 0.0},
    "people": [{"name": "Ann"}, {"name": "Ben"}],
    "car": {"name": "car", "fuel": "diesel"},
    "caravan": {
        "name": "caravan",
        "fresh_water_l": 40,
        "cassette_l": 18,
        "gas_cylinders": 2,
        "gas_cylinder_kg": 6,
        "gas_kind": "propane",
        "hookup_lead_m": 25,
        "hookup_lead_mm2": 2.5,
        "tv_aerial": "directional",
    },
    "phones": [{"owner": "Ann", "operator": "Northwave"}],
    "appliances": [
        {"name": "kettle", "watts": 750, "hours_per_day": 0.5},
        {"name": "heater", "watts": 1000, "hours_per_day": 2},
        {"name": "lights", "watts": 20, "hours_per_day": 5, "volts": 12},
    ],
}


@pytest.fixture
def inputs() -> Callable[..., TripInputs]:
    def made(caravan: dict | None = None, **household) -> TripInputs:
        tables = {**HOUSEHOLD, **household}
        if caravan is not None:
            tables["caravan"] = {**HOUSEHOLD["caravan"], **caravan}
        trip = Trip.model_validate(
            {
                "schema": 1,
                "id": "made",
                "name": "Made trip",
                "start": dt.date(2027, 7, 24),
                "files": {"region": "region"},
                "stays": [{"site": "made-site", "nights": 5}],
            }
        )
        return TripInputs(
            trip, Household.model_validate(tables), Path("trip.toml"), Path("household.toml")
        )

    return made


@pytest.fixture
def site() -> Callable[..., pd.Series]:
    def made(**given) -> pd.Series:
        cells = {
            "name": "Made Site", "lat": 54.0, "lon": 0.0, "hookup_a": 10.0, "hookup_v": 230.0,
            "hookup_price": 0.0, "toilet_fluid": "any", "water_point": "tap by the gate",
            "quiet_from": "22:00", "quiet_until": "08:00", "source": "made",
        }  # fmt: skip
        return pd.Series({**cells, **given}, name="made-site", dtype=object)

    return made
