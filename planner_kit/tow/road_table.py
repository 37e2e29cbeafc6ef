"""The columns of a region's roads, from which the rows of a route are taken quickly."""

from __future__ import annotations

import weakref
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

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

    Parameters
    ----------
    roads : DataFrame
        The region's roads, or any frame with some of their columns.
    """

    def __init__(self, roads: pd.DataFrame) -> None:
        self._plain: dict[str, NDArray[Any]] = {
            name: roads[name].to_numpy(dtype=np.float64, na_value=np.nan)
            for name in _NUMBERS
            if name in roads
        }
        self._plain |= {name: roads[name].to_numpy() for name in _EXACT if name in roads}
        self._words: dict[str, tuple[NDArray[np.integer], pd.CategoricalDtype]] = {}
        self._spelt: dict[str, NDArray[np.object_]] = {}
        self._hits: dict[tuple[str, tuple[str, ...]], NDArray[np.bool_]] = {}
        for name in _WORDS:
            if name in roads:
                column = roads[name].astype("category")
                dtype = pd.CategoricalDtype(column.cat.categories.astype(object))
                self._words[name] = column.cat.codes.to_numpy(), dtype
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
        return name in self._plain or name in self._words

    def taken(self, name: str, places: NDArray[np.integer]) -> pd.Series:
        """A column in some rows; words are categories."""
        if name in self._plain:
            return pd.Series(self._plain[name][places], copy=False)
        codes, dtype = self._words[name]
        return pd.Series(pd.Categorical.from_codes(codes[places], dtype=dtype, validate=False))

    def values(self, name: str, places: NDArray[np.integer]) -> NDArray[Any]:
        """A column that holds no words, in some rows."""
        return np.asarray(self._plain[name][places])

    def is_word(
        self, name: str, words: tuple[str, ...], places: NDArray[np.integer]
    ) -> NDArray[np.bool_]:
        """Whether a column holds one of some words in some rows; a missing word is none."""
        codes, _ = self._words[name]
        if (name, words) not in self._hits:
            hit = np.isin(self._spelt[name].astype(str), words)
            hit[-1] = False
            self._hits[name, words] = hit
        return np.asarray(self._hits[name, words][codes[places]])

    def words(self, name: str, places: NDArray[np.integer]) -> NDArray[np.object_]:
        """The words of a column in some rows; a missing word is ``unknown``."""
        return np.asarray(self._spelt[name][self._words[name][0][places]])


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

    def __len__(self) -> int:
        return len(self._places)

    def __contains__(self, name: object) -> bool:
        return name in self._table

    def values(self, name: str) -> NDArray[Any]:
        """A column that holds no words, as an array."""
        return self._table.values(name, self._places)

    def numbers(self, name: str) -> NDArray[np.float64]:
        """A column of numbers as float64, NaN where one is missing."""
        return np.asarray(self.values(name), dtype=np.float64)

    def is_word(self, name: str, words: tuple[str, ...]) -> NDArray[np.bool_]:
        """Whether a column holds one of some words; a missing word is none of them."""
        return self._table.is_word(name, words, self._places)

    def __getitem__(self, name: str) -> pd.Series:
        if name not in self._columns:
            self._columns[name] = self._table.taken(name, self._places)
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
