"""What of a region its printed maps draw: made once for a region, asked for each map's frame.

A folder holds dozens of maps of the same region, so that the tables are turned into columns once.
"""

from __future__ import annotations

import weakref
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar

import numpy as np
import shapely

if TYPE_CHECKING:
    from collections.abc import Callable, Iterable

    import pandas as pd
    from numpy.typing import NDArray

    from planner_kit.pack.map_frame import Bounds

    Positions = NDArray[np.int64]

_Made = TypeVar("_Made")
_KEPT: dict[tuple[int, str], tuple[weakref.ref[pd.DataFrame], Any]] = {}


def kept_with(table: pd.DataFrame, name: str, make: Callable[[pd.DataFrame], _Made]) -> _Made:
    """What `make` gives for a table; made at first use and kept while the table lives."""
    key = id(table), name
    kept = _KEPT.get(key)
    if kept is None or kept[0]() is not table:
        gone = weakref.ref(table, lambda _: _KEPT.pop(key, None))
        kept = _KEPT[key] = gone, make(table)
    made: _Made = kept[1]
    return made


@dataclass(frozen=True)
class Layer:
    """Geometries of a table, each with its kind.

    Attributes
    ----------
    geometries : ndarray of shapely geometry, shape (n,)
        (lon, lat).
    kinds : ndarray of str, shape (n,)
    index : Any
        The table's index of where its geometries lie.
    """

    geometries: NDArray[Any]
    kinds: NDArray[Any]
    index: Any

    def within(self, frame: Bounds) -> Positions:
        """The rows that meet a frame, in their order."""
        found = self.index.query(shapely.box(*frame), predicate="intersects")
        return np.sort(np.asarray(found, dtype=np.int64))


def layer(table: Any, kind: str = "kind") -> Layer:
    """The geometries of a table as a layer; areas are made valid.

    Parameters
    ----------
    table : GeoDataFrame
    kind : str
        The column that says of what kind each is.
    """

    def made(table: Any) -> Layer:
        geometries = np.asarray(table.geometry.to_numpy(), dtype=object)
        broken = ~shapely.is_valid(geometries) & (shapely.get_dimensions(geometries) == 2)
        geometries[broken] = shapely.make_valid(geometries[broken])
        return Layer(geometries, np.asarray(table[kind].astype(str), dtype=object), table.sindex)

    return kept_with(table, f"layer of {kind}", made)


@dataclass(frozen=True)
class Numbered:
    """The roads that have a number, the longest piece of each first.

    Attributes
    ----------
    rows : ndarray of int, shape (n,)
        Rows of the road table.
    refs : ndarray of str, shape (n,)
    """

    rows: Positions
    refs: NDArray[Any]


def numbered_roads(roads: Any) -> Numbered:
    """The numbered stretches of a road table, by falling length."""

    def made(roads: Any) -> Numbered:
        refs = np.asarray(roads["ref"].astype(str), dtype=object)
        length_m = np.asarray(roads["length_m"], dtype=np.float64)
        rows = np.flatnonzero(refs != "")
        rows = rows[np.argsort(-length_m[rows], kind="stable")]
        return Numbered(rows, refs[rows])

    return kept_with(roads, "numbered", made)


@dataclass(frozen=True)
class Places:
    """The places of a region as columns, shape (n,) each; positions in deg."""

    kinds: NDArray[Any]
    names: NDArray[Any]
    lon: NDArray[np.float64]
    lat: NDArray[np.float64]


def named_places(places: Any, kinds: Iterable[str]) -> Places:
    """The places of some kinds that have a name, as columns."""
    wanted = tuple(kinds)

    def made(places: Any) -> Places:
        names = places["name"].astype(str)
        chosen = places[places["kind"].astype(str).isin(wanted) & (names != "")]
        return Places(
            np.asarray(chosen["kind"].astype(str), dtype=object),
            np.asarray(chosen["name"].astype(str), dtype=object),
            np.asarray(chosen["lon"], dtype=np.float64),
            np.asarray(chosen["lat"], dtype=np.float64),
        )

    return kept_with(places, f"named {wanted}", made)
