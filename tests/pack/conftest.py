"""A trip on the invented island of Sallowey, put together by hand from the stages' dataclasses.

Nothing here is computed by the kit: people, sites, prices and masts are invented.
"""

from __future__ import annotations

import datetime as dt
from collections.abc import Callable
from dataclasses import dataclass, replace
from itertools import pairwise
from pathlib import Path
from typing import Any
from zoneinfo import ZoneInfo

import geopandas as gpd
import numpy as np
import pandas as pd
import pytest
from shapely.geometry import LineString, Point, Polygon

from planner_kit.costs.report import TripCost
from planner_kit.outfit.report import Outfit, OutfitReport
from planner_kit.outings.report import OutingsReport
from planner_kit.pitch.report import PitchReport
from planner_kit.plan import TripPlan
from planner_kit.region.terrain import Terrain
from planner_kit.rules.cautions import cautions_for
from planner_kit.sites.report import SitesReport
from planner_kit.states import Check, State
from planner_kit.tow.leg import FuelUse, Leg, Route, TowReport
from planner_kit.trip.household import Household
from planner_kit.trip.money import CostLine, cost_frame
from planner_kit.trip.reading import TripInputs
from planner_kit.trip.trip import Trip
from planner_kit.trip_files import TripFiles

ZONE = ZoneInfo("Europe/London")
PLANNED_ON = dt.date(2027, 3, 1)
LAT0, LON0 = 49.2, -14.0  # open ocean: the island is invented
_TOWNS = {
    "Ellanby": (20.5, 5.5, "town"),
    "Tolvenny": (-19.2, -11.0, "town"),
    "Skarrow Haven": (17.4, -11.2, "town"),
    "Hallin Cross": (1.6, 6.4, "village"),
    "Marrendale": (-16.8, 8.2, "village"),
    "Pellinger": (13.0, -5.6, "village"),
    "Omberlow": (12.4, 5.0, "village"),
    "Fenwhistle": (5.2, -12.6, "village"),
    "Gorsecombe": (-9.6, -15.6, "village"),
    "Oxharrow": (-23.0, 12.2, "village"),
    "Nether Quay": (-22.6, -0.6, "village"),
    "Little Anvery": (-17.0, -3.0, "hamlet"),
}
_ROADS = (
    ("trunk", "A1", ("Ellanby", "Pellinger", "Fenwhistle", "Gorsecombe", "Tolvenny")),
    ("primary", "A2", ("Tolvenny", "Little Anvery", "Nether Quay", "Oxharrow")),
    ("primary", "A3", ("Ellanby", "Omberlow", "Hallin Cross")),
    ("secondary", "A14", ("Pellinger", "Skarrow Haven", "Fenwhistle")),
    ("tertiary", "B22", ("Hallin Cross", "Marrendale", "Oxharrow")),
    ("unclassified", "", ("Hallin Cross", "Fenwhistle")),
)


def at(x_km: float, y_km: float) -> tuple[float, float]:
    """(lon, lat) of a position in kilometres from the island's middle."""
    return LON0 + x_km / (111.32 * np.cos(np.radians(LAT0))), LAT0 + y_km / 111.2


@dataclass(frozen=True)
class DrawnRegion:
    """The parts of a region that a map is drawn from."""

    roads: gpd.GeoDataFrame
    places: gpd.GeoDataFrame
    areas: gpd.GeoDataFrame
    lines: gpd.GeoDataFrame
    terrain: Terrain | None
    manifest: dict[str, Any]
    attribution: tuple[str, ...] = (
        "Sallowey is invented",
        "roads and hills drawn for this example",
    )
    country: str = "GB"
    name: str = "Sallowey"
    invented: bool = True
    bounds: tuple[float, float, float, float] = (*at(-36, -26), *at(36, 26))


