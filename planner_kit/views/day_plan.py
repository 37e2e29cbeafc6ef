"""Editing the plan of days: pin an outing to its day, leave one out, and see what that pushes."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as widgets
import pandas as pd

from planner_kit.outings import drives_between, plan_stay_days
from planner_kit.views import look

if TYPE_CHECKING:
    import datetime as dt

    from planner_kit.plan import TripFiles

_COLUMNS = {
    "day": "Day", "what": "What", "name": "Where", "start": "Set out", "arrive": "Arrive",
    "leave": "Leave", "end": "Back or on", "drive_min": "Minutes at the wheel", "why": "Why",
}  # fmt: skip


class DayPlanner(widgets.VBox):  # type: ignore[misc]
    """The days of a stay, with a list to pin places and one to leave places out.

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
        self.between = drives_between(files.region, ranking)  # kept: an edit moves no road
        self.pinned: dict[str, dt.date] = {}
        self.nots: set[str] = set()
        wide = widgets.Layout(width="22em")
        self.place = widgets.Dropdown(description="Place", layout=wide)
        self.day = widgets.Dropdown(description="Day", layout=wide)
        self.pin = widgets.Button(description="Pin to this day")
        self.leave_out = widgets.Button(description="Not that one")
        self.undo = widgets.Button(description="Undo all edits")
        self.table = widgets.HTML()
        self.pin.on_click(self._pin)
        self.leave_out.on_click(self._leave_out)
        self.undo.on_click(self._undo)
        edit = widgets.HBox(
            [self.place, self.day, self.pin, self.leave_out, self.undo],
            layout=widgets.Layout(flex_flow="row wrap"),
        )
        super().__init__([edit, self.table])
        self.show(ranking)

    def show(self, ranking: pd.DataFrame) -> None:
        """Plan anew with another ranking; pins and what is left out stay."""
        self.ranking = ranking
        site: pd.Series = self.files.sites.loc[self.files.inputs.trip.stays[self.number].site]  # type: ignore[assignment]
        self.plan = plan_stay_days(
            self.files.inputs,
            self.files.region,
            site,
            *self.files.inputs.trip.stay_dates()[self.number],
            ranking=ranking,
            between=self.between,
            pinned=self.pinned,
            never=tuple(self.nots),
        )
        names = ranking[["name", "attraction_id"]].sort_values("name")
        self.place.options = [(n or key, key) for n, key in names.itertuples(index=False)]
        days = sorted(set(self.plan.days["day"]))
        self.day.options = [(f"{day:%a} {day.day} {day:%b}", day) for day in days]
        self.table.value = self._html()

    def _html(self) -> str:
        days = self.plan.days.copy()
        for name in ("start", "arrive", "leave", "end"):
            days[name] = days[name].dt.strftime("%H:%M").fillna("")
        days["drive_min"] = days["drive_min"].round()
        gap = self.plan.gap_frac
        how = (
            "No other plan of these places is worth more."
            if gap < 1e-6
            else f"At most {100 * gap:.0f} % below the best there can be."
        )
        return look.page(
            look.table(days, _COLUMNS, caption="The days"),
            look.paragraphs([how]),
            look.table(
                self.plan.left_out.head(15),
                {"name": "Left out", "why": "Why"},
                caption="What was left out, best first",
            ),
        )

    def _pin(self, _button: Any) -> None:
        if self.place.value is not None and self.day.value is not None:
            self.nots.discard(self.place.value)
            self.pinned[self.place.value] = self.day.value
            self.show(self.ranking)

    def _leave_out(self, _button: Any) -> None:
        if self.place.value is not None:
            self.pinned.pop(self.place.value, None)
            self.nots.add(self.place.value)
            self.show(self.ranking)

    def _undo(self, _button: Any) -> None:
        self.pinned.clear()
        self.nots.clear()
        self.show(self.ranking)
