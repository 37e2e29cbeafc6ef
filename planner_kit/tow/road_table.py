"""The columns of a region's roads, from which the rows of a route are taken quickly."""

from __future__ import annotations

import weakref
from functools import cached_property
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely

if TYPE_CHECKING:
    from numpy.typing import NDArray

# What a route and the checks on it look at.
_NUMBERS = (
    "length_m", "bend_radius_m", "width_m", "gradient_pct", "steepest_up_pct",
    "steepest_down_pct", "gradient_error_pct", "maxheight_m", "maxwidth_m", "maxlength_m",
    "maxweight_t", "maxaxleload_t", "passing_places",
)  # fmt: skip
_EXACT = ("osm_way_id", "from_node", "to_node", "oneway", "roundabout", "dual", "bridge", "tunnel",
          "toll", "ford")  # fmt: skip
_WORDS = (
    "name", "ref", "road_class", "width_source", "gradient_source", "motor_access",
    "unread_limits", "country", "surface", "smoothness", "signs_forward", "signs_backward",
)  # fmt: skip


class RoadTable:
    """Columns of a road table as plain arrays; words as numbers with the words they stand for.

    Numbers, codes of words, and yes and no lie road by road: what a route asks of one road is then
    read from memory at once, which on a large region is most of the time.

    Parameters
    ----------
    roads : DataFrame
        The region's roads, or any frame with some of their columns.
    """

    def __init__(self, roads: pd.DataFrame) -> None:
        numbers = [name for name in _NUMBERS if name in roads]
        self._number_at = {name: place for place, name in enumerate(numbers)}
        self._numbers = np.empty((len(roads), len(numbers)))
        for name, place in self._number_at.items():
            self._numbers[:, place] = roads[name].to_numpy(dtype=np.float64, na_value=np.nan)
        self._exact = {name: roads[name].to_numpy() for name in _EXACT if name in roads}
        small = [name for name, column in self._exact.items() if column.dtype.itemsize == 1]
        self._small_at = {
            name: (place, self._exact[name].dtype) for place, name in enumerate(small)
        }
        self._small = np.empty((len(roads), len(small)), dtype=np.int8)
        for name, (place, _) in self._small_at.items():
            self._small[:, place] = self._exact.pop(name).view(np.int8)
        words = [name for name in _WORDS if name in roads]
        self._word_at = {name: place for place, name in enumerate(words)}
        self._codes = np.empty((len(roads), len(words)), dtype=np.int32)
        self._kinds: dict[str, pd.CategoricalDtype] = {}
        self._spelt: dict[str, NDArray[np.object_]] = {}
        self._hits: dict[tuple[str, tuple[str, ...]], NDArray[np.bool_]] = {}
        for name, place in self._word_at.items():
            column = roads[name].astype("category")
            dtype = pd.CategoricalDtype(column.cat.categories.astype(object))
            self._codes[:, place], self._kinds[name] = column.cat.codes, dtype
            spelt = np.append(dtype.categories.to_numpy(object), "unknown")
            self._spelt[name] = spelt.astype(object)
        self.lines = np.asarray(roads["geometry"].array, dtype=object)
        self._last = b"", RoadRows(self, np.zeros(0, dtype=np.int64))

    def rows(self, places: NDArray[np.integer]) -> RoadRows:
        """Some rows, in the order given; they are kept for whoever asks for the same ones next."""
        key = np.asarray(places, dtype=np.int64).tobytes()
        last = self._last
        if last[0] != key:
            last = self._last = key, RoadRows(self, places)
        return last[1]

    def __contains__(self, name: object) -> bool:
        tables = self._number_at, self._small_at, self._exact, self._word_at
        return any(name in table for table in tables)

    @cached_property
    def points(self) -> tuple[NDArray[np.float64], NDArray[np.int64]]:
        """The points of all lines one after the other, and where each line begins in them."""
        points, owner = shapely.get_coordinates(self.lines, return_index=True)
        sizes = np.bincount(owner, minlength=len(self.lines))
        return points, np.concatenate([[0], np.cumsum(sizes)])

    def words(self, name: str, places: NDArray[np.integer]) -> NDArray[np.object_]:
        """The words of a column in some rows; a missing word is ``unknown``."""
        return self.rows(places).words(name)

    def numbers_of(self, places: NDArray[np.integer]) -> NDArray[np.float64]:
        """All columns of numbers in some rows, one row for each."""
        return np.asarray(self._numbers[places])

    def codes_of(self, places: NDArray[np.integer]) -> NDArray[np.int32]:
        """The codes of all columns of words in some rows, one row for each."""
        return np.asarray(self._codes[places])

    def number_at(self, name: str) -> int | None:
        """Which of the columns of numbers a column is; None where it is none of them."""
        return self._number_at.get(name)

    def small_of(self, places: NDArray[np.integer]) -> NDArray[np.int8]:
        """All columns of one byte in some rows, one row for each."""
        return np.asarray(self._small[places])

    def small_at(self, name: str) -> tuple[int, np.dtype[Any]] | None:
        """Which of the columns of one byte a column is, and its type; None where it is none."""
        return self._small_at.get(name)

    def exact(self, name: str, places: NDArray[np.integer]) -> NDArray[Any]:
        """A column of whole numbers in some rows."""
        return np.asarray(self._exact[name][places])

    def word_at(self, name: str) -> int:
        """Which of the columns of words a column is."""
        return self._word_at[name]

    def spelt(self, name: str) -> NDArray[np.object_]:
        """The word that each code of a column stands for; the last, for -1, is ``unknown``."""
        return self._spelt[name]

    def kinds(self, name: str) -> pd.CategoricalDtype:
        """The words of a column as pandas keeps them."""
        return self._kinds[name]

    def hits(self, name: str, words: tuple[str, ...]) -> NDArray[np.bool_]:
        """For each code of a column, whether it stands for one of some words."""
        if (name, words) not in self._hits:
            hit = np.isin(self._spelt[name].astype(str), words)
            hit[-1] = False
            self._hits[name, words] = hit
        return self._hits[name, words]