def wavy(start: str, end: str) -> list[tuple[float, float]]:
    """A road that is not quite straight, as (lon, lat)."""
    (x1, y1, _), (x2, y2, _) = _TOWNS[start], _TOWNS[end]
    share = np.linspace(0, 1, 60)
    bend = 0.9 * np.sin(share * np.pi * 3) * np.sin(share * np.pi)
    length = np.hypot(x2 - x1, y2 - y1)
    x = x1 + (x2 - x1) * share - (y2 - y1) / length * bend
    y = y1 + (y2 - y1) * share + (x2 - x1) / length * bend
    return [at(a, b) for a, b in zip(x, y, strict=True)]


@pytest.fixture(scope="session")
def region() -> DrawnRegion:
    rows = []
    for road_class, ref, stops in _ROADS:
        for start, end in pairwise(stops):
            line = LineString(wavy(start, end))
            rows.append({"road_class": road_class, "ref": ref, "length_m": 9e4 * line.length,
                         "name": "", "geometry": line})  # fmt: skip
    roads = gpd.GeoDataFrame(rows, crs=4326)
    places = gpd.GeoDataFrame(
        [{"kind": kind, "name": name, "lon": at(x, y)[0], "lat": at(x, y)[1],
          "geometry": Point(at(x, y))} for name, (x, y, kind) in _TOWNS.items()],
        crs=4326,
    )  # fmt: skip
    angle = np.linspace(0, 2 * np.pi, 200, endpoint=False)
    radius = 1 + 0.08 * np.sin(5 * angle) + 0.04 * np.cos(11 * angle)
    coast = [at(30 * np.cos(a) * r, 20 * np.sin(a) * r) for a, r in zip(angle, radius, strict=True)]
    wood = [at(-8 + 4 * np.cos(a), 6 + 3 * np.sin(a)) for a in angle]
    areas = gpd.GeoDataFrame(
        [{"kind": "land", "name": "Sallowey", "geometry": Polygon(coast)},
         {"kind": "forest", "name": "", "geometry": Polygon(wood)}],
        crs=4326,
    )  # fmt: skip
    lines = gpd.GeoDataFrame(
        [{"kind": "coast", "name": "", "geometry": LineString([*coast, coast[0]])}], crs=4326
    )
    x, y = np.meshgrid(np.linspace(-36, 36, 240), np.linspace(26, -26, 180))
    hills = 260 * np.exp(-((x + 3) ** 2 + (y - 4) ** 2) / 90) + 25 * np.sin(x / 3) * np.cos(y / 2)
    west, north = at(-36, 26)
    east, south = at(36, -26)
    terrain = Terrain(
        np.where(np.hypot(x / 30, y / 20) < 1.02, np.maximum(hills + 30, 2), 0).astype("float32"),
        west, north, (east - west) / 239, (north - south) / 179,
    )  # fmt: skip
    manifest = {"name": "Sallowey", "data_date": "2027-02-14"}
    return DrawnRegion(roads, places, areas, lines, terrain, manifest)


HOUSEHOLD: dict[str, Any] = {
    "schema": 1,
    "name": "The Merriwether household",
    "home": {"name": "4 Orchard Close, Ellanby", "lat": at(20.5, 5.5)[1], "lon": at(20.5, 5.5)[0]},
    "people": [
        {"name": "Ottilie", "born": "1982-05-02", "drives": True, "licence": "BE"},
        {"name": "Fergus", "born": "1980-11-19", "drives": True, "licence": "B"},
        {"name": "Wren", "born": "2016-02-11"},
        {"name": "Tam", "born": "2019-08-30"},
    ],
    "dogs": [{"name": "Biscuit"}],
    "car": {"name": "the estate", "fuel": "diesel", "kerb_kg": 1690, "height_m": 1.52,
            "width_m": 1.9, "length_m": 4.8},
    "caravan": {"name": "the caravan", "mtplm_kg": 1500, "width_m": 2.31, "height_m": 2.61,
                "awning_depth_m": 2.5, "stabiliser": True, "gas_cylinders": 1,
                "hookup_lead_m": 25, "cassette_l": 18, "fresh_water_l": 40},
    "phones": [{"owner": "Ottilie", "operator": "Lantern Mobile"}],
    "contacts": [
        {"name": "Grandma Iris", "phone": "01632 960 114", "what_for": "feeds the cat"},
        {"name": "Ellanby Towing Workshop", "phone": "01632 960 231", "what_for": "hitch, brakes"},
    ],
}  # fmt: skip

