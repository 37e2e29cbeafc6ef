"""Several ways to tow side by side: hours, money, stress and their worst places."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.states import State
from planner_kit.tow.charges import crossings, fuel_line, toll_lines
from planner_kit.tow.corners import route_corners
from planner_kit.tow.fuel import fuel_use, price_item
from planner_kit.tow.network import keeps_left
from planner_kit.tow.pace import at_learnt_pace
from planner_kit.tow.passing import passing_width_m
from planner_kit.tow.road_facts import roughness_frac
from planner_kit.tow.road_table import road_table
from planner_kit.tow.whereabouts import PlaceNames

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Sequence

    from planner_kit.outfit.report import Outfit
    from planner_kit.region.region import Region
    from planner_kit.states import Check
    from planner_kit.tow.corners import Corners
    from planner_kit.tow.leg import Choice, Route
    from planner_kit.trip.household import Household, Units
    from planner_kit.trip.learnt import Learnt

WORST = 3
# A road is one of the main ones of a way from this share of its length.
_MAIN_FRAC = 0.05
_GRAVITY = {State.NOT_FINE: 0, State.UNKNOWN: 1, State.LOOK: 2, State.FINE: 3}
COLUMNS = (
    "label", "kind", "by", "time_min", "length_km", "stress_min", "money_low", "money_likely",
    "money_high", "currency", "money_unknown", "narrow_km", "whole_road", "steepest_pct",
    "to_look_at", "unknowns", "worst", "shared_frac", "longer_frac",
)  # fmt: skip


def compare_routes(
    choices: Sequence[Choice],
    region: Region,
    outfit: Outfit,
    household: Household,
    *,
    prices: pd.DataFrame,
    tolls: pd.DataFrame,
    on: dt.date,
    learnt: Learnt | None = None,
    corners: bool = True,
) -> pd.DataFrame:
    """Ways to tow, one row each.

    Parameters
    ----------
    choices : sequence of Choice
        The best way first.
    region : Region
    outfit : Outfit
    household : Household
        For its car, its units and its money.
    prices, tolls : DataFrame
        The household's price list and toll prices.
    on : date
        The day of the tow.
    learnt : Learnt, optional
        What earlier trips used.
    corners : bool
        Look at the corners too, which takes longer than all the rest.

    Returns
    -------
    table : DataFrame
        label (``1`` and on), kind, by (its main roads, tolls and ferries in driving order),
        time_min, length_km, stress_min, money_low, money_likely and
        money_high (fuel, tolls and ferries whose prices are known; NaN where none is), currency,
        money_unknown (what has no price, as text), narrow_km (where an oncoming car cannot pass;
        a width that is not known is not counted), whole_road (turns and tight bends that need
        more than one's half of the road; NaN where they were not looked at), steepest_pct,
        to_look_at (checks that are not fine), unknowns (how many sentences), worst (a tuple of the
        gravest checks), shared_frac and longer_frac (see `Choice`).
    """
    rows = [
        _row(number, choice, region, outfit, household, prices=prices, tolls=tolls, on=on,
             learnt=learnt, corners=corners)
        for number, choice in enumerate(choices, start=1)
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=list(COLUMNS))


def _row(
    number: int,
    choice: Choice,
    region: Region,
    outfit: Outfit,
    household: Household,
    *,
    prices: pd.DataFrame,
    tolls: pd.DataFrame,
    on: dt.date,
    learnt: Learnt | None,
    corners: bool,
) -> dict[str, object]:
    # The hours of a way are those that earlier tows taught, as on the route card.
    route, _ = at_learnt_pace(choice.route, learnt)
    rough = roughness_frac(road_table(region.roads).rows(route.road_id))
    fuel = fuel_use(route.steps, outfit, household.car, rough_frac=rough, learnt=learnt)
    currency = household.units.currency
    met = crossings(route.steps, region.roads)
    lines = (
        fuel_line(fuel, prices, price_item(outfit.fuel), what="fuel", currency=currency, on=on),
        *toll_lines(
            met,
            tolls,
            length_m=outfit.length_m,
            vehicle="car_and_caravan",
            currency=currency,
            on=on,
        ),
    )
    known = [line for line in lines if line.likely is not None and line.currency == currency]
    without = [line.what for line in lines if line not in known]

    def money(which: str) -> float:
        return sum(float(getattr(line, which)) for line in known) if known else np.nan

    turned = _corners(route, region, outfit, household.units) if corners else None
    # The last check of the corners sums them up.
    told = (*route.near_limits, *(() if turned is None else turned.checks[:-1]))
    steps = route.steps
    up = steps[["steepest_up_pct", "steepest_down_pct"]].to_numpy(dtype=float)
    return {
        "label": str(number),
        "kind": choice.kind,
        "by": main_roads(route, met),
        "time_min": route.time_min,
        "length_km": route.length_km,
        "stress_min": route.stress_min,
        "money_low": money("low"),
        "money_likely": money("likely"),
        "money_high": money("high"),
        "currency": currency,
        "money_unknown": "; ".join(without),
        "narrow_km": _narrow_km(route, region, outfit),
        "whole_road": np.nan
        if turned is None
        else float((turned.table["beyond_own_half_m"] > 0).sum()),
        "steepest_pct": np.nan if np.isnan(up).all() else float(np.nanmax(up)),
        "to_look_at": sum(check.state is not State.FINE for check in told),
        "unknowns": len(route.unknowns),
        "worst": worst_places(told),
        "shared_frac": choice.shared_frac,
        "longer_frac": choice.longer_frac,
    }


def _corners(route: Route, region: Region, outfit: Outfit, units: Units) -> Corners | None:
    """The corners of a way; None where the outfit's lengths are not known."""
    roads = region.roads
    found = route_corners(
        route, roads, outfit, keeps_left=keeps_left(region, roads.iloc[route.road_id]),
        names=PlaceNames(region.places), units=units,
    )  # fmt: skip
    unknown = found.table.empty and bool(found.checks)
    return None if unknown else found


def main_roads(route: Route, met: pd.DataFrame) -> str:
    """What tells a way from another: its long roads, tolls and ferries, ``A3, A12, A1``.

    Parameters
    ----------
    route : Route
    met : DataFrame
        Its `crossings`.

    Returns
    -------
    roads : str
        In driving order, by number, else by name; empty where no long road has either.
    """
    steps = route.steps
    label = steps["ref"].where(steps["ref"] != "", steps["name"]).astype(str)
    share = steps["length_m"].groupby(label).sum() / 1000 / max(route.length_km, 1e-9)
    long = set(share.index[share >= _MAIN_FRAC]) - {""}
    first = dict(zip(label[::-1], steps["start_km"][::-1], strict=True))
    found = [(float(first[name]), name) for name in long]
    found += [(float(row["at_km"]), str(row["label"])) for row in met.to_dict("records")]
    return ", ".join(dict.fromkeys(name for _, name in sorted(found) if name))


def _narrow_km(route: Route, region: Region, outfit: Outfit) -> float:
    """Length on which two vehicles cannot pass, as far as widths are known [km]."""
    if outfit.width_m is None:
        return np.nan
    steps = route.steps
    oneway = region.roads["oneway"].to_numpy()[route.road_id] != 0
    tight = (steps["width_m"].to_numpy() < passing_width_m(outfit.width_m)) & ~oneway
    tight &= steps["road_class"].to_numpy() != "ferry"
    return float(steps["length_m"].to_numpy()[tight].sum()) / 1000


def worst_places(checks: Sequence[Check], most: int = WORST) -> tuple[Check, ...]:
    """The gravest of some checks: by state, then by how little room is left of the limit.

    Parameters
    ----------
    checks : sequence of Check
    most : int
        How many.

    Returns
    -------
    worst : tuple of Check
    """

    def grave(check: Check) -> tuple[int, float]:
        room = np.inf
        if check.margin is not None and check.limit:
            room = check.margin / abs(check.limit)
        return _GRAVITY[check.state], room

    left = [check for check in checks if check.state is not State.FINE]
    return tuple(sorted(left, key=grave)[:most])
