"""An earlier trip with new dates: choose trip and days, press a button, see what conflicts."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets

from planner_kit.diary.new_dates import NewDates
from planner_kit.diary.rerun import earlier_trip, new_dates, rerun_sentences, rerun_trip
from planner_kit.diary.telling import record_sentences
from planner_kit.errors import PlanFileError, PlannerKitError
from planner_kit.sites import read_school_holidays
from planner_kit.trip import display, read_household
from planner_kit.trip.reading import read_trip, resolve_inside
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.dates import day_of
from planner_kit.views.diary import changes_html
from planner_kit.views.record import conflicts_html
from planner_kit.views.start import button, said, told_if_wrong, tried

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.diary.rerun import Rerun

_WEEKDAY, _HOLIDAYS, _OWN = "weekday", "holidays", "own"
_HOW = (
    ("the same weekday, another year", _WEEKDAY),
    ("inside school holidays", _HOLIDAYS),
    ("a day that I choose", _OWN),
)


def _wide() -> dict[str, Any]:
    """Style and a layout of its own for a field: each is shown and hidden by itself."""
    layout = widgets.Layout(width="calc(100% - 4px)", max_width="560px", min_width="0")
    return {"style": {"description_width": "9.5em"}, "layout": layout}


def rerun(
    folder: Path, *, trip: str = "", records: str = "records", planned_on: str = ""
) -> RerunForm:
    """A form that runs an earlier trip of a planning folder with new dates.

    Parameters
    ----------
    folder : Path
        The planning folder.
    trip : str
        The trip file that is chosen at first; the oldest if empty.
    records : str
        The folder of records in it.
    planned_on : str
        The day of planning, ISO 8601; empty for today.

    Returns
    -------
    form : RerunForm
        Show it as the last value of a cell.

    Raises
    ------
    PlanFileError
        If the folder holds no trip file that can be used.
    """
    paths, faults = [], []
    for path in sorted(folder.glob("trip*.toml")):
        try:
            paths.append((read_trip(path).start, path))
        except PlanFileError as error:
            faults.append(error)  # told below the trips; it cannot be run again
    if not paths and faults:
        raise faults[0]
    if not paths:
        raise PlanFileError("it holds no trip file", str(folder), "make one with start_here")
    found = [path for _, path in sorted(paths)]
    told = [f"A trip that is not offered here: {error}" for error in faults]
    return RerunForm(folder, found, trip, records, planned_on, faults=told)


class RerunForm(View):
    """Trip, way of finding the dates, button; below what changed and what conflicts."""

    def __init__(
        self, folder: Path, paths: list[Path], trip: str, records: str, planned_on: str,
        *, faults: Sequence[str] = (),
    ) -> None:  # fmt: skip
        self.folder, self.records, self.planned_on = folder, folder / records, planned_on
        self.units = read_household(folder / "household.toml").units
        options = [(self._named(path), str(path)) for path in paths]
        first = str(folder / trip) if trip else options[0][1]
        if first not in [value for _, value in options]:
            raise PlanFileError("there is no such trip file", first, "name another one")
        self.trip = widgets.Dropdown(description="Trip", options=options, value=first, **_wide())
        self.how = widgets.Dropdown(description="New dates", options=_HOW, **_wide())
        self.year = widgets.BoundedIntText(description="Year", min=1990, max=2200, **_wide())
        self.holidays = widgets.Dropdown(description="Holidays", options=(), **_wide())
        self.day = widgets.DatePicker(description="First day", **_wide())
        self.dates, self.told, self.found = widgets.HTML(), widgets.HTML(), widgets.HTML()
        self.start = button("Plan it with these dates", self.run, main=True)
        self.bar = widgets.IntProgress(
            description="Progress", min=0, max=1, layout=widgets.Layout(
                width="calc(100% - 4px)", max_width="640px", visibility="hidden"
            ),
        )  # fmt: skip
        self.done: Rerun | None = None
        super().__init__(
            [self.trip, *([widgets.HTML(look.page(look.paragraphs(faults)))] if faults else []),
             self.how, self.year, self.holidays, self.day, self.dates, self.start,
             self.bar, self.told, self.found]
        )  # fmt: skip
        self._choose_trip(None)
        self.trip.observe(self._choose_another, names="value")
        for control in (self.how, self.year, self.holidays, self.day):
            control.observe(self._follow, names="value")

    def _named(self, path: Path) -> str:
        trip = read_trip(path)
        return f"{trip.name}, {display.day(trip.start, self.units)} ({path.name})"

    def _choose_trip(self, _change: Any) -> None:
        trip = read_trip(Path(self.trip.value))
        names: list[str] = []
        if trip.files.school_holidays:
            listed = resolve_inside(trip.files.school_holidays, Path(self.trip.value))
            table = read_school_holidays(listed)
            names = [] if table is None else list(dict.fromkeys(table["name"].astype(str)))
        self.holidays.options = [("the nearest to the old dates", ""), *((n, n) for n in names)]
        self.year.value = trip.start.year + 1
        self._follow(None)

    def _choose_another(self, change: Any) -> None:
        told_if_wrong(self.dates, lambda: self._choose_trip(change))

    def _asked(self) -> dict[str, Any]:
        if self.how.value == _OWN:
            if self.day.value is None:
                raise PlanFileError("no day is chosen", "the first day", "choose one")
            return {"start": self.day.value}
        asked: dict[str, Any] = {"year": self.year.value}
        if self.how.value == _HOLIDAYS:
            asked["holidays"] = self.holidays.value
        return asked

    def new_dates(self) -> NewDates:
        """The new dates as the controls stand.

        Raises
        ------
        PlanFileError
            See `planner_kit.diary.rerun.new_dates`.
        """
        return new_dates(earlier_trip(Path(self.trip.value), self.records), **self._asked())

    def _follow(self, _change: Any) -> None:
        shown = {"year": self.how.value != _OWN, "holidays": self.how.value == _HOLIDAYS,
                 "day": self.how.value == _OWN}  # fmt: skip
        for name, visible in shown.items():
            getattr(self, name).layout.display = None if visible else "none"

        def words() -> list[str]:
            nights = read_trip(Path(self.trip.value)).nights
            dates = self.new_dates()
            end = dates.start + dt.timedelta(days=nights)
            return [
                f"{display.day(dates.start, self.units, 'full')} to "
                f"{display.day(end, self.units, 'full')}: {dates.why}."
            ]

        self.start.disabled = not tried(self.dates, words)

    def run(self) -> None:
        """Plan the trip with the new dates and show what changed."""
        self.start.disabled, self.bar.value, self.found.value = True, 0, ""
        self.bar.layout.visibility = "visible"
        try:
            self.done = rerun_trip(
                Path(self.trip.value),
                to=self.records,
                planned_on=day_of(self.planned_on),
                progress=self._tell,
                **self._asked(),
            )
        except PlannerKitError as error:
            self.told.value = said([str(error)], wrong=True)
        else:
            self.bar.value = self.bar.max
            self._show(self.done)
        finally:
            self.start.disabled = False

    def _show(self, found: Rerun) -> None:
        sentences = [] if found.record is None else record_sentences(found.record)
        sentences += [line for line in rerun_sentences(found) if not line.startswith("  ")]
        self.told.value = said(sentences, wrong=found.record is None)
        parts = [conflicts_html(found.conflicts)]
        if found.record is not None and found.record.changes is not None:
            parts.append(changes_html(found.record.changes))
        self.found.value = look.page(*parts, units=self.units)

    def _tell(self, part: str, done: int, cells: int) -> None:
        self.bar.max, self.bar.value = cells, done
        self.told.value = said([f"{part[:1].upper()}{part[1:]} ..."])
