"""Routes on large networks beside the plain Dijkstra of two libraries; run this file with python.

The networks are copies of a real extract joined side by side. Arguments: columns and rows of
copies, such as `1x1 6x3 13x13`. A road is a stretch between two junctions that is open to cars;
its two directions are two nodes of the turn network. Plain Dijkstra is run in the same process
on the same turn network: SciPy's compiled one, from a node to all others, and NetworkX's, from a
node to another.
"""

from __future__ import annotations

import datetime as dt
import os
import resource
import statistics
import sys
import tempfile
import time
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import networkx as nx
import numpy as np
import pandas as pd
from joined_region import joined_region, real_region
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from planner_kit.errors import NoRouteError
from planner_kit.outfit.report import Outfit
from planner_kit.tow import drive_times, find_alternatives, find_route, prepare
from planner_kit.tow.costing import road_system
from planner_kit.tow.search import whole_units
from planner_kit.trip.household import TowWeights

DAY = dt.date(2027, 7, 24)
OUTFIT = Outfit(
    car_kg=1900, caravan_kg=1400, train_kg=3300, caravan_plate_kg=1500, train_plate_kg=3500,
    car_gross_kg=2300, max_axle_kg=1200, length_m=11.8, width_m=2.3, height_m=2.65,
    car_length_m=4.7, car_wheelbase_m=2.8, ball_behind_rear_axle_m=1.1, ball_to_axle_m=4.2,
    axle_to_tail_m=2.3, car_width_m=1.85, caravan_width_m=2.3, power_kw=110, fuel="diesel",
)  # fmt: skip


@dataclass(frozen=True)
class Took:
    """How long something took: by the clock, and of the processors' time alone [s]."""

    clock: float
    processor: float


def timed(call: Any) -> tuple[Took, Any]:
    began, used = time.perf_counter(), time.process_time()
    answer = call()
    return Took(time.perf_counter() - began, time.process_time() - used), answer


def median(took: list[Took]) -> float:
    """The median of the processors' time, which other work on the machine changes little [s]."""
    return statistics.median(one.processor for one in took)


def shown(took: list[Took], *, digits: int = 1) -> str:
    """The median by the clock and of the processors' time."""
    clock = statistics.median(one.clock for one in took)
    return f"{clock * 1000:.{digits}f} ms (processors {median(took) * 1000:.{digits}f} ms)"


def measure(region: Any) -> list[tuple[str, str]]:
    rows: list[tuple[str, str]] = []
    order_s = prepare(region, progress=False)
    system = road_system(region)
    network, search = system.network, system.search
    drivable = region.roads["car_forward"] | region.roads["car_backward"]
    rows.append(("roads open to cars", f"{int(drivable.sum()):,} of {len(drivable):,}"))
    rows.append(("nodes and turns of the network", f"{network.states:,}, {len(network.tail):,}"))
    rows.append(("network, order and hierarchy", f"{order_s:.2f} s"))
    costing = system.towing(OUTFIT, TowWeights(), on=DAY)
    search.customise("tow", costing.key, costing.arc_cost_s)

    rng = np.random.default_rng(3)
    units = whole_units(costing.arc_cost_s)
    keep = ~np.isinf(costing.arc_cost_s)
    # SciPy reads 0 as "no arc"; a hundredth of a second more on each arc changes no comparison,
    # because the hierarchy is given the same costs.
    plain = csr_array(
        ((units[keep] + 1).astype(float), (network.tail[keep], network.head[keep])),
        shape=(network.states, network.states),
    )
    search.customise("same", "plain", np.where(keep, (units + 1) / 100, np.inf))
    sources = rng.choice(network.states, 5 if network.states > 50_000 else 100)
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
    query = [timed(lambda p=p: search.path("tow", [(p[0], 0.0)], [(p[1], 0.0)]))[0] for p in pairs]
    alone = [
        timed(lambda p=p: search.cost_s("tow", [(p[0], 0.0)], [(p[1], 0.0)]))[0] for p in pairs
    ]
    rows.append(("plain Dijkstra, SciPy, one to all", shown(plain_s)))
    rows.append(("query", shown(alone, digits=2)))
    rows.append(("query with path", shown(query, digits=2)))
    for name, took in (("query", alone), ("query with path", query)):
        times = median(plain_s) / median(took)
        rows.append((f"{name}: times faster than SciPy", f"{times:,.0f}"))
    general_s = networkx_dijkstra_s(plain, search, pairs)
    rows.append(("plain Dijkstra, NetworkX, one to one", shown(general_s)))
    times = median(general_s) / median(query)
    rows.append(("query with path: times faster than NetworkX", f"{times:,.0f}"))
    goals = rng.choice(network.states, 1000).tolist()
    many = [timed(lambda p=p: search.costs_to("tow", [(p[0], 0.0)], goals))[0] for p in pairs[:9]]
    rows.append(("one to 1,000", shown(many)))
    rows += routes(region, rng)
    used = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    rows.append(("peak memory", f"{used:.2f} GB"))
    rows.append(("load of the machine", " ".join(f"{load:.1f}" for load in os.getloadavg())))
    return rows


