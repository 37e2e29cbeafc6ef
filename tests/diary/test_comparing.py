"""Why a figure changed: its cause, and what came and went, on figures made by hand."""

from __future__ import annotations

from typing import Any

import pytest

from planner_kit.diary.comparing import compare_facts
from planner_kit.diary.old_reasons import renamed_reasons


def facts(*figures: dict[str, Any], **trip: Any) -> dict[str, Any]:
    about = {"start": "2027-07-24", "end": "2027-07-31", "sites": [], "site_names": [], **trip}
    return {"trip": about, "figures": list(figures), "checks": [], "kit_version": "1"}


def figure(value: float, key: str = "x", unit: str = "GBP", **reasons: str) -> dict[str, Any]:
    named = {name.replace("__", ": ", 1).replace("_", " "): why for name, why in reasons.items()}
    return {"key": key, "label": key, "value": value, "unit": unit, "reasons": named}


def only(older: dict[str, Any], newer: dict[str, Any]) -> dict[str, Any]:
    (row,) = compare_facts(older, newer).to_dict("records")
    return {str(key): value for key, value in row.items()}


def test_cause_is_that_of_the_reasons_that_differ_and_no_other() -> None:
    old = figure(1.0, prices__diesel="GBP 1.40 a litre", map__distance="68.6 km")
    new = figure(2.0, prices__diesel="GBP 1.50 a litre", map__distance="68.6 km")
    later = facts(new, start="2028-07-22", end="2028-07-29")  # other dates have their own rows
    row = compare_facts(facts(old), later).to_dict("records")[-1]
    assert row["cause"] == "prices"
    assert row["why"] == "diesel: GBP 1.40 a litre before, GBP 1.50 a litre now"
    assert row["change"] == 1.0


def test_of_a_list_what_went_and_came_is_told_and_its_order_is_no_reason() -> None:
    old = figure(3, days_out__places="Zoo; Beach; Mill", dates__days="a")
    new = figure(2, days_out__places="Beach; Castle; Zoo", dates__days="a")
    assert only(facts(old), facts(new))["why"] == "places: before Mill, now Castle"
    turned = figure(2, days_out__places="Mill; Zoo; Beach", dates__days="b")
    row = only(facts(old), facts(turned))
    assert (row["cause"], row["why"]) == ("dates", "days: a before, b now")


def test_small_changes_keep_their_digits() -> None:
    assert only(facts(figure(0.013)), facts(figure(0.009)))["change"] == pytest.approx(-0.004)


def test_a_sum_has_the_causes_of_its_parts_and_their_money() -> None:
    old = facts(
        figure(30.0, "cost.likely", part__fuel="GBP 10.00", part__food="GBP 20.00"),
        figure(10.0, "cost.fuel", learnt__use="a", part__tow_7_l="GBP 10.00 · price list"),
        figure(20.0, "cost.food", part__food="GBP 20.00 · trip file: GBP 5.00 a day"),
    )
    new = facts(
        figure(35.0, "cost.likely", part__fuel="GBP 9.00", part__food="GBP 26.00"),
        figure(9.0, "cost.fuel", learnt__use="b", part__tow_6_l="GBP 9.00 · price list"),
        figure(26.0, "cost.food", part__food="GBP 26.00 · trip file: GBP 6.50 a day"),
    )
    rows = compare_facts(old, new).set_index("what")
    assert rows.loc["cost.likely", "cause"] == "learnt, trip file"
    assert "food: GBP 20.00 before, GBP 26.00 now" in rows.loc["cost.likely", "why"]
    fuel = rows.loc["cost.fuel"]
    assert fuel["cause"] == "learnt"
    assert "tow 6 l: GBP 10.00 before (tow 7 l), GBP 9.00 now" in fuel["why"]
    assert rows.loc["cost.food", "cause"] == "trip file"


def test_ages_count_only_where_the_same_thing_costs_something_else() -> None:
    ages = {"dates: ages of the young": "Ann 11"}
    grown = {"dates: ages of the young": "Ann 12"}
    zoo, dear = {"part: Zoo": "GBP 20.00 · list"}, {"part: Zoo": "GBP 25.00 · list"}
    mill = {"part: Mill": "GBP 4.00 · list"}

    def row(was: dict[str, str], now: dict[str, str]) -> dict[str, Any]:
        old = {**figure(20.0), "reasons": was}
        return only(facts(old), facts({**figure(25.0), "reasons": now}))

    assert row({**ages, **zoo}, {**grown, **dear})["cause"] == "dates"
    came = row({**ages, **zoo}, {**grown, **zoo, **mill})
    assert "ages" not in came["why"]
    assert "now also Mill: GBP 4.00" in came["why"]


