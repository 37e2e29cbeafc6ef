"""A list of small forms below each other, with a button for one more."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import ipywidgets as widgets

from planner_kit.views import look
from planner_kit.views.forms import Asked, Form
from planner_kit.views.start import button

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner_kit.trip.household import Units


class Rows(widgets.VBox):  # type: ignore[misc]
    """One form for each row; rows that are left empty do not count."""

    def __init__(
        self, title: str, asked: Sequence[Asked], units: Units, *, one: str = "one more",
        choice_counts: bool = False, label_em: int = 0,
    ) -> None:  # fmt: skip
        self.title, self.asked, self.units = title, tuple(asked), units
        self.choice_counts, self.label_em = choice_counts, label_em
        self.forms: list[Form] = []
        self.box = widgets.VBox()
        self.more = button(f"Add {one}", self._add_one)
        head = widgets.HTML(look.page(f"<h3>{look.text(title)}</h3>"))
        super().__init__([head, self.box, self.more])

    def add(self) -> Form:
        """Another empty row."""
        form = Form(self.asked, self.units, label_em=self.label_em)
        take_out = button("Take this one out", lambda: self._remove(form))
        form.children = (*form.children, take_out)
        form.layout.border_left = "3px solid #7F7F7F"
        form.layout.padding = "0 0 0 8px"
        form.layout.margin = "0 0 10px 0"
        self.forms.append(form)
        self.box.children = tuple(self.forms)
        return form

    def _add_one(self) -> None:
        self.add()

    def _remove(self, form: Form) -> None:
        self.forms.remove(form)
        self.box.children = tuple(self.forms)

    def show(self, rows: Sequence[Mapping[str, Any]]) -> None:
        """Fill one form for each row."""
        self.forms = []
        self.box.children = ()
        for row in rows:
            self.add().show(row)

    def values(self) -> list[dict[str, Any]]:
        """What each row says; one of which only choices are set is left out, unless they count.

        Raises
        ------
        PlanFileError
            If a field that wants a number holds none.
        """
        found = []
        for form in self.forms:
            told = {str(keys[-1]): value for keys, value in form.values().items()}
            typed = [told[str(a.keys[-1])] for a in self.asked if a.kind != "choice"]
            if self.choice_counts or any(value is not None for value in typed):
                found.append({key: value for key, value in told.items() if value is not None})
        return found
