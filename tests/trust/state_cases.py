"""Calls that reach every function which gives a state, with all that they can be given."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from decimal import Decimal
from pathlib import Path
from tempfile import TemporaryDirectory
from types import SimpleNamespace
from typing import Any

import numpy as np
import pandas as pd

from planner_kit.costs import cost_trip
from planner_kit.errors import PlannerKitError
from planner_kit.outfit import load_checks, odd_plates, outfit_of, with_law_of
from planner_kit.outfit.tyres import tyre_checks
from planner_kit.outings import plan_outings, read_attractions
from planner_kit.outings.stay_checks import membership_checks
from planner_kit.pitch import plan_pitch
from planner_kit.pitch.dish import check_dish
from planner_kit.pitch.masts import MAST_COLUMNS
from planner_kit.sites.bookings import check_booking, check_clashes
from planner_kit.sites.candidates import _room_m
from planner_kit.sites.fit import check_fit, check_pitch
from planner_kit.sites.house_rules import check_house_rules
from planner_kit.sites.ledger import check_nights
from planner_kit.sites.reach import tow_reach
from planner_kit.sites.stays import _check_price
from planner_kit.sites.tariff import PriceSum
from planner_kit.sites.tariff_rules import TariffRules, read_tariffs
from planner_kit.sites.terms import check_terms
from planner_kit.states import Check, State
from planner_kit.summary import all_checks, things_to_look_at
from planner_kit.tow import find_route, plan_tow, road_suitability, route_corners
from planner_kit.tow.comparing import compare_routes, worst_places
from planner_kit.tow.find import find_alternatives
from planner_kit.tow.geojson import route_geojson
from planner_kit.trip.household import Household, Satellite, TowWeights
from planner_kit.trip.money import CostLine
from planner_kit.trip.reading import TripInputs
from planner_kit.trip.trip import Stay, Trip
from tests.costs.test_trip_cost import inputs as cost_inputs
from tests.outfit.conftest import FULL
from tests.outings import conftest as days
from tests.outings import test_programme as programme
from tests.pitch import conftest as made
from tests.pitch import test_pitch as pitch
from tests.sites.conftest import household_with, site_frame, trip_with
from tests.tow import test_drive as drive
from tests.tow.conftest import make_outfit, make_region

DAY = dt.date(2027, 7, 24)


@dataclass(frozen=True)
class Case:
    """One call and its inputs.

    `optional` inputs may be None, `whole` frames are never empty; of `walked` inputs everything is
    taken away in turn (of all of them if it is None).
    """

    name: str
    run: Callable[..., Iterable[Check]]
    inputs: dict[str, Any]
    optional: tuple[str, ...] = ()
    whole: tuple[str, ...] = ()
    walked: tuple[str, ...] | None = None

    def checks(self, **changes: Any) -> list[Check]:
        """The checks with all inputs, or with some of them changed."""
        try:
            return list(self.run(**{**self.inputs, **changes}))
        except PlannerKitError:
            return []  # told in one sentence, with no check at all


# --- car and caravan


def _household(**changes: dict[str, Any]) -> Household:
    data = {key: dict(value) if isinstance(value, dict) else value for key, value in FULL.items()}
    data["car"] |= {
        "wheelbase_m": 2.8, "front_axle_kerb_kg": 1020, "rear_axle_kerb_kg": 780, "drive": "front",
        "kerb_includes_driver": False,
    }  # fmt: skip
    data["caravan"] |= {"axle_spacing_m": 0.9, "internal_length_m": 5.7, "track_width_m": 2.0}
    data["caravan"]["tyre"] = {
        "load_index": 104, "speed_symbol": "N", "made": "1025", "pressure_bar": 4.0,
    }  # fmt: skip
    for part, keys in changes.items():
        data[part] = {**data[part], **keys} if isinstance(keys, dict) else keys
    return Household.model_validate(data)


def _items(*, heavy: bool = False) -> pd.DataFrame:
    kg = 4.0 if heavy else 1.0
    return pd.DataFrame(
        {
            "item": ["awning", "tools", "bicycle", "gas", "box"],
            "mass_kg": [25 * kg, 10 * kg, 15 * kg, 16 * kg, 12 * kg],
            "quantity": [1.0, 1.0, 2.0, 1.0, 1.0],
            "place": ["caravan over axle", "car boot", "car roof", "caravan front", "caravan tail"],
            "x_m": [0.2, np.nan, np.nan, 2.6, -9.0 if heavy else -2.0],
            "person": ["", "", "", "", "Ada"],
        }
    )


def _outfit(household: Household, items: pd.DataFrame | None) -> list[Check]:
    outfit = outfit_of(household, items=items, on=DAY)
    report = load_checks(household, outfit, items=items, on=DAY, with_advice=False)
    lawful = with_law_of(report, household, countries=("GB", "XX"), on=DAY)
    return [*lawful.checks, *lawful.plates, *tyre_checks(household, on=DAY), *odd_plates(household)]


LIGHT, HEAVY = {"loading": {}}, {
    "loading": {},
    "car": {"gross_kg": 1850, "gross_train_kg": 3000, "towing_limit_braked_kg": 1200,
            "towball_limit_kg": 60, "roof_limit_kg": 30, "rear_axle_limit_kg": 800,
            "front_axle_limit_kg": 900, "front_axle_kerb_kg": 2000, "width_m": 2.9},
    "caravan": {"mtplm_kg": 1310, "axle_limit_kg": 600, "width_m": 2.7, "braked": False,
                "axles": 2, "body_length_m": 7.5, "internal_length_m": 7.6,
                "tyre": {"load_index": 60, "speed_symbol": "B", "made": "0110"}},
}  # fmt: skip

OUTFIT = [
    Case("outfit", _outfit, {"household": _household(), "items": None}),
    Case("outfit by a list", _outfit, {"household": _household(loading={
        "car_load_kg": None, "caravan_load_kg": None, "noseweight_measured_kg": None}),
        "items": _items()}, ("items",)),
    Case("outfit that is too heavy", _outfit, {"household": _household(**{**HEAVY, "loading": {
        "car_load_kg": None, "caravan_load_kg": None, "noseweight_measured_kg": None}}),
        "items": _items(heavy=True)}, ("items",)),
    Case("outfit with plates that contradict", _outfit, {"household": _household(
        car={"kerb_kg": 2500, "gross_kg": 2400}, caravan={"mtplm_kg": 1250}),
        "items": None},
        walked=()),
]  # fmt: skip


# --- the tow


def _tow_region(**changes: Any) -> Any:
    edges = [(n, n + 1, {"ref": f"A{n}", **(changes if n == 2 else {})}) for n in range(5)]
    return make_region(drive.POINTS, edges)


def _tow(outfit: Any, roads: Any, nodes: Any, sites: Any, car: Any) -> list[Check]:
    inputs = drive.inputs("s1")
    inputs = replace(inputs, household=inputs.household.model_copy(update={"car": car}))
    region = replace(_tow_region(), roads=roads, nodes=nodes)
    report = plan_tow(inputs, region, outfit, sites, tolls=drive.TOLLS, prices=drive.PRICES)
    return list(report.checks)


def _tow_case(
    name: str, *, walked: tuple[str, ...] | None = None, nodes: Any = None, **road: Any
) -> Case:
    region = _tow_region(**road)
    for row, cells in (nodes or {}).items():
        for column, value in cells.items():
            region.nodes.loc[row, column] = value
    return Case(
        name,
        _tow,
        {
            "outfit": make_outfit(),
            "roads": region.roads,
            "nodes": region.nodes,
            "sites": drive.SITES,
            "car": drive.inputs("s1").household.car,
        },
        whole=("nodes", "sites"),
        walked=walked,
    )


TOW = [
    _tow_case("tow on good roads", walked=("outfit", "sites", "car")),
    _tow_case("tow with everything near its limit", walked=("roads",),
              maxheight_m=2.8, maxwidth_m=2.55,
              maxlength_m=12.0, maxweight_t=5.0, width_m=5.0, gradient_pct=16.0,
              steepest_up_pct=19.0, steepest_down_pct=0.0, climb_m=300.0, length_m=2000.0),
    _tow_case("tow down a long hill", walked=(), gradient_pct=-9.0, steepest_down_pct=14.0,
              steepest_up_pct=0.0, descent_m=1200.0),
    _tow_case("tow through a gate", walked=("nodes",), nodes={2: {"barrier": "gate",
              "maxwidth_m": 2.5, "barrier_passable": True, "maxheight_m": 2.8}}),
]  # fmt: skip


# North, and back again to the right.
HAIRPIN = [(52.0, 0.0), (52.005, 0.0), (52.0, 0.0012)]


def _corners(outfit: Any, roads: Any) -> list[Check]:
    region = replace(_bent(), roads=roads)
    ends = HAIRPIN[0], HAIRPIN[-1]
    route = find_route(region, outfit, *ends, weights=TowWeights(), on=DAY)
    found = route_corners(route, region.roads, outfit, keeps_left=True)
    route_geojson(route)
    ways = find_alternatives(region, outfit, *ends, weights=TowWeights(), on=DAY)
    compare_routes(
        ways, region, outfit, drive.inputs("s1").household,
        prices=drive.PRICES, tolls=drive.TOLLS, on=DAY,
    )  # fmt: skip
    return [*found.checks, *worst_places(route.near_limits)]


def _bent(**into: Any) -> Any:
    return make_region(HAIRPIN, [(0, 1, into), (1, 2, into)])


def _roads_coloured(outfit: Any, roads: Any) -> list[Check]:
    """Every road's state as a check of its own, as a map colours them."""
    region = replace(_tow_region(), roads=roads)
    table = road_suitability(region, outfit, TowWeights(), on=DAY)
    return [
        Check(f"road {row}", State(word), why)
        for row, (word, why) in enumerate(zip(table["state"], table["why"], strict=True))
    ]


