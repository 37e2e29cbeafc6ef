"""What a trip costs, and what would change: sliders and a choice; the difference line by line."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets
import pandas as pd
from IPython.display import HTML

from planner_kit.costs import (
    WAYS,
    Change,
    changed_lines,
    other_tows,
    plan_against_spent,
    what_if,
)
from planner_kit.pitch import mains_use
from planner_kit.trip import display
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.money_tables import history_html, in_money, months_html, spent_html
from planner_kit.views.stays import plan_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner_kit.costs import WhatIf
    from planner_kit.plan import TripPlan
    from planner_kit.tow import TowReport
    from planner_kit.trip.household import Units

# Of so many candidates the tow is found before anybody chooses one.
_READY_SITES = 12

_LINES = {
    "kind": "Kind", "what": "What", "low": "Low", "likely": "Likely", "high": "High",
    "paid": "Stands",
}  # fmt: skip


def trip_cost(folder: Path, *, trip: str, planned_on: str = "") -> CostExplorer:
    """The cost of a trip with what-ifs.

    Parameters
    ----------
    folder : Path
        The planning folder.
    trip : str
        The trip file in it.
    planned_on : str
        The day of planning, ISO 8601; empty for today.

    Returns
    -------
    explorer : CostExplorer

    Raises
    ------
    PlannerKitError
        If the trip or one of its files cannot be used.
    """
    plan = plan_of(folder, trip, planned_on)
    return CostExplorer(plan)


class CostExplorer(View):
    """What-ifs beside the difference, line by line; the whole costing below."""

    def __init__(self, plan: TripPlan) -> None:
        self.plan = plan
        trip, sites = plan.files.inputs.trip, plan.sites.shortlist
        self.use = mains_use(plan.files.inputs, plan.files.prices)
        self.total = (plan.cost.low, plan.cost.likely, plan.cost.high)
        self.fuel = _slider("Fuel price, %", 0, -50, 100, 5)
        self.nights = _slider("Nights more or fewer", 0, 1 - trip.stays[0].nights, 7)
        self.days = _slider("Days later", 0, -21, 21)
        self.site = _choice(
            "First site", [(r["name"], r["site_id"]) for _, r in sites.iterrows()],
            trip.stays[0].site,
        )  # fmt: skip
        self.way = _choice("Tow", [(way, way) for way in WAYS], WAYS[0])
        self.again = widgets.Button(
            description="As planned", tooltip="Sets every control back to the plan"
        )
        self.tows: dict[tuple[str, str], TowReport | str] = {}
        ready = [(way, self.first_site) for way in WAYS[1:]]
        ready += [(WAYS[0], str(one)) for one in sites["site_id"].head(_READY_SITES)]
        self._find_tows(one for one in ready if one != (WAYS[0], self.first_site))
        self.difference, self.costing = widgets.HTML(), widgets.HTML()
        controls = (self.fuel, self.nights, self.days, self.site, self.way)
        for control in controls:
            control.observe(self._follow, names="value")
        self.again.on_click(self._back)
        self.costing.value = self._costing_html()
        left = widgets.VBox(
            [widgets.HTML(look.page("<strong>What if ...</strong>")), *controls, self.again],
            layout=widgets.Layout(flex="1 1 320px", max_width="440px"),
        )
        right = widgets.VBox(
            [self.difference], layout=widgets.Layout(flex="2 1 420px", min_width="320px")
        )
        row = widgets.HBox([left, right], layout=widgets.Layout(flex_flow="row wrap"))
        super().__init__([row, self.costing])
        self._follow(None)

    def _find_tows(self, choices: Iterable[tuple[str, str]]) -> None:
        files, outfit = self.plan.files, self.plan.outfit.outfit
        self.tows |= other_tows(
            files.inputs, files.region, outfit, files.sites, choices, tolls=files.tolls,
            prices=files.prices,
        )  # fmt: skip

    @property
    def first_site(self) -> str:
        """The site of the trip's first stay."""
        return self.plan.files.inputs.trip.stays[0].site

    def other_tow(self) -> TowReport | str | None:
        """The tow as the controls stand, or why there is none; None for the planned one."""
        choice = (self.way.value, self.site.value)
        if choice == (WAYS[0], self.first_site):
            return None
        if choice not in self.tows:
            self._find_tows([choice])
        return self.tows[choice]

    def changed_lines(self) -> pd.DataFrame:
        """The cost lines as the controls stand."""
        files, tow = self.plan.files, self.other_tow()
        lines = changed_lines(
            self.plan.cost.lines, files.inputs, files.sites, files.seasons,
            Change(
                site_id=self.site.value, more_nights=self.nights.value,
                days_later=self.days.value, prices={"fuel": 1 + self.fuel.value / 100},
                tow=None if tow is None or isinstance(tow, str) else tow.cost_lines,
            ),
            planned_on=self.plan.planned_on, rules=files.rules, rates=files.rates,
            use=self.use,
        )  # fmt: skip
        return lines

    def _back(self, _button: Any) -> None:
        self.fuel.value = self.nights.value = self.days.value = 0
        self.site.value, self.way.value = self.first_site, WAYS[0]

    def _follow(self, _change: Any) -> None:
        cost, units = self.plan.cost, self.plan.files.inputs.household.units
        found = what_if("what if", cost.lines, self.changed_lines(), total_before=self.total)
        tow, notes = self.other_tow(), []
        words = "Nothing is changed yet: move a slider or choose another site or way."
        if len(found.differences):
            words = whole_difference(found, cost.currency, units)
        if isinstance(tow, str):
            notes.append(f"There is no such way for the outfit: {tow}")
        elif tow is not None:
            notes.append(_tow_words(tow, self.plan, units))
        if self.site.value != self.first_site:
            notes.append("The days out and the gas stay as they were.")
        self.difference.value = look.page(
            f"<p style='font-size:1.25em'><strong>{look.text(words)}</strong></p>",
            look.paragraphs(notes),
            look.table(
                _shown(found.differences, cost.currency, units),
                {"what": "What", "before": "Before", "after": "After", "difference": "Difference",
                 "change": "Change"},
                caption="What would change, line by line",
                figures=("before", "after", "difference"),
                blank=("before", "after"),
            )
            if len(found.differences)
            else "",
            units=units,
        )  # fmt: skip

    def _costing_html(self) -> str:
        cost, files = self.plan.cost, self.plan.files
        units = files.inputs.household.units
        total = (
            f"In all about {display.money(cost.likely, cost.currency, units)} "
            f"({display.money_range(cost.low, cost.high, cost.currency, units)}): "
            f"{display.money(cost.per_night, cost.currency, units)} a night, "
            f"{display.money(cost.per_person, cost.currency, units)} a person."
        )
        lines = in_money(cost.lines, ("low", "likely", "high"), cost.currency, units)
        return look.page(
            f"<p style='font-size:1.25em'><strong>{look.text(total)}</strong></p>",
            look.checks_table(cost.checks, caption="Budget and gaps"),
            months_html(cost, units),
            history_html(files, cost),
            look.table(
                lines.rename(columns={"state": "paid"}), _LINES, caption="Every line",
                figures=("low", "likely", "high"), below={"what": "source"},
            ),
            look.paragraphs([cost.range_method]),
            units=units,
        )  # fmt: skip


