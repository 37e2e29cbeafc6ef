"""The household file: who travels, with what, and what they like.

Every field that a plate, a leaflet or a person may leave blank is ``None`` when it is missing, and
whatever needs it then says *unknown*. Masses are kilograms, lengths metres, money in the
household's currency.
"""

from __future__ import annotations

import datetime as dt
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from planner_kit.reference import constant

Lat = Annotated[float, Field(ge=-90, le=90)]
Lon = Annotated[float, Field(ge=-180, le=180)]
Mass = Annotated[float, Field(ge=0, le=10_000)]
Weight = Annotated[float, Field(ge=0, le=10)]
Id = Annotated[str, Field(pattern=r"^[A-Za-z0-9][A-Za-z0-9_-]*$", max_length=60)]
Text = Annotated[str, Field(max_length=2000)]
Currency = Annotated[str, Field(pattern=r"^[A-Z]{3}$")]
Fuel = Literal["diesel", "petrol", "hybrid", "electric"]


class Part(BaseModel):
    """A part of a file that a person writes: an unknown key is an error."""

    model_config = ConfigDict(extra="forbid", frozen=True, allow_inf_nan=False)


class Home(Part):
    """Where the tow starts and ends."""

    name: Text = "home"
    lat: Lat
    lon: Lon


class Units(Part):
    """How figures are shown to this household."""

    distance: Literal["miles", "km"] = "miles"
    fuel: Literal["mpg", "l_per_100km", "km_per_l"] = "mpg"
    currency: Currency = "GBP"
    locale: Annotated[str, Field(pattern=r"^[a-z]{2}-[A-Z]{2}$")] = "en-GB"
    paper: Literal["A4", "Letter"] = "A4"
    page_look: Annotated[
        Text | None,
        Field(description="a folder beside this file: pack.typ for paper, style.css for a phone"),
    ] = None


class Person(Part):
    """Somebody who comes along."""

    name: Text
    born: dt.date | None = None
    adult: bool | None = None
    drives: bool = False
    licence: Literal["B", "B96", "BE", "C1E"] | None = None
    licence_since: dt.date | None = None
    licence_country: Annotated[str, Field(pattern=r"^[A-Z]{2}$")] | None = None
    likes: tuple[Text, ...] = ()
    dislikes: tuple[Text, ...] = ()
    step_free: bool = False

    def age_on(self, day: dt.date) -> int | None:
        """Age in whole years on `day`, or None if the date of birth is not given."""
        if self.born is None:
            return None
        return day.year - self.born.year - ((day.month, day.day) < (self.born.month, self.born.day))

    def is_adult_on(self, day: dt.date, from_age: int = 18) -> bool:
        """Whether the person pays as an adult on `day`; an unknown age pays in full."""
        if self.adult is not None:
            return self.adult
        age = self.age_on(day)
        return age is None or age >= from_age


class Dog(Part):
    """A dog that comes along."""

    name: Text


class Membership(Part):
    """A membership that lowers prices at sites or opens places free."""

    id: Id
    name: Text
    kind: Literal["sites", "attractions", "both"] = "both"
    discount_pct: Annotated[float, Field(ge=0, le=100)] = 0
    opens_free: bool = False
    parking_free: bool = False
    covers: Literal["person", "two adults", "family"] = "family"
    fee_per_year: Annotated[float, Field(ge=0)] | None = None
    valid_until: dt.date | None = None
    number: Text = ""


class Car(Part):
    """The tow car: its plate, papers and dimensions."""

    name: Text
    fuel: Fuel
    category: Literal["M1", "N1"] = "M1"
    kerb_kg: Mass | None = None
    kerb_includes_driver: bool | None = None
    gross_kg: Mass | None = None
    gross_train_kg: Mass | None = None
    towing_limit_braked_kg: Mass | None = None
    towing_limit_unbraked_kg: Mass | None = None
    towball_limit_kg: Mass | None = None
    front_axle_limit_kg: Mass | None = None
    rear_axle_limit_kg: Mass | None = None
    front_axle_kerb_kg: Mass | None = None
    rear_axle_kerb_kg: Mass | None = None
    roof_limit_kg: Mass | None = None
    wheelbase_m: Annotated[float, Field(gt=1, lt=6)] | None = None
    rear_overhang_m: Annotated[float, Field(gt=0, lt=3)] | None = None
    length_m: Annotated[float, Field(gt=2, lt=8)] | None = None
    width_m: Annotated[float, Field(gt=1, lt=3)] | None = None
    height_m: Annotated[float, Field(gt=1, lt=4)] | None = None
    turning_circle_m: Annotated[float, Field(gt=5, lt=20)] | None = None
    power_kw: Annotated[float, Field(gt=10, lt=1000)] | None = None
    drive: Literal["front", "rear", "all"] | None = None
    tank_l: Annotated[float, Field(gt=5, lt=300)] | None = None
    battery_kwh: Annotated[float, Field(gt=5, lt=400)] | None = None
    charge_kw: Annotated[float, Field(gt=1, lt=1000)] | None = None
    solo_l_per_100km: Annotated[float, Field(gt=1, lt=40)] | None = None
    towing_l_per_100km: Annotated[float, Field(gt=1, lt=60)] | None = None
    solo_kwh_per_100km: Annotated[float, Field(gt=5, lt=80)] | None = None
    towing_kwh_per_100km: Annotated[float, Field(gt=5, lt=150)] | None = None
    speed_limiter_kmh: Annotated[float, Field(gt=30, lt=250)] | None = None


