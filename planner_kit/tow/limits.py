"""Where an outfit may not go: signed limits, access, barriers and roads never to be towed on again.

A hard limit is never crossed. Where a figure of the outfit that a limit is held against is not
known, the road is not shown as passable either; its state is then *unknown*.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.reference import constant
from planner_kit.states import State

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit

OPEN, BLOCKED, UNKNOWN = 0, 1, 2
_STATES = (State.FINE, State.NOT_FINE, State.UNKNOWN)


@dataclass(frozen=True)
class SignedLimit:
    """A limit of the outfit that a sign can set on a road.

    Attributes
    ----------
    column : str
        Column of the road table.
    tag : str
        OpenStreetMap tag.
    what : str
        What it limits, in a person's words.
    need : float or None
        The outfit's figure, in `unit`; None where it is not known.
    margin : float
        What is kept free inside the limit. [unit]
    near : float
        A limit that leaves less than this is near. [unit, or a share of the limit if `near_frac`]
    unit : str
    """

    column: str
    tag: str
    what: str
    need: float | None
    margin: float
    near: float
    unit: str
    near_frac: bool = False

    def near_at(self, limit: float) -> bool:
        """Whether a limit that the outfit keeps is near."""
        if self.need is None:
            return True
        room = limit - self.need
        return room < (self.near * limit if self.near_frac else self.near)


def signed_limits(outfit: Outfit) -> tuple[SignedLimit, ...]:
    """The limits that signs can set, with the outfit's figure for each."""

    def value(name: str) -> float:
        return constant("towing_costs", name).value

    def tonnes(mass_kg: float | None) -> float | None:
        return None if mass_kg is None else mass_kg / 1000

    return (
        SignedLimit(
            "maxheight_m", "maxheight", "height", outfit.height_m,
            value("height_margin"), value("near_height"), "m",
        ),
        SignedLimit(
            "maxwidth_m", "maxwidth", "width", outfit.width_m,
            value("width_margin"), value("near_width"), "m",
        ),
        SignedLimit(
            "maxlength_m", "maxlength", "length", outfit.length_m,
            value("length_margin"), value("near_length"), "m",
        ),
        SignedLimit(
            "maxweight_t", "maxweight", "mass of the train", tonnes(outfit.train_kg),
            0.0, value("near_mass_frac"), "t", near_frac=True,
        ),
        SignedLimit(
            "maxaxleload_t", "maxaxleload", "axle load", tonnes(outfit.max_axle_kg),
            0.0, value("near_mass_frac"), "t", near_frac=True,
        ),
    )  # fmt: skip


@dataclass(frozen=True)
class RoadLimits:
    """Which roads and junctions an outfit may not use, and why.

    Attributes
    ----------
    road_code : ndarray of int8, shape (roads,)
        0 open, 1 not allowed, 2 not known to be allowed.
    road_reason : ndarray of int16, shape (roads,)
        Row of `reasons`; 0 is "no limit".
    node_code : ndarray of int8, shape (nodes,)
    node_reason : ndarray of int16, shape (nodes,)
    private : ndarray of bool, shape (roads,)
        Roads that would be open but for being private.
    gate_unknown : ndarray of bool, shape (nodes,)
        A barrier of which nobody said whether it can be passed.
    reasons : tuple of str
        Sentences without the figure of the road, such as "maxheight is below the outfit's 2.65 m".
    """

    road_code: NDArray[np.int8]
    road_reason: NDArray[np.int16]
    node_code: NDArray[np.int8]
    node_reason: NDArray[np.int16]
    private: NDArray[np.bool_]
    gate_unknown: NDArray[np.bool_]
    reasons: tuple[str, ...]

    @property
    def roads_shut(self) -> NDArray[np.bool_]:
        """Roads that a route must not use."""
        return np.asarray(self.road_code != OPEN)

    @property
    def nodes_shut(self) -> NDArray[np.bool_]:
        """Junctions that a route must not pass."""
        return np.asarray(self.node_code != OPEN)

    def frame(self) -> pd.DataFrame:
        """One row for each road: state (word) and reason (empty where nothing is against it)."""
        reasons = np.array(["", *self.reasons[1:]], dtype=object)
        return pd.DataFrame(
            {
                "state": np.array([s.value for s in _STATES], dtype=object)[self.road_code],
                "reason": reasons[self.road_reason],
            }
        )


class _Marks:
    """Codes and reasons for the rows of one table; the first reason found for a row stays."""

    def __init__(self, count: int, reasons: list[str]) -> None:
        self.code = np.zeros(count, dtype=np.int8)
        self.reason = np.zeros(count, dtype=np.int16)
        self.reasons = reasons

    def put(self, rows: NDArray[np.bool_], code: int, reason: str) -> None:
        fresh = rows & (self.code == OPEN)
        if not fresh.any():
            return
        if reason not in self.reasons:
            self.reasons.append(reason)
        self.code[fresh] = code
        self.reason[fresh] = self.reasons.index(reason)


def number(frame: pd.DataFrame, name: str) -> NDArray[np.float64]:
    """A column as float64 with NaN where it is missing."""
    return frame[name].to_numpy(dtype=np.float64, na_value=np.nan)


def is_word(frame: pd.DataFrame, name: str, *words: str) -> NDArray[np.bool_]:
    """Whether a column of words holds one of some words; a missing word is none of them."""
    column = frame[name]
    if isinstance(column.dtype, pd.CategoricalDtype):
        hit = np.append(np.isin(column.cat.categories.astype(str).to_numpy(object), words), False)
        return np.asarray(hit[column.cat.codes.to_numpy()], dtype=bool)
    return np.asarray(column.isin(words).to_numpy(dtype=bool))


