from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.pitch.lead import (
    check_coiled,
    check_volt_drop,
    lead_heat_w_per_m,
    lead_rating_a,
    volt_drop_v,
)
from planner_kit.states import State


def test_lead_of_the_pitch_loses_less_than_five_percent() -> None:
    # 19 mV/A/m x 16 A x 25 m = 7.6 V of 230 V, 3.3 %.
    check = check_volt_drop(2.5, 25, 16, 230)
    assert check.state is State.FINE
    assert check.figure == pytest.approx(3.304, abs=0.001)


def test_long_thin_lead_loses_too_much() -> None:
    assert check_volt_drop(1.5, 50, 16, 230).state is State.LOOK


def test_full_drum_of_a_good_lead_is_not_fine_at_sixteen_amperes() -> None:
    # 25 A x 0.35 = 8.75 A.
    coiled = check_coiled(2.5, 16, coiled_layers=4)
    assert coiled.state is State.NOT_FINE
    assert coiled.limit == pytest.approx(8.75)
    assert check_coiled(2.5, 16, coiled_layers=0).state is State.FINE
    assert check_coiled(2.5, 16, coiled_layers=0, ambient_c=50).state is State.NOT_FINE


@pytest.mark.parametrize("area", [None, 0.5])
def test_lead_not_known_or_not_tabled_is_unknown(area) -> None:
    assert check_coiled(area, 10, coiled_layers=0).state is State.UNKNOWN
    assert check_volt_drop(area, 25, 10, 230).state is State.UNKNOWN
    assert check_volt_drop(2.5, None, 10, 230).state is State.UNKNOWN
    assert lead_rating_a(0.5) is None
    assert volt_drop_v(0.5, 1, 1) is None
    assert lead_heat_w_per_m(0.5, 1) is None


def test_heat_of_a_metre_is_drop_times_current() -> None:
    # 0.019 V/A/m x 16 A x 16 A.
    assert lead_heat_w_per_m(2.5, 16) == pytest.approx(4.864)


@settings(max_examples=50, deadline=None)
@given(st.floats(1, 10), st.integers(0, 6), st.floats(-10, 60), st.floats(0, 3))
def test_thicker_cooler_or_less_coiled_never_carries_less(area, layers, ambient, more) -> None:
    base = lead_rating_a(area, coiled_layers=layers, ambient_c=ambient)
    assert base is not None
    assert lead_rating_a(area + more, coiled_layers=layers, ambient_c=ambient) >= base
    assert lead_rating_a(area, coiled_layers=layers + 1, ambient_c=ambient) <= base
    assert lead_rating_a(area, coiled_layers=layers, ambient_c=ambient + more) <= base
