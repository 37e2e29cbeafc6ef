import datetime as dt

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.outfit import check_outfit, outfit_of, with_law_of
from planner_kit.rules import RULES, law_of
from planner_kit.states import State

DAY = dt.date(2027, 7, 24)
WHOLE = settings(max_examples=40, deadline=None)


def checks_of(household, items=None, countries=("GB",)):
    outfit = outfit_of(household, items=items, on=DAY)
    report = check_outfit(household, outfit, items=items, countries=countries, on=DAY)
    return {check.subject: check for check in report.checks}


def test_full_household_has_every_mass_within_its_plate(make_household) -> None:
    checks = checks_of(make_household())
    for subject, figure, limit in (
        # 1800 kerb + 75 adult + 35 child + 80 load + 80 noseweight
        ("laden car with the noseweight", 2070, 2400),
        ("car and caravan together", 1990 + 1400, 4200),
        ("laden caravan against its plate", 1400, 1500),
        ("laden caravan against the car's braked towing limit", 1400, 1900),
        ("payload used in the caravan", 100, 200),
        ("load on the axle of the caravan", 1400 - 80, 1500),
        ("noseweight on the tow ball", 80, 90),
        ("caravan's tyres against the axle", 1500, 2 * 875),
    ):
        check = checks[subject]
        assert (check.figure, check.limit) == (pytest.approx(figure), limit), subject
        assert check.margin == pytest.approx(limit - figure)
        assert check.state is State.FINE, subject


def test_lower_tow_ball_limit_wins_and_is_named(make_household) -> None:
    of_caravan = checks_of(make_household())["noseweight on the tow ball"]
    assert of_caravan.rule.startswith("the caravan's noseweight limit, the lower of the limits")
    lower_car = make_household(car={"towball_limit_kg": 75})
    of_car = checks_of(lower_car)["noseweight on the tow ball"]
    assert of_car.limit == 75
    assert of_car.rule.startswith("the car's tow ball limit, the lower of the limits")
    assert "The car's tow ball limit, 75 kg, decides" in of_car.sentence
    assert of_car.state is State.NOT_FINE


def test_unbraked_caravan_is_held_to_the_unbraked_limit_and_needs_brakes(make_household) -> None:
    checks = checks_of(make_household(caravan={"braked": False}))
    assert checks["laden caravan against the car's unbraked towing limit"].state is State.NOT_FINE
    assert checks["brakes of the caravan in GB"].state is State.NOT_FINE


@pytest.mark.parametrize(
    ("kerb_kg", "words", "state"),
    [
        (1500, "at most half", State.FINE),
        (1300, "more than half", State.LOOK),
        (None, "missing", State.LOOK),
    ],
)
def test_light_caravan_without_brakes_is_held_against_half_of_the_car(
    make_household, kerb_kg, words, state
) -> None:
    light = {"braked": False, "mtplm_kg": 700, "mass_in_running_order_kg": 500}
    house = make_household(car={"kerb_kg": kerb_kg}, caravan=light)
    check = checks_of(house)["brakes of the caravan in GB"]
    assert check.state is state
    assert words in check.sentence


COUNTRIES = ("GB", "IE", "FR", "BE", "NL", "DE", "ES", "PT", "IT", "CH", "AT", "NO")


def test_every_check_by_a_rule_from_memory_says_so_and_is_never_fine(make_household) -> None:
    checks = checks_of(make_household(), countries=COUNTRIES)
    found = {
        f"{words} in {country}": law_of(country, rule, on=DAY).basis
        for country in COUNTRIES
        for rule, words in RULES.items()
        if rule != "brakes_over_kg"
    }
    told = {subject for subject in found if "from memory" in checks[subject].sentence}
    assert told == {subject for subject, basis in found.items() if basis == "from memory"}
    assert told
    assert all(checks[subject].basis == "from memory" for subject in told)
    assert State.FINE not in {checks[subject].state for subject in told}


def test_margin_of_a_few_kilograms_is_to_be_looked_at(make_household) -> None:
    checks = checks_of(make_household(loading={"caravan_load_kg": 180}))
    assert checks["laden caravan against its plate"].state is State.LOOK


