from __future__ import annotations

import dataclasses

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.errors import PlanFileError
from planner_kit.pitch.hookup import (
    CHARGER,
    check_hookup,
    mains_loads,
    pairs_together,
)
from planner_kit.pitch.lead import check_lead
from planner_kit.pitch.site_rules import SiteOffer, check_toilet_fluid, site_offer
from planner_kit.sites import read_sites
from planner_kit.states import State
from planner_kit.trip.household import Appliance, Caravan

OFFER = SiteOffer(
    name="Made Site",
    hookup_a=10.0,
    hookup_v=230.0,
    hookup_price=0.0,
    metered=None,
    toilet_fluid="any",
    water_point="tap",
    quiet_from=None,
    quiet_until=None,
    source="made",
)


def offer(**given_) -> SiteOffer:
    return dataclasses.replace(OFFER, **given_)


KETTLE = Appliance(name="kettle", watts=1500, hours_per_day=0.5)
HEATER = Appliance(name="heater", watts=1000, hours_per_day=3)
FRIDGE = Appliance(name="refrigerator", watts=200, hours_per_day=24)
LIGHTS = Appliance(name="lights", watts=20, hours_per_day=5, volts=12)


def test_small_load_on_ten_amperes_is_fine() -> None:
    check = check_hookup(OFFER, (FRIDGE, HEATER))
    assert check.state is State.FINE
    assert check.limit == 2300
    assert check.margin == pytest.approx(2300 - 1200)


def test_kettle_with_heater_is_named_as_what_clashes() -> None:
    check = check_hookup(OFFER, (FRIDGE, HEATER, KETTLE))
    assert check.state is State.LOOK
    assert "kettle" in check.sentence
    assert "heater" in check.sentence


def test_set_hours_that_do_not_meet_fit_but_want_care() -> None:
    kettle = KETTLE.model_copy(update={"when": (7,)})
    heater = HEATER.model_copy(update={"when": (20, 21, 22)})
    check = check_hookup(OFFER, (FRIDGE, heater, kettle))
    assert check.state is State.LOOK
    assert "keeps to its hours" in check.sentence


def test_kettle_alone_too_much_for_six_amperes_is_not_fine() -> None:
    assert check_hookup(offer(hookup_a=6.0), (FRIDGE, KETTLE)).state is State.NOT_FINE


def test_amperes_not_told_is_unknown_with_the_watts() -> None:
    check = check_hookup(offer(hookup_a=None), (FRIDGE, HEATER))
    assert check.state is State.UNKNOWN
    assert "1,200 W" in check.sentence


def test_no_appliances_listed_is_unknown_not_fine() -> None:
    assert check_hookup(OFFER, ()).state is State.UNKNOWN


def test_site_without_hookup_is_not_fine_for_who_wants_one() -> None:
    assert check_hookup(offer(hookup_a=0.0), (FRIDGE,)).state is State.NOT_FINE


def test_twelve_volts_count_through_the_charger_only() -> None:
    loads = mains_loads((FRIDGE, LIGHTS))
    assert loads["name"].tolist() == ["refrigerator", CHARGER]
    # 20 W x 5 h = 100 Wh a day; 100 / 24 / 0.85 = 4.9 W from the mains.
    assert loads["watts"].iloc[1] == pytest.approx(4.902, abs=0.001)


def test_listed_charger_is_not_counted_twice() -> None:
    charger = Appliance(name="Battery charger", watts=250, hours_per_day=2)
    assert mains_loads((charger, LIGHTS))["name"].tolist() == ["Battery charger"]


def test_pairs_add_what_is_always_on() -> None:
    pairs = pairs_together(mains_loads((FRIDGE, HEATER, KETTLE)), 2300)
    assert len(pairs) == 1
    assert pairs["watts"].iloc[0] == 2700
    assert not pairs["together"].iloc[0]


