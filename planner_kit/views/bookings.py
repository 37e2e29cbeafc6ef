"""Bookings as they stand, and a confirmation whose figures are taken one by one."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import ipywidgets as widgets
from IPython.display import HTML

from planner_kit.diary import files_with_lessons
from planner_kit.errors import PlannerKitError
from planner_kit.sites.confirmation import booking_values, read_confirmation
from planner_kit.sites.ledger import bookings_on
from planner_kit.trip.editing import set_booking
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.dates import day_of
from planner_kit.views.site_tables import ledger_html


def show_bookings(folder: Path, *, trip: str, planned_on: str = "") -> HTML:
    """The bookings of this trip and the others beside it, as they stand on a day."""
    files, on = files_with_lessons(folder / trip), day_of(planned_on)
    names = {str(site_id): str(name) for site_id, name in files.sites["name"].items()}
    units = files.inputs.household.units
    ledger = bookings_on((files.inputs.trip, *files.others), names, units.currency, on)
    table = ledger_html(ledger, f"Bookings on {on}")
    return HTML(look.page(table, look.bullets(files.other_faults), units=units))


def take_confirmation(folder: Path, *, trip: str, pdf: str = "", stay: int = 1) -> widgets.Widget:
    """What a confirmation seems to say, to be ticked one by one; nothing is taken unticked."""
    if not pdf:
        words = "No confirmation is named in the parameters, so nothing is read."
        return widgets.HTML(look.page(look.paragraphs([words])))
    return ConfirmationForm(folder / trip, folder / pdf, stay)


class ConfirmationForm(View):
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