def _reach(outfit: Any, sites: Any) -> list[Check]:
    reach = tow_reach(drive.inputs("s1"), _tow_region(maxheight_m=2.7), outfit, sites)
    return [
        Check(f"tow to {site}", State(word), "")
        for site, word in zip(reach.index, reach["reach"], strict=True)
    ]


NARROW = {"width_m": 2.9, "maxheight_m": 2.8, "width_source": "tagged"}
TOW += [
    Case("corner of a narrow lane", _corners,
         {"outfit": make_outfit(ball_to_axle_m=11.0), "roads": _bent(**NARROW).roads}),
    Case("corners for an outfit that is not known", _corners,
         {"outfit": make_outfit(ball_to_axle_m=None), "roads": _bent().roads}, walked=()),
    Case("corner with room", _corners,
         {"outfit": make_outfit(), "roads": _bent(width_m=11.0).roads}, walked=("outfit",)),
    Case("roads on the map", _roads_coloured, {"outfit": make_outfit(),
         "roads": _tow_region(maxheight_m=2.5, maxwidth_m=2.2, gradient_pct=20.0).roads}),
    Case("sites within reach", _reach, {"outfit": make_outfit(), "sites": drive.SITES},
         whole=("sites",)),
]  # fmt: skip


# --- the pitch


