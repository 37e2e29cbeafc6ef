"""Quiet hours, steps, children, current, surfaces and what a site allows."""

import datetime as dt

import pytest

from planner_kit.sites.house_rules import check_house_rules
from planner_kit.states import State

DAY = dt.date(2027, 7, 10)


def checks(kit, household=None, site=None, **options):
    found = check_house_rules(
        kit.site_frame(**(site or {})).iloc[0], kit.household_with(**(household or {})), DAY,
        hookup=options.pop("hookup", False), **options,
    )  # fmt: skip
    return {check.subject.split(" at ")[0].split(" of ")[0]: check for check in found}


@pytest.mark.parametrize(
    ("arrive", "state"),
    [(dt.time(22, 0), State.FINE), (dt.time(23, 0), State.LOOK), (dt.time(6, 59), State.LOOK),
     (dt.time(7, 0), State.FINE)],
)  # fmt: skip
def test_quiet_hours_run_over_midnight(kit, arrive, state):
    site = {"quiet_from": "22:30", "quiet_until": "07:00"}
    found = checks(kit, site=site, arrive_at=arrive, depart_at=dt.time(10, 0))
    assert found["quiet hours"].state is state


def test_quiet_hours_that_are_not_told_and_hours_at_the_gate_that_are_not_are_unknown(kit):
    assert checks(kit, arrive_at=dt.time(23, 0))["quiet hours"].state is State.UNKNOWN
    told = {"quiet_from": "22:00", "quiet_until": "07:00"}
    found = checks(kit, site=told)["quiet hours"]
    assert found.state is State.UNKNOWN
    assert "arrival and departure is not known" in found.sentence
    late = checks(kit, site=told, arrive_at=dt.time(23, 0))["quiet hours"]
    assert late.state is State.LOOK


@pytest.mark.parametrize(
    ("cell", "state"), [("yes", State.FINE), ("no", State.NOT_FINE), (None, State.UNKNOWN)]
)
def test_step_free_access_is_asked_for_only_where_somebody_needs_it(kit, cell, state):
    people = [{"name": "Ada", "step_free": True}]
    found = checks(kit, {"people": people}, {"step_free": cell})
    assert found["step-free access"].state is state
    assert "step-free access" not in checks(kit, site={"step_free": cell})


def test_a_playground_is_for_children_and_missing_it_is_no_more_than_a_look(kit):
    assert checks(kit)["children"].state is State.LOOK
    assert checks(kit, site={"playground": None})["children"].state is State.UNKNOWN
    grown = [{"name": "Ada", "born": dt.date(1980, 1, 1)}, {"name": "Ben", "adult": True}]
    assert "children" not in checks(kit, {"people": grown})
    ageless = [{"name": "Ada"}]
    assert checks(kit, {"people": ageless})["children"].state is State.UNKNOWN


@pytest.mark.parametrize(
    ("fuel", "cell", "state"),
    [("electric", "no", State.NOT_FINE), ("hybrid", "no", State.LOOK),
     ("electric", None, State.UNKNOWN), ("electric", "yes", State.FINE)],
)  # fmt: skip
def test_charging_is_looked_at_for_cars_that_need_it(kit, fuel, cell, state):
    car = {"car": {"name": "car", "fuel": fuel}}
    assert checks(kit, car, {"charging": cell})["charging the car"].state is state
    assert "charging the car" not in checks(kit, site={"charging": cell})


def test_what_is_forbidden_is_said_and_what_is_not_listed_is_not(kit):
    found = checks(kit, site={"barbecue": "no", "drones": "no", "ball_games": "yes"})
    assert found["barbecues"].state is State.LOOK
    assert "The site allows no drones." in found["drones"].sentence
    assert "ball games" not in found
    assert "allowed" not in found["what is not said"].sentence


def test_what_the_list_leaves_out_is_one_unknown_that_names_it_all(kit):
    whole = {
        "barbecue": "yes", "drones": "yes", "ball_games": "yes", "surface": "gravel",
        "opening_hours": "24/7",
    }  # fmt: skip
    assert "what is not said" not in checks(kit, site=whole)
    words = {"barbecue": "barbecues", "drones": "drones", "ball_games": "ball games",
             "surface": "made of", "opening_hours": "opening hours"}  # fmt: skip
    for column, word in words.items():
        found = checks(kit, site={**whole, column: None})["what is not said"]
        assert found.state is State.UNKNOWN
        assert word in found.sentence
        others = [other for name, other in words.items() if name != column]
        assert not any(other in found.sentence for other in others)


@pytest.mark.parametrize(
    ("surface", "state"), [("grass", State.LOOK), ("hardstanding", State.FINE)]
)
def test_soft_pitches_are_to_be_looked_at(kit, surface, state):
    assert checks(kit, site={"surface": surface})["surface"].state is state


def test_appliances_beyond_the_hook_up_are_told(kit):
    kettle = {"name": "kettle", "watts": 3000.0, "hours_per_day": 0.5, "when": [8]}
    heater = {"name": "heater", "watts": 2000.0, "hours_per_day": 3.0, "when": [8]}
    found = checks(
        kit, {"appliances": [kettle, heater]}, {"hookup_a": "6"}, hookup=True
    )["load"]  # fmt: skip
    assert found.state is not State.FINE
    assert "load" not in checks(kit, {"appliances": [kettle]}, {"hookup_a": "0"}, hookup=True)
    assert checks(kit, hookup=True)["load"].state is State.UNKNOWN


def test_opening_hours_that_end_before_the_stay_are_not_fine(kit):
    site = {"opening_hours": "Apr-Jun 08:00-20:00"}
    assert checks(kit, site=site)["opening hours"].state is State.NOT_FINE
    assert checks(kit, site={"opening_hours": "???"})["opening hours"].state is State.UNKNOWN
