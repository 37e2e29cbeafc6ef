"""Alternatives on real extracts against their definition, and costs of 1,000 pairs, by SciPy."""

from __future__ import annotations

import datetime as dt

import numpy as np
import pytest
from scipy.sparse import csr_array
from scipy.sparse.csgraph import dijkstra

from planner_kit.tow.alternatives import admissible, alternative_paths
from planner_kit.tow.costing import road_system
from planner_kit.tow.search import whole_units
from planner_kit.trip.household import TowWeights
from tests.tow.conftest import make_outfit

DAY = dt.date(2027, 7, 24)


def towing(region):
    system = road_system(region)
    costing = system.towing(make_outfit(), TowWeights(), on=DAY)
    system.search.customise("tow", costing.key, costing.arc_cost_s)
    units = whole_units(costing.arc_cost_s)
    open_ = np.isfinite(costing.arc_cost_s)
    network = system.network
    # SciPy reads 0 as "no arc"; no turn of a real extract is free.
    assert units[open_].min() > 0
    graph = csr_array(
        (units[open_].astype(float), (network.tail[open_], network.head[open_])),
        shape=(network.states, network.states),
    )
    return system, costing, units, graph


def some_nodes(system, costing, count, seed):
    """Nodes on open roads that lie at junctions of main roads."""
    network = system.network
    classes = system.roads["road_class"].isin(["primary", "secondary", "tertiary"]).to_numpy(bool)
    road = network.directed_of // 2
    usable = np.flatnonzero(classes[road] & ~costing.limits.roads_shut[road])
    return np.random.default_rng(seed).choice(usable, count).tolist()


@pytest.mark.published(
    source="SciPy 1.17, sparse.csgraph.dijkstra, on OpenStreetMap extracts (ODbL): costs of 1,000 "
    "pairs of turn-network nodes, to the hundredth of a second"
)
def test_costs_of_a_thousand_pairs_agree_with_scipy(open_data_regions, open_data_name):
    system, costing, _, graph = towing(open_data_regions(open_data_name))
    sources = some_nodes(system, costing, 10, 3)
    targets = np.array(some_nodes(system, costing, 100, 4))
    expected = dijkstra(graph, indices=sources)
    reached = 0
    for row, source in enumerate(sources):
        many = system.search.costs_to("tow", [(source, 0.0)], targets.tolist())
        assert np.rint(many * 100).tolist() == expected[row, targets].tolist()
        for target in targets.tolist():
            path = system.search.path("tow", [(source, 0.0)], [(target, 0.0)])
            found = np.inf if path is None else round(path.cost_s * 100)
            assert found == expected[row, target]
            reached += path is not None
    assert reached > 500


PAPER = (
    "I. Abraham, D. Delling, A. V. Goldberg, R. F. Werneck, 'Alternative Routes in Road Networks', "
    "SEA 2010 and ACM Journal of Experimental Algorithmics 18 (2013)"
)
READ = (
    "The abstract was read in a stored copy (vdocuments.us, 2026-11-25), sections 3 and 4 as "
    "quoted and the shares of section 7 as reported in a survey in a public repository (stored "
    "copy, 2026-11-30); the same shares, called the standard ones, in the summary of Bacherle, "
    "Bläsius, Zündorf, ATMOS 2025, in ITS-Simulation/Hanoi-Routing docs/walkthrough (2026-11-30)"
)


@pytest.mark.published(
    source=f"{PAPER}, section 7: gamma = 80 %, alpha = 25 %, epsilon = 25 %. {READ}"
)
def test_limits_are_those_of_the_paper():
    limits = admissible()
    assert (limits.sharing_frac, limits.optimal_frac, limits.stretch_frac) == (0.80, 0.25, 0.25)


@pytest.mark.published(
    source=f"{PAPER}, section 3: the cost of what is shared is at most gamma times the best way's; "
    "every subpath no longer than T = alpha times the best way is a shortest path; every subpath, "
    f"the path itself included, has stretch at most 1 + epsilon. {READ}. Distances by SciPy 1.17, "
    "sparse.csgraph.dijkstra, between all pairs of nodes of each alternative"
)
def test_alternatives_keep_their_definition(open_data_regions, open_data_name):
    system, costing, units, graph = towing(open_data_regions(open_data_name))
    road_units = np.rint(costing.road_cost_s * np.float64(100)).astype(np.int64)
    road_of = system.network.directed_of
    ends = some_nodes(system, costing, 24, 11)
    found = {False: 0, True: 0}
    for begin, end in zip(ends[::2], ends[1::2], strict=True):
        best = system.search.path("tow", [(begin, 0.0)], [(end, 0.0)])
        if best is None:
            continue
        optimum = int(units[best.arcs].sum())
        driven_before = set(road_of[best.states[:-1]].tolist())
        turned_before = set(best.arcs.tolist())
        for other in alternative_paths(
            system, "tow", costing, best, [(begin, 0.0)], [(end, 0.0)], most=3
        ):
            limits, path = admissible(wide=other.wide), other.path
            assert (path.states[0], path.states[-1]) == (begin, end)
            assert np.array_equal(system.network.tail[path.arcs], path.states[:-1])
            assert np.array_equal(system.network.head[path.arcs], path.states[1:])
            mine = units[path.arcs]
            # Each step is a road and the turn at its end; a road may be shared without the turn.
            roads = road_of[path.states[:-1]]
            shared = sum(
                int(road_units[road]) * (road in driven_before)
                + int(units[arc] - road_units[road]) * (arc in turned_before)
                for road, arc in zip(roads.tolist(), path.arcs.tolist(), strict=True)
            )
            assert shared <= limits.sharing_frac * optimum
            at = np.r_[0, np.cumsum(mine)]
            driven = at[None, :] - at[:, None]
            least = dijkstra(graph, indices=path.states)[:, path.states]
            parts = np.triu(np.ones(driven.shape, dtype=bool), 1)
            assert (driven[parts] <= (1 + limits.stretch_frac) * least[parts]).all()
            short = parts & (driven <= limits.optimal_frac * optimum)
            assert (driven[short] == least[short]).all()
            assert other.longer_frac == pytest.approx(at[-1] / optimum - 1)
            driven_before.update(roads.tolist())
            turned_before.update(path.arcs.tolist())
            found[other.wide] += 1
    assert found[False] >= 1
    assert sum(found.values()) >= 4
