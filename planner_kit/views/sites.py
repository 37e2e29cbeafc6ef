"""Choosing a site: sliders for the weights; map, parts, margins and dates follow."""

from __future__ import annotations

from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipyleaflet as maps
import ipywidgets as widgets
import pandas as pd
import plotly.graph_objects as go
from IPython.display import HTML

from planner_kit.errors import PlannerKitError
from planner_kit.plan import plan_trip, read_files
from planner_kit.sites import rank_sites, shifted_dates, site_weights
from planner_kit.sites.confirmation import booking_values, read_confirmation
from planner_kit.sites.ledger import bookings_on, ledger_totals
from planner_kit.sites.shortlist import CRITERIA
from planner_kit.sites.site_list import FROM_MAP
from planner_kit.sites.weighing import group_ranking, margin_sentences, weight_margins
from planner_kit.trip.editing import choose_site as write_choice
from planner_kit.trip.editing import set_booking
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.dates import day_of
from planner_kit.views.map_layers import area_shapes, drawn_roads, road_shapes

if TYPE_CHECKING:
    from planner_kit.plan import TripFiles, TripPlan

_COLOURS = (
    "blue", "orange", "green", "purple", "sky", "vermilion", "yellow", "grey", "ink", "blue",
)  # fmt: skip
_MARKS = ("", "/", ".", "x", "\\", "-", "+", "|", "", "x")
_WORDS = {
    "price": "Low price",
    "drive": "Short drive",
    "tow": "Easy tow",
    "approach": "No tight places",
    "outings": "Near the days out",
    "rating": "What others think",
    "facilities": "Facilities",
    "signals": "Signals",
    "room": "Room on the pitch",
    "been": "Liked before",
}


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
    plan = plan_trip(read_files(path), planned_on=day_of(planned_on))
    return SiteChooser(path, plan, stay)


