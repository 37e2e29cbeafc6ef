"""A hand-made household, region and list; every name in them is invented."""

from __future__ import annotations

import datetime as dt
import json
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pandas as pd
import pytest

from planner_kit.trip import Household, Trip, TripInputs

PITCH = (49.5, -14.5)


def make_household(**changes: Any) -> Household:
    tables: dict[str, Any] = {
        "schema": 1,
        "name": "The Wrens",
        "home": {"lat": 49.3, "lon": -14.8},
        "people": [
            {"name": "Ida", "born": dt.date(1985, 3, 1), "likes": ["castles"]},
            {"name": "Tam", "born": dt.date(1984, 6, 1), "likes": ["steam railways"]},
            {
                "name": "Bea",
                "born": dt.date(2018, 8, 1),
                "likes": ["beaches"],
                "dislikes": ["museums"],
            },
            {"name": "Jo", "born": dt.date(2021, 5, 1)},
        ],
        "memberships": [
            {
                "id": "heritage",
                "name": "Island Heritage",
                "kind": "attractions",
                "opens_free": True,
                "covers": "family",
                "fee_per_year": 60,
            }
        ],
        "car": {"name": "estate", "fuel": "diesel", "solo_l_per_100km": 6.0},
        "caravan": {"name": "van"},
    }
    return Household.model_validate({**tables, **changes})


def make_inputs(
    outings: dict[str, Any] | None = None, nights: int = 5, **changes: Any
) -> TripInputs:
    trip = Trip.model_validate(
        {
            "schema": 1,
            "id": "summer",
            "name": "Summer",
            "start": dt.date(2027, 7, 24),
            "files": {"region": "region"},
            "stays": [{"site": "dunes", "nights": nights}],
            "outings": outings or {},
        }
    )
    return TripInputs(trip, make_household(**changes), Path("trip.toml"), Path("household.toml"))


def place(
    key: str, kind: str, name: str, lat: float, lon: float, hours: str = "", **tags: str
) -> dict[str, Any]:
    return {
        "place_id": key,
        "kind": kind,
        "name": name,
        "lat": lat,
        "lon": lon,
        "opening_hours": hours,
        "tags": json.dumps(tags),
    }


@pytest.fixture
def region() -> SimpleNamespace:
    rows = [
        place("w1", "castle", "Gull Castle", 49.52, -14.52, "Mo-Su 10:00-17:00"),
        place("n2", "museum", "The Museum of Nets", 49.51, -14.45, "We-Su 10:00-16:00", fee="no"),
        place("n3", "beach", "Long Strand", 49.55, -14.6, dog="yes"),
        place("n4", "viewpoint", "", 49.5, -14.51),
        place("n5", "fuel", "Quay Fuel", 49.5, -14.5),
        place("n6", "castle", "Far Castle", 48.0, -14.5, "24/7"),
    ]
    return SimpleNamespace(places=pd.DataFrame(rows), country="GB", time_zone="Europe/London")


@pytest.fixture
def list_path(tmp_path: Path) -> Path:
    path = tmp_path / "attractions.csv"
    path.write_text(
        "attraction_id,name,lat,lon,kind,osm_ref,adult_price,child_price,family_price,currency,"
        "parking_price,free_with,rating,rating_count,rating_scale,indoor,min_age,max_age,"
        "time_needed_min,opening_hours,dogs,notes,source,as_of\n"
        "gull,Gull Castle,,,,w1,12,6,30,GBP,4,heritage,4.6,800,,,,,150,,,,leaflet,2027-05-01\n"
        "nets,Museum of Nets,49.5102,-14.4503,museum,,,,,,,,9,12,10,yes,,,,,,,,\n"
        "steam,Cliff Steam Railway,49.47,-14.55,attraction,,15,8,40,GBP,,,4.8,90,5,part,3,,180,"
        "Sa-Th 10:30-16:30,,steam railway along the cliffs,leaflet,2027-05-01\n"
        "swim,Tide Baths,49.49,-14.48,swimming_pool,,7,5,20,GBP,0,,,,,yes,,,,"
        "Mo-Su 09:00-20:00,,,,\n",
        encoding="utf-8",
    )
    return path