def networkx_dijkstra_s(plain: csr_array, search: Any, pairs: list[list[int]]) -> list[Took]:
    """Times of NetworkX from node to node, checked against the hierarchy."""
    graph = nx.DiGraph()
    coo = plain.tocoo()
    graph.add_weighted_edges_from(
        zip(coo.row.tolist(), coo.col.tolist(), coo.data.tolist(), strict=True)
    )
    took = []
    for begin, end in pairs:
        path = search.path("same", [(begin, 0.0)], [(end, 0.0)])
        if path is None:
            continue
        seconds, found = timed(lambda b=begin, e=end: nx.single_source_dijkstra(graph, b, e))
        assert found[0] == round(path.cost_s * 100)
        took.append(seconds)
        if len(took) == 5:
            break
    return took


def routes(region: Any, rng: np.random.Generator) -> list[tuple[str, str]]:
    wanted = region.roads["road_class"].isin(["primary", "secondary", "tertiary"]).to_numpy(bool)
    both = np.flatnonzero(wanted & (region.roads["car_forward"] & region.roads["car_backward"]))
    spots = [
        g.interpolate(0.5, normalized=True)
        for g in region.roads.geometry.iloc[rng.choice(both, 14)]
    ]
    weight, outfit, again, afresh, sizes = [], [], [], [], []
    for number, (a, b) in enumerate(zip(spots[::2], spots[1::2], strict=True)):
        ends = (a.y, a.x), (b.y, b.x)
        heavier = replace(OUTFIT, car_kg=1900.0 + number)
        dislikes = TowWeights(narrow=100 + number)
        try:
            changed = timed(lambda e=ends, o=heavier: find_route(
                region, o, *e, weights=TowWeights(), on=DAY))[0]  # fmt: skip
            slid = timed(lambda e=ends, o=heavier, d=dislikes: find_route(
                region, o, *e, weights=d, on=DAY))[0]  # fmt: skip
            same, route = timed(lambda e=ends, o=heavier, d=dislikes: find_route(
                region, o, *e, weights=d, on=DAY))  # fmt: skip
            back = timed(lambda e=ends, o=heavier, d=dislikes: find_route(
                region, o, *e[::-1], weights=d, on=DAY))[0]  # fmt: skip
        except NoRouteError:
            continue
        outfit.append(changed)
        weight.append(slid)
        again.append(same)
        afresh.append(back)
        sizes.append(len(route.steps))
    return [
        (f"new outfit to route with reasons ({len(outfit)} routes)", shown(outfit, digits=0)),
        ("new weights to route with reasons", shown(weight, digits=0)),
        ("nothing new: path, geometry and reasons", shown(again)),
        ("the way back for the first time: the same", shown(afresh)),
        ("stretches of these routes", f"{min(sizes):,} to {max(sizes):,}"),
        *choice(region, spots),
        *many(region, spots, rng),
    ]


def choice(region: Any, spots: list[Any]) -> list[tuple[str, str]]:
    """Alternatives to a way, with all their reasons."""
    took, found = [], 0
    for a, b in zip(spots[::2], spots[1::2], strict=True):
        try:
            seconds, ways = timed(lambda a=a, b=b: find_alternatives(
                region, OUTFIT, (a.y, a.x), (b.y, b.x), weights=TowWeights(), on=DAY))  # fmt: skip
        except NoRouteError:
            continue
        took.append(seconds)
        found += len(ways) - 1
    return [(f"best way and {found / len(took):.1f} others", shown(took[1:], digits=0))]


def many(region: Any, spots: list[Any], rng: np.random.Generator) -> list[tuple[str, str]]:
    """Minutes and km by car to 1,000 places all over the region, and to those around the start."""
    roads = region.roads.geometry
    middle = [roads.iloc[row].interpolate(0.5, normalized=True) for row in
              rng.choice(len(roads), 1000)]  # fmt: skip
    rows = []
    for name, spread in (("all over the region", 1.0), ("within 10 km", 0.0)):
        first, again = [], []
        for number, start in enumerate(spots[:5]):
            lat = np.array([p.y for p in middle]) + number * 1e-5
            lon = np.array([p.x for p in middle]) + number * 1e-5
            if not spread:
                lat = start.y + rng.uniform(-0.06, 0.06, 1000)
                lon = start.x + rng.uniform(-0.08, 0.08, 1000)
            places = pd.DataFrame({"lat": lat, "lon": lon})
            for took in (first, again):
                took.append(timed(lambda s=start, p=places: drive_times(
                    region, (s.y, s.x), p, on=DAY))[0])  # fmt: skip
        rows.append((f"minutes and km to 1,000 places {name}", shown(again)))
        rows.append(("  for places not asked about before", shown(first[1:])))
    return rows


if __name__ == "__main__":
    with tempfile.TemporaryDirectory() as folder:
        one = real_region("liechtenstein", Path(folder))
        for word in sys.argv[1:] or ["1x1", "6x3"]:
            columns, rows = (int(part) for part in word.split("x"))
            copies = columns * rows
            big = (
                one
                if copies == 1
                else joined_region(one, columns, rows, Path(folder) / f"joined{word}")
            )
            print(f"\n{copies} copies")
            for name, text in measure(big):
                print(f"  {name:55s} {text}", flush=True)