class SiteChooser(View):
    """Sliders on the left; parts of the scores and a map on the right; tables and choice below."""

    def __init__(self, path: Path, plan: TripPlan, stay: int) -> None:
        self.path, self.plan, self.stay = path, plan, stay
        household = plan.files.inputs.household
        weights = site_weights(household.preferences.sites)
        self.facts = plan.sites.shortlist.set_index("site_id", drop=False)
        assert plan.sites.criteria is not None  # a planned trip always has them
        self.criteria: pd.DataFrame = plan.sites.criteria
        self.sliders = {
            name: widgets.FloatSlider(
                value=weights[name], min=0, max=10, step=0.5, description=_WORDS[name],
                readout_format=".1f", style={"description_width": "9.5em"},
                layout=widgets.Layout(width="100%"),
            )
            for name in CRITERIA
        }  # fmt: skip
        self.chart = go.FigureWidget(layout=_chart_layout())
        for name, colour, mark in zip(CRITERIA, _COLOURS, _MARKS, strict=True):
            self.chart.add_bar(
                orientation="h", name=_WORDS[name],
                marker={"color": look.PALETTE[colour], "pattern": {"shape": mark}},
            )  # fmt: skip
        self.table, self.said = widgets.HTML(), widgets.HTML()
        self.map = self._map(plan.files)
        self.choice = widgets.Dropdown(
            description="Site",
            options=[(r["name"], r["site_id"]) for _, r in self.facts.iterrows()],
            layout=widgets.Layout(width="26em"),
        )  # fmt: skip
        self.write = widgets.Button(
            description=f"Write into the trip as stay {stay}",
            tooltip="Writes the chosen site into the trip file; its comments stay",
            layout=widgets.Layout(width="auto"),
        )
        self.dates = widgets.HTML()
        for slider in self.sliders.values():
            slider.observe(self._follow, names="value")
        self.choice.observe(self._show_dates, names="value")
        self.write.on_click(self._write)
        left = widgets.VBox(
            [widgets.HTML(look.page("<strong>How much does each matter?</strong>")),
             *self.sliders.values()],
            layout=widgets.Layout(flex="1 1 300px", max_width="400px"),
        )  # fmt: skip
        right = widgets.VBox(
            [self.chart, self.map], layout=widgets.Layout(flex="1 1 480px", min_width="320px")
        )
        row = widgets.HBox([left, right], layout=widgets.Layout(flex_flow="row wrap"))
        pick = widgets.HBox([self.choice, self.write], layout=widgets.Layout(flex_flow="row wrap"))
        super().__init__([row, self.table, pick, self.said, self.dates])
        self._follow(None)
        self._show_dates(None)

    @property
    def weights(self) -> dict[str, float]:
        """The weights as the sliders stand."""
        return {name: slider.value for name, slider in self.sliders.items()}

    def _map(self, files: TripFiles) -> maps.Map:
        region = files.region
        self.points = maps.GeoJSON(data={"type": "FeatureCollection", "features": []})
        drawn = maps.Map(
            center=(float(self.facts["lat"].mean()), float(self.facts["lon"].mean())), zoom=9,
            layers=(), attribution_control=False, prefer_canvas=True,
            layout=widgets.Layout(height="360px"),
        )  # fmt: skip
        plain = region.roads["road_class"].astype(str).map(lambda _: "unknown")
        drawn.add(maps.GeoJSON(data=area_shapes(region.areas, region.bounds, 9)))
        drawn.add(
            maps.GeoJSON(data=road_shapes(drawn_roads(region.roads, plain), region.bounds, 9))
        )
        drawn.add(self.points)
        return drawn

    def _follow(self, _change: Any) -> None:
        weights = self.weights
        self.ranking = rank_sites(self.criteria, weights, self.plan.sites.removed)
        top = self.facts.loc[self.ranking.index]
        names = [f"{place}. {name}" for place, name in enumerate(top["name"], start=1)]
        with self.chart.batch_update():
            for bar, name in zip(self.chart.data, CRITERIA, strict=True):
                bar.x, bar.y = self.ranking[f"part_{name}"].tolist(), names
        self.points.data = _points(top, self.ranking)
        self.table.value = self._table_html(top, weights)

    def _table_html(self, top: pd.DataFrame, weights: dict[str, float]) -> str:
        by_id = {str(site_id): str(name) for site_id, name in self.facts["name"].items()}
        shown = pd.DataFrame(
            {
                "place": range(1, len(top) + 1),
                "name": top["name"].to_numpy(),
                "state": top["fit"].to_numpy(),
                "price": top["price"].to_numpy(),
                "currency": top["currency"].to_numpy(),
                "drive": top["drive_min"].round().to_numpy(),
                "score": self.ranking["score"].round(2).to_numpy(),
                "out": self.ranking["removed_by"].replace("", "stays in").to_numpy(),
                "beaten": [by_id.get(one, "by none") for one in top["beaten_by"]],
            }
        )
        margins = weight_margins(self.criteria, weights, self.plan.sites.removed)
        winner = str(top["name"].iloc[0])
        people = self.plan.files.inputs.household.preferences.sites_by_person
        return look.page(
            look.table(
                shown,
                {"place": "", "name": "Site", "state": "Fit", "price": "Price", "currency": "",
                 "drive": "Minutes by car", "score": "Score", "out": "Must-haves",
                 "beaten": "Beaten on everything"},
                caption="Candidates with these weights",
            ),
            f"<p><strong>What it takes to change the winner, {look.text(winner)}</strong></p>",
            look.bullets(margin_sentences(margins, by_id, winner)),
            self._people_html(by_id) if people else "",
        )  # fmt: skip

    def _people_html(self, names: dict[str, str]) -> str:
        """What each person who has weights of their own makes of the sites."""
        people = self.plan.files.inputs.household.preferences.sites_by_person
        sets = {person: site_weights(own) for person, own in people.items()}
        group = group_ranking(self.criteria, sets, self.plan.sites.removed)
        group = group.assign(name=[names[str(one)] for one in group.index]).round(2)
        columns = {"name": "Site", **{f"place_{p}": f"Place for {p}" for p in sets}}
        columns |= {"together": "Score together", "least": "Score of who likes it least"}
        return look.table(group, columns, caption="Where the family meets")

    def _show_dates(self, _change: Any) -> None:
        files = self.plan.files
        inputs, chosen = files.inputs, self.choice.value
        stay = inputs.trip.stays[self.stay - 1]
        dates = shifted_dates(
            files.sites.loc[[chosen]], files.seasons, inputs.trip.stay_dates()[self.stay - 1][0],
            stay.nights, inputs.household, inputs.trip.party, hookup=stay.hookup,
            awning=stay.awning, rules=files.rules,
        ).head(8)  # fmt: skip
        self.dates.value = look.page(
            look.table(
                dates.assign(why=dates["why"].replace("", "nothing")),
                {"arrive": "Arrive", "leave": "Leave", "price": "Price", "saved": "Saved",
                 "allowed": "Can be booked", "why": "What stands against it"},
                caption="The cheapest dates within two weeks of the plan",
            )
        )  # fmt: skip

    def _write(self, _button: Any) -> None:
        try:
            write_choice(self.path, self.stay, self.choice.value)
        except PlannerKitError as error:
            self.said.value = look.page(look.cautions([str(error)]))
            return
        name = self.facts.loc[self.choice.value, "name"]
        words = f"{self.path.name}: stay {self.stay} is now {name}."
        self.said.value = look.page(look.paragraphs([words]))


