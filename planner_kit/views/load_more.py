"""Adding a thing to a loading list in a notebook, and bringing in a whole list as CSV."""

from __future__ import annotations

import tempfile
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets

from planner_kit.errors import PlanFileError
from planner_kit.outfit import read_items

if TYPE_CHECKING:
    from collections.abc import Callable

    import pandas as pd


def uploaded_items(name: str, content: bytes) -> pd.DataFrame:
    """The loading list in a file that was handed over in the browser.

    Parameters
    ----------
    name : str
        What the file was called.
    content : bytes

    Returns
    -------
    items : DataFrame
        As from `read_items`.

    Raises
    ------
    PlanFileError
        If it is no loading list; the sentence names the file as the person knows it.
    """
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / (Path(name).name or "list.csv")
        path.write_bytes(content)
        try:
            return read_items(path)
        except PlanFileError as error:
            where = error.where.replace(str(path), path.name)
            raise PlanFileError(error.what, where, error.remedy) from error


class MoreThings(widgets.VBox):  # type: ignore[misc]
    """A name and a button to add a thing; a button to bring in a list.

    Parameters
    ----------
    add : callable of str
        Called with the name of a thing.
    bring : callable of DataFrame
        Called with a list that could be read.
    tell : callable of str
        Called with a sentence when something is wrong, and with an empty one when it is not.
    """

    def __init__(
        self,
        add: Callable[[str], None],
        bring: Callable[[pd.DataFrame], None],
        tell: Callable[[str], None],
    ) -> None:
        self._add, self._bring, self._tell = add, bring, tell
        self.name = widgets.Text(
            description="Another thing",
            placeholder="what it is",
            style={"description_width": "14em"},
            layout=widgets.Layout(width="98%"),
        )
        self.button = widgets.Button(description="Add it", layout=widgets.Layout(width="auto"))
        self.upload = widgets.FileUpload(
            accept=".csv",
            multiple=False,
            description="Bring in a list (CSV)",
            layout=widgets.Layout(width="auto"),
        )
        self.button.on_click(lambda _: self.add())
        self.upload.observe(lambda change: self._came(change["new"]), names="value")
        buttons = widgets.HBox(
            [self.button, self.upload], layout=widgets.Layout(flex_flow="row wrap")
        )
        super().__init__([self.name, buttons], layout=widgets.Layout(flex="0 0 auto"))

    def add(self) -> None:
        """Add the thing whose name was written."""
        name = self.name.value.strip()[:200]
        if not name:
            self._tell("Write what it is first.")
            return
        self.name.value = ""
        self._tell("")
        self._add(name)

    def _came(self, files: Any) -> None:
        for file in files:
            try:
                items = uploaded_items(str(file["name"]), bytes(file["content"]))
                self._bring(items)
            except PlanFileError as error:
                self._tell(str(error))
            else:
                self._tell(f"{file['name']} is brought in; save it to keep it.")