def test_margin_below_a_kilogram_is_never_called_nothing(make_household) -> None:
    subject = "laden caravan against its plate"
    over = checks_of(make_household(loading={"caravan_load_kg": 200.4}))[subject]
    assert over.sentence == "Less than 1 kg too heavy: take things out first."
    left = checks_of(make_household(loading={"caravan_load_kg": 199.6}))[subject]
    assert left.sentence.startswith("Less than 1 kg left")


@pytest.mark.parametrize("kerb_kg", [0, 1, 75])
def test_car_no_heavier_than_its_driver_is_unknown_and_named(make_household, kerb_kg) -> None:
    house = make_household(car={"kerb_kg": kerb_kg})
    checks = check_outfit(house, outfit_of(house, on=DAY), countries=["GB"], on=DAY).checks
    (ratio,) = [check for check in checks if "as a share of the car" in check.subject]
    assert ratio.state is State.UNKNOWN
    assert any("[car] kerb_kg is" in check.sentence for check in checks)


def test_plate_below_mass_in_running_order_is_one_clear_sentence(make_household) -> None:
    check = checks_of(make_household(caravan={"mtplm_kg": 1250}))["figures that do not agree"]
    assert check.state is State.NOT_FINE
    assert "1,300 kg" in check.sentence
    assert "1,250 kg" in check.sentence


def test_unknown_country_makes_all_its_law_unknown(make_household) -> None:
    checks = checks_of(make_household(), countries=("XX",))
    of_country = [check for subject, check in checks.items() if subject.endswith("in XX")]
    # Width, length, train, height, brakes, lane, mirrors, coupling, equipment and one driver.
    assert len(of_country) == 10
    assert {check.state for check in of_country} == {State.UNKNOWN}


def test_border_is_checked_on_both_sides(make_household) -> None:
    checks = checks_of(make_household(), countries=("GB", "FR", "BE"))
    for country in ("GB", "FR", "BE"):
        of_country = [subject for subject in checks if subject.endswith(f"in {country}")]
        assert len(of_country) == 10
        assert f"licence of Ada in {country}" in of_country
        assert f"width of the caravan in {country}" in of_country
    assert "law where the country is not known" not in checks


@pytest.mark.parametrize("countries", [(), ("unknown",), ("GB", "unknown")])
def test_way_without_a_country_is_one_unknown_check(make_household, countries) -> None:
    checks = checks_of(make_household(), countries=countries)
    assert checks["law where the country is not known"].state is State.UNKNOWN
    assert not any(subject.endswith("in unknown") for subject in checks)
    assert ("licence of Ada in GB" in checks) == ("GB" in countries)


def test_country_without_a_speed_limit_is_named_alone(make_household) -> None:
    fast = {"tyre": {"load_index": 103, "speed_symbol": "N", "made": "1025"}}
    house = make_household(caravan=fast)
    check = checks_of(house, countries=("GB", "XX"))["speed symbol of the caravan's tyres"]
    assert check.state is State.UNKNOWN
    assert check.sentence == "Unknown; still missing: a speed limit for towing in XX."


def test_rule_without_a_figure_is_to_be_looked_at_never_fine(make_household) -> None:
    check = checks_of(make_household())["height of the outfit in GB"]
    assert check.state is State.LOOK
    assert check.limit is None


def test_caravan_that_is_too_wide_is_not_fine(make_household) -> None:
    check = checks_of(make_household(caravan={"width_m": 2.6}))["width of the caravan in GB"]
    assert check.state is State.NOT_FINE
    assert check.margin == pytest.approx(-0.05)


def test_category_b_is_enough_in_great_britain_and_not_in_france(make_household) -> None:
    house = make_household()
    driver = house.people[0].model_copy(update={"licence": "B"})
    house = house.model_copy(update={"people": (driver, house.people[1])})
    checks = checks_of(house, countries=("GB", "FR"))
    assert checks["licence of Ada in GB"].state is State.FINE
    assert checks["licence of Ada in FR"].state is State.NOT_FINE


def test_licence_that_begins_after_the_trip_is_not_fine(make_household) -> None:
    house = make_household()
    driver = house.people[0].model_copy(update={"licence_since": dt.date(2027, 8, 1)})
    house = house.model_copy(update={"people": (driver,)})
    assert checks_of(house)["licence of Ada in GB"].state is State.NOT_FINE


