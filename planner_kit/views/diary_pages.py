"""Search in the diary, the photos of a trip, and the diary as one book or as tables."""

from __future__ import annotations

import html
from pathlib import Path
from typing import TYPE_CHECKING, Any

import ipywidgets as widgets

from planner_kit.diary import read_facts, read_index
from planner_kit.diary.book import photo_paths, small_photo, write_book, write_tables
from planner_kit.diary.history import one_for_each_trip, search_records
from planner_kit.diary.telling import region_of
from planner_kit.trip import read_household
from planner_kit.views import look
from planner_kit.views.start import button, tried

if TYPE_CHECKING:
    import pandas as pd

_FOUND = {"name": "Trip", "start": "From", "where": "What", "text": "Text", "record": "Folder"}
_MOST_FOUND, _MOST_PHOTOS = 50, 24
_STYLE = {"description_width": "9.5em"}
_WIDE = widgets.Layout(width="100%", max_width="560px", min_width="0")


def diary_pages(
    folder: Path, *, records: str = "records", household: str = "household.toml"
) -> DiaryPages:
    """Search, photos and export of a diary.

    Parameters
    ----------
    folder : Path
        The planning folder; the book and the tables are written into it.
    records : str
        The folder of records in it; it may be empty.
    household : str
        The household file in it.

    Returns
    -------
    pages : DiaryPages
        Show it as the last value of a cell.

    Raises
    ------
    PlanFileError
        If the household cannot be used.
    """
    read_household(folder / household)
    return DiaryPages(folder, records, household)


class DiaryPages(widgets.VBox):  # type: ignore[misc]
    """A field to search, a choice of trips whose photos are shown, and two buttons."""

    def __init__(self, folder: Path, records: str, household: str) -> None:
        self.folder, self.records = folder, folder / records
        self.household = folder / household
        trips = one_for_each_trip(read_index(self.records))
        self.words = widgets.Text(
            description="Search", placeholder="words that all stand there",
            continuous_update=False, style=_STYLE, layout=_WIDE,
        )  # fmt: skip
        self.found = widgets.HTML()
        self.trip = widgets.Dropdown(
            description="Photos of",
            options=[("choose a trip", ""), *_options(trips)],
            style=_STYLE,
            layout=_WIDE,
        )
        self.photos, self.told = widgets.HTML(), widgets.HTML()
        self.book = button("Write the book (diary.html)", self.write_book)
        self.tables = button("Write the tables (CSV)", self.write_tables)
        super().__init__(
            [self.words, self.found, self.trip, self.photos,
             widgets.HBox([self.book, self.tables], layout=widgets.Layout(flex_flow="row wrap")),
             self.told]
        )  # fmt: skip
        self.words.observe(self._search, names="value")
        self.trip.observe(self._show_photos, names="value")

    def _search(self, _change: Any) -> None:
        found = search_records(self.records, self.words.value)
        count = f"{len(found)} place{'' if len(found) == 1 else 's'} found."
        if len(found) > _MOST_FOUND:
            count += f" The newest {_MOST_FOUND} are shown."
        table = look.table(found.head(_MOST_FOUND), _FOUND) if len(found) else ""
        told = f'<div role="status">{look.paragraphs([count])}</div>'
        self.found.value = look.page(told, table) if self.words.value.strip() else ""

    def _show_photos(self, _change: Any) -> None:
        if not self.trip.value:
            self.photos.value = ""
            return
        facts = read_facts(Path(self.trip.value) / "facts.json")
        paths, missing = photo_paths(facts["photos"], self.household)
        pictures = [(path.name, small_photo(path)) for path in paths[:_MOST_PHOTOS]]
        shown = "".join(
            f'<figure style="display:inline-block;margin:6px;max-width:280px">'
            f'<img src="{data}" alt="Photo {html.escape(name, quote=True)}" '
            f'style="max-width:100%;height:auto"><figcaption>{html.escape(name)}</figcaption>'
            "</figure>"
            for name, data in pictures
            if data is not None
        )
        words = missing or ([] if shown else ["This trip names no photos: write their paths under "
                                              "photos in its [actuals]."])  # fmt: skip
        self.photos.value = look.page(shown, look.paragraphs(words))

    def write_book(self) -> None:
        """Write all trips as ``diary.html`` into the planning folder."""

        def written() -> list[str]:
            path = write_book(
                self.records, self.folder / "diary.html",
                units=read_household(self.household).units, region=region_of(self.folder),
                photos_beside=self.household,
            )  # fmt: skip
            return [f"The book lies in {path}; it needs no other file."]

        tried(self.told, written)

    def write_tables(self) -> None:
        """Write trips, years and figures as CSV into ``diary-tables``."""
        tried(
            self.told,
            lambda: [
                f"Written: {path}"
                for path in write_tables(self.records, self.folder / "diary-tables")
            ],
        )


def _options(trips: pd.DataFrame) -> list[tuple[str, str]]:
    rows = trips.iloc[::-1].to_dict("records")
    return [(f"{row['start']}  {row['name']}", str(row["folder"])) for row in rows]
