"""How long the utilities of a stay take, with the sun over the hills of a made ground.

Run by hand: ``python tests/benchmarks/bench_utilities.py``.
"""

from __future__ import annotations

import datetime as dt
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parent))

from bench_signals import best_of, made_terrain

from planner_kit.pitch.climate import StayClimate
from planner_kit.pitch.service_points import service_points
from planner_kit.pitch.site_rules import SiteOffer
from planner_kit.pitch.skyline import skyline
from planner_kit.pitch.standing import ground_slope
from planner_kit.pitch.utilities import PitchPlace, utilities_of
from planner_kit.trip.household import Appliance, Caravan, Household
from planner_kit.trip.prices import read_prices

ARRIVE = dt.date(2027, 7, 24)


def household(appliances: int) -> Household:
    caravan = Caravan(
        name="c", body_length_m=6, width_m=2.3, insulation_class=3, heating="electric",
        leisure_battery_ah=100, battery_chemistry="AGM", solar_w=100, cassette_l=18,
        hookup_lead_m=25, hookup_lead_mm2=2.5, gas_kind="propane",
    )  # fmt: skip
    listed = tuple(
        Appliance(name=f"thing {n}", watts=100 + 10 * n, hours_per_day=1) for n in range(appliances)
    )
    plain = {
        "schema": 1, "name": "Made", "home": {"lat": 54.0, "lon": 0.0},
        "people": [{"name": "Ann"}], "car": {"name": "car", "fuel": "diesel"},
        "caravan": caravan.model_dump(), "appliances": [a.model_dump() for a in listed],
    }  # fmt: skip
    return Household.model_validate(plain)


def main() -> None:
    ground = made_terrain(1201)
    place = PitchPlace(
        54.0, 0.0, "Europe/London", 150.0, skyline(ground, 54.0, 0.0),
        ground_slope(ground, 54.0, 0.0), service_points(None, 54.0, 0.0),
    )  # fmt: skip
    offer = SiteOffer("s", 10, 230, 0, True, "any", "tap", None, None, "made")
    for nights, appliances, hookup in ((7, 8, True), (7, 8, False), (28, 40, True)):
        home = household(appliances)

        def work(home: Household = home, nights: int = nights, hookup: bool = hookup) -> object:
            return utilities_of(
                home, offer, place, ARRIVE, ARRIVE + dt.timedelta(days=nights),
                people=4, climate=StayClimate(2, 12, 0.4, 250, 40, "made"),
                prices=read_prices(None), hookup=hookup,
            )  # fmt: skip

        words = "on the post" if hookup else "without mains"
        taken = 1000 * best_of(5, work)
        print(f"{nights:3d} nights, {appliances:3d} appliances, {words:14s} {taken:7.1f} ms")


if __name__ == "__main__":
    main()
