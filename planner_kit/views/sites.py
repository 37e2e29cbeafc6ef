"""Choosing a site: sliders for the weights; map, parts, margins and dates follow."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipyleaflet as maps
import ipywidgets as widgets
import numpy as np
import pandas as pd

from planner_kit.errors import PlannerKitError
from planner_kit.pitch import mains_use
from planner_kit.sites import (
    rank_sites,
    removed_by,
    shifted_dates,
    site_weights,
    what_each_removed,
)
from planner_kit.sites.shortlist import CRITERIA
from planner_kit.sites.weighing import group_ranking, group_weights, weight_margins
from planner_kit.trip import display
from planner_kit.trip.editing import choose_site as write_choice
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.bars import StackedBars
from planner_kit.views.region_map import RegionMap
from planner_kit.views.site_tables import (
    CRITERION_WORDS,
    MUST_WORDS,
    criterion_words,
    dates_html,
    margins_html,
    metered_words,
    must_haves_html,
    out_words,
    people_html,
)
from planner_kit.views.stays import plan_of

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner_kit.plan import TripPlan
    from planner_kit.trip_files import TripFiles

_COLOURS = (
    "blue", "orange", "green", "purple", "sky", "vermilion", "yellow", "grey", "ink", "blue",
)  # fmt: skip
# So many candidates have a sign on the map.
_MOST_SIGNS = 60
_MARKS = ("", "/", ".", "x", "\\", "-", "+", "|", "", "x")


def choose_site(folder: Path, *, trip: str, stay: int = 1, planned_on: str = "") -> SiteChooser:
    """Sliders for the weights of a trip's candidates.

    Parameters
    ----------
    folder : Path
        The planning folder.
    trip : str
        The trip file in it.
    stay : int
        Which stay the choice is for, from 1.
    planned_on : str
        The day of planning, ISO 8601; empty for today.

    Returns
    -------
    chooser : SiteChooser
        Show it as the last value of a cell.

    Raises
    ------
    PlannerKitError
        If the trip or one of its files cannot be used.
    """
    path = folder / trip
    plan = plan_of(folder, trip, planned_on)
    return SiteChooser(path, plan, stay)


class SiteChooser(View):
    """Sliders and must-haves on the left; parts of the scores and a map on the right."""

    def __init__(self, path: Path, plan: TripPlan, stay: int) -> None:
        self.path, self.plan, self.stay = path, plan, stay
        wishes = plan.files.inputs.household.preferences
        self.facts = plan.sites.shortlist.set_index("site_id", drop=False)
        assert plan.sites.criteria is not None  # a planned trip always has them
        assert plan.sites.offers is not None
        self.criteria, self.offers = plan.sites.criteria, plan.sites.offers
        self.sets = {"household": site_weights(wishes.sites)}
        self.sets |= {who: site_weights(own) for who, own in wishes.sites_by_person.items()}
        if len(self.sets) > 2:
            together = group_weights({who: self.sets[who] for who in wishes.sites_by_person})
            self.sets["together"] = _on_ten(together)
        self.whose = widgets.ToggleButtons(
            options=list(self.sets), description="Weights of", style={"button_width": "auto"}
        )
        self.sliders = {
            name: widgets.FloatSlider(
                value=self.sets["household"][name], min=0, max=10, step=0.5,
                description=CRITERION_WORDS[name], readout_format=".1f",
                style={"description_width": "11em"}, layout=widgets.Layout(width="100%"),
            )
            for name in CRITERIA
        }  # fmt: skip
        self.musts = {
            name: widgets.Checkbox(
                value=name in wishes.site_must_haves, description=words, indent=False,
                layout=widgets.Layout(width="auto", margin="0 1em 0 0"),
            )
            for name, words in MUST_WORDS.items()
        }  # fmt: skip
        looks = zip(_COLOURS, _MARKS, strict=True)
        self.chart = StackedBars(
            {CRITERION_WORDS[name]: one for name, one in zip(CRITERIA, looks, strict=True)},
            axis="Score: the sum of its parts; 1 is the best there could be",
            most=1.0,
        )
        self.first, self.table, self.said = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.meeting = widgets.HTML()
        self._asked: tuple[str, ...] | None = None
        self.map = self._map(plan.files)
        self.choice = widgets.Dropdown(
            description="Site",
            options=[(r["name"], r["site_id"]) for _, r in self.facts.iterrows()],
            value=plan.files.inputs.trip.stays[stay - 1].site,
            layout=widgets.Layout(width="26em"),
        )  # fmt: skip
        self.write = widgets.Button(
            description=f"Write into the trip as stay {stay}",
            tooltip="Writes the chosen site into the trip file; its comments stay",
            layout=widgets.Layout(width="auto"),
        )
        days = plan.files.inputs.trip.may_move_days or 14
        self.days = widgets.IntRangeSlider(
            value=(-days, days), min=-28, max=28, description="Days we could move",
            style={"description_width": "11em"}, layout=widgets.Layout(width="26em"),
        )  # fmt: skip
        self.dates = widgets.HTML()
        for control in (*self.sliders.values(), *self.musts.values()):
            control.observe(self._follow, names="value")
        self.whose.observe(self._take_weights, names="value")
        self.choice.observe(self._show_dates, names="value")
        self.days.observe(self._show_dates, names="value")
        self.write.on_click(self._write)
        super().__init__(self._rows())
        self._follow(None)
        self._show_dates(None)

    def _rows(self) -> list[widgets.Widget]:
        wrap = widgets.Layout(flex_flow="row wrap")
        left = widgets.VBox(
            [widgets.HTML(look.page("<strong>How much does each matter?</strong>")),
             *([self.whose] if len(self.sets) > 1 else []), *self.sliders.values(),
             widgets.HTML(look.page("<strong>What must it have?</strong>")),
             widgets.HBox(list(self.musts.values()), layout=wrap)],
            layout=widgets.Layout(flex="1 1 300px", max_width="420px"),
        )  # fmt: skip
        right = widgets.VBox(
            [self.first, self.chart, self.map],
            layout=widgets.Layout(flex="1 1 480px", min_width="320px"),
        )
        row = widgets.HBox([left, right], layout=wrap)
        pick = widgets.HBox([self.choice, self.write], layout=wrap)
        return [row, self.table, self.meeting, pick, self.said, self.days, self.dates]

    @property
    def weights(self) -> dict[str, float]:
        """The weights as the sliders stand."""
        return {name: slider.value for name, slider in self.sliders.items()}

    @property
    def must_haves(self) -> tuple[str, ...]:
        """What is ticked."""
        return tuple(name for name, box in self.musts.items() if box.value)

    def _take_weights(self, _change: Any) -> None:
        own = self.sets[self.whose.value]
        with self.hold_trait_notifications():
            for name, slider in self.sliders.items():
                slider.unobserve(self._follow, names="value")
                slider.value = own[name]
                slider.observe(self._follow, names="value")
        self._follow(None)

    def _map(self, files: TripFiles) -> maps.Map:
        region = files.region
        lats, lons = self.facts["lat"], self.facts["lon"]
        # A sign for each candidate; its number changes when the order does.
        self.signs = {
            str(row["site_id"]): maps.Marker(
                location=(row["lat"], row["lon"]), draggable=False, title=str(row["name"]),
                alt=str(row["name"]), icon=_sign(0, False),
            )
            for row in self.facts.head(_MOST_SIGNS).to_dict("records")
        }  # fmt: skip
        self.numbers: dict[str, tuple[int, bool]] = {}
        # Made once: the same few come again with every change of the order.
        self.icons: dict[tuple[int, bool], maps.DivIcon] = {}
        drawn = RegionMap(
            region,
            center=(float(lats.max() + lats.min()) / 2, float(lons.max() + lons.min()) / 2),
            zoom=_fitting_zoom(lats, lons),
            height="360px",
        )
        drawn.draw()
        for sign in self.signs.values():
            drawn.add(sign)
        return drawn

    def _number(self) -> None:
        """The signs on the map as the order stands; only those that change are sent."""
        for place, (site_id, why) in enumerate(self.ranking["removed_by"].items(), start=1):
            told = (place, why != "")
            if str(site_id) in self.signs and self.numbers.get(str(site_id)) != told:
                if told not in self.icons:
                    self.icons[told] = _sign(*told)
                self.signs[str(site_id)].icon = self.icons[told]
                self.numbers[str(site_id)] = told

    def _follow(self, _change: Any) -> None:
        weights, asked = self.weights, self.must_haves
        self.removed = removed_by(self.offers, asked)
        self.ranking = rank_sites(self.criteria, weights, self.removed)
        top = self.facts.loc[self.ranking.index]
        names = [
            f"{place}. {name}" if why == "" else f"out: {name}"
            for place, (name, why) in enumerate(
                zip(top["name"], self.ranking["removed_by"], strict=True), start=1
            )
        ]
        parts = [f"part_{name}" for name in CRITERIA]
        self.chart.show(names, self.ranking[parts].to_numpy(dtype=float))
        self._number()
        self.first.value = self._first_html(top, asked)
        self.table.value = self._table_html(top, weights)
        if asked != self._asked:
            self._show_meeting(asked)

    def _first_html(self, top: pd.DataFrame, asked: tuple[str, ...]) -> str:
        left = top[(self.ranking["removed_by"] == "").to_numpy()]
        words = "Every candidate is out: ask for less."
        if len(left):
            words = f"First: {left['name'].iloc[0]}."
        out = len(top) - len(left)
        told = f"{out} of {len(top)} are out." if out else "All candidates stay in."
        return look.part(
            f"<p style='font-size:1.25em'><strong>{look.text(words)}</strong> {told}</p>"
        )

    def _table_html(self, top: pd.DataFrame, weights: dict[str, float]) -> str:
        units = self.plan.files.inputs.household.units
        names = {str(site_id): str(name) for site_id, name in self.facts["name"].items()}
        shown = pd.DataFrame(
            {
                # As on the map: those that are out are crossed.
                "place": [
                    str(place) if why == "" else "×"
                    for place, why in enumerate(self.ranking["removed_by"], start=1)
                ],
                "name": top["name"].to_numpy(),
                "state": top["fit"].to_numpy(),
                "price": [
                    display.money(price, str(currency), units)
                    for price, currency in zip(top["price"], top["currency"], strict=True)
                ],
                "drive": [display.duration(minutes) for minutes in top["drive_min"]],
                "score": [f"{one:.2f}" for one in self.ranking["score"]],
                "out": [out_words(one) for one in self.ranking["removed_by"]],
                "beaten": [names.get(one, "") for one in top["beaten_by"]],
                "not_known": [criterion_words(one) for one in self.ranking["not_known"]],
            }
        )
        html = look.table(
            shown,
            {"place": "", "name": "Site", "state": "Fit", "price": "Price",
             "drive": "By car alone", "score": "Score", "out": "Out because of",
             "beaten": "Beaten on everything by", "not_known": "Earns nothing, as not known"},
            caption="Candidates with these weights",
            blank=("out", "beaten", "not_known"),
            figures=("place", "price", "drive", "score"),
        )  # fmt: skip
        html += look.paragraphs(metered_words(top, units))
        left = top[(self.ranking["removed_by"] == "").to_numpy()]
        if len(left):
            margins = weight_margins(self.criteria, weights, self.removed)
            html += margins_html(margins, names, str(left["name"].iloc[0]))
        return look.part(html, units=units)

    def _show_meeting(self, asked: tuple[str, ...]) -> None:
        """What the sliders do not move: where the family meets, and what each must-have removes."""
        self._asked = asked
        inputs = self.plan.files.inputs
        html = ""
        people = inputs.household.preferences.sites_by_person
        if people:
            sets = {who: self.sets[who] for who in people}
            names = {str(site_id): str(name) for site_id, name in self.facts["name"].items()}
            html += people_html(group_ranking(self.criteria, sets, self.removed), names)
        if asked:
            html += must_haves_html(what_each_removed(self.offers, asked))
        self.meeting.value = look.part(html, units=inputs.household.units) if html else ""

    def _show_dates(self, _change: Any) -> None:
        files = self.plan.files
        inputs, chosen = files.inputs, self.choice.value
        stay = inputs.trip.stays[self.stay - 1]
        earlier, later = -min(self.days.value[0], 0), max(self.days.value[1], 0)
        dates = shifted_dates(
            files.sites.loc[[chosen]], files.seasons, inputs.trip.stay_dates()[self.stay - 1][0],
            stay.nights, inputs.household, inputs.trip.party, earlier_days=earlier,
            later_days=later, hookup=stay.hookup, awning=stay.awning, rules=files.rules,
            use=mains_use(inputs, files.prices),
        )  # fmt: skip
        self.dates.value = look.page(
            dates_html(
                dates, "The cheapest dates in that range", str(self.facts.loc[chosen, "currency"])
            ),
            units=inputs.household.units,
        )

    def _write(self, _button: Any) -> None:
        try:
            write_choice(self.path, self.stay, self.choice.value)
        except PlannerKitError as error:
            self.said.value = look.page(look.cautions([str(error)]))
            return
        name = self.facts.loc[self.choice.value, "name"]
        words = f"{self.path.name}: stay {self.stay} is now {name}."
        self.said.value = look.page(look.paragraphs([words]))


def _on_ten(weights: Mapping[str, float]) -> dict[str, float]:
    """Weights whose ratios stay, the largest 10; in the steps of the sliders."""
    most = max(weights.values()) or 1.0
    return {name: round(weights.get(name, 0.0) / most * 20) / 2 for name in CRITERIA}


def _fitting_zoom(lats: pd.Series, lons: pd.Series) -> int:
    """The nearest zoom at which all candidates lie in a map of about 520 by 360 pixels."""
    wide = max(float(lons.max() - lons.min()), 1e-3) / 360 * 256
    squeeze = np.cos(np.radians(float(lats.mean())))
    high = max(float(lats.max() - lats.min()), 1e-3) / 360 * 256 / squeeze
    return int(np.clip(np.floor(np.log2(min(480 / wide, 330 / high))), 3, 13))


def _sign(place: int, out: bool) -> maps.DivIcon:
    """A site's place in the order; those that are out are grey and crossed."""
    colour = "#ffffff" if out else look.PALETTE["orange"]
    # The icon's own box is nothing, so that only the round sign is seen.
    return maps.DivIcon(
        icon_size=[0, 0],
        icon_anchor=[0, 0],
        html="<div style='position:absolute;left:-14px;top:-14px;width:24px;height:24px;"
        f"border-radius:14px;border:2px solid #1b1b1b;background:{colour};color:#1b1b1b;"
        f"font:bold 13px/24px sans-serif;text-align:center'>{'×' if out else place}</div>",
    )
