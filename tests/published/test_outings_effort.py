"""Speed on a bicycle and on foot, against published examples."""

import numpy as np
import pytest

from planner_kit.outings.ride_effort import (
    ride_energy_kj,
    ride_value,
    riding_speed_kmh,
    walking_speed_kmh,
)


@pytest.mark.published(
    source="analyticcycling.com, 'Speed given power' (Tom Compton, 1997; stored copy read "
    "2026-11-25): 250 W, frontal area 0.5 m2, drag coefficient 0.5, air 1.226 kg/m3, 75 kg, "
    "rolling 0.004, slope 0.03 give 7.46 m/s"
)
def test_speed_of_the_published_example():
    speed = riding_speed_kmh(
        250, 0.03, mass_kg=75, rolling=0.004, drag_area_m2=0.25, air_density_kg_m3=1.226
    )
    assert speed / 3.6 == pytest.approx(7.46, abs=0.005)


@pytest.mark.published(
    source='Wikipedia, "Tobler\'s hiking function", table of sample values (stored copy read '
    "2026-11-25): slope in degrees and km/h"
)
@pytest.mark.parametrize(
    ("slope_deg", "speed"), [(-20, 2.00), (-10, 3.86), (-5, 5.26), (0, 5.04), (5, 3.71), (10, 2.72)]
)
def test_walking_speed_of_the_published_table(slope_deg, speed):
    found = walking_speed_kmh(np.tan(np.radians(slope_deg)))
    assert found == pytest.approx(speed, abs=0.005)


@pytest.mark.published(
    source="analyticcycling.com, 'Speed given power' (stored copy read 2026-11-25): the same 250 W "
    "give 7.46 m/s, so 10 km take 10,000 / 7.46 = 1,340 s and 250 x 1,340 / 1000 = 335 kJ"
)
def test_time_and_work_of_the_published_example():
    speed = riding_speed_kmh(
        250, 0.03, mass_kg=75, rolling=0.004, drag_area_m2=0.25, air_density_kg_m3=1.226
    )
    time_min = 10 / float(speed) * 60
    assert time_min * 60 == pytest.approx(1340, abs=1)
    pace = ride_energy_kj(time_min, "bike", child=False) / ride_value("adult_power_w")
    assert 250 * pace == pytest.approx(335, abs=0.5)
