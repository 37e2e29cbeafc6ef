"""Printing a trip's folder: which pages, on which paper, and for the phone."""

from __future__ import annotations

import os
from pathlib import Path

import ipywidgets as widgets
from IPython.display import FileLink

from planner_kit.errors import PlanFileError
from planner_kit.pack import write_html_twin, write_pack
from planner_kit.pack.folder import PAGES
from planner_kit.plan import TripPlan
from planner_kit.views import look
from planner_kit.views.access import View
from planner_kit.views.start import button, tried
from planner_kit.views.stays import plan_of

_WORDS = {
    "cover": "Cover: the trip at a glance",
    "deadlines": "Deadlines and bookings",
    "tow": "Towing days: lists, route card, maps",
    "outfit": "The outfit: plates and loading",
    "pitch": "The pitch: power, water, signals",
    "outings": "Days out, rides and walks",
    "money": "Money",
    "bring": "To buy, to bring and to pack",
    "contacts": "Contacts and emergencies",
    "unknowns": "What is not known",
    "credits": "Where this comes from",
    "words": "Words explained",
    "confirmations": "Confirmations, as you keep them",
}


def print_pages(folder: Path, *, trip: str, planned_on: str = "") -> PagePrinter:
    """A box for each page of a trip's folder.

    Parameters
    ----------
    folder : Path
        The planning folder.
    trip : str
        The trip file in it.
    planned_on : str
        The day from which deadlines are counted, as ISO 8601; today if empty.

    Returns
    -------
    printer : PagePrinter
        Show it as the last value of a cell.

    Raises
    ------
    PlanFileError
        If a file cannot be used.
    """
    plan = plan_of(folder, trip, planned_on)
    return PagePrinter(plan, folder)


class PagePrinter(View):
    """Boxes for the pages, the paper, and a button that writes the folder."""

    def __init__(self, plan: TripPlan, folder: Path) -> None:
        self.plan, self.folder = plan, folder
        self.boxes = {
            page: widgets.Checkbox(
                value=True,
                description=_WORDS[page],
                indent=False,
                layout=widgets.Layout(width="auto"),
            )
            for page in PAGES
        }
        self.paper = widgets.Dropdown(
            options=(("A4", "A4"), ("US Letter", "Letter")),
            value=plan.files.inputs.household.units.paper,
            description="Paper",
        )
        self.phone = widgets.Checkbox(
            value=True,
            description="the same pages as one file for the phone",
            indent=False,
            layout=widgets.Layout(width="auto"),
        )
        self.told, self.links = widgets.HTML(), widgets.Output()
        pages = widgets.GridBox(
            list(self.boxes.values()),
            layout=widgets.Layout(grid_template_columns="repeat(auto-fill, minmax(290px, 1fr))"),
        )
        super().__init__(
            [
                widgets.HTML(look.page("<strong>Which pages?</strong>")),
                pages,
                widgets.HBox(
                    [
                        button("All pages", lambda: self.set_all(True)),
                        button("No page", lambda: self.set_all(False)),
                    ]
                ),
                self.paper,
                self.phone,
                button("Write the folder", self.write, main=True),
                self.told,
                self.links,
            ]
        )

    def set_all(self, chosen: bool) -> None:
        """Choose every page, or none."""
        for box in self.boxes.values():
            box.value = chosen

    def write(self) -> None:
        """Write the pages chosen into the planning folder."""

        def written() -> list[str]:
            pages = [page for page, box in self.boxes.items() if box.value]
            if not pages:
                raise PlanFileError("no page is chosen", "the boxes", "choose one")
            paths = [write_pack(self.plan, self.folder, pages=pages, paper=self.paper.value)]
            if self.phone.value:
                paths.append(write_html_twin(self.plan, self.folder, pages=pages))
            self.links.outputs = ()
            for path in paths:
                self.links.append_display_data(FileLink(os.path.relpath(path)))
            return [f"{len(pages)} of {len(self.boxes)} parts written to {paths[0].parent}."]

        tried(self.told, written)