def test_household_without_a_driver_is_unknown(make_household) -> None:
    house = make_household()
    house = house.model_copy(update={"people": (house.people[1],)})
    assert checks_of(house)["driving licence"].state is State.UNKNOWN


def test_noseweight_reckoned_from_a_list_is_never_fine(make_household, make_items) -> None:
    list_of = make_items(
        ("awning", 30, 1, "caravan floor", 0.3), ("boxes", 10, 2, "car boot", None)
    )
    house = make_household(
        loading={"noseweight_measured_kg": None, "caravan_load_kg": None, "car_load_kg": None}
    )
    check = checks_of(house, list_of)["noseweight on the tow ball"]
    # 5 to 7 % of 1300 kg, and 30 kg 0.3 m in front of an axle 4.4 m behind the ball.
    assert check.figure == pytest.approx(0.07 * 1300 + 30 * 0.3 / 4.4)
    assert check.state is not State.FINE


def test_thing_without_a_mass_makes_the_load_unknown_and_is_named(
    make_household, make_items
) -> None:
    list_of = make_items(("mystery box", None, 1, "caravan floor", 0.0))
    house = make_household(loading={"caravan_load_kg": None})
    check = checks_of(house, list_of)["laden caravan against its plate"]
    assert check.state is State.UNKNOWN
    assert "mystery box" in check.sentence


def test_old_tyres_are_not_fine(make_household) -> None:
    house = make_household(caravan={"tyre": {"load_index": 103, "made": "1019"}})
    assert checks_of(house)["age of the caravan's tyres"].state is State.NOT_FINE


def test_cautions_and_loading_plan_come_with_the_report(make_household, make_items) -> None:
    list_of = make_items(("awning", 30, 1, "caravan rear", -2.5), ("cups", 2, None, "caravan", 0.0))
    house = make_household()
    outfit = outfit_of(house, items=list_of, on=DAY)
    report = check_outfit(house, outfit, items=list_of, countries=["GB"], on=DAY)
    assert any("plates" in caution for caution in report.cautions)
    notes = dict(zip(report.loading["item"], report.loading["note"], strict=True))
    assert "behind the axle" in notes["awning"]
    assert notes["cups"] == ""


PARTS = {
    "car": (
        *("kerb_kg", "gross_kg", "gross_train_kg", "towing_limit_braked_kg", "towball_limit_kg"),
        *("length_m", "height_m"),
    ),
    "caravan": (
        *("mtplm_kg", "mass_in_running_order_kg", "noseweight_limit_kg", "axle_limit_kg"),
        *("shipping_length_m", "body_length_m", "width_m", "height_m", "ball_to_axle_m", "tyre"),
    ),
    "loading": ("car_load_kg", "caravan_load_kg", "noseweight_measured_kg"),
}
KEYS = [(part, key) for part, keys in PARTS.items() for key in keys]


@WHOLE
@given(
    hidden=st.lists(st.sampled_from(KEYS), min_size=1, max_size=4, unique=True),
    car_load=st.floats(0, 700),
    caravan_load=st.floats(0, 500),
    nose=st.floats(0, 150),
    braked_limit=st.floats(1000, 2500),
    axle=st.floats(1200, 1600),
    load_index=st.integers(92, 104),
)
def test_hiding_a_figure_never_turns_a_check_to_fine(
    make_household, hidden, car_load, caravan_load, nose, braked_limit, axle, load_index
) -> None:
    changes = {
        "car": {"towing_limit_braked_kg": braked_limit},
        "caravan": {"axle_limit_kg": axle, "tyre": {"load_index": load_index, "made": "1025"}},
        "loading": {
            "car_load_kg": car_load,
            "caravan_load_kg": caravan_load,
            "noseweight_measured_kg": nose,
        },
    }
    full = checks_of(make_household(**changes), countries=("GB", "FR"))
    for part, key in hidden:
        changes[part][key] = None
    less = checks_of(make_household(**changes), countries=("GB", "FR"))
    for subject, check in less.items():
        if check.state is State.FINE:
            assert full[subject].state is State.FINE, (subject, hidden)


