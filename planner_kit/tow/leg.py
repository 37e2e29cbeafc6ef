"""What the tow stage hands on: a route, a day's drive along it, and the whole tow."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING, Any, Literal

import pandas as pd

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping

    import numpy as np
    from shapely.geometry import LineString

    from planner_kit.states import Check
    from planner_kit.tow.approach import Approach
    from planner_kit.tow.corners import Corners
    from planner_kit.trip.money import CostLine


@dataclass(frozen=True)
class Route:
    """A way along the roads of a region.

    Attributes
    ----------
    road_id : ndarray of int32, shape (n,)
        Rows of the region's road table, in driving order.
    forward : ndarray of bool, shape (n,)
        Whether each is driven in the direction of its geometry.
    columns : mapping of str to ndarray, shape (n,)
        What is known of each step: road_id, forward, name, ref, road_class, start_km, length_m,
        time_s, speed_kmh, limited_by (law, sign, bends, climb, surface, width), gradient_pct,
        steepest_up_pct, steepest_down_pct, width_m, width_source, stress_s, turn_deg, note, tight
        (an oncoming car cannot pass, as far as widths are known), signs (what signposts say in
        this direction), exit_ref (number of the exit at which the step begins).
    geometry : LineString
        (lon, lat), in driving order.
    length_km, time_min, stress_min : float
        Stress is the extra time that the household's dislikes add; it is not driven.
    near_limits : tuple of Check
        Places where the outfit comes near a limit, in driving order; the sentence names the
        place and the tag.
    unknowns : tuple of str
        What the map does not say, in sentences.
    """

    road_id: np.ndarray
    forward: np.ndarray
    columns: Mapping[str, np.ndarray[Any, Any]]
    geometry: LineString
    length_km: float
    time_min: float
    stress_min: float
    near_limits: tuple[Check, ...]
    unknowns: tuple[str, ...]

    @cached_property
    def steps(self) -> pd.DataFrame:
        """The columns as a table, n rows; made when it is first asked for."""
        return pd.DataFrame(dict(self.columns))


@dataclass(frozen=True)
class Choice:
    """One of several ways to tow.

    Attributes
    ----------
    kind : str
        ``best``; ``alternative``; or ``wider alternative``, which keeps to wider limits than
        those of `planner_kit.tow.alternatives` because the roads offer too few.
    route : Route
    shared_frac : float
        What it shares with the best way (of the stage on which they differ), by cost.
    longer_frac : float
        How much more it costs in time and stress together than the best way of that stage.
    """

    kind: Literal["best", "alternative", "wider alternative"]
    route: Route
    shared_frac: float
    longer_frac: float


@dataclass(frozen=True)
class FuelUse:
    """Fuel or energy for a drive, with its range."""

    low: float
    likely: float
    high: float
    unit: Literal["l", "kWh"]
    source: str


@dataclass(frozen=True)
class Leg:
    """One tow of one day: out, between sites, or home.

    Attributes
    ----------
    kind : str
        ``out``, ``move`` or ``home``.
    from_name, to_name : str
    day : date
    depart, arrive : datetime
        Local times with the region's zone; arrival includes the breaks.
    route : Route
        The tow.
    car_route : Route
        What a plain car would drive, for comparison.
    rests : DataFrame
        place_id, name, kind, lat, lon, at_km, arrive, leave, minutes, room (yes, unknown), why,
        does (break, meal, fuel, charge to 80 %), filled [l or kWh], hours.
    fuel : FuelUse or None
    checks : tuple of Check
        Arrival within the site's hours, breaks, range, approach, and the route's near limits.
    cost_lines : tuple of CostLine
    unknowns : tuple of str
    approach : Approach or None
        The last miles, stretch by stretch.
    corners : Corners or None
        The turns and tight bends against what the outfit sweeps.
    rest_notes : tuple of str
        Why each stop was taken, and what the next best would cost.
    ways : DataFrame or None
        The best way beside genuinely different ones, from `planner_kit.tow.compare_routes`.
    """

    kind: Literal["out", "move", "home"]
    from_name: str
    to_name: str
    day: dt.date
    depart: dt.datetime
    arrive: dt.datetime
    route: Route
    car_route: Route
    rests: pd.DataFrame
    fuel: FuelUse | None
    checks: tuple[Check, ...]
    cost_lines: tuple[CostLine, ...]
    unknowns: tuple[str, ...]
    approach: Approach | None = None
    corners: Corners | None = None
    rest_notes: tuple[str, ...] = ()
    ways: pd.DataFrame | None = None


@dataclass(frozen=True)
class TowReport:
    """The tow stage's result: every leg of the trip in order."""

    legs: tuple[Leg, ...]
    cautions: tuple[str, ...]

    @property
    def cost_lines(self) -> tuple[CostLine, ...]:
        """The money of every leg."""
        return tuple(line for leg in self.legs for line in leg.cost_lines)

    @property
    def checks(self) -> tuple[Check, ...]:
        """The checks of every leg."""
        return tuple(check for leg in self.legs for check in leg.checks)
