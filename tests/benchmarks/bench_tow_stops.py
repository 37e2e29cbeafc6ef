"""How long it takes to choose the stops of a long drive, and to drive its corners.

    python tests/benchmarks/bench_tow_stops.py

Made drives of 250 to 1000 km with a place every 4 km; a third of them sell fuel.
"""

from __future__ import annotations

import time

import numpy as np

from planner_kit.tow.stop_choice import Needs, Offer, choose_stops
from planner_kit.tow.swept_path import Turning, sweep


def offers_every(step_km: float, length_km: float) -> list[Offer]:
    """Rest, meal and, at every third place, fuel, along a drive at 75 km/h."""
    found: list[Offer] = []
    luck = np.random.default_rng(1)
    for place, km in enumerate(np.arange(step_km, length_km, step_km)):
        at = km / 75 * 60
        marks = float(luck.integers(8, 35))
        base = {"place": place, "wheel_min": at, "clock_min": at, "used": km * 0.11}
        found.append(Offer(**base, does="break", minutes=18, penalty=marks))
        found.append(Offer(**base, does="meal", minutes=48, penalty=marks, is_meal=True))
        if place % 3 == 0:
            found.append(Offer(**base, does="fuel", minutes=13, penalty=marks, is_break=False,
                               fills_to=60.0))  # fmt: skip
    return found


def main() -> None:
    """Print a table of the best of three."""
    print(f"{'drive':>8} {'places':>7} {'stops':>6} {'seconds':>8}")
    for length_km in (250, 500, 1000):
        offers = offers_every(4, length_km)
        total = length_km / 75 * 60
        needs = Needs(total, total, length_km * 0.11, 120, level=60, reserve=12,
                      meals=((150.0, 270.0), (510.0, 630.0)))  # fmt: skip
        took = []
        for _ in range(3):
            began = time.perf_counter()
            choice = choose_stops(offers, needs)
            took.append(time.perf_counter() - began)
        places = offers[-1].place + 1
        print(f"{length_km:>5} km {places:>7} {len(choice.offers):>6} {min(took):>8.3f}")
    turning = Turning(2.8, 1.0, 1.1, 4.3, 2.9, 1.85, 2.3, 5.0)
    radius, angle = np.full(600, 9.0), np.linspace(0.7, 2.9, 600)
    began = time.perf_counter()
    sweep(turning, radius, angle)
    print(f"600 turns swept in {time.perf_counter() - began:.3f} s")


if __name__ == "__main__":
    main()
