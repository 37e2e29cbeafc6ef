"""Who may use a road, and in which direction, by OpenStreetMap's hierarchy of access tags."""

from __future__ import annotations

# From the most particular key to the most general; the first that is set decides.
MODE_KEYS = {
    "car": ("motorcar", "motor_vehicle", "vehicle", "access"),
    "bike": ("bicycle", "vehicle", "access"),
    "foot": ("foot", "access"),
}
TRAILER_KEYS = ("caravan", "trailer")
ONEWAY_KEYS = {
    "car": ("oneway:motorcar", "oneway:motor_vehicle", "oneway:vehicle", "oneway"),
    "bike": ("oneway:bicycle", "oneway:vehicle", "oneway"),
}

# What an access value means to somebody without a special right.
MEANINGS = {
    "yes": "yes",
    "permissive": "yes",
    "designated": "yes",
    "official": "yes",
    "public": "yes",
    "allowed": "yes",
    "discouraged": "yes",
    "destination": "destination",
    "customers": "destination",
    "private": "private",
    "permit": "private",
    "residents": "private",
    "employees": "private",
    "members": "private",
    "no": "no",
    "agricultural": "no",
    "forestry": "no",
    "delivery": "no",
    "military": "no",
    "emergency": "no",
    "bus": "no",
    "psv": "no",
    "dismount": "no",
    "use_sidepath": "no",
    "restricted": "no",
}
_OPENNESS = ("yes", "destination", "private", "no")

ROAD_CLASSES = (
    "motorway",
    "motorway_link",
    "trunk",
    "trunk_link",
    "primary",
    "primary_link",
    "secondary",
    "secondary_link",
    "tertiary",
    "tertiary_link",
    "unclassified",
    "residential",
    "living_street",
    "service",
    "road",
    "track",
    "pedestrian",
    "busway",
    "bus_guideway",
    "cycleway",
    "bridleway",
    "footway",
    "path",
    "steps",
    "ferry",
)

# Access where no tag says otherwise. For cars a track is `unknown`: whether it may be driven
# depends on the country and the land owner. So is a ferry: many carry no vehicles.
DEFAULTS = {
    "car": {
        "track": "unknown",
        "ferry": "unknown",
        "pedestrian": "no",
        "busway": "no",
        "bus_guideway": "no",
        "cycleway": "no",
        "bridleway": "no",
        "footway": "no",
        "path": "no",
        "steps": "no",
    },
    "bike": {
        "motorway": "no",
        "motorway_link": "no",
        "pedestrian": "no",
        "busway": "no",
        "bus_guideway": "no",
        "footway": "no",
        "steps": "no",
    },
    "foot": {
        "motorway": "no",
        "motorway_link": "no",
        "busway": "no",
        "bus_guideway": "no",
    },
}

# Barriers that let a car through unless tagged otherwise, and those that do not. What is in
# neither (gates, chains) depends on whether it stands open, which is not known.
PASSABLE = frozenset(
    {"cattle_grid", "toll_booth", "border_control", "entrance", "height_restrictor", "kerb"}
)
IMPASSABLE = frozenset(
    {
        "bollard",
        "block",
        "stile",
        "kissing_gate",
        "cycle_barrier",
        "turnstile",
        "jersey_barrier",
        "motorcycle_barrier",
        "full-height_turnstile",
        "horse_stile",
        "log",
        "debris",
        "planter",
        "bus_trap",
        "sump_buster",
        "wall",
        "fence",
        "hedge",
        "wedge",
    }
)


def read_access(text: str) -> tuple[str, bool]:
    """What an access value means, and whether it could not be read.

    Parameters
    ----------
    text : str
        Such as ``permissive`` or ``agricultural;forestry``; of a list, the most open value counts.

    Returns
    -------
    meaning : str
        ``yes``, ``destination``, ``private``, ``no`` or ``unknown``.
    unread : bool
        True when no part of the text is a value in use.
    """
    meanings = {MEANINGS[p] for p in (q.strip() for q in text.lower().split(";")) if p in MEANINGS}
    for meaning in _OPENNESS:
        if meaning in meanings:
            return meaning, False
    return "unknown", True