def _pitch(household: Household, site: pd.Series, masts: pd.DataFrame, ground: Any) -> list[Check]:
    trip = Trip.model_validate({
        "schema": 1, "id": "made", "name": "Made trip", "start": DAY, "files": {"region": "r"},
        "stays": [{"site": "made-site", "nights": 5}],
        "climate": [{"low_c": 4, "high_c": 18, "source": "made"}],
    })  # fmt: skip
    inputs = TripInputs(trip, household, Path("trip.toml"), Path("household.toml"))
    none = pd.DataFrame({"kind": []})
    region = pitch.MadeRegion(ground, none, none, "Europe/London", "GB")
    report = plan_pitch(
        inputs, region, site, pitch.ARRIVE, pitch.LEAVE,
        masts=masts, prices=pitch.FULL, stay=trip.stays[0],
    )  # fmt: skip
    return [*report.checks, *report.other_checks]


def _pitch_case(name: str, *, masts: list[dict[str, Any]], site: dict[str, Any] | None = None,
                caravan: dict[str, Any] | None = None, walked: tuple[str, ...] | None = None,
                **household: Any) -> Case:  # fmt: skip
    told = {**made.HOUSEHOLD, **household}
    told["caravan"] = {
        **told["caravan"], "leisure_battery_ah": 100, "battery_chemistry": "AGM", "solar_w": 120,
        "waste_water_l": 40, "heating": "gas", "hot_water": "gas", "insulation_class": 2,
        "shipping_length_m": 7.2, "width_m": 2.3, "track_width_m": 2.0, "ball_to_axle_m": 4.2,
        "awning_depth_m": 2.5, "awning_length_m": 4.0, "tv_aerial_height_m": 3.0,
        "water_carrier_l": 20, "drive_charge_a": 10, **(caravan or {}),
    }  # fmt: skip
    cells = {
        "name": "Made Site", "lat": 54.0, "lon": 0.0, "hookup_a": 10.0, "hookup_v": 230.0,
        "hookup_price": 0.0, "toilet_fluid": "any", "water_point": "tap by the gate",
        "quiet_from": "22:00", "quiet_until": "08:00", "wifi": True, "source": "made",
        **(site or {}),
    }  # fmt: skip
    frame = pd.DataFrame(
        [made.mast_row(**row) for row in masts], columns=[c.name for c in MAST_COLUMNS]
    ).astype({"channel": "Int64"})
    return Case(
        name,
        _pitch,
        {
            "household": Household.model_validate(told),
            "site": pd.Series(cells, name="made-site", dtype=object),
            "masts": frame,
            "ground": made.MadeGround(lambda lon, lat: np.full(np.shape(lon), 50.0)),
        },
        ("ground",),
        walked=walked,
    )