class RoadRows:
    """Some rows of a road table, column by column as they are asked for: ``rows["width_m"]``.

    Parameters
    ----------
    table : RoadTable
    places : ndarray of int
        Which rows, in order.
    """

    def __init__(self, table: RoadTable, places: NDArray[np.integer]) -> None:
        self._table, self._places = table, places
        self._columns: dict[str, pd.Series] = {}

    @cached_property
    def _numbers(self) -> NDArray[np.float64]:
        return self._table.numbers_of(self._places)

    @cached_property
    def _small(self) -> NDArray[np.int8]:
        return self._table.small_of(self._places)

    @cached_property
    def _codes(self) -> NDArray[np.int32]:
        return self._table.codes_of(self._places)

    def __len__(self) -> int:
        return len(self._places)

    def __contains__(self, name: object) -> bool:
        return name in self._table

    def values(self, name: str) -> NDArray[Any]:
        """A column that holds no words, as an array."""
        at, small = self._table.number_at(name), self._table.small_at(name)
        if at is not None:
            return np.ascontiguousarray(self._numbers[:, at])
        if small is not None:
            return np.ascontiguousarray(self._small[:, small[0]]).view(small[1])
        return self._table.exact(name, self._places)

    def numbers(self, name: str) -> NDArray[np.float64]:
        """A column of numbers as float64, NaN where one is missing."""
        return np.asarray(self.values(name), dtype=np.float64)

    def is_word(self, name: str, words: tuple[str, ...]) -> NDArray[np.bool_]:
        """Whether a column holds one of some words; a missing word is none of them."""
        return np.asarray(self._table.hits(name, words)[self._codes_of(name)])

    def words(self, name: str) -> NDArray[np.object_]:
        """The words of a column; a missing word is ``unknown``."""
        return np.asarray(self._table.spelt(name)[self._codes_of(name)])

    def _codes_of(self, name: str) -> NDArray[np.int32]:
        return np.ascontiguousarray(self._codes[:, self._table.word_at(name)])

    def __getitem__(self, name: str) -> pd.Series:
        if name not in self._columns:
            if name in _WORDS:
                kinds = self._table.kinds(name)
                words = pd.Categorical.from_codes(self._codes_of(name), dtype=kinds, validate=False)
                self._columns[name] = pd.Series(words)
            else:
                self._columns[name] = pd.Series(self.values(name), copy=False)
        return self._columns[name]


_TABLES: dict[int, tuple[weakref.ref[pd.DataFrame], RoadTable]] = {}


def road_table(roads: pd.DataFrame) -> RoadTable:
    """The columns of a road table; made at first use and kept while the table lives."""
    number = id(roads)
    kept = _TABLES.get(number)
    if kept is None or kept[0]() is not roads:
        gone = weakref.ref(roads, lambda _: _TABLES.pop(number, None))
        kept = _TABLES[number] = gone, RoadTable(roads)
    return kept[1]
