from __future__ import annotations

import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.tow.stop_choice import Needs, Offer, choose_stops


def replay(chosen, offers, needs):
    """What a sequence of offers is worth, gone through stop by stop; None where it cannot be."""
    clock = penalty = since = over = 0.0
    level, short, at = needs.level, 0.0, (0.0, 0.0)
    undone = list(needs.meals)
    ends = [*(offers[n] for n in chosen), None]
    for offer in ends:
        wheel = needs.wheel_min if offer is None else offer.wheel_min
        used = needs.used if offer is None else offer.used
        over += max(since + wheel - at[0] - needs.stint_min, 0) - max(since - needs.stint_min, 0)
        since += wheel - at[0]
        level -= used - at[1]
        short = max(short, needs.reserve - level)
        at = (wheel, used)
        if offer is None:
            break
        now = start = offer.clock_min + clock
        if offer.opens is not None:
            times = [max(now, a) for a, b in offer.opens if max(now, a) < b]
            if not times:
                return None
            start = min(times)
        if offer.is_meal:
            fits = [(max(start, a), (a, b)) for a, b in undone if max(start, a) <= b]
            if not fits:
                return None
            start, window = min(fits)
            undone.remove(window)
        minutes = offer.minutes
        if offer.fills_to is not None:
            if offer.fills_to - level <= 1e-9:
                return None
            minutes = max(minutes, (offer.fills_to - level) * offer.min_per_unit)
            level = offer.fills_to
        if offer.is_break:
            since = 0.0
        clock += start - now + minutes
        penalty += offer.penalty
    arrive = needs.clock_min + clock
    late = max(arrive - needs.arrive_until, 0.0)
    cost = max(arrive, needs.arrive_from) - max(needs.clock_min, needs.arrive_from)
    base = max(needs.arrive_from - needs.clock_min, 0.0)
    cost = clock + min(max(needs.arrive_from - arrive, 0.0), base) + penalty
    return short, over, late, cost + len(undone) * needs.meal_missed


def best_of_all(offers, needs):
    places = sorted({offer.place for offer in offers})
    found = []
    for picks in itertools.product(
        *([None, *(n for n, o in enumerate(offers) if o.place == p)] for p in places)
    ):
        worth = replay([n for n in picks if n is not None], offers, needs)
        if worth is not None:
            found.append(tuple(round(part, 6) for part in worth))
    return min(found)


@st.composite
def drives(draw):
    total = draw(st.integers(60, 400))
    at = sorted(draw(st.lists(st.integers(1, total - 1), max_size=4)))
    offers = []
    for place, minute in enumerate(at):
        for _ in range(draw(st.integers(1, 2))):
            fills = draw(st.booleans())
            opens = draw(st.sampled_from([None, ((0.0, 120.0),), ((100.0, 240.0), (260.0, 500.0))]))
            offers.append(
                Offer(
                    place=place, wheel_min=minute, clock_min=minute, used=minute / 10, does="stop",
                    minutes=draw(st.sampled_from([5.0, 15.0, 45.0])),
                    penalty=draw(st.integers(0, 20)),
                    is_break=draw(st.booleans()), is_meal=draw(st.booleans()),
                    fills_to=draw(st.sampled_from([16.0, 20.0])) if fills else None,
                    min_per_unit=draw(st.sampled_from([0.0, 2.0])), opens=opens,
                )
            )  # fmt: skip
    needs = Needs(
        wheel_min=total, clock_min=total, used=total / 10, stint_min=draw(st.integers(60, 150)),
        level=draw(st.sampled_from([10.0, 20.0])), reserve=4.0,
        meals=draw(st.sampled_from([(), ((100.0, 200.0),), ((60.0, 120.0), (240.0, 330.0))])),
        arrive_from=draw(st.sampled_from([float("-inf"), 200.0])),
        arrive_until=draw(st.sampled_from([float("inf"), 300.0])),
    )  # fmt: skip
    return offers, needs


@given(drives())
@settings(max_examples=50, deadline=None)
def test_the_choice_is_the_best_of_all_choices(drive):
    offers, needs = drive
    choice = choose_stops(offers, needs)
    assert choice.worth == pytest.approx(best_of_all(offers, needs), abs=1e-5)
    assert replay(choice.offers, offers, needs) == pytest.approx(choice.worth, abs=1e-5)


def offer(place, minute, **more):
    figures = {
        "place": place, "wheel_min": minute, "clock_min": minute, "used": minute / 10,
        "does": "break", "minutes": 15.0, "penalty": 8.0,
    }  # fmt: skip
    return Offer(**{**figures, **more})


def needs(total, **more):
    return Needs(wheel_min=total, clock_min=total, used=total / 10, stint_min=120.0, **more)


def test_no_stop_is_made_where_none_is_needed():
    assert choose_stops([offer(0, 50)], needs(100)).offers == ()


def test_a_closed_station_is_passed_and_the_open_one_taken():
    fuel = {"does": "fuel", "fills_to": 30.0, "is_break": False, "minutes": 10.0}
    shut = offer(0, 60, opens=((300.0, 400.0),), **fuel)
    opened = offer(1, 80, opens=((0.0, 400.0),), **fuel)
    choice = choose_stops([shut, opened], needs(110, level=12.0, reserve=3.0))
    assert choice.offers == (1,)
    assert choice.short == 0
    assert choice.filled[0] == pytest.approx(30 - (12 - 8))


def test_a_reserve_that_cannot_be_kept_is_told():
    choice = choose_stops([], needs(110, level=12.0, reserve=3.0))
    assert choice.short == pytest.approx(2.0)


def test_one_stop_serves_meal_and_break():
    stops = [offer(0, 60), offer(0, 60, does="meal", is_meal=True, minutes=45.0), offer(1, 150)]
    choice = choose_stops(stops, needs(170, meals=((50.0, 120.0),), meal_missed=60.0))
    assert choice.offers == (1,)
    assert choice.meals_missed == 0


def test_time_before_the_site_opens_costs_nothing():
    meal = offer(0, 60, is_meal=True, minutes=45.0)
    choice = choose_stops([meal], needs(100, meals=((50.0, 120.0),), arrive_from=150.0))
    assert choice.cost_min == pytest.approx(45 + 5 + 8)


def test_a_crossing_counts_as_a_break():
    ferry = offer(0, 90, forced=True, minutes=0.0, penalty=0.0)
    choice = choose_stops([ferry], needs(200))
    assert choice.offers == ()
    assert choice.over_min == 0
