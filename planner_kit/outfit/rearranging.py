"""The fewest things to move, or to leave at home, so that a loading keeps to every plate.

An exact search (mixed-integer linear programming): every piece of every line of the loading list
stays, goes to another place in the caravan, goes to the car, or stays at home. A line of several
pieces may be split.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
from scipy.optimize import Bounds, LinearConstraint, milp

from planner_kit.outfit.loading import is_fixed, with_totals

if TYPE_CHECKING:
    from numpy.typing import NDArray


@dataclass(frozen=True)
class Situation:
    """The loading as it stands, and what it has to keep to; None means unknown or no limit.

    Attributes
    ----------
    caravan_kg, nose_kg : float
        As loaded now. [kg]
    ball_to_axle_m : float
        [m]
    share_low, share_high : float
        The chosen band of noseweight as a share of the laden caravan. [1]
    nose_most_kg, caravan_most_kg : float or None
        The lower of the plates of car and caravan. [kg]
    axle_most_kg : float or None
        Of each axle of the caravan. [kg]
    axles : int
    car_kg, car_most_kg, train_most_kg, rear_kg, rear_most_kg : float or None
        The laden car without the ball, its gross mass, the gross train mass, its rear axle with
        the ball, and that axle's limit. Nothing goes into the car where one is unknown. [kg]
    rear_per_nose, rear_per_boot, rear_per_roof : float
        What a kilogram on the ball, in the boot and on the roof adds to the car's rear axle. [1]
    front_kg, front_most_kg : float or None
        The car's front axle with the ball, and its limit. [kg]
    front_per_boot, front_per_roof : float
        What a kilogram in the boot and on the roof adds to the car's front axle. [1]
    roof_kg, roof_most_kg : float or None
        What lies on the car's roof, and the roof's limit. [kg]
    nose_low_kg, nose_high_kg : float or None
        Between which the noseweight may lie, for the limits; `nose_kg` where None. [kg]
    """

    caravan_kg: float
    nose_kg: float
    ball_to_axle_m: float
    share_low: float
    share_high: float
    nose_most_kg: float | None = None
    caravan_most_kg: float | None = None
    axle_most_kg: float | None = None
    axles: int = 1
    car_kg: float | None = None
    car_most_kg: float | None = None
    train_most_kg: float | None = None
    rear_kg: float | None = None
    rear_most_kg: float | None = None
    rear_per_nose: float = 1.4
    rear_per_boot: float = 1.1
    rear_per_roof: float = 0.75
    front_kg: float | None = None
    front_most_kg: float | None = None
    front_per_boot: float = 0.0
    front_per_roof: float = 0.5
    roof_kg: float | None = None
    roof_most_kg: float | None = None
    nose_low_kg: float | None = None
    nose_high_kg: float | None = None

    @property
    def car_may_take(self) -> bool:
        """Whether enough is known about the car to put more into it."""
        known = (self.car_kg, self.car_most_kg, self.train_most_kg, self.rear_kg, self.rear_most_kg)
        return all(figure is not None for figure in known)


@dataclass(frozen=True)
class Move:
    """One line of the list, or some of its pieces, that changes its place.

    Attributes
    ----------
    row : int
        Its place in the loading list, from 0.
    item : str
    mass_kg : float
        Of what moves. [kg]
    was, to : str
        Places; ``home`` for what is left behind.
    to_x_m : float or None
        Where in the caravan it goes. [m]
    nose_change_kg : float
        [kg]
    why : str
        In a sentence.
    pieces, of : int
        How many pieces move, and how many the line has.
    """

    row: int
    item: str
    mass_kg: float
    was: str
    to: str
    to_x_m: float | None
    nose_change_kg: float
    why: str
    pieces: int = 1
    of: int = 1

    @property
    def splits(self) -> bool:
        """Whether the line becomes two: some of its pieces go elsewhere than the others."""
        return self.pieces < self.of


@dataclass(frozen=True)
class Rearrangement:
    """The fewest moves, and what the loading is like after them.

    Attributes
    ----------
    moves : tuple of Move
    solved : bool
        False when no choice of moves keeps to every limit.
    caravan_kg, nose_kg : float
        After the moves. [kg]
    sentence : str
    """

    moves: tuple[Move, ...]
    solved: bool
    caravan_kg: float
    nose_kg: float
    sentence: str


_CAR_UNKNOWN = (
    " Nothing is moved into the car, because its laden mass or one of its limits is not known."
)


@dataclass(frozen=True)
class _Option:
    """Where a line's pieces may go, and what each piece that does changes."""

    row: int
    pieces: int
    to: str
    to_x_m: float | None
    caravan_kg: float
    nose_kg: float
    car_kg: float
    rear_kg: float
    front_kg: float
    roof_kg: float
    home_cost: float
    effort: float


