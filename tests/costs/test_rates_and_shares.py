"""Exchange rates, shares of yearly costs, and earlier trips beside this one."""

import datetime as dt
import math

import pytest

from planner_kit.costs import cost_trip, earlier_trips, read_rates, yearly_shares
from planner_kit.errors import PlanFileError

ON = dt.date(2027, 2, 1)
HEAD = "from_currency,to_currency,rate,as_of,source\n"


def rates(tmp_path, *rows, currency="GBP"):
    path = tmp_path / "rates.csv"
    path.write_text(HEAD + "".join(row + "\n" for row in rows), encoding="utf-8")
    return read_rates(path, currency)


def test_the_latest_rate_holds_whatever_the_order_of_the_rows(tmp_path):
    found = rates(tmp_path, "EUR,GBP,0.86,2027-01-04,bank", "EUR,GBP,0.84,2026-01-04,bank")
    assert found["EUR"].rate == 0.86
    assert found["EUR"].as_of == dt.date(2027, 1, 4)
    assert found["EUR"].source == "bank on 2027-01-04"


def test_a_rate_the_other_way_round_is_turned(tmp_path):
    assert rates(tmp_path, "GBP,NOK,12.5,2027-01-04,")["NOK"].rate == pytest.approx(0.08)


def test_without_a_list_there_are_no_rates():
    assert read_rates(None, "GBP") == {}


@pytest.mark.parametrize(
    ("row", "said"),
    [
        ("EURO,GBP,0.86,2027-01-04,", r"row 2, column from_currency.*EUR"),
        ("EUR,GBX,0.86,2027-01-04,", r"row 2, column to_currency"),
        ('EUR,GBP,"0,86",2027-01-04,', r"row 2, column rate"),
        ("EUR,GBP,0,2027-01-04,", r"row 2, column rate"),
        ("EUR,GBP,0.86,4 Jan 2027,", r"row 2, column as_of"),
    ],
)
def test_a_wrong_cell_is_told_by_row_and_column(tmp_path, row, said):
    with pytest.raises(PlanFileError) as error:
        rates(tmp_path, row)
    assert error.match(said)


YEARLY = {
    "nights_per_year": 28,
    "yearly_costs": [{"name": "insurance", "amount": 280.0}],
    "memberships": [{"id": "m", "name": "Club", "fee_per_year": 56.0}],
}


def test_a_trip_takes_its_nights_share_of_the_year(kit):
    lines = yearly_shares(kit.inputs_with(YEARLY))
    assert [(line.kind, line.likely) for line in lines] == [("other", 70), ("membership", 14)]
    # a quarter more and a quarter fewer nights: 7 / 35 and 7 / 21
    assert (lines[0].low, lines[0].high) == (56, pytest.approx(280 / 3))


def test_shares_never_pass_the_year_and_are_not_counted_unasked(kit):
    long = kit.inputs_with({**YEARLY, "nights_per_year": 5})
    assert yearly_shares(long)[0].high == 280
    assert yearly_shares(kit.inputs_with({**YEARLY, "nights_per_year": None})) == ()


def earlier(kit, start, *spent, **more):
    actuals = {"spent": [{"kind": kind, "amount": amount} for kind, amount in spent]}
    return kit.trip_with(id=f"t{start.year}", start=start, actuals=actuals, **more)


def test_earlier_trips_are_compared_in_the_kinds_they_noted(kit):
    inputs = kit.inputs_with(budget={"food_per_person_day": 10})
    cost = cost_trip(inputs, [], planned_on=ON)  # food: 3 people, 8 days: 240
    others = [
        earlier(kit, dt.date(2026, 7, 11), ("food", 210), ("site", 300)),
        earlier(kit, dt.date(2025, 7, 12), ("food", 120)),
    ]
    table = earlier_trips(cost, inputs.trip, others, "GBP")
    assert table["what"].tolist() == ["planned", "spent", "spent"]
    assert table["per_night"].tolist() == pytest.approx([240 / 7, 510 / 7, 120 / 7])
    assert math.isnan(table["against_this_pct"].iloc[0])
    # the trip's food alone against what was noted: 240 against 510 and against 120
    assert table["against_this_pct"].tolist()[1:] == pytest.approx([100 * (240 - 510) / 510, 100])


def test_later_trips_those_without_figures_and_other_currencies_are_left_out(kit):
    inputs = kit.inputs_with()
    cost = cost_trip(inputs, [], planned_on=ON)
    others = [
        earlier(kit, dt.date(2028, 7, 8), ("food", 210)),
        kit.trip_with(id="none", start=dt.date(2025, 7, 12)),
        earlier(kit, dt.date(2024, 7, 13), ("food", 99), budget={"currency": "EUR"}),
    ]
    assert len(earlier_trips(cost, inputs.trip, others, "GBP")) == 1
