"""Which OpenStreetMap keys and values are read, and what they stand for."""

from __future__ import annotations

from planner_kit.region.access import MODE_KEYS, ONEWAY_KEYS, ROAD_CLASSES, TRAILER_KEYS
from planner_kit.region.places import PLACE_KEYS
from planner_kit.region.tags import LIMITS

HIGHWAYS = frozenset(ROAD_CLASSES)
WAY_KEYS = frozenset(
    {"highway", "route", "name", "ref", "junction", "lanes", "width", "width:carriageway"}
    | {"maxspeed", "maxspeed:forward", "maxspeed:backward", "maxspeed:type", "source:maxspeed"}
    | {"zone:maxspeed", "zone:traffic", "surface", "smoothness", "tracktype", "lit", "incline"}
    | {"bridge", "tunnel", "covered", "toll", "toll:motorcar", "toll:motor_vehicle", "bridge:name"}
    | {"ford", "duration", "motorroad", "cycleway", "cycleway:left", "cycleway:right", "lcn", "rcn"}
    | {"ncn", "cycleway:both", "operator", "dual_carriageway", "tunnel:name", "junction:ref"}
    | {f"destination{of}{way}" for of in ("", ":ref") for way in ("", ":forward", ":backward")}
    | {key for keys, _ in LIMITS.values() for key in keys}
    | {key for keys in MODE_KEYS.values() for key in keys}
    | {key for keys in ONEWAY_KEYS.values() for key in keys}
    | set(TRAILER_KEYS)
)
# Tags that hold only at times: kept as text, and counted as unread.
CONDITIONAL = ":conditional"
CONDITIONAL_BASES = frozenset(
    {key for keys, _ in LIMITS.values() for key in keys}
    | {"maxspeed", "maxspeed:forward", "maxspeed:backward", "oneway", *TRAILER_KEYS}
    | set(MODE_KEYS["car"])
)
NODE_KEYS = frozenset(
    {"highway", "barrier", "crossing", "railway", "ref", "ford", "maxheight", "maxwidth", "toll"}
    | {"maxweight", "maxheight:physical", "maxwidth:physical", "traffic_calming"}
    | set(MODE_KEYS["car"])
)
_CONTROLS = {
    ("highway", "traffic_signals"): "signals",
    ("highway", "stop"): "stop",
    ("highway", "give_way"): "give_way",
    ("highway", "mini_roundabout"): "mini_roundabout",
    ("railway", "level_crossing"): "level_crossing",
}
# Areas for drawing and clutter, in order of precedence.
AREA_KINDS: tuple[tuple[str, str, frozenset[str]], ...] = (
    ("water", "natural", frozenset({"water"})),
    ("water", "waterway", frozenset({"riverbank", "dock"})),
    ("water", "landuse", frozenset({"reservoir", "basin"})),
    ("forest", "natural", frozenset({"wood"})),
    ("forest", "landuse", frozenset({"forest"})),
    ("built_up", "landuse", frozenset({"residential", "commercial", "retail", "industrial"})),
    ("park", "leisure", frozenset({"park", "garden", "golf_course"})),
    ("protected", "boundary", frozenset({"national_park", "protected_area"})),
    ("protected", "leisure", frozenset({"nature_reserve"})),
    ("sand", "natural", frozenset({"beach", "sand", "dune"})),
)
LINE_KINDS: tuple[tuple[str, str, frozenset[str]], ...] = (
    ("coast", "natural", frozenset({"coastline"})),
    ("river", "waterway", frozenset({"river", "canal"})),
    ("railway", "railway", frozenset({"rail", "light_rail", "narrow_gauge", "preserved"})),
)
KEYS_READ = frozenset(
    {"highway", "route", "barrier", "natural", "waterway", "landuse", "railway", "boundary", "ford"}
    | {"place", "maxheight", "maxwidth", "maxheight:physical", "maxwidth:physical"}
    | PLACE_KEYS
)
AREA_KEYS = frozenset({key for _, key, _ in AREA_KINDS} | PLACE_KEYS | {"boundary"})


def control_of(key: str, value: str) -> str | None:
    """The control that a node tag stands for, or None."""
    return _CONTROLS.get((key, value))
