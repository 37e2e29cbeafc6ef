"""Names and rough positions on the invented island: towns, villages, roads.

All of it is invented. Positions are kilometres east and north of the island's middle; the maker
moves each settlement to dry and level ground close by.
"""

from __future__ import annotations

# name, place, x, y, radius of the built-up area in metres, population, kilometres it may be moved
SETTLEMENTS: tuple[tuple[str, str, float, float, float, int, float], ...] = (
    ("Ellanby", "town", 20.5, 5.5, 1500, 21400, 1.2),
    ("Tolvenny", "town", -19.2, -11.0, 1150, 9400, 1.2),
    ("Skarrow Haven", "town", 17.4, -11.2, 850, 6200, 1.2),
    ("Hallin Cross", "village", 1.6, 6.4, 420, 890, 1.0),
    ("Marrendale", "village", -16.8, 8.2, 380, 640, 1.0),
    ("Tarrowby", "village", 4.0, 1.4, 480, 1320, 1.0),
    ("Sallow Bridge", "village", -4.2, -2.2, 420, 1010, 1.0),
    ("Stennock", "village", 11.5, 15.0, 380, 720, 1.2),
    ("Quillan Head", "village", -26.4, -7.6, 400, 810, 1.2),
    ("Pellinger", "village", 13.0, -5.6, 500, 1740, 1.0),
    ("Omberlow", "village", 12.4, 5.0, 450, 1180, 1.0),
    ("Wrackstead", "village", 25.6, -0.4, 420, 960, 1.2),
    ("Nether Quay", "village", -22.6, -0.6, 460, 1250, 1.2),
    ("Dunnaby", "village", 3.0, 16.6, 390, 700, 1.2),
    ("Fenwhistle", "village", 5.2, -12.6, 460, 1390, 1.0),
    ("Gorsecombe", "village", -9.6, -15.6, 380, 610, 1.0),
    ("Little Anvery", "village", -17.0, -3.0, 360, 480, 1.0),
    ("Oxharrow", "village", -23.0, 12.2, 400, 770, 1.0),
    ("Threlsome", "village", -14.2, 16.0, 360, 560, 1.2),
    ("Uskerby", "village", 22.0, 12.0, 400, 830, 1.0),
    ("Verrowick", "village", 9.6, -14.6, 400, 790, 1.2),
    ("Yarnabeck", "village", -2.4, 17.6, 340, 420, 1.2),
)
# Where a road must pass that is not a settlement: name, x, y.
JUNCTIONS: tuple[tuple[str, float, float], ...] = (
    ("ellanby_south", 18.6, 2.6),
    ("pellinger_top", 12.2, -4.0),
    ("fenwhistle_top", 5.4, -10.6),
    ("bridge_east", -1.9, -12.7),
    ("bridge_west", -4.9, -12.5),
    ("gorse_top", -8.6, -12.2),
    ("tolvenny_east", -17.0, -9.6),
    ("anvery_west", -18.4, -3.8),
    ("quay_east", -21.4, -0.8),
    ("site_turn", -20.6, 5.6),
    ("lane_east", -5.2, 8.6),
    ("lane_west", -13.2, 8.2),
)
# What signposts say on a leg of a main road: in its direction, and against it.
SIGNPOSTS: dict[str, tuple[str, str]] = {
    "Ellanby>ellanby_south": ("Pellinger;Gorsecombe", "Ellanby"),
    "ellanby_south>pellinger_top": ("Pellinger;Skarrow Haven", "Ellanby"),
    "pellinger_top>fenwhistle_top": ("Gorsecombe;Tolvenny", "Ellanby"),
    "bridge_west>gorse_top": ("Tolvenny;Oxharrow", "Ellanby"),
    "gorse_top>tolvenny_east": ("Tolvenny;Oxharrow", "Gorsecombe;Ellanby"),
    "quay_east>site_turn": ("Oxharrow", "Tolvenny;Ellanby"),
}
# What is signed at the junction where a leg begins, to those who come by another numbered road.
JUNCTION_SIGNS: dict[str, tuple[str, str]] = {
    "Ellanby>Omberlow": ("A3", "Omberlow;Hallin Cross"),
    "Omberlow>Tarrowby": ("A12", "Tarrowby;Gorsecombe"),
}
# The side road of the dual carriageway at which its one numbered exit lies.
EXIT_LEG, EXIT_NUMBER = "Tarrowby>Fenwhistle", "1"
# class, number, waypoints
MAIN_ROADS: tuple[tuple[str, str, tuple[str, ...]], ...] = (
    ("trunk", "A1", (
        "Ellanby", "ellanby_south", "pellinger_top", "fenwhistle_top", "bridge_east",
    )),
    ("trunk", "A1", ("bridge_west", "gorse_top", "tolvenny_east", "anvery_west", "quay_east")),
    ("primary", "A2", ("quay_east", "site_turn", "Oxharrow")),
    ("primary", "A3", ("Ellanby", "Omberlow", "Hallin Cross")),
    ("primary", "A4", ("pellinger_top", "Pellinger", "Skarrow Haven")),
    ("primary", "A1", ("tolvenny_east", "Tolvenny")),
    ("secondary", "A12", ("Omberlow", "Tarrowby", "Sallow Bridge", "gorse_top", "Gorsecombe")),
    ("secondary", "A14", ("Ellanby", "Uskerby", "Stennock", "Dunnaby")),
    ("secondary", "A16", ("Ellanby", "Wrackstead")),
    ("secondary", "A18", ("Skarrow Haven", "Verrowick", "Fenwhistle", "fenwhistle_top")),
    ("secondary", "A2", ("quay_east", "Nether Quay")),
    ("tertiary", "B21", ("Dunnaby", "Yarnabeck", "Threlsome", "Oxharrow")),
    ("tertiary", "B22", ("Hallin Cross", "lane_east")),
    ("tertiary", "B22", ("lane_west", "Marrendale", "site_turn")),
    ("tertiary", "B23", ("Sallow Bridge", "Little Anvery", "anvery_west")),
    ("tertiary", "B24", ("Tolvenny", "Quillan Head", "Nether Quay")),
    ("tertiary", "B25", ("Hallin Cross", "Tarrowby", "Fenwhistle")),
    ("tertiary", "B26", ("Hallin Cross", "Dunnaby")),
    ("tertiary", "B27", ("Marrendale", "Oxharrow")),
    ("tertiary", "B28", ("Omberlow", "Stennock")),
    ("tertiary", "B29", ("ellanby_south", "Pellinger")),
    ("tertiary", "B30", ("Wrackstead", "Skarrow Haven")),
    ("tertiary", "B31", ("Tolvenny", "Gorsecombe")),
    ("tertiary", "B32", ("Marrendale", "Threlsome")),
    ("unclassified", "", ("lane_east", "lane_west")),
)  # fmt: skip
# Old ways that take the hills head on.
STEEP_LEGS = ("lane_east>lane_west", "Sallow Bridge>Little Anvery")
PASS_LANE = "Stannet Pass"
TOLL_BRIDGE = "Sallow Bar Bridge"
FERRY = "Penny Holm Ferry"
HAMLET_STARTS = (
    "Anner", "Birkle", "Crannow", "Drum", "Eskle", "Fallow", "Garn", "Hesk", "Inkle", "Kestle",
    "Lowen", "Mossle", "Nettle", "Ower", "Pendle", "Rusk", "Skell", "Tarn", "Ulver", "Wendle",
)  # fmt: skip
HAMLET_ENDS = ("by", "thwaite", "combe", "ford", "ley", "stead", "wick", "garth", "beck", "ness")
STREETS = (
    "Church Lane", "Mill Lane", "Station Road", "Chapel Street", "Orchard Close", "Meadow Way",
    "Quay Street", "Smithy Lane", "Beech Grove", "Larch Road", "Heron Close", "Kiln Road",
    "Market Street", "Pound Lane", "Rope Walk", "School Lane", "Thorn Hill", "Vicarage Road",
    "Well Street", "Curlew Drive", "Gorse Road", "Hazel Avenue", "Kestrel Way", "Lime Street",
    "Manor Road", "North Street", "Plover Close", "Rowan Drive", "Sandpiper Way", "Tanner Row",
    "Union Street", "Weavers Row", "Alder Road", "Barn Close", "Castle Street", "Drovers Way",
    "East Street", "Ferry Road", "Garden Street", "Hillside", "Ivy Lane", "Juniper Road",
)  # fmt: skip
