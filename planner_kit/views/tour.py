"""A tour of several sites: limits on the left, the best tour and why on the right."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets
import pandas as pd

from planner_kit.errors import PlannerKitError
from planner_kit.pitch import mains_use
from planner_kit.sites import prices_by_start
from planner_kit.sites.tour import TourLimits, plan_tour, start_days, tow_minutes_between
from planner_kit.trip import display
from planner_kit.trip.editing import set_stays
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.stays import plan_of

if TYPE_CHECKING:
    from planner_kit.plan import TripPlan
    from planner_kit.sites.tour import Tour


def choose_tour(folder: Path, *, trip: str, planned_on: str = "") -> TourChooser:
    """The best order, sites and nights of a tour over a trip's candidates.

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
    chooser : TourChooser

    Raises
    ------
    PlannerKitError
        If the trip or one of its files cannot be used.
    """
    path = folder / trip
    return TourChooser(path, plan_of(folder, trip, planned_on))


class TourChooser(View):
    """Nothing is reckoned before the button is pressed, nor written before the other one is."""

    def __init__(self, path: Path, plan: TripPlan) -> None:
        self.path, self.plan = path, plan
        trip = plan.files.inputs.trip
        left_in = plan.sites.shortlist[plan.sites.shortlist["removed_by"] == ""]
        self.scores: pd.Series = left_in.set_index("site_id")["score"]
        wide = {"style": {"description_width": "11em"}, "layout": widgets.Layout(width="98%")}
        self.nights = widgets.IntSlider(
            value=max(trip.nights, 4), min=2, max=21, description="Nights in all", **wide
        )
        self.least = widgets.IntSlider(
            value=2, min=1, max=7, description="Fewest on a site", **wide
        )
        self.tow = widgets.IntSlider(
            value=150, min=15, max=480, step=15, description="Longest tow, min", **wide
        )
        budget = round(trip.budget.total or 0.0)
        self.budget = widgets.IntText(
            value=0, description="Most for sites", tooltip="0 for no limit", **wide
        )
        self.must = widgets.SelectMultiple(
            options=list(zip(left_in["name"], left_in["site_id"], strict=True)),
            description="Must be in it", rows=min(len(left_in), 6), **wide,
        )  # fmt: skip
        self.find = widgets.Button(description="Find the best tour")
        self.write = widgets.Button(
            description="Write it into the trip", disabled=True,
            tooltip="Writes the stays into the trip file; its comments stay",
            layout=widgets.Layout(width="auto", align_self="flex-start"),
        )  # fmt: skip
        self.found, self.said = widgets.HTML(), widgets.HTML()
        self.found.value = look.page(
            look.paragraphs(["The best tour stands here once the button is pressed."])
        )
        self.tour: Tour | None = None
        self._minutes: pd.DataFrame | None = None
        self.find.on_click(self._find)
        self.write.on_click(self._write)
        units = plan.files.inputs.household.units
        money = display.money(budget, trip.budget.currency or units.currency, units, whole=True)
        note = f"The trip's whole budget is {money}." if budget else "The trip has no budget."
        left = widgets.VBox(
            [widgets.HTML(look.page("<strong>A tour of several sites</strong>")), self.nights,
             self.least, self.tow, self.budget,
             widgets.HTML(look.page(look.paragraphs([f"0 is no limit. {note}"]))), self.must,
             self.find],
            layout=widgets.Layout(flex="1 1 300px", max_width="420px"),
        )  # fmt: skip
        right = widgets.VBox(
            [self.found, self.write, self.said],
            layout=widgets.Layout(flex="1 1 480px", min_width="320px"),
        )
        super().__init__([widgets.HBox([left, right], layout=widgets.Layout(flex_flow="row wrap"))])

    def limits(self) -> TourLimits:
        """The limits as the controls stand."""
        return TourLimits(
            nights=self.nights.value,
            most_tow_min=float(self.tow.value),
            budget=float(self.budget.value) if self.budget.value > 0 else None,
            least_nights=min(self.least.value, self.nights.value),
            must=tuple(self.must.value),
        )

    def _find(self, _button: Any) -> None:
        files, limits = self.plan.files, self.limits()
        inputs, ids = files.inputs, [str(one) for one in self.scores.index]
        sites = files.sites.loc[ids]
        self.write.disabled, self.tour = True, None
        if self._minutes is None:
            self._minutes = tow_minutes_between(
                inputs, files.region, self.plan.outfit.outfit, sites
            )
        own = {code: rate.rate for code, rate in files.rates.items()}
        worth = sites["currency"].map({**own, self.plan.cost.currency: 1.0}).astype(float)
        prices = {
            nights: prices_by_start(
                sites, files.seasons, start_days(inputs.trip.start, limits.nights, nights),
                nights, inputs.household, inputs.trip.party, rules=files.rules,
                use=mains_use(inputs, files.prices),
            ).mul(worth, axis=0)
            for nights in range(limits.least_nights, limits.nights + 1)
        }  # fmt: skip
        try:
            self.tour = plan_tour(self.scores, self._minutes, prices, inputs.trip.start, limits)
        except PlannerKitError as error:
            self.found.value = look.page(look.cautions([str(error)]))
            return
        self.write.disabled = False
        self.found.value = self._html(self.tour)

    def _html(self, tour: Tour) -> str:
        units = self.plan.files.inputs.household.units
        names = self.plan.files.sites["name"]
        currency = self.plan.cost.currency
        stays = tour.stays.assign(
            site=[str(names[one]) for one in tour.stays["site_id"]],
            tow=[display.duration(one) for one in tour.stays["tow_min"]],
            cost=[display.money(one, currency, units) for one in tour.stays["price"]],
        )
        said = [
            " ".join([str(names.get(word, word)) for word in sentence.split(" ")])
            for sentence in tour.why
        ]
        return look.page(
            look.table(
                stays,
                {"site": "Site", "arrive": "Arrive", "leave": "Leave", "nights": "Nights",
                 "cost": "Price", "tow": "Tow to it"},
                caption=f"The best tour: {display.money(tour.price, currency, units)}, "
                f"{display.duration(tour.tow_min)} of towing",
                figures=("cost", "tow"),
            ),
            look.paragraphs([f"The tow home takes {display.duration(tour.home_tow_min)}."]),
            look.bullets(said),
            units=units,
        )  # fmt: skip

    def _write(self, _button: Any) -> None:
        if self.tour is None:
            return
        rows = self.tour.stays.to_dict("records")
        try:
            set_stays(self.path, [(str(row["site_id"]), int(row["nights"])) for row in rows])
        except PlannerKitError as error:
            self.said.value = look.page(look.cautions([str(error)]))
            return
        words = f"{self.path.name}: the trip now has {len(rows)} stays."
        self.said.value = look.page(look.paragraphs([words]))