def _dish(satellite: Satellite, ground: Any) -> list[Check]:
    return [check_dish(54.0, 0.0, satellite, DAY, ground)[0]]


TELEVISION = {"mast_id": "t1", "service": "tv", "operator": "", "channel": 30, "erp_w": 50_000.0,
              "band_mhz": np.nan, "eirp_dbm": np.nan, "polarisation": "horizontal"}  # fmt: skip
PITCH = [
    _pitch_case("pitch with all that it needs", masts=[{}, TELEVISION],
                walked=("site", "masts", "ground")),
    _pitch_case(
        "pitch with too little",
        masts=[{"eirp_dbm": 5.0, "lon": 0.9}],
        site={"hookup_a": 4.0, "toilet_fluid": "none", "wifi": False},
        caravan={"gas_cylinders": 1, "gas_cylinder_kg": 1, "gas_kind": "butane", "cassette_l": 5,
                 "waste_water_l": 8, "fresh_water_l": 8, "hookup_lead_mm2": 1.0,
                 "leisure_battery_ah": 20, "solar_w": 0},
    ),
]  # fmt: skip

PITCH += [
    _pitch_case("pitch without a hook-up", masts=[{}], site={"hookup_a": 0.0},
                walked=("household", "site")),
    Case("dish behind a hill", _dish, {
        "satellite": Satellite(name="Made", orbit_deg=28.2),
        "ground": made.MadeGround(lambda lon, lat: np.where(np.abs(lat - 54) > 0.01, 3e3, 50.0)),
    }, ("ground",)),
]  # fmt: skip


# --- days out


def _outings(household: Household, attractions: pd.DataFrame, places: pd.DataFrame) -> list[Check]:
    inputs = days.make_inputs(
        {"must": ["Gull Castle", "Nowhere"], "budget": 20, "back_before_dark": True,
         "pinned": {"Gull Castle": "2027-07-26", "Nets": "2028-01-01"}}, nights=5,
    )  # fmt: skip
    inputs = replace(inputs, household=household)
    region = SimpleNamespace(places=places, country="GB", time_zone="Europe/London")
    report = plan_outings(
        inputs, region, programme.SITE, programme.ARRIVE, programme.LEAVE,
        attractions=attractions, prices=drive.PRICES, drives=programme.DRIVES,
    )  # fmt: skip
    return list(report.checks)


