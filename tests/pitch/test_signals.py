from __future__ import annotations

import numpy as np
import pandas as pd
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from planner_kit.pitch.receivers import phone_receiver, receivers_of, television_receiver
from planner_kit.pitch.signal_checks import signal_checks
from planner_kit.pitch.signals import signal_table, spread_db
from planner_kit.states import State
from planner_kit.trip.household import Caravan, Phone

PHONE = phone_receiver(Phone(owner="Ann", operator="Northwave"))


def table(masts_frame, ground, receivers=(PHONE,)) -> pd.DataFrame:
    return signal_table(54.0, 0.0, receivers, masts_frame, ground)


def test_near_mast_in_sight_with_known_power_is_fine(masts, flat) -> None:
    row = table(masts({}), flat).iloc[0]
    assert row["state"] == "fine"
    assert row["line_of_sight"] == "yes"
    assert row["distance_km"] == pytest.approx(6.56, abs=0.02)
    assert row["bearing_deg"] == pytest.approx(90, abs=0.1)
    # 62 dBm - (32.4 + 20 log 800 + 20 log 6.56) = -44.8 dBm before anything is in the way.
    assert row["free_space_dbm"] == pytest.approx(-44.8, abs=0.1)
    assert "in sight" in row["sentence"]
    assert "trees" in row["sentence"]


def test_mast_behind_a_ridge_wants_a_look(masts, ridge) -> None:
    row = table(masts({}), ridge).iloc[0]
    assert row["state"] == "look at this"
    assert row["line_of_sight"] == "no"
    assert row["diffraction_db"] > 20
    assert "the ground hides it" in row["sentence"]


@pytest.mark.parametrize(
    ("gap", "words"),
    [
        ({"height_m": np.nan}, "the mast's height"),
        ({"eirp_dbm": np.nan}, "its power"),
        ({"band_mhz": np.nan}, "its frequency"),
    ],
)
def test_missing_figure_is_unknown_and_named(masts, flat, gap, words) -> None:
    row = table(masts(gap), flat).iloc[0]
    assert row["state"] == "unknown"
    assert words in row["sentence"]


def test_without_terrain_everything_is_unknown(masts) -> None:
    row = table(masts({}), None).iloc[0]
    assert row["state"] == "unknown"
    assert "terrain" in row["sentence"]


def test_ground_known_only_in_part_is_unknown(masts, half_known) -> None:
    assert table(masts({}), half_known).iloc[0]["state"] == "unknown"


def test_weak_mast_in_sight_is_not_called_fine(masts, flat) -> None:
    rows = table(masts({"eirp_dbm": 40.0}, {"mast_id": "m2", "eirp_dbm": 10.0}), flat)
    assert set(rows["line_of_sight"]) == {"yes"}
    assert rows["state"].tolist() == ["look at this", "not fine"]


def test_only_the_phones_operator_counts_whatever_the_case(masts, flat) -> None:
    found = table(masts({"operator": "NORTHWAVE"}, {"mast_id": "m2", "operator": "Tidecall"}), flat)
    assert found["mast_id"].tolist() == ["m1"]


def test_operator_without_mast_is_unknown(masts, flat) -> None:
    found = table(masts({"operator": "Tidecall"}), flat)
    (check,) = signal_checks(found, (PHONE,))
    assert check.state is State.UNKNOWN
    assert "may have gaps" in check.sentence


def test_check_follows_the_best_mast(masts, flat) -> None:
    found = table(masts({"eirp_dbm": np.nan}, {"mast_id": "m2", "lon": 0.12}), flat)
    (check,) = signal_checks(found, (PHONE,))
    assert check.state is State.FINE
    assert check.margin is not None
    assert check.margin >= spread_db()


def test_television_says_where_to_turn_the_rods(masts, flat) -> None:
    caravan = Caravan(name="c", tv_aerial="directional", tv_aerial_height_m=3)
    television = television_receiver(caravan)
    assert television is not None
    mast = {
        "service": "tv", "operator": "", "band_mhz": np.nan, "channel": 30, "erp_w": 100.0,
        "eirp_dbm": np.nan, "polarisation": "horizontal", "height_m": 150.0,
    }  # fmt: skip
    row = table(masts(mast), flat, (television,)).iloc[0]
    assert row["state"] == "fine"
    # sqrt(30 x 1.64 x 100 W) / 6.56 km is 80.6 dBuV/m; 9 dB of gain, 3 dB of cable.
    assert row["socket_dbuv"] == pytest.approx(63.4, abs=1.0)
    # A hundred times the power is 20 dB more than receivers are made for.
    strong = table(masts({**mast, "erp_w": 10_000.0}), flat, (television,)).iloc[0]
    assert strong["state"] == "look at this"
    assert "attenuator" in strong["advice"]
    assert "rods horizontal" in row["sentence"]
    assert row["level_unit"] == "dBuV/m"


def test_unknown_aerial_is_unknown_and_none_is_left_out(masts, flat) -> None:
    unknown = television_receiver(Caravan(name="c"))
    assert unknown is not None
    mast = {"service": "tv", "operator": "", "band_mhz": 546.0, "eirp_dbm": 70.0}
    row = table(masts(mast), flat, (unknown,)).iloc[0]
    assert row["state"] == "unknown"
    assert "kind of aerial" in row["sentence"]
    assert receivers_of((), Caravan(name="c", tv_aerial="none")) == ()


@settings(
    max_examples=40, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(
    st.sampled_from(["height_m", "eirp_dbm", "band_mhz"]),
    st.floats(0.01, 0.4),
    st.floats(20, 90),
)
def test_unknown_is_never_fine(masts, flat, gap, lon, eirp_dbm) -> None:
    row = {"lon": lon, "eirp_dbm": eirp_dbm, gap: np.nan}
    assert "fine" not in set(table(masts(row), flat)["state"])


@settings(
    max_examples=30, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.floats(0.01, 0.4), st.floats(10, 80), st.floats(0.1, 30))
def test_more_power_never_worsens(masts, flat, lon, eirp_dbm, more_db) -> None:
    order = ["not fine", "look at this", "fine"]
    weak = table(masts({"lon": lon, "eirp_dbm": eirp_dbm}), flat).iloc[0]
    strong = table(masts({"lon": lon, "eirp_dbm": eirp_dbm + more_db}), flat).iloc[0]
    assert order.index(strong["state"]) >= order.index(weak["state"])
    assert strong["level"] - weak["level"] == pytest.approx(more_db)
