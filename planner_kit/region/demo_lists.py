"""The lists that the demo household keeps: sites, seasons, attractions, masts, tolls, prices, load.

Every price, rating, operator and opening day here is invented.
"""

from __future__ import annotations

import csv
import io
from datetime import date
from typing import TYPE_CHECKING

import gpxpy
import gpxpy.gpx
import numpy as np
import shapely
import shapely.ops

from planner_kit.region import demo_gazetteer as names
from planner_kit.region.demo_terrain import degrees, evenly_spaced

if TYPE_CHECKING:
    from collections.abc import Iterable, Sequence

    from planner_kit.region.demo_places import Placed
    from planner_kit.region.demo_roads import Line, Settlement
    from planner_kit.region.demo_terrain import Array, Ground

AS_OF = "2026-03-01"
SOURCE = "invented for the demo island"
CLUB = "hedgerow"

SITE_COLUMNS = (
    "site_id", "name", "lat", "lon", "osm_ref", "open_from", "open_to", "arrive_from",
    "arrive_until", "depart_by", "pitch_length_m", "pitch_width_m", "max_outfit_length_m",
    "hookup_a", "hookup_v", "hookup_price", "price_low", "price_mid", "price_high",
    "adult_price", "child_price", "dog_price", "awning_price", "currency", "club",
    "member_discount_pct", "members_only", "min_nights", "dogs", "toilet_fluid", "water_point",
    "wifi", "playground", "rating", "rating_count", "rating_scale", "quiet_from", "quiet_until",
    "phone", "notes", "hookup_metered", "kwh_price", "tv_socket", "source", "as_of",
)  # fmt: skip
# What is written for each site, in the order of SITE_COLUMNS from open_from to notes; a dot stands
# for a currency of GBP and empty cells are not known.
SITE_CELLS = {
    "S01": "03-01,10-31,13:00,20:00,11:00,11,9,13.5,16,230,0,24,30,38,8,4,2,3.5,GBP,hedgerow,10,"
    "no,2,yes,green only,yes,yes,yes,4.6,312,5,22:30,07:00,,Serviced pitches in a quiet vale",
    "S02": "04-01,10-15,14:00,19:00,11:00,9,8,10,10,230,0,14,16,18,5,2,1,0,GBP,hedgerow,0,yes,1,"
    "yes,any,yes,no,no,4.8,41,5,22:00,08:00,,Five pitches; the lane is narrow",
    "S03": "05-01,09-30,12:00,,10:30,10,8,,0,,,12,15,19,5,3,2,0,GBP,,,no,1,yes,,yes,no,no,3.9,58,5,"
    "23:00,07:00,,Old quarry floor; low arch on the way in",
    "S04": "01-01,12-31,12:00,21:00,11:00,11,9,14,16,230,0,23,28,33,8,4,2,3,GBP,,,no,1,yes,any,yes,"
    "yes,yes,4.1,204,5,23:00,07:00,,Open all year at the edge of town",
    "S05": "04-01,09-30,13:00,19:00,11:00,10,8,12,10,230,3.5,20,26,34,7,4,,3,GBP,,,no,2,no,any,yes,"
    "no,yes,4.4,167,5,22:00,07:30,,Behind the beach; no dogs",
    "S06": "03-15,11-05,13:00,20:00,12:00,10,8,,16,230,0,19,22,26,6,3,1,2,GBP,hedgerow,15,no,1,yes,"
    "green only,yes,yes,no,4.3,129,5,22:30,07:00,,Quiet stop near the trunk road",
    "S07": "04-01,10-01,12:00,20:00,10:30,9,7,11,6,230,4,15,19,24,6,3,2,2.5,GBP,,,no,1,yes,any,yes,"
    ",yes,4.0,93,5,23:00,07:00,,Mill stream beside the tents",
    "S08": "03-01,10-31,13:00,21:00,11:00,12,10,15,16,230,0,22,27,35,8,4,2,3,GBP,hedgerow,10,no,1,"
    "yes,any,yes,yes,yes,4.5,248,5,22:30,07:00,,Views over the bar; last before the tolls",
    "S09": "01-01,12-31,12:00,22:00,11:00,8,7,10.5,10,230,4.5,18,21,25,,,1,2,GBP,,,no,1,yes,any,"
    "yes,yes,no,3.6,88,5,,,,Small pitches near the shops",
    "S10": "04-15,10-01,13:00,19:00,11:00,9,8,11.5,10,230,3,17,21,27,6,3,1.5,2,EUR,,,no,1,yes,any,"
    "yes,no,no,4.2,76,5,22:00,07:30,,Windy cliff top; awnings at your risk",
    "S11": "03-01,10-31,13:00,20:00,11:00,11,9,13,16,230,0,20,25,31,7,4,2,3,GBP,hedgerow,10,no,2,"
    "yes,green only,yes,,yes,4.4,141,5,22:30,07:00,,High and open",
    "S12": "05-01,09-15,12:00,,10:30,,,,0,,,14,18,23,6,3,1,,GBP,,,no,1,yes,,yes,no,yes,4.1,64,5,,,,"
    "Camp field by the sands; no hook-up",
    "S13": "03-20,11-01,13:00,19:30,11:00,10,9,12.5,16,230,0,21,25,30,7,4,2,3,GBP,hedgerow,10,no,1,"
    "yes,green only,yes,yes,yes,4.7,187,5,22:00,07:30,,Clearings in the wood",
    "S14": "05-15,09-10,,,,,,,0,,,10,12,15,5,3,,,GBP,,,no,1,yes,,,no,no,4.5,33,5,,,,"
    "Tents only; come by ferry",
    "S15": "03-01,10-31,13:00,20:00,11:00,10,8,13,10,230,0,19,23,29,7,3,2,3,GBP,,,no,1,yes,any,yes,"
    "yes,no,4.2,118,5,22:30,07:00,,At the head of the estuary",
}