TRIP: dict[str, Any] = {
    "schema": 1,
    "id": "sallowey-2027",
    "name": "A week at Oxharrow",
    "start": "2027-07-24",
    "party": ["Ottilie", "Fergus", "Wren", "Tam"],
    "files": {"region": "region"},
    "stays": [
        {
            "site": "saltmarsh",
            "nights": 7,
            "pitch": "Row C, hardstanding",
            "booking": {
                "state": "booked", "reference": "SM-20417", "price": 266.0, "currency": "GBP",
                "paid": 50.0, "due_on": "2027-06-26", "free_cancellation_until": "2027-07-10",
                "arrival_code": "4471#", "confirmation": "confirmation.pdf",
            },
        }
    ],
    "budget": {"total": 900, "currency": "GBP"},
    "notes": ["Iris wants a postcard from the lighthouse."],
}  # fmt: skip

CHECKS_OUTFIT = (
    Check("caravan within its plate", State.FINE,
          "The caravan laden is 38 kg below its plate.", 1462, 1500, "kg", 38,
          "caravan's plate (MTPLM)", "caravan's plate", "plate"),
    Check("noseweight on the tow ball", State.LOOK,
          "88 kg is within 5 kg of the car's limit of 90 kg; measure it with a gauge.",
          88, 90, "kg", 2, "lower of car, tow bar and hitch: the car's", "car handbook", "plate"),
    Check("car and caravan together", State.FINE,
          "The train laden is 210 kg below the plate.", 3490, 3700, "kg", 210,
          "gross train mass", "car's plate", "plate"),
    Check("car's rear axle", State.UNKNOWN,
          "The rear axle's load is not known: the household file gives no rear_axle_kerb_kg.",
          None, 1150, "kg", None, "rear axle limit", "car's plate", "plate"),
    Check("who may drive the outfit", State.NOT_FINE,
          "Fergus's licence is category B of 1998; the file does not show that it covers 3,490 kg.",
          3490, 3500, "kg", 10, "GB: category B", "GB driving licence categories", "published"),
)  # fmt: skip


def route_of(stops: tuple[str, ...]) -> Route:
    """A route along the wavy roads, with made-up steps."""
    points = [p for a, b in pairwise(stops) for p in wavy(a, b)]
    line = LineString(points)
    names = [
        ("A3", "", 0.4, 42.0),
        ("A3", "Ellanby Road", 9.3, 63.0),
        ("B22", "", 13.2, 52.0),
        ("B22", "Stannet Pass", 6.2, 35.0),
        ("B22", "", 3.8, 48.0),
        ("", "Marsh Lane", 1.1, 24),
    ]
    start, rows = 0.0, []
    for place, (ref, name, length, speed) in enumerate(names):
        rows.append({"road_id": place, "forward": True, "name": name, "ref": ref,
                     "road_class": "primary" if ref == "A3" else "tertiary", "start_km": start,
                     "length_m": length * 1000, "time_s": length / speed * 3600,
                     "speed_kmh": speed, "limited_by": "bends" if speed < 40 else "law",
                     "gradient_pct": 2.0, "steepest_up_pct": 12.5 if "Pass" in name else 4.0,
                     "steepest_down_pct": 14.0 if "Pass" in name else 3.0,
                     "width_m": np.nan if name == "Marsh Lane" else 5.8,
                     "width_source": "class", "stress_s": 0.0,
                     "turn_deg": (0.0, 5.0, -88.0, 10.0, 3.0, 92.0)[place],
                     "note": "passing places" if "Pass" in name else ""})  # fmt: skip
        start += length
    steps = pd.DataFrame(rows)
    near = (
        Check("height at the railway bridge by Omberlow", State.LOOK,
              "Signed 2.9 m at mile 7.1 (maxheight=2.9): 0.29 m above the outfit.",
              2.61, 2.9, "m", 0.29, "signed height", "OpenStreetMap", "computed"),
        Check("Stannet Pass", State.LOOK, "14% downhill for 400 m (1 in 7): stay in a low gear.",
              14, 12, "%", -2, "steep for a laden outfit", "common practice", "common practice"),
    )  # fmt: skip
    return Route(np.arange(6), np.ones(6, bool), steps, line, start, 58.0, 6.5, near,
                 ("Width of Marsh Lane (last 0.7 miles) is not mapped.",))  # fmt: skip


