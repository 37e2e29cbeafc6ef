"""Routes on real extracts against NetworkX and GeographicLib; GPX against its schema."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise

import networkx as nx
import numpy as np
import pytest
import shapely
import xmlschema
from geographiclib.geodesic import Geodesic

from planner_kit.errors import NoRouteError
from planner_kit.tow import car_route, route_gpx
from planner_kit.tow.costing import road_system

DAY = dt.date(2027, 7, 24)


def some_pairs(region, count):
    """Pairs of roads that a car may drive, chosen by a fixed seed."""
    roads = region.roads
    drivable = np.flatnonzero(roads["car_forward"] & roads["car_backward"])
    return np.random.default_rng(7).choice(drivable, size=(count, 2))


@pytest.mark.published(
    source="NetworkX 3, algorithms.shortest_paths.weighted.dijkstra_path_length, on "
    "OpenStreetMap extracts (ODbL)"
)
def test_quickest_times_agree_with_networkx(open_data_regions, open_data_name):
    region = open_data_regions(open_data_name)
    system = road_system(region)
    costing = system.driving(on=DAY)
    network, roads = system.network, region.roads
    # A plain graph of junctions has no turns: neither delays nor bans, so both are left out.
    time_s = costing.roads.time_s.ravel()
    only_roads = time_s[network.directed_of[network.tail]]
    system.search.customise("roads only", open_data_name, only_roads)
    graph = nx.MultiDiGraph()
    for row in roads[["from_node", "to_node", "car_forward", "car_backward"]].itertuples():
        if row.car_forward:
            graph.add_edge(row.from_node, row.to_node, s=time_s[2 * row.Index])
        if row.car_backward:
            graph.add_edge(row.to_node, row.from_node, s=time_s[2 * row.Index + 1])
    found = 0
    for number, (first, last) in enumerate(some_pairs(region, 16)):
        if first == last:
            continue
        # Either direction of the first and of the last road will do, so turning round at an end
        # never pays; the plain graph gets a node of its own for each end.
        begin, end = f"from {number}", f"to {number}"
        for way in (0, 1):
            graph.add_edge(begin, int(network.ends[2 * first + way]), s=time_s[2 * first + way])
            graph.add_edge(int(network.starts[2 * last + way]), end, s=0.0)
        path = system.search.path(
            "roads only",
            [(s, 0.0) for way in (0, 1) for s in network.states_of(2 * first + way)],
            [(s, 0.0) for way in (0, 1) for s in network.states_of(2 * last + way)],
        )
        if not nx.has_path(graph, begin, end):
            assert path is None
            continue
        expected = nx.dijkstra_path_length(graph, begin, end, weight="s")
        assert path is not None
        found += 1
        # Costs are kept in whole hundredths of a second.
        tolerance = 0.005 * (len(path.states) + 1)
        assert path.cost_s >= expected - tolerance
        junctions = set(nx.dijkstra_path(graph, begin, end, weight="s"))
        if not junctions & set(region.restrictions["via_node"].tolist()):
            assert path.cost_s == pytest.approx(expected, abs=tolerance)
    assert found >= 8


def routes(region, count):
    found = []
    for first, last in some_pairs(region, count):
        ends = [
            region.roads.geometry.iloc[road].interpolate(0.3, normalized=True)
            for road in (first, last)
        ]
        try:
            found.append(car_route(region, *((p.y, p.x) for p in ends), on=DAY))
        except NoRouteError:
            continue
    assert found
    return found


@pytest.mark.published(
    source="GeographicLib 2 for Python, Geodesic.WGS84.Inverse (Karney, Algorithms for geodesics, "
    "J. Geodesy 87, 2013)"
)
def test_length_of_a_route_agrees_with_geographiclib(open_data_regions, open_data_name):
    for route in routes(open_data_regions(open_data_name), 8):
        points = shapely.get_coordinates(route.geometry)
        metres = sum(
            Geodesic.WGS84.Inverse(a[1], a[0], b[1], b[0])["s12"] for a, b in pairwise(points)
        )
        assert route.length_km == pytest.approx(metres / 1000, rel=1e-5, abs=0.001)


@pytest.mark.published(source="GPX 1.1 schema, http://www.topografix.com/GPX/1/1/gpx.xsd")
def test_gpx_of_a_route_is_valid(open_data, open_data_regions, open_data_name):
    found = sorted(open_data.glob("gpx/*.xsd"))
    if not found:
        pytest.skip("the GPX schema is absent from the open data")
    schema = xmlschema.XMLSchema(str(found[0]))
    route = routes(open_data_regions(open_data_name), 3)[0]
    text = route_gpx(route, "A & B <tow>", [('site "1"', 52.0, -0.5)])
    schema.validate(text)
