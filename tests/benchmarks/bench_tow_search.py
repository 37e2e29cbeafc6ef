"""Routes on large networks beside the plain Dijkstra of SciPy; run this file with python.

The networks are copies of a real extract joined side by side. Arguments: copies along each side,
such as `1 5 16`.
"""

from __future__ import annotations

import datetime as dt
import resource
import statistics
import sys
import tempfile
import time
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
from joined_region import joined_region, real_region
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from planner_kit.errors import NoRouteError
from planner_kit.outfit.report import Outfit
from planner_kit.tow import find_route, prepare
from planner_kit.tow.costing import road_system
from planner_kit.trip.household import TowWeights

DAY = dt.date(2027, 7, 24)
OUTFIT = Outfit(
    car_kg=1900, caravan_kg=1400, train_kg=3300, caravan_plate_kg=1500, train_plate_kg=3500,
    car_gross_kg=2300, max_axle_kg=1200, length_m=11.8, width_m=2.3, height_m=2.65,
    car_length_m=4.7, car_wheelbase_m=2.8, ball_behind_rear_axle_m=1.1, ball_to_axle_m=4.2,
    axle_to_tail_m=2.3, car_width_m=1.85, caravan_width_m=2.3, power_kw=110, fuel="diesel",
)  # fmt: skip


def timed(call: Any) -> tuple[float, Any]:
    began = time.perf_counter()
    answer = call()
    return time.perf_counter() - began, answer


def measure(region: Any) -> list[tuple[str, str]]:
    rows: list[tuple[str, str]] = []
    order_s = prepare(region, progress=False)
    system = road_system(region)
    network, search = system.network, system.search
    drivable = region.roads["car_forward"] | region.roads["car_backward"]
    rows.append(("roads open to cars", f"{int(drivable.sum()):,} of {len(drivable):,}"))
    rows.append(("turns", f"{len(network.tail):,}"))
    rows.append(("network, order and hierarchy", f"{order_s:.2f} s"))
    costing = system.towing(OUTFIT, TowWeights(), on=DAY)
    search.customise("tow", costing.key, costing.arc_cost_s)

    rng = np.random.default_rng(3)
    units = np.rint(np.where(np.isinf(costing.arc_cost_s), 0, costing.arc_cost_s) * 100)
    keep = ~np.isinf(costing.arc_cost_s)
    # SciPy reads 0 as "no arc"; a hundredth of a second more on each arc changes no comparison,
    # because the hierarchy is given the same costs.
    plain = csr_array(
        (units[keep] + 1, (network.tail[keep], network.head[keep])),
        shape=(network.states, network.states),
    )
    search.customise("same", "plain", np.where(keep, (units + 1) / 100, np.inf))
    sources = rng.choice(network.states, 1 if network.states > 50_000 else 100)
    targets = rng.choice(network.states, (len(sources), 1000 // len(sources)))
    plain_s, wrong, checked = [], 0, 0
    for source, goals in zip(sources.tolist(), targets.tolist(), strict=True):
        took, found = timed(lambda s=source: dijkstra(plain, indices=s))
        plain_s.append(took)
        for goal in goals:
            path = search.path("same", [(source, 0.0)], [(goal, 0.0)])
            mine = np.inf if path is None else round(path.cost_s * 100)
            wrong += mine != found[goal]
            checked += 1
    rows.append(("pairs that differ from SciPy", f"{wrong} of {checked}"))
    pairs = rng.choice(network.states, (200, 2)).tolist()
    query = statistics.median(
        timed(lambda p=p: search.path("tow", [(p[0], 0.0)], [(p[1], 0.0)]))[0] for p in pairs
    )
    rows.append(("plain Dijkstra (SciPy)", f"{statistics.median(plain_s) * 1000:.1f} ms"))
    rows.append(("query with path", f"{query * 1000:.2f} ms"))
    rows.append(("times faster", f"{statistics.median(plain_s) / query:,.0f}"))
    goals = rng.choice(network.states, 1000).tolist()
    many = statistics.median(
        timed(lambda: search.costs_to("tow", [(pairs[0][0], 0.0)], goals))[0] for _ in range(5)
    )
    rows.append(("one to 1,000", f"{many * 1000:.1f} ms"))
    rows += routes(region, rng)
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    rows.append(("peak memory", f"{used:.2f} GB"))
    return rows


def routes(region: Any, rng: np.random.Generator) -> list[tuple[str, str]]:
    wanted = region.roads["road_class"].isin(["primary", "secondary", "tertiary"]).to_numpy(bool)
    both = np.flatnonzero(wanted & (region.roads["car_forward"] & region.roads["car_backward"]))
    spots = [
        g.interpolate(0.5, normalized=True)
        for g in region.roads.geometry.iloc[rng.choice(both, 14)]
    ]
    weight, outfit, again = [], [], []
    for number, (a, b) in enumerate(zip(spots[::2], spots[1::2], strict=True)):
        ends = (a.y, a.x), (b.y, b.x)
        heavier = replace(OUTFIT, car_kg=1900.0 + number)
        dislikes = TowWeights(narrow=100 + number)
        try:
            changed = timed(lambda e=ends, o=heavier: find_route(
                region, o, *e, weights=TowWeights(), on=DAY))[0]  # fmt: skip
            slid = timed(lambda e=ends, o=heavier, d=dislikes: find_route(
                region, o, *e, weights=d, on=DAY))[0]  # fmt: skip
            same = timed(lambda e=ends, o=heavier, d=dislikes: find_route(
                region, o, *e, weights=d, on=DAY))[0]  # fmt: skip
        except NoRouteError:
            continue
        outfit.append(changed)
        weight.append(slid)
        again.append(same)
    return [
        (f"new outfit to route with reasons (median of {len(outfit)})",
         f"{statistics.median(outfit) * 1000:.0f} ms"),
        ("new weights to route with reasons", f"{statistics.median(weight) * 1000:.0f} ms"),
        ("nothing new: path, geometry and reasons", f"{statistics.median(again) * 1000:.1f} ms"),
    ]  # fmt: skip


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        one = real_region("liechtenstein", Path(folder))
        for side in [int(word) for word in sys.argv[1:]] or [1, 5]:
            big = one if side == 1 else joined_region(one, side, Path(folder) / f"joined{side}")
            print(f"\n{side * side} copies")
            for name, text in measure(big):
                print(f"  {name:55s} {text}")