def test_where_no_reason_differs_all_that_differs_is_named_and_nothing_is_claimed() -> None:
    old, new = facts(figure(1.0, law__rows="x")), facts(figure(2.0, law__rows="x"))
    assert only(old, new)["cause"] == ""
    assert "nothing that the records keep differs" in only(old, new)["why"]
    old["inputs"], new["inputs"] = {"items": "aa", "trip": "t"}, {"items": "bb", "trip": "t"}
    row = only(old, new)
    assert row["cause"] == "files changed"
    assert "files changed: items" in row["why"]
    new["kit_version"] = "2"
    assert only(old, new)["cause"] == "one of: files changed, kit"
    assert "one of what differs" in only(old, new)["why"]


def test_check_says_both_sentences_and_what_differs() -> None:
    old, new = facts(planned_on="2027-01-09"), facts(planned_on="2027-02-01")
    old["checks"] = [{"subject": "deposit", "state": "fine", "sentence": "Due in June."}]
    new["checks"] = [{"subject": "deposit", "state": "look at this", "sentence": "Due soon."}]
    row = only(old, new)
    assert row["cause"] == "day of planning"
    assert row["why"] == "before: Due in June. Now: Due soon."


def test_reasons_of_older_kits_get_their_causes_and_their_money() -> None:
    price = {
        "key": "site.1.price", "label": "price of A", "value": 1.0, "unit": "GBP",
        "reasons": {
            "each night": "pitch, high season at 36.00; dogs at 2.00",
            "offers": "Circle: 10 % off (-30.80); levy (7.00)", "nights": "7",
            "site list of": "2026-03-01",
        },
    }  # fmt: skip
    assert renamed_reasons(price) == {
        "prices: each night": "pitch, high season: GBP 36.00 each; dogs: GBP 2.00 each",
        "prices: offers and taxes": "Circle: 10 % off: GBP -30.80; levy: GBP 7.00",
        "trip file: nights": "7 nights",
        "prices: site list of": "2026-03-01",
    }
    cost = {"key": "cost.fuel", "label": "", "value": 1.0, "unit": "EUR",
            "reasons": {"tow: 7 l": "9.78 (expected)", "price list of": "2026-03-01"}}  # fmt: skip
    assert renamed_reasons(cost) == {
        "part: tow: 7 l": "EUR 9.78",
        "prices: price list of": "2026-03-01",
    }


def test_check_of_a_booking_hangs_on_fewer_things() -> None:
    old, new = facts(planned_on="2027-01-09"), facts(planned_on="2027-02-01")
    old["learnt"], new["learnt"] = None, {"trips": 2}
    for one, state in ((old, "fine"), (new, "look at this")):
        one["checks"] = [
            {"subject": "booking at Bay", "state": state, "sentence": "x"},
            {"subject": "signals", "state": state, "sentence": "x"},
        ]
    rows = compare_facts(old, new).set_index("what")["cause"]
    assert rows["booking at Bay"] == "day of planning"
    assert rows["signals"] == "one of: day of planning, learnt"


def test_where_the_figure_on_the_way_stayed_what_it_hangs_on_had_no_part() -> None:
    def hours(minutes: float, base: str, mass: str, hours: str) -> dict[str, Any]:
        return {
            **figure(minutes, unit="min"),
            "reasons": {
                "base: driving before anything learnt": base,
                "loading: mass of the outfit": mass, "learnt: hours": hours,
            },
        }  # fmt: skip

    old = facts(hours(69, "69.0 min", "3575 kg", "reckoned"))
    row = only(old, facts(hours(73, "69.0 min", "3615 kg", "learnt")))
    assert (row["cause"], row["why"]) == ("learnt", "hours: reckoned before, learnt now")
    row = only(old, facts(hours(75, "71.0 min", "3615 kg", "learnt")))
    assert row["cause"] == "learnt, loading"
    assert "driving before anything learnt: 69.0 min before, 71.0 min now" in row["why"]
