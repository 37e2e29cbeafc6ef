"""Utilities of a pitch by hand: supply, lead, people, weather; what follows is shown at once."""

from __future__ import annotations

import datetime as dt
from dataclasses import replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets

from planner_kit.errors import NoRouteError, PlannerKitError
from planner_kit.pitch import MainsUse
from planner_kit.pitch.climate import StayClimate, climate_of
from planner_kit.pitch.electricity import electricity_need
from planner_kit.pitch.lead import MOST_LAYERS
from planner_kit.pitch.utilities import offer_at, pitch_place, utilities_of
from planner_kit.plan import hours_towed, kwh_in_tariff, outfit_stage, tow_stage
from planner_kit.sites import metered_line
from planner_kit.trip.prices import price_of
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.bars import UprightBars
from planner_kit.views.pitch import costs_html, utilities_html, warnings_html
from planner_kit.views.stays import files_of_stay, site_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.pitch.utilities import UtilitiesReport
    from planner_kit.trip.household import Household
    from planner_kit.trip.money import CostLine
    from planner_kit.trip_files import TripFiles

_WIDE = {"description_width": "13rem"}
_POSTS = (0.0, 4.0, 6.0, 10.0, 16.0)
_CONDUCTORS = (1.0, 1.25, 1.5, 2.5, 4.0, 6.0)
_HOLDS, _MAY, _TRIPS = "the post holds", "may trip", "trips"


def show_utilities(folder: Path, *, trip: str, stay: int = 1) -> PitchUtilities:
    """The utilities of one stay, with controls for what may be otherwise on the day.

    Parameters
    ----------
    folder : Path
        The planning folder.
    trip : str
        The trip file in it.
    stay : int
        Which stay of the trip, from 1.

    Returns
    -------
    panel : PitchUtilities
        Show it as the last value of a cell.

    Raises
    ------
    PlannerKitError
        If the trip or one of its files cannot be used, or has no such stay.
    """
    files, number = files_of_stay(folder, trip, stay)
    return PitchUtilities(files, number, _hours_before(files, number))


def _hours_before(files: TripFiles, number: int) -> float | None:
    """Hours of the tow that leads to a stay; not known where no way is open to the outfit."""
    try:
        outfit = outfit_stage(files, planned_on=files.inputs.trip.start)
        hours = hours_towed(tow_stage(files, outfit))
    except NoRouteError:
        return None
    return hours[number] if number < len(hours) else None


