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
        for name in _WORDS:
            if name in roads:
                column = roads[name].astype("category")
                dtype = pd.CategoricalDtype(column.cat.categories.astype(object))
                self._words[name] = column.cat.codes.to_numpy(), dtype
        self._texts = {
            name: pd.array([*dtype.categories, "unknown"], dtype="str")
            for name, (_, dtype) in self._words.items()
        }
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

    def texts(self, name: str, places: NDArray[np.integer]) -> pd.api.extensions.ExtensionArray:
        """The words of a column in some rows as pandas keeps text; see `words`."""
        codes = self._words[name][0][places].astype(np.int64)
        return self._texts[name].take(np.where(codes < 0, len(self._texts[name]) - 1, codes))

    def words(self, name: str, places: NDArray[np.integer]) -> NDArray[np.object_]:
        """The words of a column in some rows; a missing word is ``unknown``."""
        codes, dtype = self._words[name]
        return np.asarray(np.append(dtype.categories.to_numpy(), "unknown")[codes[places]])


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
