"""Where an outfit may not go: signed limits, access, barriers and roads never to be towed on again.

A hard limit is never crossed. Where a figure of the outfit that a limit is held against is not
known, the road is not shown as passable either; its state is then *unknown*.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.reference import constant
from planner_kit.states import State
from planner_kit.tow.road_table import RoadRows

if TYPE_CHECKING:
    from collections.abc import Sequence

    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit

    Rows = tuple[NDArray[np.int64], NDArray[np.float64]]

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

    @cached_property
    def roads_shut(self) -> NDArray[np.bool_]:
        """Roads that a route must not use."""
        return np.asarray(self.road_code != OPEN)

    @cached_property
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

    def put(self, rows: NDArray[np.int64], code: int, reason: str) -> None:
        fresh = rows[self.code[rows] == OPEN]
        if not len(fresh):
            return
        if reason not in self.reasons:
            self.reasons.append(reason)
        self.code[fresh] = code
        self.reason[fresh] = self.reasons.index(reason)


def number(frame: pd.DataFrame | RoadRows, name: str) -> NDArray[np.float64]:
    """A column as float64 with NaN where it is missing."""
    if isinstance(frame, RoadRows):
        return frame.numbers(name)
    return frame[name].to_numpy(dtype=np.float64, na_value=np.nan)


def is_word(frame: pd.DataFrame | RoadRows, name: str, *words: str) -> NDArray[np.bool_]:
    """Whether a column of words holds one of some words; a missing word is none of them."""
    if isinstance(frame, RoadRows):
        return frame.is_word(name, words)
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


_SIGNED = ("maxheight_m", "maxwidth_m", "maxlength_m", "maxweight_t", "maxaxleload_t")


@dataclass(frozen=True)
class RoadSigns:
    """The rows of a region's tables at which something can stop a vehicle; found once.

    Attributes
    ----------
    roads, nodes : int
        Length of the two tables.
    no_cars, no_trailers, private : ndarray of int64
        Roads shut by their access tags.
    signed : dict of str to (ndarray of int64, ndarray of float64)
        For each column of a limit: the roads that have one, and its figure.
    tagged_width : (ndarray of int64, ndarray of float64)
        Roads whose width somebody measured. [m]
    barriers : tuple of (str, ndarray of int64)
        Junctions at which a car cannot pass, by kind of barrier.
    gate_unknown : ndarray of bool, shape (nodes,)
        Barriers of which nobody said whether they can be passed.
    node_signed : dict of str to (ndarray of int64, ndarray of float64)
        Limits at barriers.
    """

    roads: int
    nodes: int
    no_cars: NDArray[np.int64]
    no_trailers: NDArray[np.int64]
    private: NDArray[np.int64]
    signed: dict[str, Rows]
    tagged_width: Rows
    barriers: tuple[tuple[str, NDArray[np.int64]], ...]
    gate_unknown: NDArray[np.bool_]
    node_signed: dict[str, Rows]


def _having(frame: pd.DataFrame, name: str) -> Rows:
    values = number(frame, name)
    rows = np.flatnonzero(~np.isnan(values))
    return rows, values[rows]


def road_signs(roads: pd.DataFrame, nodes: pd.DataFrame) -> RoadSigns:
    """Where something can stop a vehicle.

    Parameters
    ----------
    roads, nodes : DataFrame
        The region's tables.

    Returns
    -------
    signs : RoadSigns
    """
    rows, width = _having(roads, "width_m")
    tagged = is_word(roads, "width_source", "tagged")[rows]
    stands = ~is_word(nodes, "barrier", "none", "")
    passable, known = said(nodes, "barrier_passable")
    shut = stands & known & ~passable
    kinds = nodes.loc[shut, "barrier"].astype(str).unique()
    return RoadSigns(
        roads=len(roads),
        nodes=len(nodes),
        no_cars=np.flatnonzero(is_word(roads, "motor_access", "no")),
        no_trailers=np.flatnonzero(is_word(roads, "trailer_access", "no")),
        private=np.flatnonzero(is_word(roads, "motor_access", "private")),
        signed={name: _having(roads, name) for name in _SIGNED},
        tagged_width=(rows[tagged], width[tagged]),
        barriers=tuple(
            (kind, np.flatnonzero(shut & is_word(nodes, "barrier", kind))) for kind in kinds
        ),
        gate_unknown=np.asarray(stands & ~known),
        node_signed={name: _having(nodes, name) for name in _SIGNED[:2]},
    )


def limits_for_outfit(signs: RoadSigns, outfit: Outfit, *, never: Sequence[int] = ()) -> RoadLimits:
    """Where the outfit may not go.

    Parameters
    ----------
    signs : RoadSigns
        Of the region.
    outfit : Outfit
    never : sequence of int
        Roads (rows) that the household never tows on again.

    Returns
    -------
    limits : RoadLimits
    """
    reasons = ["no limit"]
    marks = _Marks(signs.roads, reasons)
    again = np.array(sorted(set(never)), dtype=np.int64)
    marks.put(again, BLOCKED, "it is on your list of roads never to tow on again")
    marks.put(signs.no_cars, BLOCKED, "motor vehicles are not allowed (access tags)")
    marks.put(
        signs.no_trailers,
        BLOCKED,
        "trailers or caravans are banned (tag caravan or trailer = no)",
    )
    limits = signed_limits(outfit)
    for limit in limits:
        _put_signed(marks, signs.signed[limit.column], limit)
    _put_carriageway(marks, signs.tagged_width, outfit)
    private = _private(marks, signs)
    gates = _barriers(signs, reasons)
    for limit in limits[:2]:
        _put_signed(gates, signs.node_signed[limit.column], limit, "at a barrier ")
    return _limits(marks, gates, private, signs)


def limits_for_car(signs: RoadSigns) -> RoadLimits:
    """Where a plain car may not go; signed dimensions are taken to let a car through."""
    reasons = ["no limit"]
    marks = _Marks(signs.roads, reasons)
    marks.put(signs.no_cars, BLOCKED, "motor vehicles are not allowed (access tags)")
    private = _private(marks, signs)
    return _limits(marks, _barriers(signs, reasons), private, signs)


def _limits(
    marks: _Marks, gates: _Marks, private: NDArray[np.bool_], signs: RoadSigns
) -> RoadLimits:
    return RoadLimits(
        marks.code, marks.reason, gates.code, gates.reason, private, signs.gate_unknown,
        tuple(marks.reasons),
    )  # fmt: skip


def _private(marks: _Marks, signs: RoadSigns) -> NDArray[np.bool_]:
    only = np.zeros(signs.roads, dtype=bool)
    only[signs.private[marks.code[signs.private] == OPEN]] = True
    marks.put(signs.private, BLOCKED, "it is private (access tags)")
    return only


def _barriers(signs: RoadSigns, reasons: list[str]) -> _Marks:
    gates = _Marks(signs.nodes, reasons)
    for kind, rows in signs.barriers:
        gates.put(rows, BLOCKED, f"a barrier stands across it (barrier={kind})")
    return gates


def _put_signed(marks: _Marks, having: Rows, limit: SignedLimit, where: str = "") -> None:
    rows, signed = having
    if limit.need is None:
        marks.put(rows, UNKNOWN, f"{where}a sign limits it ({limit.tag}) and the outfit's "
                  f"{limit.what} is not known")  # fmt: skip
        return
    # A road table holds float32: a sign of 2.8 m must not count as 2.7999.
    over = limit.need + limit.margin > signed + 1e-6 * np.maximum(1.0, np.abs(signed))
    kept = f" with {limit.margin:g} {limit.unit} to spare" if limit.margin else ""
    marks.put(
        rows[over],
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


def _put_carriageway(marks: _Marks, having: Rows, outfit: Outfit) -> None:
    rows, width = having
    need = needed_width_m(outfit)
    tight = rows[width + 1e-6 < need]
    if outfit.width_m is None:
        marks.put(tight, UNKNOWN, "width is tagged and the outfit's width is not known")
    else:
        marks.put(tight, BLOCKED, f"the tagged width is below the {need:.2f} m that the outfit "
                  "and its margin need")  # fmt: skip
