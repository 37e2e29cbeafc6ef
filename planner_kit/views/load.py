"""Loading the caravan: a mass and a place for each thing; plates, noseweight and floor follow."""

from __future__ import annotations

import contextlib
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets
import pandas as pd

from planner_kit.diary.learning import learnt_from_records
from planner_kit.errors import PlanFileError
from planner_kit.outfit import (
    load_checks,
    mass_in_kg,
    not_needed_lines,
    not_needed_note,
    outfit_of,
    read_items,
    usual_band,
    with_not_needed,
    write_items,
)
from planner_kit.outfit.loading import vehicle_of, with_totals
from planner_kit.reference import constant, shipped_folder
from planner_kit.rules import cautions_at
from planner_kit.trip import display
from planner_kit.trip.reading import read_inputs
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.load_more import MoreThings
from planner_kit.views.load_tables import load_plan_html, not_needed_html

if TYPE_CHECKING:
    from planner_kit.outfit.report import OutfitReport
    from planner_kit.trip.household import Units
    from planner_kit.trip.learnt import Learnt
    from planner_kit.trip.reading import TripInputs

# List and picture side by side; on a narrow page the picture stands above the list, so that it is
# in sight while a slider moves. A wide table scrolls inside its column instead of widening it.
_STYLE = """<style>
.widget-html-content, .jupyter-widget-html-content {min-width: 0}
.pk-load-room {container-type: inline-size}
.pk-load.pk-load {display: grid; gap: 0 18px; align-items: start;
  grid-template: "list picture" auto "list figures" 1fr / minmax(300px, 2fr) minmax(0, 3fr)}
.pk-load > .pk-load-all {grid-area: list}
.pk-load-list {max-height: 1100px}
.pk-load > .pk-load-picture {grid-area: picture}
.pk-load > .pk-load-figures {grid-area: figures}
@container (max-width: 760px) {
  .pk-load.pk-load {grid-template: "picture" auto "list" auto "figures" auto / minmax(0, 1fr)}
  .pk-load-list {max-height: 420px; border-bottom: 1px solid #7F7F7F}
}
</style>"""
_AT_A_GLANCE = ("payload used in the caravan", "noseweight on the tow ball")
_LINE = widgets.Layout(flex="0 0 auto", overflow="visible", margin="0 0 10px 0")
_HOME = "stays at home"
_RACK = "caravan rear rack"
_ELSEWHERE = ("car boot", "car roof", _RACK, _HOME)
_STEP_M = 0.1
_MOST_LINES = 300
_NOT_SAID = "m before axle: not said"


def load_caravan(
    folder: Path, *, trip: str, items: str = "", records: str = "records"
) -> LoadPlanner:
    """Masses and places of a trip's loading list, to be moved about.

    Parameters
    ----------
    folder : Path
        The planning folder.
    trip : str
        The trip file in it.
    items : str, optional
        A loading list in the folder; the household's own if not given, and the starter list that
        comes with the kit where it has none.
    records : str
        The folder of records in it: what earlier trips did not need is told.

    Returns
    -------
    planner : LoadPlanner
        Show it as the last value of a cell.

    Raises
    ------
    PlanFileError
        If a file cannot be used.
    """
    inputs = read_inputs(folder / trip)
    loading = inputs.household.loading
    named = items or loading.items
    if named:
        path = inputs.path_beside_household(named)
    else:
        path = shipped_folder("data") / "starter" / "items.csv"
    # A gauge's figure holds for the list that was loaded then, not for one that is tried out.
    then = loading.noseweight_measured_with or loading.items
    measured_with = read_items(inputs.path_beside_household(then)) if then else None
    learnt = learnt_from_records(folder / records, inputs.household, before=inputs.trip.start)
    return LoadPlanner(inputs, read_items(path), folder, measured_with=measured_with, learnt=learnt)


