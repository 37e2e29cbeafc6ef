"""A small hand-made region: roads given as edges between points."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from pyproj import Geod
from shapely.geometry import LineString, Point

from planner_kit.outfit.report import Outfit
from planner_kit.region.columns import SIGNPOSTS

GEOD = Geod(ellps="WGS84")
ROAD = {
    "road_class": "primary",
    "name": "",
    "ref": "",
    "signs_forward": "",
    "signs_backward": "",
    "oneway": 0,
    "roundabout": False,
    "link": False,
    "dual": False,
    "lanes": 2.0,
    "width_m": 7.0,
    "width_source": "tagged",
    "maxspeed_forward_kmh": np.nan,
    "maxspeed_backward_kmh": np.nan,
    "maxspeed_trailer_kmh": np.nan,
    "maxheight_m": np.nan,
    "maxwidth_m": np.nan,
    "maxlength_m": np.nan,
    "maxweight_t": np.nan,
    "maxaxleload_t": np.nan,
    "unread_limits": "",
    "surface": "asphalt",
    "smoothness": "unknown",
    "lit": False,
    "built_up": False,
    "gradient_pct": 0.0,
    "steepest_up_pct": 0.0,
    "steepest_down_pct": 0.0,
    "climb_m": 0.0,
    "descent_m": 0.0,
    "gradient_source": "terrain",
    "bend_radius_m": np.inf,
    "bridge": False,
    "tunnel": False,
    "toll": False,
    "toll_name": "",
    "ford": False,
    "ferry_min": np.nan,
    "passing_places": 0,
    "motor_access": "yes",
    "trailer_access": "unknown",
    "car_forward": True,
    "car_backward": True,
    "country": "GB",
}


@dataclass(eq=False)
class SmallRegion:
    """What the tow stage asks of a region, without a folder."""

    roads: gpd.GeoDataFrame
    nodes: pd.DataFrame
    restrictions: pd.DataFrame
    signposts: pd.DataFrame
    places: gpd.GeoDataFrame
    time_zone: str | None = "Europe/London"
    manifest: dict[str, Any] = field(default_factory=lambda: {"driving_side": "left"})


def make_region(
    points: list[tuple[float, float]],
    edges: list[tuple[int, int, dict[str, Any]]],
    *,
    bans: list[dict[str, Any]] | None = None,
    nodes: dict[int, dict[str, Any]] | None = None,
    places: list[dict[str, Any]] | None = None,
    signposts: list[dict[str, Any]] | None = None,
) -> SmallRegion:
    """A region of straight roads; `points` are lat, lon and edges carry road columns to change."""
    node = {
        "height_m": np.nan, "control": "none", "barrier": "none", "barrier_passable": pd.NA,
        "maxwidth_m": np.nan, "maxheight_m": np.nan, "toll": False, "exit_ref": "",
    }  # fmt: skip
    node_rows = [
        {
            "node_id": n,
            "osm_node_id": n + 1,
            "lat": lat,
            "lon": lon,
            **node,
            **(nodes or {}).get(n, {}),
        }
        for n, (lat, lon) in enumerate(points)
    ]
    road_rows = []
    for number, (a, b, changes) in enumerate(edges):
        (lat_a, lon_a), (lat_b, lon_b) = points[a], points[b]
        length = GEOD.inv(lon_a, lat_a, lon_b, lat_b)[2]
        row = {
            "road_id": number, "osm_way_id": 1000 + number, "from_node": a, "to_node": b,
            "length_m": length, **ROAD, **changes,
            "geometry": LineString([(lon_a, lat_a), (lon_b, lat_b)]),
        }  # fmt: skip
        if row["oneway"] == 1:
            row["car_backward"] = False
        road_rows.append(row)
    roads = gpd.GeoDataFrame(road_rows, geometry="geometry", crs=4326)
    for name in ("built_up", "lit"):
        roads[name] = roads[name].astype("boolean")
    frame = pd.DataFrame(node_rows)
    frame["barrier_passable"] = frame["barrier_passable"].astype("boolean")
    columns = ["from_road", "via_node", "via_roads", "to_road", "kind", "osm_relation_id"]
    place_columns = ["place_id", "kind", "name", "lat", "lon", "opening_hours", "tags"]
    place_rows = [
        {"place_id": f"n{n}", "opening_hours": "", "tags": "{}", "name": "", **row}
        for n, row in enumerate(places or [])
    ]
    place_frame = pd.DataFrame(place_rows, columns=place_columns)
    return SmallRegion(
        roads=roads,
        nodes=frame,
        restrictions=pd.DataFrame(bans or [], columns=columns),
        signposts=pd.DataFrame(signposts or [], columns=[c.name for c in SIGNPOSTS]),
        places=gpd.GeoDataFrame(
            place_frame,
            geometry=[Point(r["lon"], r["lat"]) for r in place_rows],
            crs=4326,
        ),
    )


def make_outfit(**changes: Any) -> Outfit:
    """An outfit with every figure known."""
    figures: dict[str, Any] = {
        "car_kg": 2000.0, "caravan_kg": 1450.0, "train_kg": 3450.0, "caravan_plate_kg": 1500.0,
        "train_plate_kg": 3700.0, "car_gross_kg": 2200.0, "max_axle_kg": 1450.0, "length_m": 11.5,
        "width_m": 2.3, "height_m": 2.62, "car_length_m": 4.6, "car_wheelbase_m": 2.7,
        "ball_behind_rear_axle_m": 1.1, "ball_to_axle_m": 4.3, "axle_to_tail_m": 2.9,
        "car_width_m": 1.85, "caravan_width_m": 2.3, "power_kw": 110.0, "fuel": "diesel",
    }  # fmt: skip
    return Outfit(**{**figures, **changes})


@pytest.fixture(name="make_region")
def _make_region() -> Any:
    return make_region


@pytest.fixture(name="make_outfit")
def _make_outfit() -> Any:
    return make_outfit


@pytest.fixture(name="detour")
def _detour() -> Any:
    """A short way (roads 0, 1) and a long way (roads 2, 3) between the same two roads (4 and 5).

    Called with changes of road 0; the drive goes from the middle of road 4 to that of road 5.
    """
    points = [(52.0, 0.0), (52.0, 0.01), (52.0, 0.02), (52.02, 0.01), (52.0, -0.01), (52.0, 0.03)]

    def build(**changes: Any) -> SmallRegion:
        edges: list[tuple[int, int, dict[str, Any]]] = [
            (0, 1, changes), (1, 2, {}), (0, 3, {}), (3, 2, {}), (4, 0, {}), (2, 5, {}),
        ]  # fmt: skip
        return make_region(points, edges)

    return build