def rearrange(items: pd.DataFrame, now: Situation) -> Rearrangement:
    """The fewest things of the loading list to move so that every limit is kept.

    Parameters
    ----------
    items : DataFrame
        The loading list. Lines that are fixed, not weighed, or without a place in the caravan do
        not move; what is needed does not stay at home.
    now : Situation

    Returns
    -------
    answer : Rearrangement
        A move is a line, or some of its pieces, that goes to one place. Of the choices with the
        fewest moves, that which leaves the fewest pieces at home (things marked as not needed
        first), of those that which moves the fewest pieces, and of those the one that shifts the
        least and puts it nearest to the axle.

    Notes
    -----
    Exact for the places that the list itself names. It does not know whether a locker is full, or
    how a thing is tied down.
    """
    options = _options(items, now)
    limits = _limits(options, now)
    if not _broken(limits):
        return Rearrangement(
            (), True, now.caravan_kg, now.nose_kg, "Nothing has to be moved: every limit is kept."
        )
    chosen = _fewest(options, limits)
    if chosen is None:
        return Rearrangement((), False, now.caravan_kg, now.nose_kg, _why_not(options, limits))
    table = with_totals(items)
    moves = tuple(_move(table.iloc[option.row], option, count) for option, count in chosen)
    after = replace(
        now,
        caravan_kg=now.caravan_kg + sum(count * option.caravan_kg for option, count in chosen),
        nose_kg=now.nose_kg + sum(count * option.nose_kg for option, count in chosen),
    )
    share = after.nose_kg / after.caravan_kg
    broken = ", ".join(_broken(limits))
    count = "One thing" if len(moves) == 1 else f"{len(moves)} things"
    sentence = (
        f"{count} to change, because of {broken}. Then the caravan weighs {after.caravan_kg:,.0f} "
        f"kg with {after.nose_kg:,.0f} kg ({share:.1%}) on the ball."
    )
    if not now.car_may_take:
        sentence += _CAR_UNKNOWN
    return Rearrangement(moves, True, after.caravan_kg, after.nose_kg, sentence)


