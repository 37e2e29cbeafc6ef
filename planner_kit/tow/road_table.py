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
        self.lines = np.asarray(roads["geometry"].array, dtype=object)
        self._last: tuple[bytes, pd.DataFrame] = b"", self._taken(np.zeros(0, dtype=np.int64))

    def rows(self, places: NDArray[np.integer]) -> pd.DataFrame:
        """Some rows, in the order given, without their geometry; words are categories.

        The frame is kept for those who ask for the same rows next; they must not alter it.
        """
        key = np.asarray(places, dtype=np.int64).tobytes()
        last = self._last
        if last[0] != key:
            last = self._last = key, self._taken(places)
        return last[1]

    def _taken(self, places: NDArray[np.integer]) -> pd.DataFrame:
        taken: dict[str, Any] = {name: column[places] for name, column in self._plain.items()}
        for name, (codes, dtype) in self._words.items():
            taken[name] = pd.Categorical.from_codes(codes[places], dtype=dtype, validate=False)
        return pd.DataFrame(taken, copy=False)

    def words(self, name: str, places: NDArray[np.integer]) -> NDArray[np.object_]:
        """The words of a column in some rows; a missing word is ``unknown``."""
        codes, dtype = self._words[name]
        return np.asarray(np.append(dtype.categories.to_numpy(), "unknown")[codes[places]])


_TABLES: dict[int, tuple[weakref.ref[pd.DataFrame], RoadTable]] = {}


def road_table(roads: pd.DataFrame) -> RoadTable:
    """The columns of a road table; made at first use and kept while the table lives."""
    number = id(roads)
    kept = _TABLES.get(number)
    if kept is None or kept[0]() is not roads:
        gone = weakref.ref(roads, lambda _: _TABLES.pop(number, None))
        kept = _TABLES[number] = gone, RoadTable(roads)
    return kept[1]