def show_gathered(folder: Path, *, trip: str) -> HTML:
    """The household's sites beside the map's: which is which, and where each fact comes from."""
    files = read_files(folder / trip)
    assert files.gathered is not None  # files that were read always have it
    found, own = files.gathered, files.gathered.matches["site_id"]
    more = len(found.sites) - int((found.sites[FROM_MAP] != "").sum())
    names = {str(site_id): str(name) for site_id, name in found.sites["name"].items()}
    facts = found.facts[found.facts["site_id"].isin(own)]
    facts = facts[(facts["used"] & (facts["source"] == "OpenStreetMap")) | facts["disputed"]]
    said = facts["used"].map({True: "this one holds", False: "yours holds"})
    return HTML(
        look.page(
            look.table(
                found.matches,
                {"site": "Your list", "place": "On the map", "distance_m": "Metres apart",
                 "name_alike": "Names alike", "verdict": "Verdict", "why": "Why"},
                caption="Your sites and the map's",
            ),
            look.paragraphs(
                [
                    "A match that is wrong or missing is put right in the trip's site_matches "
                    "list: site_id, place_id, same (yes or no).",
                    f"{more} sites are known by the map or by your list alone; a trip may name "
                    "the map's by their place_id.",
                ]
            ),
            look.table(
                facts.assign(
                    site=[names.get(str(one), str(one)) for one in facts["site_id"]],
                    fact=facts["fact"].str.replace("_", " "),
                    said=said,
                ),
                {"site": "Site", "fact": "Fact", "value": "Value", "source": "From",
                 "as_of": "Of", "said": "Which holds"},
                caption="What the map adds, and where it and your list differ",
            ),
        )
    )  # fmt: skip


def show_bookings(folder: Path, *, trip: str, planned_on: str = "") -> HTML:
    """The bookings of this trip and the others beside it, as they stand on a day."""
    files, on = read_files(folder / trip), day_of(planned_on)
    names = {str(site_id): str(name) for site_id, name in files.sites["name"].items()}
    currency = files.inputs.household.units.currency
    ledger = bookings_on((files.inputs.trip, *files.others), names, currency, on)
    return HTML(
        look.page(
            look.table(
                ledger.rename(columns={"state": "booking"}),
                {"trip": "Trip", "site": "Site", "arrive": "Arrive", "leave": "Leave",
                 "booking": "Booking", "reference": "Reference", "price": "Price", "paid": "Paid",
                 "balance": "Still to pay", "due_on": "Due", "free_until": "Free to call off until",
                 "refundable": "Comes back", "committed": "Gone or owed", "currency": ""},
                caption=f"Bookings on {on}",
            ),
            look.table(
                ledger_totals(ledger),
                {"currency": "", "price": "Agreed", "paid": "Paid", "balance": "Still to pay",
                 "refundable": "Comes back", "committed": "Gone or owed",
                 "not_known": "Bookings with terms not known"},
                caption="In all",
            ),
            look.bullets(files.other_faults),
        )
    )  # fmt: skip


