"""An invented household, trip and site list that each test varies."""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path
from types import ModuleType
from typing import Any

import numpy as np
import pandas as pd
import pytest

from planner_kit.sites.site_list import SITE_COLUMNS
from planner_kit.trip.household import Household
from planner_kit.trip.reading import TripInputs
from planner_kit.trip.trip import Trip

SITE = {
    "site_id": "gull-field", "name": "Gull Field", "lat": "50.1", "lon": "-3.1",
    "open_from": "03-15", "open_to": "11-05", "arrive_from": "13:00", "arrive_until": "20:00",
    "depart_by": "12:00", "pitch_length_m": "12", "pitch_width_m": "10",
    "max_outfit_length_m": "13", "hookup_a": "10", "hookup_v": "230", "hookup_price": "4.50",
    "price_low": "20", "price_mid": "25.50", "price_high": "33.33", "adult_price": "8",
    "child_price": "4", "dog_price": "2", "awning_price": "3", "currency": "GBP",
    "club": "van-friends", "member_discount_pct": "10", "members_only": "no", "min_nights": "2",
    "dogs": "yes", "water_point": "shared tap", "wifi": "yes", "playground": "no",
    "rating": "4.4", "rating_count": "120", "rating_scale": "5", "phone": "00",
    "source": "invented", "as_of": "2026-11-01",
}  # fmt: skip
HOUSEHOLD = {
    "schema": 1,
    "name": "The Invented Household",
    "home": {"lat": 50.0, "lon": -3.0},
    "people": [
        {"name": "Ada", "born": dt.date(1985, 2, 1), "drives": True},
        {"name": "Ben", "born": dt.date(1984, 6, 1)},
        {"name": "Cleo", "born": dt.date(2016, 6, 1)},
    ],
    "dogs": [{"name": "Rex"}],
    "memberships": [{"id": "van-friends", "name": "Van Friends", "kind": "sites"}],
    "car": {"name": "car", "fuel": "diesel", "length_m": 4.7, "width_m": 1.9},
    "caravan": {
        "name": "caravan", "shipping_length_m": 7.1, "width_m": 2.3, "awning_depth_m": 2.5,
    },
}  # fmt: skip
TRIP = {
    "schema": 1,
    "id": "summer",
    "name": "Summer",
    "start": dt.date(2027, 7, 10),
    "files": {"region": "region"},
    "stays": [{"site": "gull-field", "nights": 7}],
}


def write_sites(path: Path, *rows: dict[str, Any]) -> Path:
    """A site list of `SITE`, each row changed as told; None leaves a cell empty."""
    frame = pd.DataFrame([{**SITE, **row} for row in rows or ({},)])
    columns = [c.name for c in SITE_COLUMNS if c.name in frame]
    frame[columns].fillna("").to_csv(path, index=False)
    return path


def write_seasons(path: Path, *rows: str) -> Path:
    path.write_text("site_id,season,start,end\n" + "\n".join(rows) + "\n", encoding="utf-8")
    return path


def household_with(**changes: Any) -> Household:
    return Household.model_validate({**HOUSEHOLD, **changes})


def trip_with(**changes: Any) -> Trip:
    return Trip.model_validate({**TRIP, **changes})


def inputs_with(household: dict[str, Any] | None = None, **trip: Any) -> TripInputs:
    return TripInputs(
        trip_with(**trip), household_with(**(household or {})), Path("trip.toml"),
        Path("household.toml"),
    )  # fmt: skip


def site_frame(**changes: Any) -> pd.DataFrame:
    """One site as `read_sites` gives it, without a file."""
    kinds = {column.name: column.kind for column in SITE_COLUMNS}
    cells: dict[str, Any] = {}
    for name, kind in kinds.items():
        raw = changes.get(name, SITE.get(name))
        if kind in ("number", "whole"):
            cells[name] = np.nan if raw is None else float(raw)
        elif kind == "yes_no":
            cells[name] = pd.NA if raw is None else raw in ("yes", True)
        elif kind == "date":
            cells[name] = pd.NaT if raw is None else pd.Timestamp(raw)
        else:
            cells[name] = "" if raw is None else raw
    return pd.DataFrame([cells]).set_index("site_id")


def season_frame(*rows: tuple[str, str, str], site: str = "gull-field") -> pd.DataFrame:
    frame = pd.DataFrame(
        [
            {"site_id": site, "season": s, "start": pd.Timestamp(a), "end": pd.Timestamp(b)}
            for s, a, b in rows
        ],
        columns=["site_id", "season", "start", "end"],
    )
    frame["row"] = range(2, 2 + len(frame))
    return frame


YEAR = (
    ("low", "2027-01-01", "2027-05-31"),
    ("mid", "2027-06-01", "2027-07-13"),
    ("high", "2027-07-14", "2027-08-31"),
    ("low", "2027-09-01", "2027-12-31"),
)


@pytest.fixture(scope="session")
def kit() -> ModuleType:
    """The builders above, since a test folder is no package."""
    return sys.modules[__name__]
