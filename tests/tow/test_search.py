from __future__ import annotations

import numpy as np
import pytest

from planner_kit.errors import PlannerKitError
from planner_kit.tow.network import build_network
from planner_kit.tow.search import ORDER_FILE, Search

from .conftest import make_region


def small_network():
    points = [(52.0, 0.0), (52.0, 0.01), (52.0, 0.02), (52.01, 0.01)]
    region = make_region(points, [(0, 1, {}), (1, 2, {}), (1, 3, {}), (2, 3, {})])
    return build_network(region.roads, region.nodes, region.restrictions)


def cost_in(search, network):
    search.customise("test", 1, np.ones(len(network.tail)))
    return search.path("test", [(0, 0.0)], [(2, 0.5)]).cost_s


def test_order_is_kept_in_the_folder_and_read_again(tmp_path):
    network = small_network()
    first = cost_in(Search(network, tmp_path), network)
    kept = tmp_path / ORDER_FILE
    stamp = kept.stat().st_mtime_ns
    assert cost_in(Search(network, tmp_path), network) == first == pytest.approx(1.5)
    assert kept.stat().st_mtime_ns == stamp


@pytest.mark.parametrize("damage", [b"", b"not an array", b"\x93NUMPY\x01\x00v\x00"])
def test_damaged_order_is_found_anew(tmp_path, damage):
    network = small_network()
    (tmp_path / ORDER_FILE).write_bytes(damage)
    assert cost_in(Search(network, tmp_path), network) == pytest.approx(1.5)
    assert np.load(tmp_path / ORDER_FILE).size == network.states + 1


def test_order_of_other_roads_is_not_used(tmp_path):
    network = small_network()
    np.save(tmp_path / ORDER_FILE, np.arange(network.states + 1))
    assert cost_in(Search(network, tmp_path), network) == pytest.approx(1.5)


def test_order_stays_in_memory_where_the_folder_cannot_be_written(tmp_path):
    network = small_network()
    assert cost_in(Search(network, tmp_path / "file" / "in"), network) == pytest.approx(1.5)
    (tmp_path / "plain").write_text("a file, not a folder")
    assert cost_in(Search(network, tmp_path / "plain"), network) == pytest.approx(1.5)


def test_new_costs_take_hold_between_queries_and_one_to_many_agrees():
    network = small_network()
    search = Search(network)
    targets = list(range(network.states))
    for key, factor in enumerate((1.0, 3.0, 0.5)):
        search.customise("test", key, np.full(len(network.tail), factor))
        paths = [search.path("test", [(0, 0.0)], [(t, 0.0)]) for t in targets]
        alone = np.array([np.inf if path is None else path.cost_s for path in paths])
        assert search.costs_to("test", [(0, 0.0)], targets) == pytest.approx(alone)
        assert set(alone[np.isfinite(alone)] / factor) <= set(range(10))


def test_negative_or_missing_cost_is_refused():
    network = small_network()
    for bad in (-1.0, np.nan):
        with pytest.raises(PlannerKitError, match="negative or missing"):
            Search(network).customise("test", 0, np.full(len(network.tail), bad))


def test_order_keeps_the_roads_that_leave_a_junction_together():
    network = small_network()
    search = Search(network)
    assert sorted(search.rank.tolist()) == list(range(network.states))
    junction = network.starts[network.directed_of][np.argsort(search.rank)]
    changes = int((np.diff(junction) != 0).sum())
    assert changes == len(np.unique(junction)) - 1


def test_cost_without_a_path_is_that_of_the_path():
    network = small_network()
    search = Search(network)
    search.customise("test", 0, np.arange(len(network.tail), dtype=float))
    for begin in range(network.states):
        for end in range(network.states):
            path = search.path("test", [(begin, 0.25)], [(end, 0.0)])
            found = search.cost_s("test", [(begin, 0.25)], [(end, 0.0)])
            assert found == (np.inf if path is None else path.cost_s)
    assert search.cost_s("test", [], [(0, 0.0)]) == np.inf


def test_sweeps_kept_for_the_same_nodes_follow_new_costs():
    network = small_network()
    search = Search(network)
    rng = np.random.default_rng(4)
    nodes = np.arange(network.states)
    wanted = [nodes[:2], nodes[2:5], nodes, nodes[:2], nodes[::-1]]
    for key in range(4):
        cost_s = rng.integers(1, 90, len(network.tail)).astype(float)
        search.customise("test", key, cost_s)
        for goals in wanted:
            swept = search.costs_to("test", [(0, 0.25)], goals)
            single = [search.cost_s("test", [(0, 0.25)], [(int(goal), 0.0)]) for goal in goals]
            assert swept.tolist() == single
