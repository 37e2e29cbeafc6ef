"""Editing the plan of days: pin an outing to its day, leave one out, and see what that pushes."""

from __future__ import annotations

from functools import partial
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets
import pandas as pd
import tomlkit

from planner_kit.errors import PlannerKitError
from planner_kit.outings import plan_stay_days, stay_setting
from planner_kit.trip import display
from planner_kit.trip.editing import edit_trip
from planner_kit.views import look
from planner_kit.views.outing_tables import days_html, left_out_html
from planner_kit.views.resting import WhenAtRest
from planner_kit.views.stays import site_of

if TYPE_CHECKING:
    import datetime as dt

    from planner_kit.outings import DayPlan
    from planner_kit.trip_files import TripFiles

_REST_S = 0.4
# A choice whose value is None shows as empty in the browser.
_NOTHING = ""
_CHOOSE = "Choose a place from the list first."
_CHOOSE_DAY = "Choose a place and a day from the lists first."
_NOW = "The days with these weights"
_BEFORE = "The days follow once the sliders rest; until then these are those of the weights before"
_LOST = (
    "The process that planned the days beside the sliders has ended: they are planned in the "
    "notebook's own now, and a slider may wait a second or two for them."
)


class DayPlanner(widgets.VBox):  # type: ignore[misc]
    """The days of a stay, with lists to pin places, to leave them out and to ask why.

    Parameters
    ----------
    files : TripFiles
    ranking : DataFrame
        From `rank_attractions` on the table of `stay_criteria`.
    number : int
        Which stay of the trip, from 0.
    """

    def __init__(self, files: TripFiles, ranking: pd.DataFrame, number: int) -> None:
        self.files, self.ranking, self.number = files, ranking, number
        dates = files.inputs.trip.stay_dates()[number]
        site = site_of(files, number)
        # Kept: neither an edit nor a slider moves a road or an opening hour.
        self.setting = stay_setting(files.inputs, files.region, site, *dates, ranking=ranking)
        self.later = WhenAtRest(self._work, self._take, self._say_lost, after_s=_REST_S)
        self.pinned: dict[str, dt.date] = {}
        self.nots: set[str] = set()
        self._names: list[tuple[str, object]] | None = None
        wide = widgets.Layout(width="24em")
        self.place = widgets.Dropdown(description="Place", layout=wide)
        self.day = widgets.Dropdown(description="Day", layout=widgets.Layout(width="18em"))
        self.pin = widgets.Button(description="Pin to this day")
        self.leave_out = widgets.Button(description="Not that one")
        self.undo = widgets.Button(description="Undo all edits")
        self.keep = widgets.Button(
            description="Write into the trip",
            tooltip="Writes pins and what is left out into the trip file; its comments stay",
        )
        self.left = widgets.Dropdown(description="Left out", layout=wide)
        self.ask = widgets.Button(description="Why not?")
        self.edits, self.table, self.said = widgets.HTML(), widgets.HTML(), widgets.HTML()
        for button, act in (
            (self.pin, self._pin), (self.leave_out, self._leave_out), (self.undo, self._undo),
            (self.keep, self._keep), (self.ask, self._ask),
        ):  # fmt: skip
            button.layout.width = "auto"
            button.on_click(act)
        wrap = widgets.Layout(flex_flow="row wrap", align_items="center")
        edit = widgets.HBox([self.place, self.day, self.pin, self.leave_out], layout=wrap)
        more = widgets.HBox([self.left, self.ask, self.undo, self.keep], layout=wrap)
        self.heading, self.lost = widgets.HTML(), widgets.HTML()
        super().__init__([self.heading, self.lost, self.table, edit, more, self.edits, self.said])
        self.add_class("pk-days")
        self.show(ranking)

    def show(self, ranking: pd.DataFrame, *, explain: tuple[str, ...] = ()) -> None:
        """Plan anew with another ranking; pins and what is left out stay.

        Parameters
        ----------
        ranking : DataFrame
        explain : tuple of str, optional
            attraction_ids for which it is worked out what they would push out.
        """
        self.ranking = ranking
        self.later.forget()
        self._take(self._work(explain=explain)())

    def follow(self, ranking: pd.DataFrame) -> None:
        """Plan anew with another ranking once no further one comes; until then say so.

        Parameters
        ----------
        ranking : DataFrame
        """
        self.ranking = ranking
        self.heading.value = _heading(_BEFORE)
        self.later.ask()

    def settle(self) -> None:
        """Plan the days now, in the kernel, if they are still to follow."""
        self.later.settle()

    def _work(self, *, explain: tuple[str, ...] = ()) -> partial[DayPlan]:
        return partial(
            plan_stay_days,
            self.setting,
            self.ranking,
            pinned=dict(self.pinned),
            never=tuple(sorted(self.nots)),
            explain=explain,
        )

    def _say_lost(self) -> None:
        self.lost.value = look.page(look.paragraphs([_LOST]))

    def _take(self, plan: DayPlan) -> None:
        self.plan = plan
        self._list_places()
        units = self.files.inputs.household.units
        self.heading.value = _heading(_NOW)
        self.table.value = look.part(
            days_html(plan.days, units, gap_frac=plan.gap_frac, caption=""),
            left_out_html(plan.left_out, most=10),
            units=units,
        )
        self.edits.value = look.part(look.bullets(self._edits())) if self._edits() else ""

    def _list_places(self) -> None:
        if self._names is None:  # of all places, and they do not change
            names = self.ranking[["name", "attraction_id"]].sort_values("name")
            every = [(str(n) or key, key) for n, key in names.itertuples(index=False)]
            self._names = [("choose a place", _NOTHING), *every]
            self.place.options = self._names
            days = sorted(set(self.plan.days["day"]))
            units = self.files.inputs.household.units
            told = [(display.day(day, units, "short"), day) for day in days]
            self.day.options = [("choose a day", _NOTHING), *told]
            self.place.index = self.day.index = 0
        before = self.left.value
        left = self.plan.left_out.head(60)
        self.left.options = [
            ("choose a place", _NOTHING),
            *(
                (str(n) or key, key)
                for n, key in left[["name", "attraction_id"]].itertuples(index=False)
            ),
        ]
        self.left.value = before if before in set(left["attraction_id"]) else _NOTHING

    def _name_of(self, key: str) -> str:
        rows = self.ranking.loc[self.ranking["attraction_id"] == key, "name"]
        return str(rows.iloc[0]) or key

    def _edits(self) -> list[str]:
        units = self.files.inputs.household.units
        pins = [
            f"{self._name_of(key)} is pinned to {display.day(day, units, 'short')}"
            for key, day in self.pinned.items()
        ]
        return [*pins, *(f"{self._name_of(key)} is left out" for key in sorted(self.nots))]

    def _pin(self, _button: Any) -> None:
        if not (self.place.value and self.day.value):
            self._say(_CHOOSE_DAY)
            return
        self.nots.discard(self.place.value)
        self.pinned[self.place.value] = self.day.value
        self._edited()

    def _leave_out(self, _button: Any) -> None:
        if not self.place.value:
            self._say(_CHOOSE)
            return
        self.pinned.pop(self.place.value, None)
        self.nots.add(self.place.value)
        self._edited()

    def _undo(self, _button: Any) -> None:
        self.pinned.clear()
        self.nots.clear()
        self._edited()

    def _edited(self) -> None:
        self.said.value = ""
        self.show(self.ranking)
        reasons = dict(
            zip(self.plan.left_out["attraction_id"], self.plan.left_out["why"], strict=True)
        )
        crowded = [
            f"{self._name_of(key)} is left out although it is pinned: {reasons[key]}"
            for key in self.pinned
            if key in reasons
        ]
        self.said.value = look.page(look.bullets(crowded)) if crowded else ""

    def _ask(self, _button: Any) -> None:
        key = self.left.value
        if not key:
            self._say(_CHOOSE)
            return
        self.show(self.ranking, explain=(key,))
        left = self.plan.left_out
        why = left.loc[left["attraction_id"] == key, "why"]
        found = f"is left out: {why.iloc[0]}" if len(why) else "is in the days now"
        self._say(f"{self._name_of(key)} {found}.")

    def _keep(self, _button: Any) -> None:
        path = self.files.inputs.trip_path

        def change(document: Any) -> None:
            outings = document.setdefault("outings", tomlkit.table())
            pins = outings.setdefault("pinned", tomlkit.inline_table())
            never = outings.setdefault("never", tomlkit.array())
            for key, day in self.pinned.items():
                pins[self._word(key)] = day
            for key in sorted(self.nots):
                pins.pop(self._word(key), None)
                if self._word(key) not in never:
                    never.append(self._word(key))

        try:
            edit_trip(path, change)
            said = f"Written into {path.name}: it holds from the next record on."
        except PlannerKitError as error:
            said = str(error)
        self._say(said)

    def _say(self, sentence: str) -> None:
        self.said.value = look.page(look.paragraphs([sentence]))

    def _word(self, key: str) -> str:
        """What a trip file calls a place: its name, or its id where several have the name."""
        name = self._name_of(key)
        return name if (self.ranking["name"] == name).sum() == 1 else key


def _heading(words: str) -> str:
    return look.part(f'<p role="status"><strong>{look.text(words)}</strong></p>')