def leg_of(kind: str, stops: tuple[str, ...], day: dt.date, depart: dt.time) -> Leg:
    route = route_of(stops)
    leave = dt.datetime.combine(day, depart, ZONE)
    lon, lat = at(1.6, 6.4)
    rests = pd.DataFrame(
        [{"place_id": "n14", "name": "Hallin Cross picnic site", "kind": "picnic_site", "lat": lat,
          "lon": lon, "at_km": 19.6, "arrive": leave + dt.timedelta(minutes=31),
          "leave": leave + dt.timedelta(minutes=51), "minutes": 20, "room": "yes",
          "why": "halfway, with room for 12 m"}]
    )  # fmt: skip
    checks = (
        Check("arrival within the site's hours", State.FINE,
              "Arrival 14:18 lies between 13:00 and 19:00.", None, None, "", None,
              "arrival hours", "sites.csv", "computed"),
        *route.near_limits,
    )  # fmt: skip
    names = (HOUSEHOLD["home"]["name"], "Saltmarsh Farm, Oxharrow")
    start, end = names if kind == "out" else names[::-1]
    fuel = FuelUse(3.6, 4.1, 4.8, "l", "computed from road, mass and speed")
    line = CostLine("fuel", f"diesel, tow {kind}", 5.2, 6.1, 7.3, "GBP", "expected",
                    "prices.csv 2027-02-20", day, "tow")  # fmt: skip
    return Leg(kind, start, end, day, leave, leave + dt.timedelta(minutes=78), route, route,
               rests, fuel, checks, (line,), ())  # fmt: skip


