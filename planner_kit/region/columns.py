"""What the tables of a region folder hold: one row here for each column there.

The builder writes exactly these columns and `validate_table` checks them once, when a region is
opened. Missing means ``NA``: for a limit it means that none is mapped, never that there is none.
"""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class Column:
    """A column of a region table."""

    name: str
    dtype: str
    unit: str
    meaning: str
    may_be_missing: bool = False


def _c(name: str, dtype: str, unit: str, meaning: str, missing: bool = False) -> Column:
    return Column(name, dtype, unit, meaning, missing)


# One row for each stretch of way between two junctions (or a barrier, or the end of a road). The
# row's position is its road_id. "Forward" is the direction of the geometry, from_node to to_node.
ROADS = (
    _c("road_id", "int32", "", "position of the row, from 0"),
    _c("osm_way_id", "int64", "", "the OpenStreetMap way this stretch was cut from"),
    _c("from_node", "int32", "", "row of `nodes` where the geometry starts"),
    _c("to_node", "int32", "", "row of `nodes` where it ends"),
    _c("length_m", "float64", "m", "geodesic length"),
    _c("road_class", "category", "", "the highway value, `ferry` for ferry routes"),
    _c("name", "str", "", "street name, empty if none"),
    _c("ref", "str", "", "road number, empty if none"),
    _c("signs_forward", "str", "", "what signposts say forward: `A30; Oldmill`, empty if none"),
    _c("signs_backward", "str", "", "the same backward"),
    _c("oneway", "int8", "", "1 forward only, -1 backward only, 0 both (for motor vehicles)"),
    _c("roundabout", "bool", "", "part of a roundabout"),
    _c("link", "bool", "", "a slip road (class ends in _link)"),
    _c("dual", "bool", "", "one of two separate carriageways (one-way and not a roundabout/link)"),
    _c("lanes", "float32", "", "lanes in both directions as tagged", True),
    _c("width_m", "float32", "m", "carriageway width; see width_source", True),
    _c("width_source", "category", "", "tagged, lanes (derived), class (guessed), unknown"),
    _c("maxspeed_forward_kmh", "float32", "km/h", "signed limit; inf for none", True),
    _c("maxspeed_backward_kmh", "float32", "km/h", "signed limit; inf for none", True),
    _c("maxspeed_trailer_kmh", "float32", "km/h", "signed limit for trailers", True),
    _c("maxheight_m", "float32", "m", "signed height limit", True),
    _c("maxwidth_m", "float32", "m", "signed width limit", True),
    _c("maxlength_m", "float32", "m", "signed length limit", True),
    _c("maxweight_t", "float32", "t", "signed mass limit", True),
    _c("maxaxleload_t", "float32", "t", "signed axle load limit", True),
    _c("unread_limits", "str", "", "limit tags that could not be read, as `tag=value; ...`"),
    _c("surface", "category", "", "surface tag, `unknown` if none"),
    _c("smoothness", "category", "", "smoothness or tracktype tag, `unknown` if none"),
    _c("lit", "boolean", "", "street lights", True),
    _c("built_up", "boolean", "", "inside a residential or other built-up area", True),
    _c("gradient_pct", "float32", "%", "mean gradient forward, uphill positive", True),
    _c("steepest_up_pct", "float32", "%", "steepest 100 m forward, uphill (>= 0)", True),
    _c("steepest_down_pct", "float32", "%", "steepest 100 m forward, downhill (>= 0)", True),
    _c("climb_m", "float32", "m", "metres climbed forward", True),
    _c("descent_m", "float32", "m", "metres descended forward", True),
    _c("gradient_error_pct", "float32", "%", "standard error of a gradient from terrain", True),
    _c("gradient_source", "category", "", "terrain, tag, structure (ends of a bridge), unknown"),
    _c("bend_radius_m", "float32", "m", "tightest bend radius; inf when straight"),
    _c("bridge", "bool", "", "on a bridge"),
    _c("tunnel", "bool", "", "in a tunnel or under a building"),
    _c("toll", "bool", "", "tagged as a toll road for cars"),
    _c("toll_name", "str", "", "name of the toll, bridge or ferry, to find its price by"),
    _c("ford", "bool", "", "through a ford"),
    _c("ferry_min", "float32", "min", "crossing time of a ferry, as tagged", True),
    _c("passing_places", "int16", "", "mapped passing places along it"),
    _c(
        "motor_access",
        "category",
        "",
        "yes, destination, private, no, unknown (untagged track, ferry)",
    ),
    _c("trailer_access", "category", "", "yes, no, unknown (the trailer/caravan tags)"),
    _c("car_forward", "bool", "", "a car may drive it forward"),
    _c("car_backward", "bool", "", "a car may drive it backward"),
    _c("bike_forward", "bool", "", "a bicycle may ride it forward"),
    _c("bike_backward", "bool", "", "a bicycle may ride it backward"),
    _c("foot", "bool", "", "may be walked"),
    _c("cycle_route", "bool", "", "part of a signed cycle route or a cycleway"),
    _c("country", "category", "", "ISO 3166-1 alpha-2 code, `unknown` if not known"),
    _c("geometry", "LineString", "deg", "EPSG:4326 (lon, lat)"),
)

