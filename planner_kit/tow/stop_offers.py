"""What can be done at each place on the way: breaks, meals, filling up, charging."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from planner_kit.reference import constant
from planner_kit.region.opening import opening_of
from planner_kit.tow.stop_choice import Needs, Offer, StopChoice
from planner_kit.trip.display import duration

if TYPE_CHECKING:
    from collections.abc import Hashable, Sequence

    from numpy.typing import NDArray

    from planner_kit.tow.driving_range import Supply
    from planner_kit.tow.leg import Route

REST_COLUMNS = (
    "place_id", "name", "kind", "lat", "lon", "at_km", "arrive", "leave", "minutes", "room", "why",
    "does", "filled", "hours",
)  # fmt: skip
Row = dict["Hashable", Any]


def _value(name: str) -> float:
    return constant("rests", name).value


@dataclass(frozen=True)
class DriveLine:
    """How time and fuel run along a route."""

    edges_km: NDArray[np.float64]
    wheel_min: NDArray[np.float64]
    clock_min: NDArray[np.float64]
    used: NDArray[np.float64]
    ferry: NDArray[np.bool_]

    @classmethod
    def of(cls, route: Route, supply: Supply | None) -> DriveLine:
        """Of a route; without a supply no fuel is used."""
        steps = route.steps
        ferry = steps["road_class"].to_numpy() == "ferry"
        minutes = steps["time_s"].to_numpy(dtype=float) / 60
        used = np.zeros(len(steps)) if supply is None else supply.by_step
        return cls(
            np.append(steps["start_km"].to_numpy(dtype=float), route.length_km),
            np.append(0.0, np.cumsum(np.where(ferry, 0.0, minutes))),
            np.append(0.0, np.cumsum(minutes)),
            np.append(0.0, np.cumsum(used)),
            np.asarray(ferry),
        )

    def at(self, km: float) -> tuple[float, float, float]:
        """Time at the wheel, time in all and fuel used up to a place."""
        along = (self.wheel_min, self.clock_min, self.used)
        wheel, clock, used = (float(np.interp(km, self.edges_km, part)) for part in along)
        return wheel, clock, used


@dataclass(frozen=True)
class OfferMaker:
    """Turns places into offers, and chosen offers into rows that people read."""

    line: DriveLine
    needs: Needs
    depart: dt.datetime
    country: str
    break_min: float
    children: bool
    supply: Supply | None
    car_charge_kw: float | None

    def offers(self, stops: pd.DataFrame) -> list[Offer]:
        """What can be done at each stop, in driving order, with the ferries between them."""
        found: list[tuple[float, list[Offer]]] = [
            (float(row["at_km"]), self._at_place(number, row))
            for number, row in enumerate(stops.to_dict("records"))
        ]
        for step in np.flatnonzero(self.line.ferry):
            last = step == len(self.line.ferry) - 1 or not self.line.ferry[step + 1]
            if last:
                found.append((float(self.line.edges_km[step + 1]), [self._ferry(int(step))]))
        found.sort(key=lambda pair: pair[0])
        return [offer for _, offers in found for offer in offers]

    def _ferry(self, step: int) -> Offer:
        first = step
        while first and self.line.ferry[first - 1]:
            first -= 1
        minutes = float(self.line.clock_min[step + 1] - self.line.clock_min[first])
        return Offer(
            place=-1 - step,
            wheel_min=float(self.line.wheel_min[step + 1]),
            clock_min=float(self.line.clock_min[step + 1]),
            used=float(self.line.used[step + 1]),
            does="ferry",
            minutes=0.0,
            penalty=0.0,
            is_break=minutes >= self.break_min,
            is_meal=minutes >= _value("meal_min"),
            forced=True,
        )

    def _at_place(self, number: int, row: Row) -> list[Offer]:
        wheel, clock, used = self.line.at(float(row["at_km"]))
        beside = 2 * float(row["away_m"]) / 1000 / _value("detour_speed") * 60
        beside += _value("stop_overhead")
        penalty = _value("stop_cost")
        penalty += 0.0 if row["room"] == "yes" else _value("room_unknown_cost")
        penalty += 0.0 if row["near_side"] else _value("wrong_side_cost")
        if self.children and not row["play"]:
            penalty += _value("child_cost")
        base: dict[str, Any] = {
            "place": number,
            "wheel_min": wheel,
            "clock_min": clock,
            "used": used,
        }
        offers: list[Offer] = []
        meal_penalty = penalty + (0.0 if row["food"] else _value("meal_bare_cost"))
        if row["rests"]:
            offers.append(Offer(**base, does="break", minutes=beside + self.break_min,
                                penalty=penalty))  # fmt: skip
            if self.needs.meals:
                meal = beside + max(_value("meal_min"), self.break_min)
                offers.append(Offer(**base, does="meal", minutes=meal, penalty=meal_penalty,
                                    is_meal=True))  # fmt: skip
        fills = self._fills(row, base, beside, penalty, meal_penalty)
        return [*offers, *fills]

    def _fills(
        self, row: Row, base: dict[str, Any], beside: float, penalty: float, meal_penalty: float
    ) -> list[Offer]:
        if self.supply is None or self.supply.holds is None:
            return []
        electric = self.supply.unit == "kWh"
        if row["kind"] != ("charging_station" if electric else "fuel"):
            return []
        if not electric and row["sells"] == "no":
            return []
        opens, known = self._opens(row)
        extra = 0.0 if known else _value("hours_unknown_cost")
        holds = self.supply.holds
        if not electric:
            filled = {**base, "fills_to": holds, "opens": opens}
            pumped = beside + _value("fuel_min")
            offers = [Offer(**filled, does="fuel", minutes=pumped, penalty=penalty + extra,
                            is_break=False)]  # fmt: skip
            if row["rests"]:
                offers.append(Offer(**filled, does="fuel and break", penalty=penalty + extra,
                                    minutes=pumped + self.break_min))  # fmt: skip
                if self.needs.meals:
                    offers.append(Offer(**filled, does="fuel and meal", is_meal=True,
                                        penalty=meal_penalty + extra,
                                        minutes=pumped + _value("meal_min")))  # fmt: skip
            return offers
        return self._charges(row, {**base, "opens": opens}, beside, penalty + extra,
                             meal_penalty + extra, holds)  # fmt: skip

    def _charges(
        self,
        row: Row,
        base: dict[str, Any],
        beside: float,
        penalty: float,
        meal_penalty: float,
        holds: float,
    ) -> list[Offer]:
        power = float(row["power_kw"])
        if np.isnan(power):
            power, penalty = _value("charge_unknown"), penalty + _value("hours_unknown_cost")
        car = self.car_charge_kw if self.car_charge_kw is not None else _value("car_charge_kw")
        mean = min(power, car) * _value("charge_mean")
        fast_to = holds * _value("charge_most")
        left = float(self.line.used[-1]) - base["used"]
        enough = left + self.needs.reserve
        offers = []
        for target in sorted({round(t, 2) for t in (fast_to, holds, min(enough, holds))}):
            # Above the fast part every unit takes longer; its mean over the whole is taken.
            slow = max(0.0, target - fast_to) * (1 / _value("charge_slow") - 1)
            per_unit = 60 / mean * (1 + slow / max(target, 1e-9))
            does = f"charge to {target / holds:.0%}".replace("%", " %")
            whole = {**base, "does": does, "fills_to": target, "min_per_unit": per_unit}
            setup = beside + _value("charge_setup")
            offers.append(Offer(**whole, minutes=max(setup, beside + self.break_min),
                                penalty=penalty))  # fmt: skip
            if self.needs.meals:
                offers.append(
                    Offer(**{**whole, "does": f"{does} and meal"}, is_meal=True,
                          minutes=beside + _value("meal_min"), penalty=meal_penalty)
                )  # fmt: skip
        return offers

    def _opens(self, row: Row) -> tuple[tuple[tuple[float, float], ...] | None, bool]:
        """When a place is open, counted from the start, and whether that is known."""
        zone = self.depart.tzinfo
        days = [self.depart.date() + dt.timedelta(days=n) for n in (0, 1)]
        hours = opening_of(
            str(row["opening_hours"]), days,
            zone=zone if isinstance(zone, ZoneInfo) else ZoneInfo("UTC"),
            country=self.country, place=(float(row["lat"]), float(row["lon"])),
        )  # fmt: skip
        if any(one.state == "unknown" for one in hours):
            return None, False
        spans = [
            tuple((moment - self.depart).total_seconds() / 60 for moment in span)
            for one in hours
            for span in one.opens
        ]
        return tuple((first, last) for first, last in spans), True

    def frame(
        self, stops: pd.DataFrame, offers: Sequence[Offer], choice: StopChoice
    ) -> pd.DataFrame:
        """The chosen stops as people read them."""
        rows = []
        for number, start, minutes, filled in zip(
            choice.offers, choice.starts_min, choice.minutes, choice.filled, strict=True
        ):
            offer, stop = offers[number], stops.iloc[offers[number].place]
            way = 2 * float(stop["away_m"]) / 1000 / _value("detour_speed") * 60
            way += _value("stop_overhead")
            arrive = self.depart + pd.Timedelta(minutes=start + way / 2)
            rows.append(
                {
                    **{key: stop[key] for key in ("place_id", "name", "kind", "lat", "lon")},
                    "at_km": stop["at_km"],
                    "arrive": arrive,
                    "leave": arrive + pd.Timedelta(minutes=max(minutes - way, 0.0)),
                    "minutes": minutes,
                    "room": stop["room"],
                    "why": "; ".join(self._why(offer, stop)),
                    "does": offer.does,
                    "filled": filled,
                    "hours": self._hours(stop),
                }
            )
        return pd.DataFrame(rows, columns=list(REST_COLUMNS))

    def _why(self, offer: Offer, stop: pd.Series) -> list[str]:
        words = []
        if offer.is_break:
            words.append(f"keeps stints within {duration(self.needs.stint_min)}")
        if offer.is_meal:
            words.append("a meal is due on the way")
        if offer.fills_to is not None:
            words.append("the reserve would be touched without it")
            _, known = self._opens({str(k): v for k, v in stop.items()})
            if not known:
                words.append("its hours are not known")
            if stop["kind"] == "fuel" and stop["sells"] == "unknown":
                words.append("nobody mapped whether it sells your fuel")
            if stop["kind"] == "charging_station" and np.isnan(float(stop["power_kw"])):
                words.append("its power is not mapped and was taken as "
                             f"{_value('charge_unknown'):g} kW")  # fmt: skip
        if stop["room"] != "yes":
            words.append("nobody mapped whether the outfit has room here")
        if not stop["near_side"]:
            words.append("it lies across the road")
        return words

    def _hours(self, stop: pd.Series) -> str:
        if not str(stop["opening_hours"]):
            return "unknown" if stop["kind"] in ("fuel", "charging_station") else ""
        return str(stop["opening_hours"])