# Where each site has its water; the cells above say only whether it has any.
WATER_POINTS = {
    "S01": "a tap at the end of each row, far from the sea pitches", "S02": "tap by the gate",
    "S03": "tap at the farm", "S04": "a tap for every four pitches", "S05": "tap by the wash house",
    "S06": "taps along the drive", "S07": "tap at the mill", "S08": "a tap on each pitch",
    "S09": "tap by the bins", "S10": "tap by the wash house", "S11": "taps along the drive",
    "S12": "standpipe at the gate", "S13": "a tap in each clearing", "S15": "tap by the slipway",
}  # fmt: skip
# Whether a meter counts the electricity, what a kilowatt-hour costs, whether there are television
# sockets; empty for the sites that do not say.
METER_AND_SOCKET = {
    "S01": ("no", "", "no"), "S02": ("no", "", ""), "S04": ("no", "", "yes"),
    "S07": ("yes", "0.52", "no"), "S08": ("no", "", "yes"),
}  # fmt: skip

ATTRACTION_COLUMNS = (
    "attraction_id", "name", "lat", "lon", "kind", "osm_ref", "adult_price", "child_price",
    "family_price", "currency", "parking_price", "free_with", "rating", "rating_count",
    "rating_scale", "indoor", "min_age", "max_age", "time_needed_min", "opening_hours", "dogs",
    "notes", "source", "as_of",
)  # fmt: skip
# kind: adult price (0 free), indoor, minutes needed, dogs, youngest age, oldest age
KIND_HABITS: dict[str, tuple[float, str, int, str, str, str]] = {
    "castle": (11.5, "part", 150, "grounds", "", ""),
    "ruin": (0, "no", 45, "yes", "", ""),
    "stones": (0, "no", 40, "yes", "", ""),
    "museum": (7.5, "yes", 100, "no", "", ""),
    "gallery": (0, "yes", 50, "no", "", ""),
    "zoo": (18.5, "part", 270, "no", "", ""),
    "aquarium": (13, "yes", 90, "no", "", ""),
    "farm_park": (10.5, "part", 180, "no", "", "12"),
    "lighthouse": (4.5, "part", 60, "", "5", ""),
    "beach": (0, "no", 180, "", "", ""),
    "viewpoint": (0, "no", 30, "yes", "", ""),
    "garden": (9, "no", 120, "lead", "", ""),
    "railway": (15, "part", 110, "yes", "", ""),
    "boat": (16, "no", 90, "yes", "3", ""),
    "cave": (12, "yes", 75, "no", "4", ""),
    "cinema": (9, "yes", 150, "no", "", ""),
    "theatre": (14, "yes", 160, "no", "", ""),
    "pool": (6, "yes", 100, "no", "", ""),
    "playground": (0, "no", 60, "", "2", "12"),
    "reserve": (0, "no", 100, "", "", ""),
    "brewery": (8, "yes", 75, "yes", "18", ""),
    "theme_park": (22, "part", 330, "no", "3", ""),
    "mill": (5, "yes", 50, "no", "", ""),
    "waterfall": (0, "no", 60, "yes", "", ""),
    "golf": (7, "no", 60, "lead", "4", ""),
    "climbing": (11, "yes", 120, "no", "6", ""),
    "bike_hire": (18, "no", 180, "", "", ""),
    "ice": (0, "part", 25, "yes", "", ""),
    "church": (0, "yes", 30, "", "", ""),
    "pub": (0, "yes", 90, "yes", "", ""),
    "cafe": (0, "yes", 50, "yes", "", ""),
}
FREE_WITH = {"A01": "keepers", "A02": "keepers", "A29": "keepers", "A31": "keepers",
             "A47": "wildfolk", "A37": "keepers"}  # fmt: skip
