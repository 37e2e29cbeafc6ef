"""Where on a route something is: in words, in the household's unit, and as a position."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, TypedDict

import numpy as np

from planner_kit.region.projection import WGS84
from planner_kit.tow.limits import is_word, number
from planner_kit.tow.road_table import RoadRows, road_table
from planner_kit.trip.display import distance
from planner_kit.trip.household import Units

if TYPE_CHECKING:
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
METRIC = Units(distance="km", fuel="l_per_100km")


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

    def near(self, lat: float, lon: float) -> str:
        """The nearest settlement, or an empty text where none is mapped."""
        if len(self.names) == 0:
            return ""
        count = len(self.names)
        _, _, away = WGS84.inv(np.full(count, lon), np.full(count, lat), self.lon, self.lat)
        return str(self.names[int(np.argmin(away))])


@dataclass(frozen=True)
class Way:
    """A route as its checks look at it.

    Attributes
    ----------
    roads : DataFrame
        The region's roads.
    steps : DataFrame
        Of the route.
    names : PlaceNames
    units : Units
        In which distances are told.
    """

    roads: pd.DataFrame
    steps: pd.DataFrame
    names: PlaceNames
    units: Units = METRIC

    @cached_property
    def rows(self) -> RoadRows:
        """The road of each step."""
        return road_table(self.roads).rows(self.road)

    @cached_property
    def road(self) -> NDArray[np.int64]:
        """The row of the region's roads of each step."""
        return self.steps["road_id"].to_numpy()

    @cached_property
    def _length_m(self) -> NDArray[np.float64]:
        return self.steps["length_m"].to_numpy(dtype=float)

    @cached_property
    def _labels(self) -> list[tuple[str, str, str]]:
        columns = (self.steps[name].tolist() for name in ("ref", "name", "road_class"))
        return list(zip(*columns, strict=True))

    @cached_property
    def _forward(self) -> NDArray[np.bool_]:
        return self.steps["forward"].to_numpy(dtype=bool)

    @cached_property
    def _width_source(self) -> NDArray[np.object_]:
        return self.steps["width_source"].to_numpy(dtype=object)

    @cached_property
    def start_km(self) -> NDArray[np.float64]:
        """Where each step begins [km]."""
        return self.steps["start_km"].to_numpy(dtype=float)

    @cached_property
    def ferry(self) -> NDArray[np.bool_]:
        """Which steps are on a ferry."""
        return np.asarray(self.steps["road_class"].to_numpy() == "ferry")

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
        ref, name, road_class = self._labels[place]
        label = " ".join(part for part in (str(ref), str(name)) if part)
        town = self.names.near(*self._point(place, 0.5))
        road = label or f"an unnamed {road_class} road"
        return road + (f", near {town}" if town else "")

    def position(self, place: int, *, middle: bool = False) -> Spot:
        """Where a step's road begins as it is driven, or its middle: lat and lon [deg]."""
        forward = bool(self._forward[place])
        lat, lon = self._point(place, 0.5 if middle else 0.0 if forward else 1.0)
        return {"lat": round(lat, 6), "lon": round(lon, 6)}

    def _point(self, place: int, share: float) -> tuple[float, float]:
        line = road_table(self.roads).lines[int(self.road[place])]
        point = line.interpolate(share, normalized=True)
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
    edge = np.flatnonzero(np.diff(np.r_[False, on, False].astype(np.int8)))
    return [(int(a), int(b) - 1) for a, b in zip(edge[::2], edge[1::2], strict=True)]


def longest_runs(way: Way, on: NDArray[np.bool_], most: int) -> list[tuple[int, int, float]]:
    """The longest runs of some steps: first and last step, and length in km."""
    along = np.r_[0.0, np.cumsum(way.steps["length_m"].to_numpy(dtype=float))] / 1000
    found = [(a, b, float(along[b + 1] - along[a])) for a, b in runs(on)]
    return sorted(found, key=lambda run: -run[2])[:most]