def _places() -> pd.DataFrame:
    return pd.DataFrame(
        [
            days.place("w1", "castle", "Gull Castle", 49.52, -14.52, "Mo-Su 10:00-17:00"),
            days.place("n2", "museum", "The Museum of Nets", 49.51, -14.45, "We-Su 10:00-16:00"),
            days.place("n3", "beach", "Long Strand", 49.55, -14.6, dog="yes"),
        ]
    )


def _attractions() -> pd.DataFrame:
    text = (
        "attraction_id,name,lat,lon,kind,osm_ref,adult_price,child_price,family_price,currency,"
        "rating,rating_count,rating_scale,time_needed_min,opening_hours,source,as_of\n"
        "gull,Gull Castle,49.52,-14.52,castle,w1,12,6,30,GBP,4.6,800,5,150,,leaflet,2027-05-01\n"
        "swim,Tide Baths,49.49,-14.48,swimming_pool,,7,5,20,GBP,4.1,30,5,90,Mo-Su 09:00-20:00,"
        "leaflet,2027-05-01\n"
    )
    with TemporaryDirectory() as folder:
        path = Path(folder) / "attractions.csv"
        path.write_text(text, encoding="utf-8")
        return read_attractions(path)


def _memberships(worth: pd.DataFrame) -> list[Check]:
    return list(membership_checks(worth))


OUTINGS = [
    Case("memberships", _memberships, {"worth": pd.DataFrame(
        {"name": ["Heritage"], "sentence": ["It saves 12."], "saved": [12.0], "visits": [2]})},
        walked=()),
    Case("days out", _outings, {
        "household": days.make_household(people=[
            {"name": "Ida", "born": "1985-03-01", "likes": ["castle"], "step_free": True},
            {"name": "Jo", "born": "2021-05-01", "likes": ["beach"]}]),
        "attractions": _attractions(), "places": _places()}, whole=("places",)),
]  # fmt: skip


# --- sites


def _site(site: pd.Series, household: Household) -> list[Check]:
    arrive, leave = dt.date(2027, 7, 10), dt.date(2027, 7, 17)
    told = {"arrive_at": dt.time(15, 0), "depart_at": dt.time(10, 0)}
    return [
        *check_fit(site, household, arrive, leave, **told),
        *check_house_rules(
            site, household, arrive, time_zone="Europe/London", country="GB", **told
        ),
    ]


def _site_row(**changes: Any) -> pd.Series:
    return site_frame(**changes).iloc[0]


def _least_nights() -> TariffRules:
    with TemporaryDirectory() as folder:
        path = Path(folder) / "tariffs.csv"
        path.write_text(
            "site_id,rule,amount,unit,source\ngull-field,min_nights,14,nights,leaflet\n",
            encoding="utf-8",
        )
        return TariffRules(read_tariffs(path), None, "GB")


def _terms(site: pd.Series, household: Household) -> list[Check]:
    return list(check_terms(site, _least_nights(), household, dt.date(2027, 7, 10), 7))


def _booked_price(stay: Stay, computed: PriceSum) -> list[Check]:
    return list(_check_price(stay, "Gull Field", computed))


def _weighed(site: pd.Series) -> list[Check]:
    """The room on a candidate's pitch, as a check of its own."""
    pitch = check_pitch(site, HOME, awning=True)
    room = _room_m(pitch)
    state = State.UNKNOWN if math.isnan(room) else State.FINE if room > 0 else State.NOT_FINE
    return [Check("room on the pitch", state, "")]


def _bookings(trip: Trip) -> list[Check]:
    on = dt.date(2027, 6, 1)
    other = trip.model_copy(update={"id": "other", "start": trip.start + dt.timedelta(days=3)})
    return [
        *(
            check
            for stay in trip.stays
            for check in check_booking(stay, "Gull Field", trip.start, "GBP", on)
        ),
        *check_clashes([trip, other], about=trip),
        *check_nights(trip),
    ]


