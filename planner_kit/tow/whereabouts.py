"""Where on a route something is: in words, in the household's unit, and as a position."""

from __future__ import annotations

import math
from dataclasses import dataclass
from functools import cached_property, lru_cache
from typing import TYPE_CHECKING, Any, TypedDict

import numpy as np

from planner_kit.region.projection import WGS84
from planner_kit.tow.limits import is_word, number
from planner_kit.tow.road_table import RoadRows, road_table
from planner_kit.trip.display import distance
from planner_kit.trip.household import Units

if TYPE_CHECKING:
    from collections.abc import Mapping

    import pandas as pd
    from numpy.typing import NDArray

_TOWNS = ("city", "town", "village", "suburb", "hamlet")
# How the width of a road came to be known, in the words of `width_source`.
WIDTH_WORDS = {
    "tagged": "as tagged",
    "lanes": "derived from the number of lanes",
    "class": "guessed from the kind of road",
    "unknown": "not known",
}
# The classes of OpenStreetMap as people call such roads.
_ROAD_KINDS = {
    "trunk": "main road", "primary": "main road", "secondary": "through road",
    "tertiary": "local road", "unclassified": "minor road", "residential": "street",
    "living_street": "street for walking pace", "service": "access road",
}  # fmt: skip
# Far places look this much nearer or farther on a flat map than they are, at the very most; and
# those that are no farther off than half a degree.
_FLAT_ERROR, _FLAT_ERROR_NEAR, _NEAR_DEG = 1.1, 1.05, 0.5
METRIC = Units(distance="km", fuel="l_per_100km")


def road_kind(road_class: str) -> str:
    """What people call a road of a class of OpenStreetMap."""
    if road_class.endswith("_link"):
        return "slip road"
    return _ROAD_KINDS.get(road_class, road_class.replace("_", " "))


class Spot(TypedDict):
    """A position, named as the fields of a check."""

    lat: float
    lon: float


class PlaceNames:
    """Names of the settlements of a region, for saying where something is.

    Parameters
    ----------
    places : DataFrame
        The region's places.
    """

    def __init__(self, places: pd.DataFrame) -> None:
        rows = places[places["kind"].astype(str).isin(_TOWNS) & (places["name"].astype(str) != "")]
        self.names = rows["name"].astype(str).to_numpy()
        self.lat = rows["lat"].to_numpy(dtype=float)
        self.lon = rows["lon"].to_numpy(dtype=float)
        self._nearest = lru_cache(maxsize=4096)(self._near)

    def near(self, lat: float, lon: float) -> str:
        """The nearest settlement, or an empty text where none is mapped."""
        return self._nearest(lat, lon) if len(self.names) else ""

    def _near(self, lat: float, lon: float) -> str:
        # On a flat map distances are right within a few per cent, so that only few are measured.
        squeeze = math.cos(math.radians(lat))
        roughly = np.square(self.lat - lat) + np.square((self.lon - lon) * squeeze)
        least = float(roughly.min())
        error = _FLAT_ERROR_NEAR if least < (_NEAR_DEG / _FLAT_ERROR) ** 2 else _FLAT_ERROR
        likely = np.flatnonzero(roughly <= least * error**2)
        if len(likely) > 1:
            here = np.full(len(likely), lon), np.full(len(likely), lat)
            _, _, away = WGS84.inv(*here, self.lon[likely], self.lat[likely])
            likely = likely[np.argmin(away) :]
        return str(self.names[int(likely[0])])