# The kind in the list: the map's word where the catalogue is finer.
LIST_KINDS = {
    "ruin": "ruins", "stones": "archaeological_site", "farm_park": "zoo", "pool": "swimming_pool",
    "reserve": "nature_reserve", "mill": "watermill", "golf": "miniature_golf",
    "climbing": "sports_centre", "bike_hire": "bicycle_rental", "ice": "ice_cream",
    "railway": "attraction", "boat": "attraction", "church": "attraction",
    "brewery": "attraction",
}  # fmt: skip
# The operator, band and power of each mast; empty cells are not known.
MAST_ROWS = (
    ("K01", "mobile", "Ternfone", "800", "61", "", "", ""),
    ("K01", "mobile", "Pebble Mobile", "900", "60", "", "", ""),
    ("K02", "mobile", "Ternfone", "800", "62", "", "", ""),
    ("K02", "mobile", "Northlight", "800", "", "", "", ""),
    ("K03", "mobile", "Pebble Mobile", "800", "62", "", "", ""),
    ("K04", "mobile", "Northlight", "1800", "59", "", "", ""),
    ("K05", "mobile", "Ternfone", "800", "60", "", "", ""),
    ("K06", "mobile", "Ternfone", "1800", "60", "", "", ""),
    ("K06", "mobile", "Pebble Mobile", "800", "61", "", "", ""),
    ("K07", "mobile", "Northlight", "900", "58", "", "", ""),
    ("K08", "mobile", "Pebble Mobile", "900", "", "", "", ""),
    ("K09", "mobile", "Ternfone", "900", "58", "", "", ""),
    ("K10", "mobile", "Northlight", "800", "57", "", "", ""),
    ("K11", "mobile", "Pebble Mobile", "1800", "", "", "", ""),
    ("K12", "tv", "", "", "", "27", "horizontal", "40000"),
    ("K13", "tv", "", "", "", "45", "vertical", "60"),
)


