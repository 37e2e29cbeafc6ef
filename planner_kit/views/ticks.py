"""A list of things with a box to tick beside each."""

from __future__ import annotations

from typing import TYPE_CHECKING

import ipywidgets as widgets

from planner_kit.views import look

if TYPE_CHECKING:
    from collections.abc import Iterable


class Ticks(widgets.VBox):  # type: ignore[misc]
    """Boxes in columns below a heading; those ticked are its value."""

    def __init__(self, title: str, options: Iterable[str], *, empty: str) -> None:
        self.box = widgets.Box(
            layout=widgets.Layout(flex_flow="row wrap", max_width="960px", overflow="visible")
        )
        self.none = widgets.HTML(look.page(look.paragraphs([empty])))
        head = widgets.HTML(look.page(f"<h3>{look.text(title)}</h3>"))
        super().__init__([head, self.box, self.none])
        self._turn: dict[str, int] = {}
        self.options = list(options)

    @property
    def options(self) -> list[str]:
        """What there is to tick."""
        return [str(box.description) for box in self.box.children]

    @options.setter
    def options(self, names: Iterable[str]) -> None:
        ticked = set(self.value)
        self.box.children = tuple(
            widgets.Checkbox(
                value=name in ticked, description=name, indent=False,
                layout=widgets.Layout(width="300px", max_width="100%"),
            )
            for name in dict.fromkeys(names)
        )  # fmt: skip
        self.none.layout.display = "none" if self.box.children else ""

    @property
    def value(self) -> tuple[str, ...]:
        """What is ticked: in the order in which it was set, then in that of the list."""
        ticked = [str(box.description) for box in self.box.children if box.value]
        return tuple(sorted(ticked, key=lambda name: self._turn.get(name, len(self._turn))))

    @value.setter
    def value(self, names: Iterable[str]) -> None:
        self._turn = {name: turn for turn, name in enumerate(dict.fromkeys(names))}
        ticked = set(self._turn)
        for box in self.box.children:
            box.value = box.description in ticked