@WHOLE
@given(load=st.floats(0, 600), more=st.floats(0, 300), where=st.sampled_from(["car", "caravan"]))
def test_more_load_never_makes_a_margin_larger(make_household, load, more, where) -> None:
    key = f"{where}_load_kg"
    light = checks_of(make_household(loading={key: load}))
    heavy = checks_of(make_household(loading={key: load + more}))
    for subject, check in light.items():
        if check.margin is not None and check.unit == "kg":
            assert heavy[subject].margin <= check.margin + 1e-9, subject


@WHOLE
@given(
    mass=st.floats(0, 200),
    more=st.floats(0, 100),
    place=st.sampled_from(["car boot", "roof box", "caravan floor"]),
)
def test_heavier_thing_on_the_list_never_makes_a_margin_larger(
    make_household, make_items, mass, more, place
) -> None:
    house = make_household(loading={"car_load_kg": None, "caravan_load_kg": None})
    light = checks_of(house, make_items(("thing", mass, 1, place, 0.0)))
    heavy = checks_of(house, make_items(("thing", mass + more, 1, place, 0.0)))
    for subject, check in light.items():
        if check.margin is not None and check.unit == "kg":
            assert heavy[subject].margin <= check.margin + 1e-9, subject


def test_length_with_the_a_frame_counts_where_the_law_says_so(make_household) -> None:
    house = make_household(caravan={"body_length_m": 6.9, "shipping_length_m": 12.5})
    checks = checks_of(house, countries=("GB", "FR"))
    assert checks["length of the caravan in GB"].figure == 6.9
    assert checks["length of the caravan in FR"].figure == 12.5
    assert checks["length of the caravan in FR"].state is State.NOT_FINE


def test_two_axles_share_the_load_and_are_never_quite_fine(make_household) -> None:
    house = make_household(caravan={"axles": 2, "axle_limit_kg": 900})
    check = checks_of(house)["load on each axle of the caravan"]
    assert check.figure == pytest.approx((1400 - 80) / 2)
    assert check.state is State.LOOK


def test_low_ball_on_two_axles_is_told_in_kilograms(make_household) -> None:
    two = {"axles": 2, "axle_limit_kg": 900, "axle_spacing_m": 0.9}
    check = checks_of(make_household(caravan=two))["load on each axle of the caravan"]
    # 660 kg on springs that give 6 cm: 11,000 kg/m. Half of 11,000 * 0.9 * 0.05 / 4.4, 56 kg, goes
    # from axle to axle; that couple takes 56 * 0.9 / 4.4 = 11.5 kg off the ball, half to each axle.
    assert "some 62 kg more" in check.sentence


def test_noseweight_limits_that_disagree_are_both_named(make_household) -> None:
    check = checks_of(make_household())["noseweight on the tow ball"]
    assert check.sentence == (
        "10 kg left. The caravan's noseweight limit, 90 kg, decides; the car's tow ball limit is "
        "100 kg."
    )
    alike = checks_of(make_household(car={"towball_limit_kg": 90}))["noseweight on the tow ball"]
    assert "decides" not in alike.sentence


def test_payload_is_held_to_the_lower_of_plate_and_towing_limit(make_household) -> None:
    by_plate = checks_of(make_household())["payload used in the caravan"]
    assert by_plate.limit == 200
    assert by_plate.rule.startswith("payload: the caravan's MTPLM, the lower of the limits")
    weak_car = make_household(car={"towing_limit_braked_kg": 1380})
    by_car = checks_of(weak_car)["payload used in the caravan"]
    # 1,380 kg may be towed, 1,300 kg are there empty: the 100 kg loaded are 20 kg too many.
    assert (by_car.limit, by_car.margin, by_car.state) == (80, -20, State.NOT_FINE)
    assert "The car's towing limit, 1,380 kg, decides" in by_car.sentence
    assert "the caravan's MTPLM is 1,500 kg" in by_car.sentence


def test_payload_without_the_towing_limit_is_unknown_unless_the_plate_is_passed(
    make_household,
) -> None:
    car = {"towing_limit_braked_kg": None}
    check = checks_of(make_household(car=car))["payload used in the caravan"]
    assert check.state is State.UNKNOWN
    assert "the car's towing limit" in check.sentence
    heavy = make_household(car=car, loading={"caravan_load_kg": 250})
    assert checks_of(heavy)["payload used in the caravan"].state is State.NOT_FINE