class Tyre(Part):
    """The caravan's tyres, as the sidewall says."""

    load_index: Annotated[int, Field(ge=50, le=130)] | None = None
    speed_symbol: Annotated[str, Field(pattern=r"^[A-Z][0-9]?$")] | None = None
    made: Annotated[str, Field(pattern=r"^\d{4}$")] | None = None
    pressure_bar: Annotated[float, Field(gt=1, lt=7)] | None = None


class Caravan(Part):
    """The caravan: its plate and dimensions."""

    name: Text
    mtplm_kg: Annotated[float, Field(ge=300, le=3500)] | None = None
    mass_in_running_order_kg: Annotated[float, Field(ge=200, le=3500)] | None = None
    noseweight_limit_kg: Annotated[float, Field(ge=20, le=350)] | None = None
    axles: Literal[1, 2] = 1
    axle_spacing_m: Annotated[float, Field(ge=0.5, le=2)] | None = None
    axle_limit_kg: Mass | None = None
    braked: bool | None = None
    stabiliser: bool | None = None
    shipping_length_m: Annotated[float, Field(gt=2, lt=13)] | None = None
    body_length_m: Annotated[float, Field(gt=2, lt=12)] | None = None
    internal_length_m: Annotated[float, Field(gt=2, lt=11)] | None = None
    width_m: Annotated[float, Field(gt=1, lt=3)] | None = None
    height_m: Annotated[float, Field(gt=1, lt=4.5)] | None = None
    ball_to_axle_m: Annotated[float, Field(gt=1.5, lt=9)] | None = None
    awning_depth_m: Annotated[float, Field(ge=0, lt=5)] | None = None
    awning_length_m: Annotated[float, Field(ge=0, lt=12)] | None = None
    tyre: Tyre = Tyre()
    leisure_battery_ah: Annotated[float, Field(gt=0, lt=1000)] | None = None
    battery_chemistry: Literal["lead acid", "AGM", "gel", "lithium"] | None = None
    battery_rate_h: Annotated[float, Field(gt=0, le=100)] = 20
    drive_charge_a: Annotated[float, Field(ge=0, le=100)] | None = None
    solar_w: Annotated[float, Field(ge=0, lt=3000)] = 0
    solar_tilt_deg: Annotated[float, Field(ge=0, le=90)] = 0
    solar_facing_deg: Annotated[float, Field(ge=0, lt=360)] = 180
    fresh_water_l: Annotated[float, Field(ge=0, lt=500)] | None = None
    waste_water_l: Annotated[float, Field(ge=0, lt=500)] | None = None
    cassette_l: Annotated[float, Field(ge=0, lt=100)] | None = None
    water_carrier_l: Annotated[float, Field(gt=0, lt=100)] | None = None
    heating: Literal["gas", "electric", "none"] | None = None
    hot_water: Literal["gas", "electric", "none"] | None = None
    insulation_class: Literal[1, 2, 3] | None = None
    gas_cylinders: Annotated[int, Field(ge=0, le=4)] | None = None
    gas_cylinder_kg: Annotated[float, Field(gt=0, lt=50)] | None = None
    gas_kind: Literal["propane", "butane"] | None = None
    hookup_lead_m: Annotated[float, Field(gt=0, lt=200)] | None = None
    hookup_lead_mm2: Annotated[float, Field(gt=0, lt=16)] | None = None
    track_width_m: Annotated[float, Field(gt=1, lt=3)] | None = None
    door_side: Literal["left", "right"] | None = None
    tv_aerial: Literal["directional", "omnidirectional", "none"] | None = None
    tv_aerial_height_m: Annotated[float, Field(gt=0, lt=20)] | None = None


class Loading(Part):
    """What is loaded: a CSV list, or the masses from a weighbridge.

    A measured noseweight holds for the list that was loaded then, ``noseweight_measured_with``; for
    the present list where that is not said.
    """

    items: Text | None = None
    car_load_kg: Mass | None = None
    caravan_load_kg: Mass | None = None
    noseweight_measured_kg: Mass | None = None
    noseweight_measured_with: Text | None = None


