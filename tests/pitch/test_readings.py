from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from planner_kit.pitch.readings import signal_bias
from planner_kit.pitch.receivers import phone_receiver
from planner_kit.pitch.signals import signal_table
from planner_kit.trip.household import Phone


def readings(*rows: tuple[str, str, float, float]) -> pd.DataFrame:
    return pd.DataFrame(rows, columns=["operator", "site_id", "level_dbm", "forecast_dbm"])


def test_one_reading_moves_the_forecast_by_a_share_of_what_it_found() -> None:
    # By hand: deviations 4, 5 and 5 dB; at the same site (16 + 25) / (16 + 25 + 25) of 10 dB.
    here = signal_bias(readings(("Northwave", "a", -90.0, -100.0)), "northwave", "a")
    assert here.bias_db == pytest.approx(10 * 41 / 66)
    assert here.deviation_db == pytest.approx(np.sqrt(41 - 41**2 / 66))
    # Elsewhere only the operator's part is shared: 16 / 66.
    other = signal_bias(readings(("Northwave", "a", -90.0, -100.0)), "Northwave", "b")
    assert other.bias_db == pytest.approx(10 * 16 / 66)
    assert (here.here, other.here) == (1, 0)


def test_many_readings_at_one_site_do_not_stand_for_all_sites() -> None:
    many = readings(*[("Northwave", "a", -90.0, -100.0)] * 200)
    assert signal_bias(many, "Northwave", "b").bias_db == pytest.approx(10 * 16 / 41, abs=0.05)
    assert signal_bias(many, "Northwave", "a").bias_db == pytest.approx(10, abs=0.1)


def test_other_operators_and_unread_levels_do_not_count() -> None:
    table = readings(("Tidecall", "a", -90.0, -100.0), ("Northwave", "a", np.nan, -100.0))
    none = signal_bias(table, "Northwave", "a")
    assert (none.bias_db, none.count) == (0.0, 0)


def test_readings_reach_the_forecast_and_are_told(masts, flat) -> None:
    phone = phone_receiver(Phone(owner="Ann", operator="Northwave"))
    plain = signal_table(54.0, 0.0, (phone,), masts({}), flat).iloc[0]
    past = readings(("Northwave", "s", plain["level"] - 12, plain["level"]))
    moved = signal_table(54.0, 0.0, (phone,), masts({}), flat, readings=past, site_id="s").iloc[0]
    assert moved["level"] == pytest.approx(plain["level"] - 12 * 41 / 66)
    assert "your own readings" in moved["sentence"]