def test_licence_from_elsewhere_is_held_against_both_countries(make_household) -> None:
    house = make_household()
    driver = house.people[0].model_copy(update={"licence": "B", "licence_country": "FR"})
    house = house.model_copy(update={"people": (driver,)})
    # By the British rule B is enough, by the French one it is not.
    assert checks_of(house)["licence of Ada in GB"].state is State.NOT_FINE
    abroad = driver.model_copy(update={"licence": "BE"})
    house = house.model_copy(update={"people": (abroad,)})
    check = checks_of(house)["licence of Ada in GB"]
    assert check.state is State.LOOK
    assert "FR" in check.sentence


def test_licence_without_its_country_is_never_fine(make_household) -> None:
    house = make_household()
    driver = house.people[0].model_copy(update={"licence_country": None})
    house = house.model_copy(update={"people": (driver,)})
    check = checks_of(house)["licence of Ada in GB"]
    assert check.state is State.LOOK
    assert "licence_country" in check.sentence


def test_tyres_slower_than_the_law_are_not_fine(make_household) -> None:
    slow = {"tyre": {"load_index": 103, "speed_symbol": "F", "made": "1025"}}
    check = checks_of(make_household(caravan=slow))["speed symbol of the caravan's tyres"]
    assert check.state is State.NOT_FINE
    fast = {"tyre": {"load_index": 103, "speed_symbol": "N", "made": "1025"}}
    check = checks_of(make_household(caravan=fast))["speed symbol of the caravan's tyres"]
    assert check.state is State.FINE


def test_pressure_is_never_better_than_something_to_look_at(make_household) -> None:
    told = {"tyre": {"load_index": 103, "pressure_bar": 4.2}}
    assert (
        checks_of(make_household(caravan=told))["pressure of the caravan's tyres"].state
        is State.LOOK
    )
    assert checks_of(make_household())["pressure of the caravan's tyres"].state is State.UNKNOWN


def test_law_of_the_route_takes_the_place_of_the_law_that_was_there(make_household) -> None:
    household = make_household()
    outfit = outfit_of(household, on=DAY)
    report = check_outfit(household, outfit, countries=["GB", "FR"], on=DAY)
    crossed = with_law_of(report, household, countries=["FR"], on=DAY)
    assert not any(check.subject.endswith(" in GB") for check in crossed.checks)
    assert crossed.plates == report.plates
    assert {check for check in crossed.law if check.subject.endswith("in FR")} == {
        check for check in report.law if check.subject.endswith("in FR")
    }


def test_country_that_no_table_holds_is_unknown_in_every_rule_of_law(make_household) -> None:
    household = make_household()
    outfit = outfit_of(household, on=DAY)
    report = check_outfit(household, outfit, countries=["unknown"], on=DAY)
    assert report.law
    assert {check.state for check in report.law} == {State.UNKNOWN}


def test_noseweight_measured_with_another_list_follows_the_moves_and_is_not_fine(
    make_household, make_items
) -> None:
    loading = {"caravan_load_kg": None, "noseweight_measured_with": "last_year.csv"}
    house = make_household(loading=loading, caravan={"noseweight_limit_kg": 100})
    then = make_items(("awning", 22, 1, "caravan over axle", 0.1))
    now = make_items(("awning", 22, 1, "caravan front", 1.1))
    outfit = outfit_of(house, items=now, on=DAY)
    options = {"items": now, "countries": ["GB"], "on": DAY}
    report = check_outfit(house, outfit, measured_with=then, **options)
    (check,) = [c for c in report.checks if c.subject == "noseweight on the tow ball"]
    assert check.figure == pytest.approx(80 + 22 * 1.0 / 4.4)
    assert check.state is State.LOOK
    assert "measure it again" in check.sentence
    # Without that list nothing is known of the present noseweight.
    lost = check_outfit(house, outfit, **options)
    (check,) = [c for c in lost.checks if c.subject == "noseweight on the tow ball"]
    assert check.state is State.UNKNOWN
    assert "last_year.csv" in check.sentence