def said(frame: pd.DataFrame, name: str) -> tuple[NDArray[np.bool_], NDArray[np.bool_]]:
    """A yes/no column as two arrays: said to be yes, and said at all."""
    column = frame[name].astype("boolean")
    yes: NDArray[np.bool_] = column.fillna(False).to_numpy(dtype=bool)
    return yes, np.asarray(column.notna().to_numpy(dtype=bool))


def limits_for_outfit(
    roads: pd.DataFrame, nodes: pd.DataFrame, outfit: Outfit, *, never: Sequence[int] = ()
) -> RoadLimits:
    """Where the outfit may not go.

    Parameters
    ----------
    roads, nodes : DataFrame
        The region's tables.
    outfit : Outfit
    never : sequence of int
        Roads (rows) that the household never tows on again.

    Returns
    -------
    limits : RoadLimits
    """
    reasons = ["no limit"]
    marks = _Marks(len(roads), reasons)
    again = np.zeros(len(roads), dtype=bool)
    again[list(never)] = True
    marks.put(again, BLOCKED, "it is on your list of roads never to tow on again")
    _access(marks, roads)
    trailer = is_word(roads, "trailer_access", "no")
    marks.put(trailer, BLOCKED, "trailers or caravans are banned (tag caravan or trailer = no)")
    for limit in signed_limits(outfit):
        _put_signed(marks, number(roads, limit.column), limit)
    _put_carriageway(marks, roads, outfit)
    private = _private(marks, roads)

    gates = _Marks(len(nodes), reasons)
    unknown = _barriers(gates, nodes)
    for limit in signed_limits(outfit)[:2]:
        _put_signed(gates, number(nodes, limit.column), limit, "at a barrier ")
    return RoadLimits(
        marks.code, marks.reason, gates.code, gates.reason, private, unknown, tuple(reasons)
    )


def limits_for_car(roads: pd.DataFrame, nodes: pd.DataFrame) -> RoadLimits:
    """Where a plain car may not go; signed dimensions are taken to let a car through."""
    reasons = ["no limit"]
    marks = _Marks(len(roads), reasons)
    _access(marks, roads)
    private = _private(marks, roads)
    gates = _Marks(len(nodes), reasons)
    unknown = _barriers(gates, nodes)
    return RoadLimits(
        marks.code, marks.reason, gates.code, gates.reason, private, unknown, tuple(reasons)
    )


def _access(marks: _Marks, roads: pd.DataFrame) -> None:
    marks.put(
        is_word(roads, "motor_access", "no"),
        BLOCKED,
        "motor vehicles are not allowed (access tags)",
    )


def _private(marks: _Marks, roads: pd.DataFrame) -> NDArray[np.bool_]:
    private = is_word(roads, "motor_access", "private")
    only = np.asarray(private & (marks.code == OPEN))
    marks.put(private, BLOCKED, "it is private (access tags)")
    return only


def _barriers(gates: _Marks, nodes: pd.DataFrame) -> NDArray[np.bool_]:
    stands = ~is_word(nodes, "barrier", "none", "")
    passable, known = said(nodes, "barrier_passable")
    shut = stands & known & ~passable
    for kind in nodes.loc[shut, "barrier"].astype(str).unique():
        rows = shut & is_word(nodes, "barrier", kind)
        gates.put(rows, BLOCKED, f"a barrier stands across it (barrier={kind})")
    return np.asarray(stands & ~known)


def _put_signed(
    marks: _Marks, signed: NDArray[np.float64], limit: SignedLimit, where: str = ""
) -> None:
    has = ~np.isnan(signed)
    if limit.need is None:
        marks.put(has, UNKNOWN, f"{where}{limit.tag} is signed and the outfit's {limit.what} "
                  "is not known")  # fmt: skip
        return
    # A road table holds float32: a sign of 2.8 m must not count as 2.7999.
    over = has & (limit.need + limit.margin > signed + 1e-6 * np.maximum(1.0, np.abs(signed)))
    kept = f" with {limit.margin:g} {limit.unit} to spare" if limit.margin else ""
    marks.put(
        over,
        BLOCKED,
        f"{where}{limit.tag} is too low for the outfit's {limit.what} of "
        f"{limit.need:.2f} {limit.unit}{kept}",
    )


def needed_width_m(outfit: Outfit) -> float:
    """The carriageway width below which the outfit is not led along a road [m].

    An outfit of unknown width is taken to be as wide as the law allows.
    """
    width = outfit.width_m
    if width is None:
        width = constant("towing_costs", "widest_lawful").value
    return width + constant("towing_costs", "carriageway_margin").value


def _put_carriageway(marks: _Marks, roads: pd.DataFrame, outfit: Outfit) -> None:
    tagged = is_word(roads, "width_source", "tagged")
    width = number(roads, "width_m")
    need = needed_width_m(outfit)
    tight = tagged & ~np.isnan(width) & (width + 1e-6 < need)
    if outfit.width_m is None:
        marks.put(tight, UNKNOWN, "width is tagged and the outfit's width is not known")
    else:
        marks.put(tight, BLOCKED, f"the tagged width is below the {need:.2f} m that the outfit "
                  "and its margin need")  # fmt: skip