class TowWeights(Part):
    """How much each thing is disliked when towing, in extra seconds for each kilometre of it.

    0 means "only the time it takes"; 60 means "I would drive a minute longer to avoid one
    kilometre of it".
    """

    narrow: Annotated[float, Field(ge=0, le=3600)] = 120
    steep: Annotated[float, Field(ge=0, le=3600)] = 60
    rough: Annotated[float, Field(ge=0, le=3600)] = 60
    town: Annotated[float, Field(ge=0, le=3600)] = 30
    bends: Annotated[float, Field(ge=0, le=3600)] = 20
    unlit: Annotated[float, Field(ge=0, le=3600)] = 0
    ferry: Annotated[float, Field(ge=0, le=3600)] = 0
    toll: Annotated[float, Field(ge=0, le=3600)] = 0
    money_per_hour: Annotated[float, Field(ge=0, le=1000)] = 15


class AvoidRoad(Part):
    """A road never to tow on again: the way on the map, or a point on it."""

    name: Text = ""
    osm_way_id: int | None = None
    lat: Lat | None = None
    lon: Lon | None = None
    why: Text = ""
    since: dt.date | None = None

    @model_validator(mode="after")
    def _named(self) -> AvoidRoad:
        if self.osm_way_id is None and (self.lat is None or self.lon is None):
            raise ValueError("an avoided road needs osm_way_id, or lat and lon")
        return self


class Preferences(Part):
    """What the sliders also set."""

    tow: TowWeights = TowWeights()
    attractions: dict[str, Weight] = {}
    attraction_presets: dict[str, dict[str, Weight]] = {}
    walk_reach_km: Annotated[float, Field(ge=0, le=10)] = 1.5
    cycle_reach_km: Annotated[float, Field(ge=0, le=30)] = 0
    sites: dict[str, Weight] = {}
    sites_by_person: dict[str, dict[str, Weight]] = {}
    site_must_haves: tuple[Text, ...] = ()
    drive_stint_min: Annotated[float, Field(ge=30, le=300)] = 120
    break_min: Annotated[float, Field(ge=5, le=120)] = 15
    reserve_frac: Annotated[float, Field(ge=0, le=0.6)] = 0.2


class Phone(Part):
    """A phone that should work on the pitch."""

    owner: Text
    operator: Text


class Satellite(Part):
    """A satellite that the household's dish looks at; east of Greenwich is positive."""

    name: Text
    orbit_deg: Annotated[float, Field(ge=-180, le=180)]


class Appliance(Part):
    """Something that draws electricity or gas in the caravan."""

    name: Text
    watts: Annotated[float, Field(ge=0, le=10_000)]
    hours_per_day: Annotated[float, Field(ge=0, le=24)] = 0
    volts: Literal[12, 230] = 230
    start_factor: Annotated[float, Field(ge=1, le=8)] = 1
    when: tuple[Annotated[int, Field(ge=0, le=23)], ...] = ()
    needed: bool = True

    @model_validator(mode="after")
    def _volts_bear_the_watts(self) -> Appliance:
        limit = float(constant("hookup", "low_volt_limit_w"))
        if self.volts == 12 and self.watts > limit:
            raise ValueError(
                f"'{self.name}' draws {self.watts:g} W at 12 V, which is {self.watts / 12:.0f} A: "
                "an appliance for the mains has volts = 230"
            )
        return self


class YearlyCost(Part):
    """Something paid by the year whether one travels or not: insurance, service, storage."""

    name: Text
    amount: Annotated[float, Field(ge=0, le=100_000)]


class Contact(Part):
    """Somebody to ring, printed in the folder."""

    name: Text
    phone: Text
    what_for: Text = ""


class Household(Part):
    """The whole of household.toml."""

    schema_version: Literal[1] = Field(1, alias="schema")
    name: Text
    home: Home
    units: Units = Units()
    people: tuple[Person, ...] = Field(min_length=1)
    dogs: tuple[Dog, ...] = ()
    memberships: tuple[Membership, ...] = ()
    car: Car
    caravan: Caravan
    loading: Loading = Loading()
    preferences: Preferences = Preferences()
    phones: tuple[Phone, ...] = ()
    satellites: tuple[Satellite, ...] = ()
    appliances: tuple[Appliance, ...] = ()
    avoid_roads: tuple[AvoidRoad, ...] = ()
    contacts: tuple[Contact, ...] = ()
    yearly_costs: tuple[YearlyCost, ...] = ()
    nights_per_year: Annotated[int, Field(ge=1, le=365)] | None = None

    model_config = ConfigDict(
        extra="forbid", frozen=True, allow_inf_nan=False, populate_by_name=True
    )