def csv_text(columns: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """A table as CSV text with plain line ends."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\n")
    writer.writerow(columns)
    for row in rows:
        if len(row) != len(columns):
            raise ValueError(f"a row of {len(row)} cells under {len(columns)} columns: {row}")
        writer.writerow(row)
    return out.getvalue()


def sites_csv(placed: list[Placed]) -> str:
    """The sites with their terms."""
    rows = []
    for site in placed:
        if site.key in SITE_CELLS:
            cells = SITE_CELLS[site.key].split(",")
            head = [site.key, site.name, f"{site.lat:.6f}", f"{site.lon:.6f}", site.ref]
            water = SITE_COLUMNS.index("water_point") - len(head)
            if cells[water] == "yes":
                cells[water] = WATER_POINTS[site.key]
            extra = METER_AND_SOCKET.get(site.key, ("", "", ""))
            rows.append([*head, *cells, *extra, SOURCE, AS_OF])
    return csv_text(SITE_COLUMNS, rows)


def seasons_csv() -> str:
    """The price seasons of each site, 2026 and 2027, without gaps or overlaps."""
    rows: list[list[str]] = []
    for site_id, text in SITE_CELLS.items():
        first, last = text.split(",")[:2]
        for year in (2026, 2027):
            edges = [
                ("low", first, "05-01"), ("mid", "05-01", "07-15"), ("high", "07-15", "09-01"),
                ("mid", "09-01", "09-20"), ("low", "09-20", "12-32"),
            ]  # fmt: skip
            for season, start, end in edges:
                start, stop = max(start, first), min(_day_before(end), last)
                if start <= stop:
                    rows.append([site_id, season, f"{year}-{start}", f"{year}-{stop}"])
    return csv_text(("site_id", "season", "start", "end"), rows)


def _day_before(month_day: str) -> str:
    if month_day == "12-32":
        return "12-31"
    month, day = (int(part) for part in month_day.split("-"))
    before = date.fromordinal(date(2026, month, day).toordinal() - 1)
    return f"{before:%m-%d}"


def attractions_csv(rng: np.random.Generator, placed: list[Placed]) -> str:
    """The attractions with prices, ratings and what they ask of a family."""
    rows = []
    for place in (p for p in placed if p.key[0] == "A"):
        price, indoor, minutes, dogs, youngest, oldest = KIND_HABITS[place.kind]
        adult = round(price * (0.85 + 0.3 * float(rng.random())) * 2) / 2
        known = rng.random() > 0.08
        child = round(adult * 0.6 * 2) / 2
        family = round(adult * 2 + child * 1.5) if adult >= 7 else ""
        money = [f"{adult:.2f}", f"{child:.2f}", family] if known else ["", "", ""]
        parking = ("", "0", "2.50", "4.00")[int(rng.integers(4))]
        rating, count = 3.4 + 1.5 * float(rng.random()), int(3 + 900 * float(rng.random()) ** 3)
        scored = [f"{rating:.1f}", count, 5] if rng.random() > 0.07 else ["", "", ""]
        free = FREE_WITH.get(place.key, "")
        hours = place.tags.get("opening_hours", "")
        head = [place.key, place.name, f"{place.lat:.6f}", f"{place.lon:.6f}"]
        kind = LIST_KINDS.get(place.kind, place.kind)
        need = [indoor, youngest, oldest, minutes, hours, dogs]
        rows.append(
            [
                *head,
                kind,
                place.ref,
                *money,
                "GBP",
                parking,
                free,
                *scored,
                *need,
                "",
                SOURCE,
                AS_OF,
            ]
        )
    return csv_text(ATTRACTION_COLUMNS, rows)


def masts_csv(placed: list[Placed], heights: dict[str, int]) -> str:
    """Mobile masts and television transmitters, one row for each operator's band."""
    at = {p.key: p for p in placed if p.kind == "mast"}
    rows = []
    for number, (key, service, operator, band, eirp, channel, pol, erp) in enumerate(MAST_ROWS, 1):
        mast = at[key]
        head = [f"{key}-{number:02d}", mast.name, f"{mast.lat:.6f}", f"{mast.lon:.6f}"]
        note = "" if eirp or erp else "power not known"
        rows.append(
            [*head, heights[key], service, operator, band, eirp, channel, pol, erp, note, SOURCE]
        )
    columns = (
        "mast_id", "name", "lat", "lon", "height_m", "service", "operator", "band_mhz", "eirp_dbm",
        "channel", "polarisation", "erp_w", "notes", "source",
    )  # fmt: skip
    return csv_text(columns, rows)


def tolls_csv() -> str:
    """Prices of the toll bridge and the ferry; a length band ends at max_length_m."""
    bridge, ferry = names.TOLL_BRIDGE, names.FERRY
    rows = [
        (bridge, "car", "", "2.80", "GBP", SOURCE, AS_OF),
        (bridge, "car_and_caravan", "", "5.60", "GBP", SOURCE, AS_OF),
        (ferry, "car", "6", "18.00", "GBP", SOURCE, AS_OF),
        (ferry, "car_and_caravan", "10", "34.00", "GBP", SOURCE, AS_OF),
        (ferry, "car_and_caravan", "12", "42.00", "GBP", SOURCE, AS_OF),
        (ferry, "car_and_caravan", "14", "51.00", "GBP", SOURCE, AS_OF),
    ]
    columns = ("toll_name", "vehicle", "max_length_m", "price", "currency", "source", "as_of")
    return csv_text(columns, rows)


def prices_csv() -> str:
    """Prices of fuel, current and gas with a low and a high."""
    rows = [
        ("diesel_l", "1.46", "1.38", "1.62"), ("petrol_l", "1.39", "1.32", "1.55"),
        ("kwh_home", "0.27", "0.22", "0.32"), ("kwh_public", "0.62", "0.45", "0.85"),
        ("gas_kg_propane", "5.40", "4.60", "6.80"), ("gas_kg_butane", "5.60", "4.80", "7.00"),
        ("cassette_fluid_l", "7.20", "5.90", "9.00"), ("kwh_site", "0.45", "0.35", "0.60"),
    ]  # fmt: skip
    columns = ("item", "price", "low", "high", "currency", "as_of", "source")
    return csv_text(columns, [(*row, "GBP", AS_OF, SOURCE) for row in rows])


# What it is, kilograms of one, how many, where, metres ahead of the axle, whose it is.
ITEMS = (
    ("awning and poles", 24, 1, "caravan over axle", 0.1, ""),
    ("groundsheet", 6, 1, "caravan over axle", 0.2, ""),
    ("gas bottle propane 6 kg full", 15, 1, "caravan front locker", 2.6, ""),
    ("gas bottle butane 7 kg full", 16, 1, "caravan front locker", 2.6, ""),
    ("hook-up cable 25 m", 6.5, 1, "caravan front locker", 2.5, ""),
    ("levelling ramps", 3.2, 1, "caravan front locker", 2.5, ""),
    ("water barrel 40 l empty", 5, 1, "caravan over axle", 0, ""),
    ("waste barrel empty", 4, 1, "caravan over axle", -0.2, ""),
    ("toilet fluid", 2, 2, "caravan washroom", -1.9, ""),
    ("folding chairs", 3.4, 4, "caravan over axle", 0.3, ""),
    ("folding table", 6, 1, "caravan over axle", 0.3, ""),
    ("tinned food", 9, 1, "caravan kitchen", -0.6, ""),
    ("pans and crockery", 8, 1, "caravan kitchen", -0.6, ""),
    ("fridge food and drink", 12, 1, "caravan kitchen", -0.4, ""),
    ("bedding", 2.5, 4, "caravan front", 1.6, ""),
    ("clothes", 9, 1, "caravan front", 1.4, "Maren"),
    ("clothes", 10, 1, "caravan front", 1.4, "Tobin"),
    ("clothes", 6, 1, "caravan rear", -2.1, "Isla"),
    ("clothes", 5.5, 1, "caravan rear", -2.1, "Fenn"),
    ("books and games", 5, 1, "caravan rear", "", ""),
    ("television", 4, 1, "caravan rear", -1.8, ""),
    ("satellite dish and tripod", 7, 1, "car boot", "", ""),
    ("awning bag with pegs and straps", 5, 1, "car boot", "", ""),
    ("bicycles", 13, 2, "car roof", "", ""),
    ("children's bicycles", 9, 2, "car roof", "", ""),
    ("dog bed and food", 8, 1, "car boot", "", ""),
    ("tool box", 7, 1, "car boot", "", ""),
    ("beach things", 6.5, 1, "car boot", "", ""),
    ("walking boots", 1.2, 4, "car boot", "", ""),
)


def items_csv() -> str:
    """What the household loads, and where."""
    return csv_text(("item", "mass_kg", "quantity", "place", "x_m", "person"), ITEMS)


def rides_gpx(ground: Ground, lines: list[Line], settled: dict[str, Settlement]) -> dict[str, str]:
    """Three rides as GPX 1.1: the old line, the coast and a family loop."""
    old = [line for line in lines if line.tags.get("name") == "Old Tarrow Line"]
    rail = np.vstack([line.xy for line in old])
    coast = max(
        (line for line in lines if line.tags.get("name") == "Sallowey Coast Path"),
        key=lambda line: line.shape.length,
    )
    middle = settled["Verrowick"]
    return {
        "old-tarrow-line.gpx": _gpx(ground, "Old Tarrow Line", rail),
        "coast-ride.gpx": _gpx(ground, "Coast ride", coast.xy),
        "family-loop.gpx": _gpx(ground, "Family loop", _loop(lines, middle)),
    }


def _loop(lines: list[Line], near: Settlement) -> Array:
    """The block of quiet roads, round near a village, whose length is nearest to 9 km."""
    kinds = ("unclassified", "tertiary", "residential", "cycleway", "secondary", "track", "path")
    shapes = [line.shape for line in lines if line.tags["highway"] in kinds]
    blocks = list(
        shapely.ops.polygonize(shapely.get_parts(shapely.node(shapely.union_all(shapes))))
    )
    here = shapely.Point(near.x, near.y)
    blocks.sort(key=lambda b: abs(b.exterior.length - 9000) + b.distance(here) * 0.25)
    return np.array(blocks[0].exterior.coords)


def _gpx(ground: Ground, name: str, xy: Array) -> str:
    points = evenly_spaced(xy, 60.0)
    lat, lon = degrees(points)
    height = ground.height_m(points)
    gpx = gpxpy.gpx.GPX()
    gpx.creator = "planner_kit demo island"
    gpx.name = name
    gpx.description = "Invented ride on the demo island Sallowey"
    track = gpxpy.gpx.GPXTrack(name=name)
    segment = gpxpy.gpx.GPXTrackSegment()
    track.segments.append(segment)
    gpx.tracks.append(track)
    for a, b, h in zip(lat.tolist(), lon.tolist(), height.tolist(), strict=True):
        segment.points.append(
            gpxpy.gpx.GPXTrackPoint(round(a, 6), round(b, 6), elevation=round(h, 1))
        )
    return str(gpx.to_xml(version="1.1")) + "\n"