# One row for each junction, end or barrier; the row's position is the node id used by `roads`.
NODES = (
    _c("node_id", "int32", "", "position of the row, from 0"),
    _c("osm_node_id", "int64", "", "the OpenStreetMap node"),
    _c("lat", "float64", "deg", "WGS 84"),
    _c("lon", "float64", "deg", "WGS 84"),
    _c("height_m", "float32", "m", "terrain height", True),
    _c("control", "category", "", "signals, stop, give_way, mini_roundabout, level_crossing, none"),
    _c("barrier", "category", "", "barrier value (gate, bollard ...), `none` if none"),
    _c("barrier_passable", "boolean", "", "may a car pass the barrier; NA if not said", True),
    _c("maxwidth_m", "float32", "m", "signed width limit at the barrier", True),
    _c("maxheight_m", "float32", "m", "signed height limit at the barrier", True),
    _c("unread_limits", "str", "", "limit tags that could not be read, as `tag=value; ...`"),
    _c("toll", "bool", "", "a toll booth or gantry"),
    _c("exit_ref", "str", "", "number of a motorway exit, empty if none"),
)

# Turn restrictions that hold for cars; a way-via restriction lists its via roads in order.
RESTRICTIONS = (
    _c("from_road", "int32", "", "road driven into the junction"),
    _c("via_node", "int32", "", "junction; -1 when the restriction goes via roads"),
    _c("via_roads", "list", "", "roads in between, empty for a node restriction"),
    _c("to_road", "int32", "", "road that must not, or must, be taken"),
    _c("kind", "category", "", "no (banned) or only (all others banned)"),
    _c("osm_relation_id", "int64", "", "the OpenStreetMap relation"),
)

# What is written at a junction, and for whom: signs from relations, numbers of exits from ways.
SIGNPOSTS = (
    _c("via_node", "int32", "", "junction at which it is read"),
    _c("to_road", "int32", "", "road driven away from there"),
    _c("from_way", "int64", "", "OpenStreetMap way from which it is read, 0 from any"),
    _c("signs", "str", "", "what the signpost says: `A30; Oldmill`, empty if none"),
    _c("exit_ref", "str", "", "number of the exit that begins there, empty if none"),
    _c("osm_id", "int64", "", "the relation of the sign, or the way of the exit number"),
)

# Places a person might go to or look for, as points (an area gives a point inside it).
PLACES = (
    _c("place_id", "str", "", "`n123`, `w123` or `r123`: OpenStreetMap kind and id"),
    _c("kind", "category", "", "one of region.places.KINDS, such as caravan_site, castle, fuel"),
    _c("name", "str", "", "empty if none"),
    _c("lat", "float64", "deg", "WGS 84"),
    _c("lon", "float64", "deg", "WGS 84"),
    _c("opening_hours", "str", "", "the tag as written, empty if none"),
    _c("tags", "str", "", "all OpenStreetMap tags, as a JSON object"),
    _c("area_m2", "float64", "m2", "area of a mapped outline", True),
    _c("geometry", "Point", "deg", "EPSG:4326 (lon, lat)"),
)

# Areas for drawing and for clutter: kind is sea, water, forest, built_up, park, protected, sand.
AREAS = (
    _c("kind", "category", "", "sea, water, forest, built_up, park, protected, sand, land"),
    _c("name", "str", "", "empty if none"),
    _c("tags", "str", "", "OpenStreetMap tags as a JSON object"),
    _c("geometry", "Polygon", "deg", "EPSG:4326; polygons and multipolygons"),
)

# Lines for drawing: kind is coast, river, railway, boundary.
LINES = (
    _c("kind", "category", "", "coast, river, railway, boundary"),
    _c("name", "str", "", "empty if none"),
    _c("geometry", "LineString", "deg", "EPSG:4326"),
)

TABLES = {
    "roads": ROADS,
    "nodes": NODES,
    "restrictions": RESTRICTIONS,
    "signposts": SIGNPOSTS,
    "places": PLACES,
    "areas": AREAS,
    "lines": LINES,
}
