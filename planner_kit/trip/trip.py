"""The trip file: where, when, what is booked, and afterwards what really happened."""

from __future__ import annotations

import datetime as dt
from itertools import pairwise
from typing import Annotated, Literal

from pydantic import ConfigDict, Field, model_validator

from planner_kit.trip.household import AvoidRoad, Currency, Id, Lat, Lon, Part, Text

Money = Annotated[float, Field(ge=0, le=100_000)]

# Where a booking stands, in the order in which it usually gets there.
BOOKING_STATES = ("not asked", "asked", "held", "booked", "paid", "called off")
BookingState = Literal["not asked", "asked", "held", "booked", "paid", "called off"]


class Payment(Part):
    """Money that went out, or that is due."""

    amount: Money
    on: dt.date
    what: Text = ""


class Booking(Part):
    """What was agreed with a site, a ferry or an attraction."""

    state: BookingState = "not asked"
    reference: Text = ""
    price: Money | None = None
    currency: Currency | None = None
    paid: Money = 0
    due_on: dt.date | None = None
    free_cancellation_until: dt.date | None = None
    arrival_code: Text = ""
    confirmation: Text | None = None
    payments: tuple[Payment, ...] = ()


class Stay(Part):
    """Some nights on one site."""

    site: Id
    nights: Annotated[int, Field(ge=1, le=120)]
    pitch: Text = ""
    booking: Booking = Booking()
    awning: bool = True
    hookup: bool = True


class Via(Part):
    """A point that the tow has to pass."""

    name: Text = ""
    lat: Lat
    lon: Lon


class TowPlan(Part):
    """How the household wants to drive out and back."""

    depart: dt.time = dt.time(9, 30)
    depart_home: dt.time = dt.time(10, 0)
    via: tuple[Via, ...] = ()
    avoid: tuple[AvoidRoad, ...] = ()
    fuel_at_start_frac: Annotated[float, Field(ge=0, le=1)] = 1.0


class RideWish(Part):
    """A ride or walk to look for near the pitch."""

    mode: Literal["bike", "foot"] = "bike"
    length_km: Annotated[float, Field(gt=0, le=100)]
    climb_m: Annotated[float, Field(ge=0, le=3000)] | None = None
    loop: bool = True
    smooth: bool = True


class Outings(Part):
    """Wishes for the days; `pinned` says which place belongs to which day."""

    must: tuple[Text, ...] = ()
    never: tuple[Text, ...] = ()
    rest_days: Annotated[int, Field(ge=0, le=60)] = 1
    budget: Money | None = None
    max_drive_min_per_day: Annotated[float, Field(ge=0, le=600)] = 120
    back_by: dt.time = dt.time(18, 0)
    back_before_dark: bool = False
    pinned: dict[Text, dt.date] = Field(default_factory=dict)
    rides: tuple[RideWish, ...] = ()


class Spent(Part):
    """Something paid on or for the trip."""

    kind: Literal["site", "fuel", "toll", "ferry", "outing", "food", "gas", "electricity", "other"]
    amount: Money
    what: Text = ""
    on: dt.date | None = None


class SignalReading(Part):
    """What a phone showed on the pitch."""

    operator: Text
    level_dbm: Annotated[float, Field(ge=-150, le=-30)] | None = None
    calls: bool | None = None
    video: bool | None = None
    site: Text = ""


class Rating(Part):
    """What somebody thought of a place, out of five."""

    place: Text
    stars: Annotated[float, Field(ge=0, le=5)]
    note: Text = ""


class Odometer(Part):
    """The odometer at both ends of a tow, in kilometres."""

    start_km: Annotated[float, Field(ge=0, le=3_000_000)]
    end_km: Annotated[float, Field(ge=0, le=3_000_000)]


