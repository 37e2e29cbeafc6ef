"""Forms for the files that people write: a labelled field for each key."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, Literal

import ipywidgets as widgets

from planner_kit.errors import PlanFileError
from planner_kit.trip import display
from planner_kit.views import look

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner_kit.trip.filling import Keys
    from planner_kit.trip.household import Units

Kind = Literal["text", "number", "whole", "money", "choice", "yes_no", "date"]
NOT_KNOWN = "not known"
_NUMBERS = ("number", "whole", "money")
# The width of the labels, and how much of it a letter takes at the most.
_LABEL_EM, _LETTER_EM, _MOST_EM = 13, 0.54, 26


@dataclass(frozen=True)
class Asked:
    """A field of a form.

    Attributes
    ----------
    keys : tuple of str
        Where its value stands in the file.
    label : str
        With the unit, where it has one.
    kind : str
        ``text``, ``number``, ``whole``, ``money``, ``choice``, ``yes_no`` or ``date``.
    hint : str
        Where a person finds it, or what it is for; shown below the field.
    choices : tuple of (str, value)
        Words and values of a ``choice``.
    """

    keys: Keys
    label: str
    kind: Kind = "text"
    hint: str = ""
    choices: tuple[tuple[str, Any], ...] = ()


class Form(widgets.VBox):  # type: ignore[misc]
    """Fields below each other; an empty one means that the figure is not known."""

    def __init__(self, asked: Sequence[Asked], units: Units, *, label_em: int = 0) -> None:
        self.asked, self.units = asked, units
        label_em = label_em or label_width_em(asked)
        self.fields = {field.keys: _field(field, label_em) for field in asked}
        rows: list[Any] = []
        for field in asked:
            rows.append(self.fields[field.keys])
            if field.hint:
                place = f' style="--pk-label: {label_em}em"' if label_em > _LABEL_EM else ""
                hint = f'<p class="pk-hint"{place}>{field.hint}</p>'
                rows.append(widgets.HTML(look.page(hint)))
        super().__init__(rows, layout=widgets.Layout(max_width="640px"))
        self.add_class("pk-form")

    def show(self, content: Mapping[str, Any]) -> None:
        """Fill the fields from the tables of a file; what is not there stays empty."""
        for field in self.asked:
            self.fields[field.keys].value = _shown(field, _at(content, field.keys), self.units)

    def put(self, keys: Keys, value: Any) -> None:
        """Set one field."""
        field = next(field for field in self.asked if field.keys == keys)
        self.fields[keys].value = _shown(field, value, self.units)

    def values(self) -> dict[Keys, Any]:
        """What the fields say, None where one is empty.

        Raises
        ------
        PlanFileError
            If a field that wants a number holds none; the sentence names the field.
        """
        return {field.keys: self._read(field) for field in self.asked}

    def use(self, units: Units) -> None:
        """Write and read numbers in another way from now on; those shown are written anew."""
        before, self.units = self.units, units
        for field in self.asked:
            held = self.fields[field.keys]
            if field.kind in ("number", "whole") and held.value.strip():
                try:
                    figure = display.read_number(held.value, before)
                except ValueError:
                    continue  # what is no number stays as it was typed, and is told when read
                held.value = display.plain_number(figure, units)

    def _read(self, field: Asked) -> Any:
        value = self.fields[field.keys].value
        if isinstance(value, str):
            value = value.strip()
        if value in ("", None):
            return None
        if field.kind in _NUMBERS:
            try:
                figure = display.read_number(value, self.units)
            except ValueError:
                figure = math.nan
            if not math.isfinite(figure):
                like = display.plain_number(1520.5, self.units)
                raise PlanFileError(
                    f"'{value}' is no number",
                    f"the field '{field.label}'",
                    f"write it without words or units, such as {like}",
                )
            return round(figure) if field.kind == "whole" else figure
        return value


def label_width_em(asked: Sequence[Asked]) -> int:
    """Room for the longest label, so that none is cut; the usual width where that does.

    Forms that stand below each other are given the widest of theirs, so that their fields do too.
    """
    longest = max((len(field.label) for field in asked), default=0)
    return min(max(_LABEL_EM, math.ceil(longest * _LETTER_EM + 1)), _MOST_EM)


def _field(field: Asked, label_em: int) -> widgets.Widget:
    common = {
        "description": field.label,
        "style": {"description_width": f"min({label_em}em, 60%)"},
        "layout": widgets.Layout(width="98%", min_width="0"),
    }
    if field.kind == "choice":
        return widgets.Dropdown(options=[(w, _held(v)) for w, v in field.choices], **common)
    if field.kind == "yes_no":
        return widgets.Dropdown(options=((NOT_KNOWN, ""), ("yes", True), ("no", False)), **common)
    if field.kind == "date":
        return widgets.DatePicker(**common)
    number = field.kind in _NUMBERS
    return widgets.Text(placeholder=NOT_KNOWN if number else "", **common)


def _held(value: Any) -> Any:
    """A choice's value in its field, where None would show as an empty one."""
    return "" if value is None else value


def _shown(field: Asked, value: Any, units: Units) -> Any:
    if field.kind in _NUMBERS:
        pennies = field.kind == "money"
        return "" if value is None else display.plain_number(float(value), units, pennies=pennies)
    if field.kind == "choice":
        known = [_held(choice) for _, choice in field.choices]
        return _held(value) if _held(value) in known else known[0]
    if field.kind == "yes_no":
        return _held(value)
    if field.kind == "text":
        return "" if value is None else str(value)
    return value


def _at(content: Mapping[str, Any], keys: Keys) -> Any:
    here: Any = content
    for key in keys:
        try:
            here = here[key]
        except (KeyError, IndexError, TypeError):
            return None
    return here
