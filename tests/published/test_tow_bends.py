"""Bends of known radius, the speed they allow, and rests by published guidance on a whole drive."""

from __future__ import annotations

import math

import numpy as np
import pytest

from planner_kit.reference import constant
from planner_kit.region.bends import bend_radius_m
from planner_kit.region.sampling import lines_from
from planner_kit.tow.stop_choice import Needs, Offer, choose_stops


def arc(radius_m, metres, points=160):
    turn = np.linspace(0, metres / radius_m, points)
    return radius_m * np.sin(turn), radius_m * (1 - np.cos(turn))


@pytest.mark.published(
    source="Radii of circles drawn to them; among them 255 and 510 m, the radii of DMRB TD 9/93 "
    "for 85 km/h as given in Rogers, Highway Engineering, section 6.5.2, read on 2026-11-25"
)
@pytest.mark.parametrize("radius_m", [12.0, 25.0, 90.0, 255.0, 510.0])
def test_radius_of_a_drawn_circle_is_found(radius_m):
    x, y = arc(radius_m, min(150.0, 1.5 * math.pi * radius_m))
    found = bend_radius_m(lines_from(x, y, np.array([0, len(x)])))[0]
    assert found == pytest.approx(radius_m, rel=0.03)


@pytest.mark.published(
    source="The sagitta of a circle: points s apart on a radius r lie s**2 / (8 r) off the curve "
    "between them (Euclid, Elements III.35); here below the 2 m that a map may err"
)
@pytest.mark.parametrize(("radius_m", "spacing_m"), [(60, 15), (60, 25), (90, 35), (255, 60)])
def test_radius_of_a_circle_that_is_drawn_with_few_points_is_found(radius_m, spacing_m):
    assert spacing_m**2 / (8 * radius_m) < constant("road_profile", "map_error").value
    turn = np.arange(0, 2.5, spacing_m / radius_m)
    x, y = radius_m * np.sin(turn), radius_m * (1 - np.cos(turn))
    found = bend_radius_m(lines_from(x, y, np.array([0, len(x)])))[0]
    assert found == pytest.approx(radius_m, rel=0.03)


@pytest.mark.published(
    source="Rogers, Highway Engineering, section 6.5.2, after DMRB TD 9/93: at 85 km/h 510 m is "
    "the desirable minimum radius and 255 m two steps below it, a sideways acceleration of 0.22 g; "
    "read on 2026-11-25"
)
def test_speed_in_a_bend_lies_between_the_desirable_and_the_hardest_design():
    lateral = constant("towing_costs", "lateral_tow").value
    assert math.sqrt(lateral * 510) * 3.6 > 85
    assert math.sqrt(lateral * 255) * 3.6 < 85


@pytest.mark.published(
    source="The Highway Code (GB), rule 91: a break of at least 15 minutes after every two hours "
    "of driving; read in stored copies on 2026-11-25"
)
def test_a_long_drive_is_broken_by_rule_91_with_no_stop_to_spare():
    stint, rest = constant("rests", "stint_max").value, constant("rests", "break_min").value
    total = 300.0
    stops = [
        Offer(place=n, wheel_min=at, clock_min=at, used=0, does="break", minutes=rest, penalty=8)
        for n, at in enumerate(np.arange(10.0, total, 10.0))
    ]
    choice = choose_stops(stops, Needs(total, total, 0, stint_min=stint))
    assert choice.over_min == 0
    assert len(choice.offers) == math.ceil(total / stint) - 1
    assert all(minutes >= rest for minutes in choice.minutes)
