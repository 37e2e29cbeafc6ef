from __future__ import annotations

import pandas as pd
import pytest

from planner_kit.outfit import ITEM_COLUMNS
from planner_kit.trip.household import Household

FULL = {
    "schema": 1,
    "name": "the Exhollows",
    "home": {"lat": 50.0, "lon": -3.0},
    "people": [
        {
            "name": "Ada",
            "born": "1985-02-03",
            "drives": True,
            "licence": "BE",
            "licence_country": "GB",
        },
        {"name": "Bo", "born": "2019-05-06"},
    ],
    "car": {
        "name": "estate",
        "fuel": "diesel",
        "kerb_kg": 1800,
        "gross_kg": 2400,
        "gross_train_kg": 4200,
        "towing_limit_braked_kg": 1900,
        "towing_limit_unbraked_kg": 750,
        "towball_limit_kg": 100,
        "roof_limit_kg": 75,
        "front_axle_limit_kg": 1200,
        "rear_axle_limit_kg": 1350,
        "rear_overhang_m": 1.0,
        "length_m": 4.8,
        "width_m": 1.86,
        "height_m": 1.5,
    },
    "caravan": {
        "name": "van",
        "mtplm_kg": 1500,
        "mass_in_running_order_kg": 1300,
        "braked": True,
        "noseweight_limit_kg": 90,
        "axle_limit_kg": 1500,
        "shipping_length_m": 7.3,
        "body_length_m": 6.0,
        "width_m": 2.3,
        "height_m": 2.6,
        "ball_to_axle_m": 4.4,
        "tyre": {"load_index": 103, "made": "1025"},
    },
    "loading": {"car_load_kg": 80, "caravan_load_kg": 100, "noseweight_measured_kg": 80},
}


def household(**changes: dict) -> Household:
    """The full household with some keys of its parts changed; None takes a key away."""
    data = {key: dict(value) if isinstance(value, dict) else value for key, value in FULL.items()}
    for part, keys in changes.items():
        data[part].update(keys)
        data[part] = {key: value for key, value in data[part].items() if value is not None}
    return Household.model_validate(data)


def items(*rows: tuple) -> pd.DataFrame:
    """A loading list of (item, mass_kg, quantity, place, x_m)."""
    table = pd.DataFrame(list(rows), columns=[column.name for column in ITEM_COLUMNS[:5]])
    return table.astype({"mass_kg": float, "quantity": "Int64", "x_m": float})


@pytest.fixture(scope="session")
def make_household():
    return household


@pytest.fixture(scope="session")
def make_items():
    return items
