"""What the ball, the caravan and the car's rear axle gain when a few things go elsewhere."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd

from planner_kit.outfit.loading import is_fixed, with_totals
from planner_kit.reference import constant, read_table

if TYPE_CHECKING:
    from planner_kit.outfit.noseweight import Noseweight
    from planner_kit.outfit.report import Outfit
    from planner_kit.trip.household import Household

COLUMNS = (
    "thing", "goes", "mass_kg", "nose_kg", "nose_after_kg", "caravan_kg", "axle_kg", "rear_kg"
)  # fmt: skip
_NEAR_M, _MOST_LINES = 0.25, 2


class _Place(NamedTuple):
    """Where a thing is or may go; x_m counts in the caravan only."""

    words: str
    vehicle: str
    x_m: float


class _Row(NamedTuple):
    """Something that goes from one place to another."""

    thing: str
    mass_kg: float
    now: _Place
    goal: _Place


def what_ifs(
    household: Household, outfit: Outfit, items: pd.DataFrame, nose: Noseweight
) -> pd.DataFrame:
    """What awning, battery, bicycles and tank change when they go elsewhere, or fill.

    Parameters
    ----------
    household : Household
    outfit : Outfit
    items : DataFrame
        The loading list; the words that mark such things are in
        ``data/reference/loading_what_if.csv``. Of each kind the heavy lines count.
    nose : Noseweight

    Returns
    -------
    changes : DataFrame
        One row for each thing and place: thing, goes (where), mass_kg (of what goes), nose_kg (what
        the ball gains), nose_after_kg (on the ball then), caravan_kg (what the caravan gains),
        axle_kg (what each axle of the caravan gains) and rear_kg (what the car's rear axle gains).
        NaN where a figure is missing. Fixed things do not leave the caravan.

    Notes
    -----
    Moments about the axle, as in `nose_from_load_kg`; boot and roof are where they usually are.
    """
    table = with_totals(items).reset_index(drop=True)
    fixed = is_fixed(table).to_numpy(bool)
    rows = []
    for kind, number in _asked_about(table):
        line = table.iloc[number]
        now = _Place(str(line["place"]), str(line["vehicle"]), float(line["x_m"]))
        for goal in _places(table, outfit, fixed=bool(fixed[number]), cycles=kind == "bicycles"):
            stays = goal.vehicle == now.vehicle and not abs(goal.x_m - now.x_m) >= _NEAR_M
            if not stays:
                rows.append(_Row(str(line["item"]), float(line["total_kg"]), now, goal))
    rows += _tank(household, table)
    axles = household.caravan.axles
    found = []
    for row in rows:
        ball, caravan, rear = _change(household, outfit, row)
        after = np.nan if nose.kg is None else nose.kg + ball
        figures = (row.mass_kg, ball, after, caravan, (caravan - ball) / axles, rear)
        found.append((row.thing, row.goal.words, *figures))
    return pd.DataFrame(found, columns=list(COLUMNS))


def _asked_about(table: pd.DataFrame) -> list[tuple[str, int]]:
    """Kind and line number of the heavy things whose names have one of the words."""
    words = read_table("loading_what_if")
    found = []
    for kind, rows in words.groupby("kind", sort=False):
        pattern = rf"\b(?:{'|'.join(re.escape(word) for word in rows['word'])})\b"
        hit = table["item"].str.contains(pattern, case=False, regex=True)
        mass = table["total_kg"].where(hit, 0.0).fillna(0.0)
        heavy = mass[mass > 0].nlargest(_MOST_LINES)
        found += [(str(kind), int(str(n))) for n, kg in heavy.items() if kg >= heavy.max() / 4]
    return found


def _places(table: pd.DataFrame, outfit: Outfit, *, fixed: bool, cycles: bool) -> list[_Place]:
    """Where a thing may go: along the caravan, and out of it unless it is fixed."""
    inside = table.loc[(table["vehicle"] == "caravan") & table["x_m"].notna(), "x_m"]
    spots = {"over the axle": 0.0}
    if len(inside) and not cycles:
        spots[f"foremost, {inside.max():+.1f} m"] = float(inside.max())
        spots[f"rearmost, {inside.min():+.1f} m"] = float(inside.min())
    if cycles and outfit.axle_to_tail_m is not None:
        rack = -outfit.axle_to_tail_m - constant("outfit", "beyond_tail").value / 2
        spots[f"rack behind, {rack:+.1f} m"] = rack
    places = [_Place(words, "caravan", x_m) for words, x_m in spots.items()]
    if not fixed:
        places += [_Place("into the boot", "car", np.nan), _Place("stays at home", "home", np.nan)]
    return places


def _tank(household: Household, table: pd.DataFrame) -> list[_Row]:
    """The fresh-water tank filled and drained, where the list says where it lies."""
    litres = household.caravan.fresh_water_l
    lines = table[table["item"].str.contains(r"\btank\b", case=False, regex=True)]
    lines = lines[lines["vehicle"] == "caravan"]
    if not litres or len(lines) > 1:
        return []
    x_m = float(lines["x_m"].iloc[0]) if len(lines) else np.nan
    inside_kg = float(lines["total_kg"].iloc[0]) if len(lines) else np.nan
    more_kg = litres * constant("outfit", "water_density").value
    if np.isfinite(inside_kg):
        more_kg = max(more_kg - inside_kg, 0.0)
    where = (
        f", {x_m:+.1f} m"
        if np.isfinite(x_m)
        else ", but no line of the list says where it lies (x_m)"
    )
    home, tank = _Place("drained", "home", np.nan), _Place(f"filled{where}", "caravan", x_m)
    rows = [_Row(f"water tank of {litres:g} l", more_kg, home, tank)]
    if inside_kg > 0:
        rows.append(_Row(f"water tank of {litres:g} l", inside_kg, tank, home))
    return rows


def _change(household: Household, outfit: Outfit, row: _Row) -> tuple[float, float, float]:
    """What the ball, the caravan and the car's rear axle gain. [kg]."""
    before, after = (_rests(row.mass_kg, at, outfit.ball_to_axle_m) for at in (row.now, row.goal))
    ball, caravan, rear = (new - old for old, new in zip(before, after, strict=True))
    behind_m, wheelbase_m = outfit.ball_behind_rear_axle_m, household.car.wheelbase_m
    leverage = np.nan if behind_m is None or not wheelbase_m else 1 + behind_m / wheelbase_m
    return ball, caravan, rear + leverage * ball


def _rests(mass_kg: float, at: _Place, span_m: float | None) -> tuple[float, float, float]:
    """What a thing at a place puts on the ball, in the caravan and, by itself, on the rear axle."""
    if at.vehicle == "caravan":
        return np.nan if span_m is None else mass_kg * at.x_m / span_m, mass_kg, 0.0
    share = {"car": "boot", "roof": "roof"}.get(at.vehicle)
    return 0.0, 0.0, 0.0 if share is None else mass_kg * constant("outfit", share).value