def outings_report(hostile: str = "") -> OutingsReport:
    def spot(name: str, kind: str, x: float, y: float, **more: Any) -> dict[str, Any]:
        lon, lat = at(x, y)
        return {"attraction_id": name.lower().replace(" ", "-"), "name": name, "kind": kind,
                "lat": lat, "lon": lon, "indoor": False, "drive_min": 14.0, "distance_km": 11.0,
                "cost": 12.0, "parking_cost": 0.0, "currency": "GBP", "free_with": "",
                "rating": 4.2, "open_days": 6.0, "opening_hours": "Mo-Sa 10:00-17:00", "score": 0.8,
                **more}  # fmt: skip

    ranking = pd.DataFrame(
        [
            spot("Penny Holm Lighthouse", "lighthouse", -27, 13, score=0.91),
            spot("Tolvenny Castle", "castle", -19.2, -10, drive_min=31.0, distance_km=27.0,
                 cost=29.5, free_with="Heritage Keys"),
            spot("Oxharrow Sands", "beach", -24.5, 13.0, drive_min=4.0, distance_km=2.0, cost=0.0,
                 opening_hours="24/7"),
            spot("Quay Street Museum", "museum", -22.6, -0.6, indoor=True, cost=np.nan,
                 opening_hours="", open_days=np.nan),
            spot("Marren Swimming Baths", "swimming_pool", -16.8, 8.2, indoor=True, cost=18.0),
        ]
    )  # fmt: skip
    first = dt.date(2027, 7, 24)
    rows = [
        (1, "10:30", "15:00", 0, "outing", "highest score; open on Sundays from 10:00"),
        (2, "", "", None, "rest", "a rest day was asked for"),
        (3, "10:00", "16:00", 1, "outing", "Ottilie's wish; free with Heritage Keys"),
        (4, "11:00", "16:30", 2, "outing", "low water at 13:20 is not known to the kit"),
        (4, "11:00", "15:00", 3, "wet-day plan", "indoors; opening hours are not known"),
        (5, "10:00", "13:00", 4, "wet-day plan", "indoors and open"),
    ]
    days = pd.DataFrame(
        [{"day": first + dt.timedelta(days=n),
          "start": dt.datetime.combine(first + dt.timedelta(days=n), dt.time.fromisoformat(a), ZONE)
          if a else pd.NaT,
          "end": dt.datetime.combine(first + dt.timedelta(days=n), dt.time.fromisoformat(b), ZONE)
          if b else pd.NaT,
          "attraction_id": "" if place is None else ranking["attraction_id"][place],
          "name": "" if place is None else ranking["name"][place], "what": what, "why": why}
         for n, a, b, place, what, why in rows]
    )  # fmt: skip
    if hostile:
        days.loc[0, "name"] = hostile
    left = pd.DataFrame([{"attraction_id": "zoo", "name": "Pellinger Zoo", "why": "88 min away"}])
    line = CostLine("outing", "Marren Swimming Baths, 4 people", 16.0, 18.0, 18.0, "GBP",
                    "expected", "attractions.csv", first, "outings")  # fmt: skip
    return OutingsReport("saltmarsh", ranking, days, left, (), (line,),
                         ("Opening hours of Quay Street Museum are not known.",))  # fmt: skip


def pitch_report() -> PitchReport:
    signals = pd.DataFrame(
        [
            {"service": "phone", "for_whom": "Ottilie", "operator": "Lantern Mobile",
             "mast_id": "m4", "mast": "Oxharrow Down", "distance_km": 3.4, "bearing_deg": 118.0,
             "line_of_sight": "yes", "state": "fine", "sentence": "Calls and video should work."},
            {"service": "television", "for_whom": "", "operator": "Sallowey transmitters",
             "mast_id": "t1", "mast": "Stannet Beacon", "distance_km": 19.0, "bearing_deg": 96.0,
             "line_of_sight": "no", "state": "look at this",
             "sentence": "A hill stands between; raise the aerial and try the second mast."},
            {"service": "phone", "for_whom": "Fergus", "operator": "not given", "mast_id": "",
             "mast": "", "distance_km": np.nan, "bearing_deg": np.nan, "line_of_sight": "unknown",
             "state": "unknown", "sentence": "Fergus's operator is not in the household file."},
        ]
    )  # fmt: skip
    checks = (
        Check("hook-up load", State.LOOK, "Kettle and heater together draw 16.5 A of 16 A.",
              16.5, 16, "A", -0.5, "the post's breaker", "sites.csv", "computed"),
        Check("length of the hook-up lead", State.FINE, "25 m reaches a post 12 m away.", 12, 25,
              "m", 13, "the lead", "household.toml", "computed"),
        Check("toilet", State.FINE, "The cassette is full after about 2 days.", None, None, "",
              None, "", "household.toml", "common practice"),
    )  # fmt: skip
    bring = pd.DataFrame(
        [
            {"what": "toilet fluid", "how_much": "0.6 l", "why": "4 fills of 18 l",
             "cost_likely": 6.5, "source": "prices.csv", "buy": True},
            {"what": "gas", "how_much": "1 cylinder, 6 kg", "why": "cooking for 7 days",
             "cost_likely": np.nan, "source": "no price known", "buy": True},
            {"what": "hook-up lead", "how_much": "25 m", "why": "post about 12 m away",
             "cost_likely": np.nan, "source": "owned", "buy": False},
        ]
    )  # fmt: skip
    return PitchReport("saltmarsh", signals, checks, bring, (),
                       cautions_for("gas", "carbon_monoxide", "mains"),
                       ("Water pressure at the tap is not known.",))  # fmt: skip