class LoadPlanner(View):
    """A row for each thing on the left; picture, plates and advice on the right."""

    def __init__(
        self,
        inputs: TripInputs,
        items: pd.DataFrame,
        folder: Path,
        *,
        measured_with: pd.DataFrame | None = None,
        learnt: Learnt | None = None,
    ) -> None:
        self.inputs, self.folder, self.learnt = inputs, folder, learnt
        self.measured_with = items if measured_with is None else measured_with
        self.items = _few_enough(items).copy()
        self._notes = self._noted()
        household = inputs.household
        outfit = outfit_of(household, items=items, on=inputs.trip.start, party=inputs.trip.party)
        beyond_m = constant("outfit", "beyond_tail").value
        tail_m = -(outfit.axle_to_tail_m or 4.0)
        self._reach = (tail_m - beyond_m, outfit.ball_to_axle_m or 5.0)
        self._rack_m = tail_m - beyond_m / 2
        self.lines = [self._line(number) for number in range(len(items))]
        self.more = MoreThings(self.add_thing, self.bring_in, self._tell)
        low, high = usual_band()
        self.band = widgets.FloatRangeSlider(
            value=(low * 100, high * 100),
            min=3,
            max=12,
            step=0.5,
            description="Noseweight wanted, %",
            readout_format=".1f",
            style={"description_width": "14em"},
            layout=widgets.Layout(width="100%", max_width="520px"),
        )
        self.ask = widgets.Button(
            description="What is the least to change?", layout=widgets.Layout(width="auto")
        )
        self.follow_advice = widgets.Button(
            description="Do it", disabled=True, layout=widgets.Layout(width="auto")
        )
        self.name = widgets.Text(
            value="items_planned.csv",
            description="Save as",
            layout=widgets.Layout(width="280px"),
        )
        self.save = widgets.Button(description="Save the list")
        self.glance, self.picture, self.figures, self.advice, self.said, self.saved = (
            widgets.HTML(layout=widgets.Layout(width="98%", overflow="auto")) for _ in range(6)
        )
        self.report: OutfitReport | None = None
        self._quiet = False
        self.ask.on_click(lambda _: self.show_advice())
        self.follow_advice.on_click(lambda _: self.apply_advice())
        self.save.on_click(lambda _: self.save_list())
        self.band.observe(lambda _: self._forget_advice(), names="value")
        self._head = widgets.HTML(look.page("<strong>What weighs what, and where</strong>"))
        self.left = _part("list", self._head, *map(_boxed, self.lines))
        buttons = widgets.HBox([self.ask, self.follow_advice])
        saving = widgets.HBox([self.name, self.save], layout=widgets.Layout(flex_flow="row wrap"))
        columns = widgets.Box(
            [
                _part("all", self.more, self.left),
                _part("picture", self.said, self.glance, self.picture, buttons, self.band),
                _part("figures", self.advice, self.figures, saving, self.saved),
            ]
        )
        columns.add_class("pk-load")
        self.spare = widgets.HTML()
        self._show_spare()
        # Filled once, as what the words mean follows no key.
        words = widgets.HTML()
        below = widgets.HTML(_cautions())
        super().__init__([widgets.HTML(_STYLE), self.spare, columns, words, below])
        self.add_class("pk-load-room")
        self.follow()
        words.value = self._words_explained()

    def _words_explained(self) -> str:
        checks = () if self.report is None else self.report.checks
        texts = [f"{one.subject}. {one.sentence} {one.rule}" for one in checks]
        return look.page(look.words_table(texts))

    def _noted(self) -> dict[int, str]:
        """What earlier trips say of the lines of the list, by their number."""
        spare, units = not_needed_lines(self.items, self.learnt), self.inputs.household.units
        return {int(row["line"]): not_needed_note(row, units) for row in spare.to_dict("records")}

    def _show_spare(self) -> None:
        spare, units = not_needed_lines(self.items, self.learnt), self.inputs.household.units
        self.spare.value = look.page(not_needed_html(spare, units), units=units)
        self.spare.layout.display = "" if len(spare) else "none"

    def _tell(self, sentence: str) -> None:
        self.said.value = look.page(look.paragraphs([sentence])) if sentence else ""

    def add_thing(self, name: str) -> None:
        """Add a thing to the list; it stays at home until it has a place."""
        items, new = self.items.reset_index(drop=True), len(self.items)
        row = pd.DataFrame({"item": [name], "place": [_HOME], "vehicle": ["home"]})
        added = pd.concat([items, row.reindex(columns=items.columns)], ignore_index=True)
        self.items = _few_enough(added).astype(items.dtypes.to_dict())
        self.lines.append(self._line(new))
        self.left.children = (*self.left.children, _boxed(self.lines[new]))
        self._forget_advice()

    def bring_in(self, items: pd.DataFrame) -> None:
        """Put another loading list in the place of the one that is shown."""
        self.items = _few_enough(items).copy()
        self._notes = self._noted()
        self.lines = [self._line(number) for number in range(len(items))]
        self.left.children = (self._head, *map(_boxed, self.lines))
        self._show_spare()
        self._forget_advice()
        self.follow()

    def _line(self, number: int) -> dict[str, widgets.Widget]:
        row = self.items.iloc[number]
        wide = widgets.Layout(width="98%")
        style = {"description_width": "14em"}
        mass = widgets.Text(
            value="" if pd.isna(row["mass_kg"]) else f"{row['mass_kg']:g}",
            placeholder="not weighed: kg, or 8 lb, 1 st 4 lb",
            description=_title(row),
            description_allow_html=False,
            tooltip="mass of one, in kilograms or with its unit",
            style=style,
            layout=wide,
        )
        spots = list(dict.fromkeys([str(row["place"]), *_places(self.items), *_ELSEWHERE]))
        place = widgets.Dropdown(
            options=spots,
            value=str(row["place"]),
            description="place",
            tooltip=f"where {row['item']} goes",
            style=style,
            layout=wide,
        )
        known = not pd.isna(row["x_m"])
        x = float(row["x_m"]) if known else 0.0
        low, high = self._ends(x)
        spot = widgets.FloatSlider(
            value=x,
            min=low,
            max=high,
            step=_STEP_M,
            description="m before the axle" if known else _NOT_SAID,
            readout_format="+.1f",
            tooltip=f"metres from the axle to {row['item']}, behind it negative",
            style=style,
            layout=wide,
        )
        mass.observe(lambda change: self._set_mass(number, change["new"]), names="value")
        place.observe(lambda change: self._set_place(number, change["new"]), names="value")
        spot.observe(lambda change: self._set_spot(number, change["new"]), names="value")
        spot.layout.display = "" if vehicle_of(str(row["place"])) == "caravan" else "none"
        line: dict[str, widgets.Widget] = {"mass": mass, "place": place, "spot": spot}
        if number in self._notes:
            note = f'<p class="pk-hint">{look.text(self._notes[number])}</p>'
            line["note"] = widgets.HTML(look.page(note, units=self.inputs.household.units))
        return line

    def _ends(self, x_m: float) -> tuple[float, float]:
        """The ends of a slider whose marks go through a place, so that showing it moves nothing."""
        steps = [max(round(abs(end - x_m) / _STEP_M), 1) * _STEP_M for end in self._reach]
        return x_m - steps[0], x_m + steps[1]

    def _put(self, number: int, x_m: float) -> None:
        """Set a line's slider to a place that need not be one of its marks."""
        spot, (low, high) = self.lines[number]["spot"], self._ends(x_m)
        with spot.hold_trait_notifications():
            spot.min, spot.max, spot.value = low, high, x_m

    def _set_mass(self, number: int, words: str) -> None:
        kilograms = _mass_kg(words, self.inputs.household.units)
        if kilograms is None and words.strip():
            self.said.value = look.page(
                look.paragraphs([f"'{words}' is no mass yet: write kilograms, or 8 lb, 1 st 4 lb."])
            )
            return
        self.said.value = ""
        self._change(number, "mass_kg", float("nan") if kilograms is None else kilograms)

    def _set_place(self, number: int, place: str) -> None:
        inside = vehicle_of(place) == "caravan"
        self.lines[number]["spot"].layout.display = "" if inside else "none"
        known = self.items.loc[self.items["place"] == place, "x_m"].median()
        if pd.isna(known) and place == _RACK:
            known = self._rack_m
        self._change(number, "place", place)
        if inside and not pd.isna(known):
            self._put(number, float(known))

    def _set_spot(self, number: int, x_m: float) -> None:
        lies = self.items.iloc[number]["x_m"]
        # A browser sends a slider's value back with an error in the last digits: no move.
        if abs(x_m - (0.0 if pd.isna(lies) else float(lies))) < _STEP_M / 1000:
            return
        self.lines[number]["spot"].description = "m before the axle"
        self._change(number, "x_m", round(x_m, 3))

    def _change(self, number: int, column: str, value: Any) -> None:
        items = self.items.copy()
        items.loc[items.index[number], column] = value
        self.items = items
        self._forget_advice()
        if not self._quiet:
            self.follow()

    @property
    def taken(self) -> pd.DataFrame:
        """The loading list without what stays at home."""
        return self.items[self.items["place"] != _HOME].reset_index(drop=True)

    def follow(self) -> None:
        """Work the figures out again and show them."""
        self.report = self._checked(with_advice=False)
        self.picture.value = look.part(
            self.report.floor or look.paragraphs(["No picture: the caravan's length is missing."])
        )
        self.glance.value = look.part(
            *(
                f"<p>{look.state_html(check.state)} · {look.text(check.subject)}: "
                f"{look.text(check.sentence)}</p>"
                for check in self.report.checks
                if check.subject in _AT_A_GLANCE
            )
        )
        self.figures.value = look.part(
            look.checks_table(self.report.checks, caption="Plates and noseweight")
        )

    def _checked(self, *, with_advice: bool) -> OutfitReport:
        trip, household = self.inputs.trip, self.inputs.household
        taken = with_not_needed(with_totals(self.taken), self.learnt)
        outfit = outfit_of(household, items=taken, on=trip.start, party=trip.party)
        low, high = self.band.value
        return load_checks(
            household,
            outfit,
            items=taken,
            on=trip.start,
            party=trip.party,
            band=(low / 100, high / 100),
            measured_with=self.measured_with,
            with_advice=with_advice,
        )

    def show_advice(self) -> None:
        """The fewest things to move, and how the loadings compare."""
        self.report = self._checked(with_advice=True)
        plan = self.report.plan
        self.advice.value = look.page(load_plan_html(plan) if plan is not None else "")
        self.follow_advice.disabled = not (plan and plan.advice and plan.advice.moves)

    def apply_advice(self) -> None:
        """Move the things as the advice says; a line of which only some pieces move is split."""
        plan = self.report.plan if self.report is not None else None
        if plan is None or plan.advice is None:
            return
        numbers = [n for n, place in enumerate(self.items["place"]) if place != _HOME]
        self._quiet = True
        for move in plan.advice.moves:
            number = numbers[move.row]
            if move.pieces < _quantity(self.items.iloc[number]):
                number = self._split(number, move.pieces)
            line = self.lines[number]
            line["place"].value = _HOME if move.to == "home" else move.to
            if move.to_x_m is not None:
                self._put(number, move.to_x_m)
        self._quiet = False
        self.follow()

    def _split(self, number: int, pieces: int) -> int:
        """Part some pieces of a line into a line of their own, at the end; its number."""
        items, new = self.items.reset_index(drop=True), len(self.items)
        left = _quantity(items.iloc[number]) - pieces
        items = pd.concat([items, items.iloc[[number]]], ignore_index=True)
        items.loc[number, "quantity"], items.loc[new, "quantity"] = left, pieces
        self.items = items
        self.lines[number]["mass"].description = _title(items.iloc[number])
        line = self._line(new)
        self.lines.append(line)
        self.left.children = (*self.left.children, _boxed(line))
        return new

    def _forget_advice(self) -> None:
        self.advice.value = ""
        self.follow_advice.disabled = True

    def save_list(self) -> None:
        """Write what is taken as a loading list in the planning folder."""
        name = Path(self.name.value).name or "items_planned.csv"
        try:
            _lists_only(self.folder / name)
            write_items(self.taken, self.folder / name)
        except PlanFileError as error:
            self.saved.value = look.page(look.paragraphs([str(error)]))
            return
        said = [f'Saved as {name}: name it in household.toml, [loading] items = "{name}".']
        loading = self.inputs.household.loading
        then = loading.noseweight_measured_with or loading.items
        if loading.noseweight_measured_kg is not None and not self.report_is_measured:
            said.append(
                "The noseweight was measured with another load: measure it again and write the new "
                "noseweight_measured_kg."
                + (
                    f' Until then write noseweight_measured_with = "{then}" below it.'
                    if then
                    else ""
                )
            )
        self.saved.value = look.page(look.paragraphs(said))

    @property
    def report_is_measured(self) -> bool:
        """Whether the noseweight shown is the one that was measured."""
        return bool(self.report and self.report.noseweight and self.report.noseweight.measured)