class Actuals(Part):
    """What really happened, filled in after the trip.

    ``odometer`` has one row for each tow, in order: the kilometres between the tows were driven
    with the car alone. ``photos`` are files or folders beside the trip file.
    """

    tow_km: Annotated[float, Field(ge=0, le=20_000)] | None = None
    tow_hours: Annotated[float, Field(ge=0, le=500)] | None = None
    tow_fuel_l: Annotated[float, Field(ge=0, le=3000)] | None = None
    solo_km: Annotated[float, Field(ge=0, le=20_000)] | None = None
    solo_fuel_l: Annotated[float, Field(ge=0, le=3000)] | None = None
    breaks: Annotated[int, Field(ge=0, le=100)] | None = None
    odometer: tuple[Odometer, ...] = ()
    spent: tuple[Spent, ...] = ()
    signals: tuple[SignalReading, ...] = ()
    ratings: tuple[Rating, ...] = ()
    visited: tuple[Text, ...] = ()
    never_again: tuple[AvoidRoad, ...] = ()
    not_needed: tuple[Text, ...] = ()
    learnt: tuple[Text, ...] = ()
    photos: tuple[Text, ...] = ()

    @model_validator(mode="after")
    def _odometer_rises(self) -> Actuals:
        readings = [km for row in self.odometer for km in (row.start_km, row.end_km)]
        for earlier, later in pairwise(readings):
            if later < earlier:
                raise ValueError(f"the odometer falls from {earlier:g} to {later:g} km")
        return self

    def driven_km(self) -> tuple[float | None, float | None]:
        """Kilometres towed and driven with the car alone, as noted or else by the odometer."""
        towed, alone = self.tow_km, self.solo_km
        rows = self.odometer
        if rows and towed is None:
            towed = sum(row.end_km - row.start_km for row in rows)
        if len(rows) > 1 and alone is None:
            alone = sum(later.start_km - earlier.end_km for earlier, later in pairwise(rows))
        return towed, alone


class Files(Part):
    """The files the trip draws on; paths are relative to the trip file."""

    household: Text = "household.toml"
    region: Text
    sites: Text | None = None
    seasons: Text | None = None
    tariffs: Text | None = None
    school_holidays: Text | None = None
    site_matches: Text | None = None
    rates: Text | None = None
    attractions: Text | None = None
    masts: Text | None = None
    rides: tuple[Text, ...] = ()
    tolls: Text | None = None
    prices: Text | None = None


class Budget(Part):
    """What the household means to spend, and on what it eats."""

    total: Money | None = None
    food_per_person_day: Money | None = None
    currency: Currency | None = None


class Climate(Part):
    """The weather that the household reckons with on its stays, from a source it names.

    Without `site` it holds for every stay that has none of its own. Temperatures are those of the
    coldest night and the warmest afternoon to plan for; `wind_from_deg` is where the wind comes
    from, clockwise from north.
    """

    site: Id | None = None
    low_c: Annotated[float, Field(ge=-50, le=40)] | None = None
    high_c: Annotated[float, Field(ge=-40, le=55)] | None = None
    sun_frac: Annotated[float, Field(ge=0, le=1)] | None = None
    wind_from_deg: Annotated[float, Field(ge=0, le=360)] | None = None
    gust_kmh: Annotated[float, Field(ge=0, le=250)] | None = None
    source: Text = ""

    @model_validator(mode="after")
    def _in_order(self) -> Climate:
        if self.low_c is not None and self.high_c is not None and self.low_c > self.high_c:
            raise ValueError(f"low_c {self.low_c:g} is above high_c {self.high_c:g}")
        return self


class Trip(Part):
    """The whole of trip.toml."""

    schema_version: Literal[1] = Field(1, alias="schema")
    id: Id
    name: Text
    start: dt.date
    party: tuple[Text, ...] = ()
    files: Files
    stays: tuple[Stay, ...] = Field(min_length=1)
    candidates: tuple[Id, ...] = ()
    tow: TowPlan = TowPlan()
    outings: Outings = Outings()
    budget: Budget = Budget()
    climate: tuple[Climate, ...] = ()
    deadlines_from: dt.date | None = None
    may_move_days: Annotated[int, Field(ge=0, le=60)] = 0
    notes: tuple[Text, ...] = ()
    actuals: Actuals | None = None

    model_config = ConfigDict(
        extra="forbid", frozen=True, allow_inf_nan=False, populate_by_name=True
    )

    @property
    def nights(self) -> int:
        """Nights away in all."""
        return sum(stay.nights for stay in self.stays)

    @property
    def end(self) -> dt.date:
        """The day the outfit comes home."""
        return self.start + dt.timedelta(days=self.nights)

    def stay_dates(self) -> tuple[tuple[dt.date, dt.date], ...]:
        """Arrival and departure day of each stay, in order."""
        days, day = [], self.start
        for stay in self.stays:
            leave = day + dt.timedelta(days=stay.nights)
            days.append((day, leave))
            day = leave
        return tuple(days)

    @model_validator(mode="after")
    def _dates_agree(self) -> Trip:
        for stay in self.stays:
            cancel, due = stay.booking.free_cancellation_until, stay.booking.due_on
            last = self.end
            if cancel is not None and cancel > last:
                raise ValueError(
                    f"stay '{stay.site}': free_cancellation_until {cancel} is after the trip's "
                    f"end {last}"
                )
            if due is not None and due > last:
                raise ValueError(f"stay '{stay.site}': due_on {due} is after the trip's end {last}")
        return self