def _slider(words: str, value: int, least: int, most: int, step: int = 1) -> widgets.IntSlider:
    return widgets.IntSlider(
        value=value, min=least, max=most, step=step, description=words,
        style={"description_width": "11em"}, layout=widgets.Layout(width="98%"),
    )  # fmt: skip


def _choice(words: str, options: list[tuple[str, str]], value: str) -> widgets.Dropdown:
    return widgets.Dropdown(
        description=words, options=options, value=value,
        style={"description_width": "11em"}, layout=widgets.Layout(width="98%"),
    )  # fmt: skip


def _shown(differences: pd.DataFrame, currency: str, units: Units) -> pd.DataFrame:
    """The differences in money; a line that is new had no amount, one that is gone has none."""
    table = in_money(differences, ("before", "after", "difference"), currency, units)
    return table.assign(
        before=table["before"].where(table["change"] != "new", ""),
        after=table["after"].where(table["change"] != "gone", ""),
    )


def whole_difference(found: WhatIf, currency: str, units: Units) -> str:
    """What a what-if comes to, in one sentence."""
    gap = found.after[1] - found.before[1]
    after, before = (display.money(one[1], currency, units) for one in (found.after, found.before))
    more = "more" if gap > 0 else "less"
    told = f"{display.money(abs(gap), currency, units)} {more}: {after} instead of {before}"
    if abs(gap) < 0.005:
        told = f"The whole stays at {after}"
    there = found.differences[found.differences["change"] != "gone"]
    if gone := int(there["after"].isna().sum()):
        prices = "one price is" if gone == 1 else f"{gone} prices are"
        told += f", but {prices} not known and not in it"
    return f"{told}."


def _tow_words(tow: TowReport, plan: TripPlan, units: Units) -> str:
    """The other tow beside the planned one, in hours and distance."""
    km = sum(leg.route.length_km for leg in tow.legs)
    minutes = sum(leg.route.time_min for leg in tow.legs)
    was_km = sum(leg.route.length_km for leg in plan.tow.legs)
    was_minutes = sum(leg.route.time_min for leg in plan.tow.legs)
    return (
        f"The tows would be {display.distance(km, units)} and {display.duration(minutes)} of "
        f"driving, instead of {display.distance(was_km, units)} and "
        f"{display.duration(was_minutes)}."
    )


def show_spent(folder: Path, *, trip: str, planned_on: str = "") -> HTML:
    """After the trip: what was planned against what was spent."""
    plan = plan_of(folder, trip, planned_on)
    table = plan_against_spent(plan.cost, plan.files.inputs.trip)
    if table.empty:
        return HTML(look.page(look.paragraphs(["Nothing is noted as spent in the trip file yet."])))
    return HTML(look.page(spent_html(table, plan.cost.currency, plan.files.inputs.household.units)))