def _options(items: pd.DataFrame, now: Situation) -> list[_Option]:
    table = with_totals(items).reset_index(drop=True)
    fixed = is_fixed(table).to_numpy(bool)
    needed = (
        [_yes_or_no(cell) for cell in table["needed"]] if "needed" in table else [None] * len(table)
    )
    inside = table[(table["vehicle"] == "caravan") & table["x_m"].notna()]
    places = [(str(name), float(x)) for name, x in inside.groupby("place")["x_m"].median().items()]
    options = []
    for row, line in table.iterrows():
        pieces = _pieces(line)
        mass, x_m, vehicle = float(line["total_kg"]) / pieces, float(line["x_m"]), line["vehicle"]
        in_caravan = vehicle == "caravan"
        if not mass > 0 or (in_caravan and np.isnan(x_m)):
            continue
        out = -mass if in_caravan else 0.0
        nose_out = -mass * x_m / now.ball_to_axle_m if in_caravan else 0.0
        # What leaves the car takes its load off both axles; the ball's share is reckoned apart.
        on_roof = vehicle == "roof"
        car_out = 0.0 if in_caravan else -mass
        rear_out = car_out * (now.rear_per_roof if on_roof else now.rear_per_boot)
        front_out = car_out * (now.front_per_roof if on_roof else now.front_per_boot)
        roof_out = car_out if on_roof else 0.0
        number = int(str(row))
        if not fixed[number]:
            options += [
                _Option(
                    number,
                    pieces,
                    name,
                    to_x,
                    out + mass,
                    nose_out + mass * to_x / now.ball_to_axle_m,
                    car_out,
                    rear_out,
                    front_out,
                    roof_out,
                    0.0,
                    mass * (1 + abs(to_x)),
                )
                for name, to_x in places
                if name != line["place"]
            ]
            if (in_caravan or on_roof) and now.car_may_take:
                boot = (
                    car_out + mass,
                    rear_out + mass * now.rear_per_boot,
                    front_out + mass * now.front_per_boot,
                    roof_out,
                )
                options.append(
                    _Option(number, pieces, "car boot", None, out, nose_out, *boot, 0.0, mass)
                )
        cost = 1.0 if needed[number] is False else 2.0
        if needed[number] is False or (needed[number] is None and not fixed[number]):
            car_less = (car_out, rear_out, front_out, roof_out)
            options.append(
                _Option(number, pieces, "home", None, out, nose_out, *car_less, cost, mass)
            )
    return options


def _pieces(line: pd.Series) -> int:
    quantity = line["quantity"]
    return 1 if pd.isna(quantity) else max(1, int(quantity))


def _yes_or_no(cell: Any) -> bool | None:
    return None if cell is None or pd.isna(cell) else bool(cell)


@dataclass(frozen=True)
class _Limit:
    """A limit as a row: the sum of the chosen changes may be at most `room`."""

    name: str
    row: NDArray[np.float64]
    room: float


def _limits(options: list[_Option], now: Situation) -> list[_Limit]:
    caravan = np.array([option.caravan_kg for option in options])
    nose = np.array([option.nose_kg for option in options])
    car = np.array([option.car_kg for option in options])
    rear = np.array([option.rear_kg for option in options])
    front = np.array([option.front_kg for option in options])
    roof = np.array([option.roof_kg for option in options])
    # Where the noseweight is not measured, each limit counts the end of its range that is worse.
    nose_low = now.nose_kg if now.nose_low_kg is None else now.nose_low_kg
    nose_high = now.nose_kg if now.nose_high_kg is None else now.nose_high_kg
    low, high = now.share_low, now.share_high
    rows = [
        _Limit("a light nose", low * caravan - nose, now.nose_kg - low * now.caravan_kg),
        _Limit("a heavy nose", nose - high * caravan, high * now.caravan_kg - now.nose_kg),
    ]
    for name, row, most, figure in (
        ("the noseweight limit", nose, now.nose_most_kg, nose_high),
        ("the car's roof load limit", roof, now.roof_most_kg, now.roof_kg),
        ("the caravan's plate", caravan, now.caravan_most_kg, now.caravan_kg),
        (
            "the caravan's axle limit",
            (caravan - nose) / now.axles,
            now.axle_most_kg,
            (now.caravan_kg - nose_low) / now.axles,
        ),
        (
            "the car's gross mass",
            car + nose,
            now.car_most_kg,
            None if now.car_kg is None else now.car_kg + nose_high,
        ),
        (
            "the gross train mass",
            car + caravan,
            now.train_most_kg,
            None if now.car_kg is None else now.car_kg + now.caravan_kg,
        ),
        (
            "the car's rear axle limit",
            rear + now.rear_per_nose * nose,
            now.rear_most_kg,
            now.rear_kg,
        ),
        (
            "the car's front axle limit",
            front - (now.rear_per_nose - 1) * nose,
            now.front_most_kg,
            now.front_kg,
        ),
    ):
        if most is not None and figure is not None:
            rows.append(_Limit(name, row, most - figure))
    return rows