appliances = st.lists(
    st.builds(
        Appliance,
        name=st.sampled_from(["kettle", "heater", "toaster", "oven"]),
        watts=st.floats(0, 3000),
        hours_per_day=st.floats(0, 24),
        when=st.lists(st.integers(0, 23), max_size=3).map(tuple),
        needed=st.booleans(),
    ),
    max_size=5,
).map(tuple)
ORDER = [State.NOT_FINE, State.LOOK, State.FINE]


@settings(max_examples=50, deadline=None)
@given(appliances, st.floats(1, 16), st.floats(0, 16))
def test_more_amperes_never_worse(listed, amperes, more) -> None:
    weak = check_hookup(offer(hookup_a=amperes), listed).state
    strong = check_hookup(offer(hookup_a=amperes + more), listed).state
    if weak is State.UNKNOWN:
        assert strong is State.UNKNOWN
    else:
        assert ORDER.index(strong) >= ORDER.index(weak)


@settings(max_examples=50, deadline=None)
@given(appliances)
def test_unknown_supply_is_never_anything_else(listed) -> None:
    assert check_hookup(offer(hookup_a=None), listed).state is State.UNKNOWN


@settings(max_examples=50, deadline=None)
@given(appliances, st.floats(100, 4000))
def test_fine_means_that_no_pair_clashes(listed, limit_w) -> None:
    check = check_hookup(offer(hookup_a=limit_w / 230), listed)
    if check.state is State.FINE:
        assert pairs_together(mains_loads(listed), limit_w + 1e-6)["together"].all()


@pytest.mark.parametrize(
    ("metres", "area", "amperes", "state"),
    [
        (25, 2.5, 10.0, State.FINE),
        (10, 2.5, 10.0, State.LOOK),
        (50, 2.5, 10.0, State.LOOK),
        (25, 1.5, 10.0, State.NOT_FINE),
        (25, 1.5, None, State.NOT_FINE),
        (25, 2.5, 32.0, State.NOT_FINE),
        (25, 2.5, None, State.UNKNOWN),
        (25, 2.5, 63.0, State.UNKNOWN),
        (None, 2.5, 10.0, State.UNKNOWN),
        (25, None, 10.0, State.UNKNOWN),
    ],
)
def test_lead(metres, area, amperes, state) -> None:
    caravan = Caravan(name="c", hookup_lead_m=metres, hookup_lead_mm2=area)
    check = check_lead(caravan, offer(hookup_a=amperes))
    assert check.state is state
    assert check.sentence


@pytest.mark.parametrize(
    ("rule", "state"),
    [
        ("any", State.FINE),
        ("green only", State.LOOK),
        ("Green only", State.LOOK),
        ("no formaldehyde", State.LOOK),
        (None, State.UNKNOWN),
    ],
)
def test_toilet_fluid_rule(rule, state) -> None:
    assert check_toilet_fluid(offer(toilet_fluid=rule)).state is state


def test_abroad_without_amperes_the_usual_ones_are_told() -> None:
    abroad = offer(hookup_a=None, abroad=True)
    check = check_hookup(abroad, (FRIDGE, HEATER, KETTLE))
    assert check.state is State.UNKNOWN
    assert "6 A (not together:" in check.sentence
    assert "10 A" in check.sentence
    assert "abroad" not in check_hookup(offer(hookup_a=None), (FRIDGE, HEATER)).sentence


def test_watts_in_the_amperes_column_are_refused_with_row_and_column(tmp_path) -> None:
    path = tmp_path / "sites.csv"
    path.write_text("site_id,name,lat,lon,hookup_a\nS1,Made,54,0,2300\n")
    with pytest.raises(PlanFileError, match=r"row 2, column hookup_a.*2300 is outside 0 to 63"):
        read_sites(path)


def test_bare_yes_for_water_says_that_the_place_is_not_known(site) -> None:
    assert site_offer(site(water_point="yes")).water_point == (
        "a tap of the site (the list does not say where)"
    )


def test_tariff_by_the_kilowatt_hour_means_a_meter(site) -> None:
    found = site_offer(site(hookup_metered=None), kwh_in_tariff=True)
    assert found.metered is True
