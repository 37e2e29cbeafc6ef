"""What stands on the sheets, before they are set in type."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.pack import checklist
from planner_kit.pack.back_sheets import credits_sheet, emergency_number, nearest_help
from planner_kit.pack.blocks import checks, clean, state_cell, table
from planner_kit.pack.bring_sheet import to_bring_sheet
from planner_kit.pack.folder import PAGES, pack_sheets
from planner_kit.pack.stay_sheets import opening_words
from planner_kit.pack.tow_sheets import tow_sheets
from planner_kit.pack.trip_sheets import unknowns_sheet
from planner_kit.plan import TripPlan
from planner_kit.states import Check, State
from planner_kit.summary import things_to_look_at
from planner_kit.tow import route_card
from planner_kit.trip.household import Units

KM = Units(distance="km")


def test_gravest_things_come_first_and_fine_never(plan: TripPlan) -> None:
    found = [check.state for check in things_to_look_at(plan, count=None)]
    assert found[0] is State.NOT_FINE
    assert State.FINE not in found
    serious = [state is State.NOT_FINE for state in found]
    assert serious == sorted(serious, reverse=True)


def test_route_sheet_is_the_card_that_the_tow_gives(plan: TripPlan) -> None:
    leg = plan.tow.legs[0]
    sheets = [sheet for sheet in tow_sheets(plan, 180.0) if sheet["name"] == "route"]
    card = route_card(leg.route, plan.files.inputs.household.units)
    text = str(sheets[0])
    assert all(clean(line) in text for line in card["instruction"])


def _ways(*changes: dict[str, object]) -> pd.DataFrame:
    worst = Check("height", State.LOOK, "At 3 miles a low bridge.", 2.6, 2.9, "m", 0.3)
    way = {"label": "1", "kind": "best", "by": "A3, A12", "time_min": 66.0, "length_km": 68.6,
           "stress_min": 11.0, "money_low": 8.0, "money_likely": 10.0, "money_high": 12.0,
           "currency": "GBP", "money_unknown": "", "narrow_km": 0.0, "steepest_pct": 5.0,
           "whole_road": 0.0, "worst": (), "shared_frac": 1.0}  # fmt: skip
    other = way | {"label": "2", "kind": "alternative", "by": "A1, Toll Bridge", "time_min": 60.0,
                   "worst": (worst,), "narrow_km": 1.0, "whole_road": 3.0,
                   "shared_frac": 0.48}  # fmt: skip
    return pd.DataFrame([way, *(other | change for change in changes)])


def _route_text(plan: TripPlan, ways: pd.DataFrame | None) -> str:
    legs = (replace(plan.tow.legs[0], ways=ways), *plan.tow.legs[1:])
    told = replace(plan, tow=replace(plan.tow, legs=legs))
    return str(next(sheet for sheet in tow_sheets(told, 180.0) if sheet["name"] == "route"))


def test_other_ways_stand_beside_the_card_with_their_roads_and_worst_places(plan: TripPlan) -> None:
    text = _route_text(plan, _ways({}))
    for said in ("this card: A3, A12", "way 2: A1, Toll Bridge", "1 h 6 min", "£8 to £12", "48%",
                 "Nothing else on this card stands out", "Way 2: At 3 miles a low bridge.",
                 "take the whole road", "'3', '48%'",
                 "0.6 miles a car that comes the other way cannot pass"):  # fmt: skip
        assert said in text


def test_what_the_day_s_sheet_tells_is_only_named_among_the_other_ways(plan: TripPlan) -> None:
    told = next(check for check in plan.tow.legs[0].checks if check.state is State.LOOK)
    ways = _ways({})
    ways.at[0, "worst"] = (told,)
    text = _route_text(plan, ways)
    assert told.sentence not in text
    assert f"This card: {told.subject} (see the sheet of the day" in text
    (day, *_) = tow_sheets(plan, 180.0)
    assert told.sentence in [
        row["sentence"]
        for part in day["blocks"]
        if part["type"] == "checks"
        for row in part["rows"]
    ]
    assert "Way 2: At 3 miles a low bridge." in text


def test_a_way_with_something_unpriced_says_so(plan: TripPlan) -> None:
    assert "And more:" not in _route_text(plan, _ways({}))
    text = _route_text(plan, _ways({"money_unknown": "toll Toll Bridge"}))
    assert "£8 to £12 and more" in text
    assert "no known price" in text


@pytest.mark.parametrize("ways", [None, _ways()])
def test_where_no_other_way_was_found_there_is_no_table(plan: TripPlan, ways) -> None:
    assert "Other ways" not in _route_text(plan, ways)


def test_stops_stand_between_the_turns_of_the_card(plan: TripPlan) -> None:
    leg = plan.tow.legs[0]
    units = plan.files.inputs.household.units
    card = route_card(leg.route, units, leg=leg)
    assert card["at_km"].is_monotonic_increasing
    stop = card[card["instruction"].str.startswith("Stop at Hallin Cross picnic site")]
    assert stop["at_km"].tolist() == leg.rests["at_km"].tolist()
    assert card["instruction"].iloc[-1] == f"Arrive at {leg.to_name}"
    assert card["then_km"].sum() == pytest.approx(leg.route.length_km)
    without = route_card(leg.route, units)
    assert len(card) == len(without) + len(leg.rests)


@pytest.mark.parametrize(
    ("written", "said"),
    [
        ("Mo-Sa 10:00-17:00", "Mon to Sat 10:00 to 17:00"),
        ("24/7", "always"),
        ("", "not known"),
        ("Mo,We 09:00-12:00; PH off", "Mon, Wed 09:00 to 12:00; closed on public holidays"),
        ("Mar-Oct: Su 11:00-16:00", "Mar to Oct: Sun 11:00 to 16:00"),
        ("Mo off", "Mon closed"),
    ],
)
def test_opening_hours_in_words(written: str, said: str) -> None:
    assert opening_words(written) == said


def test_sources_stand_once_under_what_they_rest_on(plan: TripPlan) -> None:
    text = str(credits_sheet(plan))
    assert "Read in a published source" in text
    assert "http" not in text
    (listed,) = (part for part in credits_sheet(plan)["blocks"] if part["type"] == "sources")
    said = [row["words"] for row in listed["rows"]]
    assert len(said) == len(set(said))
    numbers = [row["number"] for row in listed["rows"] if row["number"]]
    assert numbers == list(range(1, len(numbers) + 1))


def test_what_is_not_known_is_said_once(plan: TripPlan) -> None:
    lines = [row for part in unknowns_sheet(plan)["blocks"] for row in part.get("rows", [])]
    assert lines
    assert len(lines) == len(set(lines))


def test_checklists_drop_only_what_the_outfit_does_not_have(
    make_plan: Callable[..., TripPlan],
) -> None:
    with_dog = make_plan().files.inputs
    caravan = {"name": "small one", "gas_cylinders": 0, "stabiliser": False, "braked": False}
    without = make_plan(household={"dogs": [], "caravan": caravan}).files.inputs.household
    for name, word in (("departure", "dog"), ("hitching", "Stabiliser"), ("departure", "Gas off")):
        assert any(word in line for line in checklist(name, with_dog.household))
        assert not any(word in line for line in checklist(name, without))
    unknown = make_plan(household={"caravan": {"name": "unknown"}}).files.inputs.household
    assert any("Gas off" in line for line in checklist("departure", unknown))
    stay = with_dog.trip.stays[0].model_copy(update={"hookup": False, "awning": False})
    lines = checklist("arrival", with_dog.household, stay)
    assert not any("RCD" in line or "Awning" in line for line in lines)
    with pytest.raises(KeyError, match="no list 'packing'"):
        checklist("packing", without)


def test_emergency_number_is_never_guessed() -> None:
    assert emergency_number("GB")[0] == "999 or 112"
    assert emergency_number("FR")[0] == "112"
    assert emergency_number("unknown")[0] == "unknown"


def test_nearest_help_of_each_kind_with_its_phone() -> None:
    places = pd.DataFrame(
        [("hospital", "Far", 50.0, 0.0, ""), ("hospital", "", 49.1, 0.0, '{"phone": "01"}'),
         ("cafe", "Tea", 49.0, 0.0, "")],
        columns=["kind", "name", "lat", "lon", "tags"],
    )  # fmt: skip
    rows = nearest_help(places, 49.0, 0.0, KM)
    assert rows == [("hospital", "no name on the map", "11 km", "N (000°)", "01")]


@settings(max_examples=50, deadline=None)
@given(st.text())
def test_cleaned_text_is_one_line_without_control_signs(words: str) -> None:
    said = clean(words)
    assert clean(said) == said
    assert not any(ord(sign) < 32 or "\u202a" <= sign <= "\u202e" for sign in said)


def test_state_that_is_not_known_as_one_stays_a_word() -> None:
    assert state_cell("booked") == "booked"
    assert state_cell(State.LOOK) == {"state": "look at this", "mark": "▲", "colour": "#E69F00"}


def test_table_without_rows_says_so_or_is_left_out() -> None:
    assert table([("a", "1fr")], []) is None
    assert table([("a", "1fr")], [], empty="none")["text"] == "none"


def test_gravest_checks_stand_first_and_sources_are_numbered(plan: TripPlan) -> None:
    sources = {"car's plate": 1, "caravan's plate": 2}
    block = checks(plan.outfit.checks, units=KM, sources=sources)
    assert block is not None
    states = [row["state"]["state"] for row in block["rows"]]
    assert states == ["not fine", "look at this", "unknown", "fine", "fine"]
    by_subject = {row["subject"]: row for row in block["rows"]}
    assert by_subject["caravan within its plate"]["source"].endswith("(plate) [2]")
    assert by_subject["car and caravan together"]["figures"] == [
        "3,490 kg, limit 3,700 kg",
        "room 210 kg",
    ]
    assert by_subject["car's rear axle"]["figures"] == ["unknown, limit 1,150 kg"]


def test_numbers_of_the_outfit_lead_to_the_sheet_of_sources(plan: TripPlan) -> None:
    by_name = {sheet["name"]: sheet for sheet in pack_sheets(plan, PAGES, 170)}
    (listed,) = (part for part in by_name["credits"]["blocks"] if part["type"] == "sources")
    words = {row["number"]: row["words"] for row in listed["rows"]}
    outfit = by_name["outfit"]["blocks"]
    (checked,) = (part for part in outfit if part["type"] == "checks")
    for check in plan.outfit.checks:
        (row,) = (row for row in checked["rows"] if row["subject"] == check.subject)
        number = int(row["source"].rpartition("[")[2].rstrip("]"))
        assert words[number] == check.source
    assert not [part for part in outfit if part["type"] == "sources"]
    # Printed without that sheet, the outfit lists them itself.
    (alone,) = pack_sheets(plan, ["outfit"], 170)
    assert [part for part in alone["blocks"] if part["type"] == "sources"]


def test_checks_of_one_kind_that_could_not_be_made_stand_in_one_line(plan: TripPlan) -> None:
    unknown = tuple(
        Check(f"opening of {name}", State.UNKNOWN, f"when {name} is open is not sure.")
        for name in ("Tolven Beach", "Quay Beach", "Marren Priory")
    )
    outfit = replace(plan.outfit, checks=(*plan.outfit.checks, *unknown))
    lines = [
        row
        for part in unknowns_sheet(replace(plan, outfit=outfit))["blocks"]
        for row in part.get("rows", [])
    ]
    assert (
        "opening of Tolven Beach, Quay Beach and Marren Priory: when each of them is open is not "
        "sure." in lines
    )
    assert any(line.startswith("car's rear axle: ") for line in lines)


def test_packing_list_is_ticked_off_by_who_packs(plan: TripPlan) -> None:
    items = pd.DataFrame(
        {
            "item": ["awning", "clothes", "clothes", "mats", "step"],
            "quantity": [1, 2, 1, 1, 1],
            "place": ["car boot", "caravan rear", "caravan rear", "car boot", "car boot"],
            "person": ["", "Ada", "Ben", "", ""],
        }
    )
    sheet = to_bring_sheet(replace(plan, files=replace(plan.files, items=items)))
    said = [block for block in sheet["blocks"] if block["type"] in ("text", "ticks")]
    texts = [block.get("rows") or block["text"] for block in said]
    assert texts[-3:] == [
        "Everybody:", [f"{what} (car boot)" for what in ("awning", "mats", "step")],
        ["Ada: 2 × clothes (caravan rear)", "Ben: clothes (caravan rear)"],
    ]  # fmt: skip