def sites_report(trip: Trip) -> SitesReport:
    booking = trip.stays[0].booking
    stays = pd.DataFrame(
        [{"site_id": "saltmarsh", "name": "Saltmarsh Farm, Oxharrow", "arrive": trip.start,
          "leave": trip.end, "nights": 7, "price": 266.0, "price_before_discount": 280.0,
          "currency": "GBP", "booking_state": booking.state,
          "booking_reference": booking.reference,
          "arrive_from": "13:00", "arrive_until": "19:00", "depart_by": "11:00",
          "phone": "01632 960 870"}]
    )  # fmt: skip
    booked = booking.state == "booked"
    deadlines = pd.DataFrame(
        [
            {"on": dt.date(2027, 6, 26), "what": "Pay Saltmarsh Farm the rest: £216",
             "why": "due four weeks before arrival", "site_id": "saltmarsh", "state": "to do",
             "uid": "saltmarsh-due"},
            {"on": dt.date(2027, 7, 10), "what": "Last day to call off Saltmarsh Farm free",
             "why": "site rules", "site_id": "saltmarsh", "state": "to do",
             "uid": "saltmarsh-cancel"},
            {"on": dt.date(2027, 2, 1), "what": "Book the ferry to Penny Holm",
             "why": "fills up by Easter", "site_id": "", "state": "late", "uid": "ferry"},
        ] if booked else []
    )  # fmt: skip
    lines = pd.DataFrame(
        [{"site_id": "saltmarsh", "what": "7 nights, high season", "quantity": 7,
          "unit_price": 38.0, "amount": 266.0, "currency": "GBP", "source": "seasons.csv"}]
    )  # fmt: skip
    shortlist = pd.DataFrame(
        [{"site_id": "saltmarsh", "name": "Saltmarsh Farm", "lat": at(-23, 12.2)[1],
          "lon": at(-23, 12.2)[0], "price": 266.0, "currency": "GBP", "fit": "fine",
          "score": 0.9, "removed_by": ""}]
    )  # fmt: skip
    checks = (
        Check("the outfit fits Saltmarsh Farm", State.FINE, "12 m fits a pitch of 14 m.", 12.0,
              14.0, "m", 2.0, "longest outfit", "sites.csv", "computed"),
    )  # fmt: skip
    return SitesReport(stays, lines, shortlist, deadlines, checks, (), ())


def cost_of() -> TripCost:
    lines = cost_frame([
        CostLine("site", "Saltmarsh Farm, 7 nights", 266, 266, 266, "GBP", "booked",
                 "booking SM-20417", dt.date(2027, 6, 26), "sites"),
        CostLine("site", "deposit", 50, 50, 50, "GBP", "paid", "booking SM-20417",
                 dt.date(2027, 1, 14), "sites"),
        CostLine("fuel", "diesel, tow out", 5.2, 6.1, 7.3, "GBP", "expected",
                 "prices.csv 2027-02-20", dt.date(2027, 7, 24), "tow"),
        CostLine("fuel", "diesel, tow home", 5.2, 6.1, 7.3, "GBP", "expected",
                 "prices.csv 2027-02-20", dt.date(2027, 7, 31), "tow"),
        CostLine("outing", "Tolvenny Castle, family", 0, 0, 0, "GBP", "expected",
                 "free with Heritage Keys", None, "outings"),
        CostLine("outing", "Quay Street Museum", None, None, None, "GBP", "unknown",
                 "no price in attractions.csv", None, "outings"),
        CostLine("food", "food for 4, 7 days", 190, 245, 300, "GBP", "expected",
                 "trip.toml budget", None, "costs"),
    ])  # fmt: skip
    months = pd.DataFrame(
        [{"month": "2027-01", "amount": 50.0, "state": "paid"},
         {"month": "2027-06", "amount": 216.0, "state": "booked"},
         {"month": "2027-07", "amount": 258.0, "state": "expected"}]
    )  # fmt: skip
    checks = (
        Check("the trip within its budget", State.FINE, "£523 is £377 below the budget of £900.",
              523, 900, "GBP", 377, "trip.toml budget", "trip.toml", "computed"),
        Check("price of Quay Street Museum", State.UNKNOWN, "Its price is not known.", None, None,
              "GBP", None, "", "attractions.csv", "computed"),
    )  # fmt: skip
    return TripCost(lines, "GBP", 482.0, 523.2, 566.0,
                    "Each line varies on its own; the range holds nine times in ten.",
                    74.7, 130.8, months, checks)  # fmt: skip