BOOKED = {
    "site": "gull-field", "nights": 7,
    "booking": {
        "state": "booked", "reference": "A-1", "price": 300, "paid": 100, "due_on": "2027-05-01",
        "free_cancellation_until": "2027-05-20", "payments": [{"amount": 50, "on": "2027-03-01"}],
    },
}  # fmt: skip
HOME = household_with(
    car={"name": "car", "fuel": "diesel", "length_m": 4.7, "width_m": 1.9},
    caravan={"name": "caravan", "shipping_length_m": 7.1, "width_m": 2.3, "awning_depth_m": 2.5,
             "awning_length_m": 4.0, "door_side": "left"},
)  # fmt: skip

SITES = [
    Case("site that suits", _site, {"site": _site_row(quiet_from="22:00", quiet_until="07:00",
         surface="gravel",
         opening_hours="Mar-Oct"), "household": HOME}),
    Case("site that does not", _site, {"site": _site_row(pitch_length_m="6", pitch_width_m="3",
         max_outfit_length_m="8", hookup_a="0", dogs="no", members_only="yes", club="others",
         open_from="09-01", open_to="09-30", min_nights="14", arrive_from="17:00",
         arrive_until="18:00", depart_by="08:00", quiet_from="14:00", quiet_until="11:00",
         surface="mud", awnings="no", barbecue="no", charcoal="no"), "household": HOME}),
    Case("terms of a site", _terms, {"site": _site_row(min_nights="14"), "household": HOME}),
    Case("candidate with room", _weighed, {"site": _site_row(pitch_length_m="20")}),
    Case("candidate without", _weighed, {"site": _site_row(pitch_length_m="6")}),
    Case("price that differs from the list", _booked_price, {
        "stay": Stay.model_validate(BOOKED),
        "computed": PriceSum(total=Decimal(250), before_discount=Decimal(250),
                             known=Decimal(250), currency="GBP", unknown=())}),
    Case("bookings", _bookings, {"trip": trip_with(stays=[BOOKED, {"site": "b", "nights": 2}])}),
]  # fmt: skip


# --- money


def _money(lines: list[CostLine], trip: Trip) -> list[Check]:
    inputs = replace(cost_inputs(), trip=trip)
    return list(cost_trip(inputs, lines, planned_on=dt.date(2027, 5, 1)).checks)


def _line(likely: float | None = 100.0, **more: Any) -> CostLine:
    values = {
        "kind": "site", "what": "pitch", "currency": "GBP", "source": "test", "on": None,
        "low": likely, "likely": likely, "high": likely, "state": "expected",
    }  # fmt: skip
    return CostLine(**{**values, **more})


def _with_lines(trip: Trip, **lines: CostLine) -> list[Check]:
    return _money(list(lines.values()), trip)


COSTS = [
    Case("money within the budget", _with_lines, {
        "trip": cost_inputs(budget={"total": 500, "food_per_person_day": 5}).trip,
        "pitch": _line(), "fuel": _line(50.0, kind="fuel")}),
    Case("money beyond the budget", _with_lines, {
        "trip": cost_inputs(budget={"total": 50, "food_per_person_day": 5}).trip,
        "pitch": _line(), "due": _line(state="due", on=dt.date(2027, 4, 1))}),
]  # fmt: skip


def whole_plan(outfit: list[Check]) -> list[Check]:
    """What a plan's summary tells of some checks."""
    nothing = SimpleNamespace(checks=())
    files = SimpleNamespace(
        inputs=SimpleNamespace(trip=SimpleNamespace(actuals=None), trip_path=None),
        paths={"sites": Path("sites.csv")}, sites=site_frame(price_low="9000"),
        **dict.fromkeys(("items", "attractions", "masts", "prices", "tolls")),
    )  # fmt: skip
    plan = SimpleNamespace(
        files=files, outfit=SimpleNamespace(checks=tuple(outfit)), tow=nothing, sites=nothing,
        cost=nothing, pitches=(), outings=(),
    )  # fmt: skip
    return [*all_checks(plan), *things_to_look_at(plan, None)]