@dataclass(frozen=True)
class Way:
    """A route as its checks look at it.

    Attributes
    ----------
    roads : DataFrame
        The region's roads.
    steps : mapping of str to ndarray, or DataFrame
        The columns of the route's steps.
    names : PlaceNames
    units : Units
        In which distances are told.
    """

    roads: pd.DataFrame
    steps: Mapping[str, NDArray[Any]] | pd.DataFrame
    names: PlaceNames
    units: Units = METRIC

    @cached_property
    def rows(self) -> RoadRows:
        """The road of each step."""
        return road_table(self.roads).rows(self.road)

    @cached_property
    def road(self) -> NDArray[np.int64]:
        """The row of the region's roads of each step."""
        return np.asarray(self.steps["road_id"])

    def numbers(self, name: str) -> NDArray[np.float64]:
        """A column of numbers of the steps."""
        return np.asarray(self.steps[name], dtype=float)

    def known(self, name: str) -> NDArray[np.float64]:
        """A column of numbers of the steps, 0 where one is missing; not to be altered."""
        if name not in self._known:
            values = self.numbers(name)
            self._known[name] = np.where(np.isnan(values), 0.0, values)
        return self._known[name]

    @cached_property
    def _known(self) -> dict[str, NDArray[np.float64]]:
        return {}

    @cached_property
    def along_m(self) -> NDArray[np.float64]:
        """Where each step begins, and at last where the way ends, shape (n + 1,) [m]."""
        return np.concatenate([[0.0], np.cumsum(self._length_m)])

    @cached_property
    def _length_m(self) -> NDArray[np.float64]:
        return self.numbers("length_m")

    @cached_property
    def _labels(self) -> tuple[NDArray[Any], ...]:
        return tuple(np.asarray(self.steps[name]) for name in ("ref", "name", "road_class"))

    @cached_property
    def _forward(self) -> NDArray[np.bool_]:
        return np.asarray(self.steps["forward"], dtype=bool)

    @cached_property
    def _width_source(self) -> NDArray[np.object_]:
        return np.asarray(self.steps["width_source"], dtype=object)

    @cached_property
    def start_km(self) -> NDArray[np.float64]:
        """Where each step begins [km]."""
        return self.numbers("start_km")

    @cached_property
    def ferry(self) -> NDArray[np.bool_]:
        """Which steps are on a ferry."""
        return self.rows.is_word("road_class", ("ferry",))

    def at(self, place: int) -> str:
        """How far from the start a step begins, in words."""
        return f"At {distance(self.start_km[place], self.units)}"

    def length(self, first: int, last: int) -> str:
        """How long a run of steps is, in words."""
        return distance(self.length_km(first, last), self.units)

    def length_km(self, first: int, last: int) -> float:
        """The length of a run of steps [km]."""
        return float(self._length_m[first : last + 1].sum()) / 1000

    def where(self, place: int) -> str:
        """The road of a step and the settlement near it, in words."""
        ref, name, road_class = (column[place] for column in self._labels)
        label = " ".join(part for part in (str(ref), str(name)) if part)
        town = self.names.near(*self._point(place, 0.5))
        road = label or f"an unnamed {road_kind(str(road_class))}"
        return road + (f", near {town}" if town else "")

    def position(self, place: int, *, middle: bool = False) -> Spot:
        """Where a step's road begins as it is driven, or its middle: lat and lon [deg]."""
        forward = bool(self._forward[place])
        lat, lon = self._point(place, 0.5 if middle else 0.0 if forward else 1.0)
        return {"lat": round(lat, 6), "lon": round(lon, 6)}

    def _point(self, place: int, share: float) -> tuple[float, float]:
        if (place, share) not in self._points:
            self._points[place, share] = self._point_of(place, share)
        return self._points[place, share]

    @cached_property
    def _points(self) -> dict[tuple[int, float], tuple[float, float]]:
        return {}

    def _point_of(self, place: int, share: float) -> tuple[float, float]:
        table, road = road_table(self.roads), int(self.road[place])
        if share in (0.0, 1.0):
            points, begins = table.points
            lon, lat = points[begins[road] if share == 0.0 else begins[road + 1] - 1].tolist()
            return lat, lon
        point = table.lines[road].interpolate(share, normalized=True)
        return float(point.y), float(point.x)

    def width_words(self, first: int, last: int) -> str:
        """How the widths of a run of steps are known; the least sure of them."""
        found = set(self._width_source[first : last + 1])
        for source in ("unknown", "class", "lanes"):
            if source in found:
                return WIDTH_WORDS[source]
        return WIDTH_WORDS["tagged"]

    def gradient_error_pct(self, place: int) -> float | None:
        """The standard error of a step's gradient; 0 for a tag, None where nothing is known [%]."""
        if self._errors is None:
            return None
        if self._tagged_gradient[place]:
            return 0.0
        error = float(self._errors[place])
        return None if np.isnan(error) else error

    @cached_property
    def _errors(self) -> NDArray[np.float64] | None:
        if "gradient_error_pct" not in self.rows:
            return None
        return number(self.rows, "gradient_error_pct")

    @cached_property
    def _tagged_gradient(self) -> NDArray[np.bool_]:
        return is_word(self.rows, "gradient_source", "tag")


def runs(on: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last place of each unbroken run of True."""
    framed = np.zeros(len(on) + 2, dtype=bool)
    framed[1:-1] = on
    edge = np.flatnonzero(framed[1:] != framed[:-1]).tolist()
    return [(a, b - 1) for a, b in zip(edge[::2], edge[1::2], strict=True)]


def longest_runs(way: Way, on: NDArray[np.bool_], most: int) -> list[tuple[int, int, float]]:
    """The longest runs of some steps: first and last step, and length in km."""
    along = way.along_m / 1000
    found = [(a, b, float(along[b + 1] - along[a])) for a, b in runs(on)]
    return sorted(found, key=lambda run: -run[2])[:most]