def take_confirmation(folder: Path, *, trip: str, pdf: str = "", stay: int = 1) -> widgets.Widget:
    """What a confirmation seems to say, to be ticked one by one; nothing is taken unticked."""
    if not pdf:
        words = "No confirmation is named in the parameters, so nothing is read."
        return widgets.HTML(look.page(look.paragraphs([words])))
    return ConfirmationForm(folder / trip, folder / pdf, stay)


class ConfirmationForm(widgets.VBox):  # type: ignore[misc]
    """A box for each suggestion, and a button that writes those that are ticked."""

    def __init__(self, trip_path: Path, pdf: Path, stay: int) -> None:
        self.path, self.stay, self.pdf = trip_path, stay, pdf
        self.suggestions = read_confirmation(pdf)
        self.boxes = [
            widgets.Checkbox(
                value=False, indent=False, layout=widgets.Layout(width="auto"),
                description=f"{one.field.replace('_', ' ')}: {one.value} {one.currency} "
                f"(page {one.page}: {one.line[:80]}){' - ' + one.doubt if one.doubt else ''}",
            )
            for one in self.suggestions
        ]  # fmt: skip
        self.button = widgets.Button(
            description="Take what is ticked",
            tooltip="Writes the ticked figures into the trip file",
        )
        self.said = widgets.HTML()
        self.button.on_click(self._take)
        none = "The confirmation holds no text that could be read; type it into the trip file."
        head = "Tick what is right:" if self.boxes else none
        super().__init__(
            [widgets.HTML(look.page(look.paragraphs([head]))), *self.boxes, self.button, self.said]
        )

    def _take(self, _button: Any) -> None:
        yes = [s for s, box in zip(self.suggestions, self.boxes, strict=True) if box.value]
        values = booking_values(yes)
        if not values:
            self.said.value = look.page(look.paragraphs(["Nothing is ticked; nothing was taken."]))
            return
        values["confirmation"] = self.pdf.name
        try:
            set_booking(self.path, self.stay, values)
        except PlannerKitError as error:
            self.said.value = look.page(look.cautions([str(error)]))
            return
        self.said.value = look.page(look.paragraphs([f"Taken: {', '.join(values)}."]))


def _chart_layout() -> dict[str, Any]:
    return {
        "barmode": "stack",
        "height": 420,
        "margin": {"l": 10, "r": 10, "t": 60, "b": 30},
        "yaxis": {"autorange": "reversed", "automargin": True},
        "legend": {"orientation": "h", "y": 1.2},
        "plot_bgcolor": "white",
        "title": {"text": ""},
    }


def _points(top: pd.DataFrame, ranking: pd.DataFrame) -> dict[str, Any]:
    features = []
    removed = ranking["removed_by"].reindex(top.index)
    for place, (row, why) in enumerate(zip(top.to_dict("records"), removed, strict=True)):
        out = why != ""
        style = {
            "color": look.PALETTE["ink"],
            "fillColor": look.PALETTE["grey" if out else "orange"],
            "fillOpacity": 0.2 if out else 0.95,
            "weight": 1.5,
            "radius": max(4, 13 - place),
        }
        features.append(
            {
                "type": "Feature",
                "geometry": {"type": "Point", "coordinates": [row["lon"], row["lat"]]},
                "properties": {"name": row["name"], "style": style},
            }
        )
    return {"type": "FeatureCollection", "features": features}