class PitchUtilities(View):
    """Controls above; warnings first, then supply, checks and what to bring below."""

    def __init__(self, files: TripFiles, number: int, drive_h: float | None = None) -> None:
        self.drive_h = drive_h
        self.files, trip = files, files.inputs.trip
        self.stay = trip.stays[number]
        self.dates = trip.stay_dates()[number]
        site = site_of(files, number)
        self.offer = offer_at(
            files.inputs.household, files.region, site,
            kwh_in_tariff=kwh_in_tariff(files, self.stay),
        )  # fmt: skip
        self.site, self.place = site, pitch_place(files.region, site)
        self.climate = climate_of(trip, self.stay.site)
        self._make_controls()
        self.report: UtilitiesReport | None = None
        self.warnings, self.text = widgets.HTML(), widgets.HTML()
        self.chart = UprightBars(
            {_HOLDS: ("blue", ""), _MAY: ("orange", "/"), _TRIPS: ("vermilion", "x")},
            axis="Hour of the day",
            unit="A",
        )
        super().__init__(
            [
                widgets.HTML(look.page(f"<h3>{look.text(site['name'])}</h3>")),
                widgets.GridBox(
                    list(self.controls.values()),
                    layout={"grid_template_columns": "repeat(auto-fit, minmax(26rem, 1fr))"},
                ),
                self.warnings,
                self.chart,
                self.text,
            ]
        )
        for control in self.controls.values():
            control.layout.width = "auto"
            control.observe(self._changed, "value")
        self._changed(None)

    def _make_controls(self) -> None:
        household, party = self.files.inputs.household, self.files.inputs.trip.party
        caravan, climate = household.caravan, self.climate
        low, high = climate.low_c, climate.high_c
        known = low is not None and high is not None
        self.controls: dict[str, Any] = {
            "hookup": widgets.Checkbox(
                value=self.stay.hookup, description="Hook-up wanted", style=_WIDE
            ),
            "amperes": widgets.Dropdown(
                options=[("as the site list says", -1.0), *((f"{a:g} A", a) for a in _POSTS)],
                description="Supply of the post", style=_WIDE,
            ),
            "lead_m": widgets.BoundedFloatText(
                value=caravan.hookup_lead_m or 25, min=1, max=100, step=1,
                description="Lead, length (m)", style=_WIDE,
            ),
            "lead_mm2": widgets.Dropdown(
                options=[(f"{a:g} mm²", a) for a in _CONDUCTORS],
                value=min(_CONDUCTORS, key=lambda a: abs(a - (caravan.hookup_lead_mm2 or 2.5))),
                description="Lead, conductor", style=_WIDE,
            ),
            "layers": widgets.IntSlider(
                value=0, min=0, max=MOST_LAYERS, description="Layers left on the drum", style=_WIDE
            ),
            "people": widgets.BoundedIntText(
                value=len(party) or len(household.people), min=1, max=12, description="People",
                style=_WIDE,
            ),
            "nights": widgets.BoundedIntText(
                value=self.stay.nights, min=1, max=120, description="Nights", style=_WIDE
            ),
            "drive_h": widgets.BoundedFloatText(
                value=round(self.drive_h or 0.0, 1), min=0, max=24, step=0.5,
                description="Hours of towing before", style=_WIDE,
            ),
            "weather": widgets.Checkbox(
                value=known, description="Use these temperatures", style=_WIDE
            ),
            "temperatures": widgets.IntRangeSlider(
                value=(8, 18) if low is None or high is None else (round(low), round(high)),
                min=-20, max=40, description="Night and afternoon (°C)", style=_WIDE,
            ),
            "gas": widgets.Dropdown(
                options=[("not known", None), ("propane", "propane"), ("butane", "butane")],
                value=caravan.gas_kind, description="Gas", style=_WIDE,
            ),
        }  # fmt: skip

    def _changed(self, _: object) -> None:
        value = {name: control.value for name, control in self.controls.items()}
        household = self.files.inputs.household
        caravan = household.caravan.model_copy(
            update={
                "hookup_lead_m": value["lead_m"],
                "hookup_lead_mm2": value["lead_mm2"],
                "gas_kind": value["gas"],
            }
        )
        low, high = value["temperatures"] if value["weather"] else (None, None)
        amperes = value["amperes"]
        arrive = self.dates[0]
        household = household.model_copy(update={"caravan": caravan})
        hours = value["drive_h"]
        try:
            self.report = utilities_of(
                household,
                self.offer if amperes < 0 else replace(self.offer, hookup_a=amperes),
                self.place,
                arrive,
                arrive + dt.timedelta(days=value["nights"]),
                people=value["people"],
                climate=self._weather(low, high),
                prices=self.files.prices,
                hookup=value["hookup"],
                awning=self.stay.awning,
                coiled_layers=value["layers"],
                drive_h=None if self.drive_h is None and not hours else hours,
            )
        except PlannerKitError as error:
            self.warnings.value = look.part(look.cautions([str(error)]))
            return
        meter = self._meter(household, low, high) if value["hookup"] and amperes else None
        self.rated_a = self.offer.hookup_a if amperes < 0 else amperes
        self._show(self.report, [*self.report.cost_lines, *([] if meter is None else [meter])])

    def _meter(
        self, household: Household, low: float | None, high: float | None
    ) -> CostLine | None:
        """What the site's meter counts, as the sites stage prices it."""
        people, nights = self.controls["people"].value, self.controls["nights"].value
        need = electricity_need(household, self._weather(low, high), people, 1)
        use = MainsUse(need, {}, price_of(self.files.prices, "kwh_site"))
        return metered_line(self.site, self.files.rules, household, self.dates[0], nights, use)

    def _weather(self, low: float | None, high: float | None) -> StayClimate:
        return replace(self.climate, low_c=low, high_c=high)

    def _no_hours(self) -> str:
        """Why there is nothing to draw hour by hour."""
        if not self.controls["hookup"].value or self.rated_a == 0:
            return "No mains to draw from"
        if self.rated_a is None:
            return "How many amperes the post gives is not known"
        return "No appliance for the mains is listed, so nothing is drawn"

    def _show(self, report: UtilitiesReport, lines: Sequence[CostLine]) -> None:
        units, rated = self.files.inputs.household.units, self.rated_a
        self.warnings.value = look.part(warnings_html(report.warnings), units=units)
        hours = report.hours
        self.chart.show(
            "Amperes that may be drawn in each hour" if len(hours) else self._no_hours(),
            [str(hour) for hour in hours["hour"]],
            hours["amperes"].to_numpy(dtype=float),
            [
                {"holds": _HOLDS, "may trip": _MAY}.get(word, _TRIPS)
                for word in hours["breaker"].tolist()
            ],
            said=[f"Most of it: {name}" for name in hours["heaviest"]],
            line=rated or 0.0,
            line_word="the post's rating",
        )
        self.text.value = look.part(
            look.checks_table(report.checks, caption="Power, gas, water, waste and standing"),
            utilities_html(report, units),
            costs_html(lines, units),
            look.bullets(report.unknowns),
            look.cautions(report.cautions),
            units=units,
        )