def _broken(limits: list[_Limit]) -> list[str]:
    return [limit.name for limit in limits if limit.room < -1e-9]


def _fewest(options: list[_Option], limits: list[_Limit]) -> list[tuple[_Option, int]] | None:
    """The options chosen and how many pieces go there, by searches each kept to the best before.

    The unknowns are, for each option, how many pieces go there and whether any do.
    """
    if not options:
        return None
    many, none = len(options), np.zeros(len(options))
    rows = np.array([option.row for option in options])
    pieces = np.array([option.pieces for option in options], dtype=float)
    lines, first = np.unique(rows, return_index=True)
    of_line = (rows[None, :] == lines[:, None]).astype(float)
    constraints = [
        LinearConstraint(np.hstack([of_line, np.zeros_like(of_line)]), ub=pieces[first]),
        LinearConstraint(np.hstack([np.eye(many), -np.diag(pieces)]), ub=0.0),
    ]
    constraints += [
        LinearConstraint(np.concatenate([limit.row, none])[None, :], ub=limit.room)
        for limit in limits
    ]
    bounds = Bounds(0, np.concatenate([pieces, np.ones(many)]))
    counts = None
    for goal in (
        np.concatenate([none, np.ones(many)]),
        np.concatenate([[option.home_cost for option in options], none]),
        np.concatenate([np.ones(many), none]),
        np.concatenate([[option.effort for option in options], none]),
    ):
        answer = milp(
            goal,
            constraints=constraints,
            integrality=np.ones(2 * many),
            bounds=bounds,
            options={"mip_rel_gap": 0.0},
        )
        if not answer.success:
            break
        counts = np.round(answer.x)
        constraints.append(LinearConstraint(goal[None, :], ub=float(goal @ counts) + 1e-6))
    if counts is None:
        return None
    return [
        (option, int(count))
        for option, count in zip(options, counts[:many], strict=True)
        if count > 0
    ]


def _why_not(options: list[_Option], limits: list[_Limit]) -> str:
    """Which limits stand in the way: those without which there would be an answer."""
    alone = [
        limit.name
        for limit in limits
        if _fewest(options, [other for other in limits if other is not limit]) is not None
    ]
    blame = " or ".join(alone) if alone else ", ".join(_broken(limits))
    return (
        "No choice of moves among the things on the list keeps to every limit; in the way: "
        f"{blame}. Take out more, or mark more things as not needed or not fixed."
    )


def _move(line: pd.Series, option: _Option, count: int) -> Move:
    mass = float(line["total_kg"]) * count / option.pieces
    item, nose = str(line["item"]), option.nose_kg * count
    name = item if count == option.pieces else f"{count} of the {option.pieces} pieces of {item}"
    gains = f"{abs(nose):.1f} kg {'more' if nose > 0 else 'less'} on the ball"
    if abs(nose) < 0.05:
        gains = "the ball carries the same"
    if option.home_cost:
        why = f"Leave {name} ({mass:.4g} kg) at home: {gains}, {mass:.4g} kg less "
        why += "in the caravan." if option.caravan_kg else "in the car."
    elif option.to_x_m is None:
        why = f"Put {name} ({mass:.4g} kg) into the car if there is room: {gains}."
    else:
        side = "in front of" if option.to_x_m > 0 else "behind"
        spot = (
            "over the axle"
            if abs(option.to_x_m) < 0.05
            else f"{abs(option.to_x_m):.1f} m {side} the axle"
        )
        why = f"Move {name} ({mass:.4g} kg) to '{option.to}', {spot}: {gains}."
    return Move(
        *(option.row, item, mass, str(line["place"]), option.to, option.to_x_m, nose, why),
        pieces=count,
        of=option.pieces,
    )