def _boxed(line: dict[str, widgets.Widget]) -> widgets.VBox:
    return widgets.VBox(list(line.values()), layout=_LINE)


def _few_enough(items: pd.DataFrame) -> pd.DataFrame:
    """The list itself, unless it has more lines than a page can show."""
    if len(items) > _MOST_LINES:
        raise PlanFileError(
            f"it has {len(items):,} lines, and up to {_MOST_LINES} can be shown",
            "the loading list",
            "put small things that lie together on one line",
        )
    return items


def _part(name: str, *children: widgets.Widget) -> widgets.VBox:
    """A part of the grid."""
    box = widgets.VBox(list(children), layout=widgets.Layout(min_width="0", overflow="auto"))
    return box.add_class(f"pk-load-{name}")


def _lists_only(path: Path) -> None:
    """Refuse to write over anything that is not a loading list."""
    if path.suffix.lower() != ".csv":
        raise PlanFileError(
            "a loading list is a CSV file", str(path), "let its name end in .csv, as in items.csv"
        )
    if path.exists():
        try:
            read_items(path)
        except PlanFileError as error:
            raise PlanFileError(
                "there is a file of that name, and it is no loading list",
                str(path),
                "choose another name",
            ) from error


def _mass_kg(words: str, units: Units) -> float | None:
    """A mass as typed, in kilograms: a plain number, one with a unit, or the household's way."""
    mass = mass_in_kg(words) if words.strip() else None
    for read in (float, lambda plain: display.read_number(plain, units)):
        if mass is None:
            with contextlib.suppress(ValueError):
                mass = read(words)
    return mass if mass is not None and 0 <= mass <= 2000 else None


def _quantity(row: pd.Series) -> int:
    return 1 if pd.isna(row["quantity"]) else int(row["quantity"])


def _title(row: pd.Series) -> str:
    quantity = row["quantity"]
    many = f"{int(quantity)} × " if not pd.isna(quantity) and quantity != 1 else ""
    whose = row.get("person")
    told = "" if pd.isna(whose) or not str(whose).strip() else f" ({whose})"
    return f"{many}{row['item']}{told}"


def _places(items: pd.DataFrame) -> list[str]:
    return sorted(str(place) for place in set(items["place"]) if str(place) not in _ELSEWHERE)


def _cautions() -> str:
    return look.page(look.cautions(cautions_at("load_caravan")))