def plan_of(
    region: DrawnRegion,
    folder: Path,
    *,
    household: dict[str, Any] | None = None,
    trip: dict[str, Any] | None = None,
) -> TripPlan:
    home = Household.model_validate({**HOUSEHOLD, **(household or {})})
    away = Trip.model_validate({**TRIP, **(trip or {})})
    inputs = TripInputs(away, home, folder / "trip.toml", folder / "household.toml")
    lon, lat = at(-23, 12.2)
    sites = pd.DataFrame(
        [{"site_id": "saltmarsh", "name": "Saltmarsh Farm, Oxharrow", "lat": lat, "lon": lon,
          "phone": "01632 960 870"}]
    ).set_index("site_id")  # fmt: skip
    empty = pd.DataFrame()
    files = TripFiles(inputs, region, sites, empty, empty, empty, empty, empty, None, (), {})
    outfit = Outfit(2028, 1462, 3490, 1500, 3700, 2200, 1150, 11.9, 2.31, 2.61, 4.8, 2.8, 1.1, 4.3,
                    2.6, 1.9, 2.31, 140, "diesel", ("The car's load was guessed.",))  # fmt: skip
    items = pd.DataFrame(
        [{"item": "awning", "quantity": 1, "mass_kg": 28.0, "place": "over the axle", "x_m": 4.3,
          "note": ""}]
    )  # fmt: skip
    report = OutfitReport(outfit, CHECKS_OUTFIT, items,
                          cautions_for("weights", "noseweight", "brakes", "tyres"))  # fmt: skip
    stops = ("Ellanby", "Omberlow", "Hallin Cross", "Marrendale", "Oxharrow")
    legs = (
        leg_of("out", stops, away.start, dt.time(13, 0)),
        leg_of("home", stops[::-1], away.end, dt.time(10, 0)),
    )
    tow = TowReport(legs, cautions_for("low_bridges", "fatigue"))
    stays = (pitch_report(),), (outings_report(),), sites_report(away)
    return TripPlan(files, PLANNED_ON, report, tow, *stays, cost_of())


@pytest.fixture
def plan(region: DrawnRegion, tmp_path: Path) -> TripPlan:
    return plan_of(region, tmp_path)


@pytest.fixture
def bare_plan(region: DrawnRegion, tmp_path: Path) -> TripPlan:
    """Nothing booked, no terrain, no lists: only what must be there."""
    flat = replace(region, terrain=None)
    trip = {"stays": [{"site": "saltmarsh", "nights": 2}], "notes": [], "budget": {}}
    full = plan_of(flat, tmp_path, trip=trip, household={"contacts": [], "dogs": []})
    leg = replace(full.tow.legs[0], rests=full.tow.legs[0].rests.iloc[:0], fuel=None)
    return replace(
        full,
        tow=replace(full.tow, legs=(leg,)),
        pitches=(),
        outings=(),
        outfit=replace(full.outfit, loading=None, checks=()),
    )


@pytest.fixture
def make_plan(region: DrawnRegion, tmp_path: Path) -> Callable[..., TripPlan]:
    """The plan with keys of the household or the trip put in place of the usual ones."""

    def make(**changes: dict[str, Any]) -> TripPlan:
        return plan_of(region, tmp_path, **changes)

    return make
