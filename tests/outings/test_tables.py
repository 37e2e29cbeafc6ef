import pandas as pd
import pytest

from planner_kit.outings import CRITERIA
from planner_kit.reference import BASES, read_table
from planner_kit.region import KINDS, kinds_of_group


@pytest.mark.parametrize("name", ["outing_weights", "outing_constants", "outing_kinds"])
def test_each_row_of_a_table_says_what_it_rests_on(name):
    table = read_table(name)
    assert set(table["basis"]) <= set(BASES)
    assert (table["source"] != "").all()
    assert not table.iloc[:, 0].duplicated().any()


@pytest.mark.parametrize("name", ["outing_weights", "outing_constants"])
def test_each_value_lies_within_its_range(name):
    table = read_table(name)
    value, low, high = (pd.to_numeric(table[column]) for column in ("value", "low", "high"))
    assert (low <= value).all()
    assert (value <= high).all()


def test_each_criterion_has_its_weight():
    assert set(read_table("outing_weights")["name"]) == set(CRITERIA)


def test_every_kind_of_sight_and_water_is_an_outing_or_left_out_on_purpose():
    usual = set(read_table("outing_kinds")["kind"])
    left_out = {"memorial", "marina", "slipway"}
    assert set(kinds_of_group("sight")) | set(kinds_of_group("water")) <= usual | left_out
    assert left_out <= {kind.kind for kind in KINDS}
