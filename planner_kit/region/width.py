"""How wide a road is, and how that is known."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from planner_kit.reference import constant, read_table

if TYPE_CHECKING:
    from numpy.typing import NDArray

SOURCES = ("tagged", "lanes", "class", "unknown")
_TABLE = "road_widths"


def _value(name: str) -> float:
    names = set(read_table(_TABLE)["name"])
    return constant(_TABLE, name).value if name in names else float("nan")


def road_width_m(
    road_class: NDArray[Any],
    tagged_m: NDArray[np.float64],
    lanes: NDArray[np.float64],
    oneway: NDArray[np.bool_],
) -> tuple[NDArray[np.float64], NDArray[Any]]:
    """Carriageway width of each road and where the figure comes from.

    Parameters
    ----------
    road_class : ndarray of str, shape (roads,)
        The highway value.
    tagged_m : ndarray of float, shape (roads,)
        The width tag, NaN where there is none. [m]
    lanes : ndarray of float, shape (roads,)
        Lanes of both directions together, NaN where not tagged.
    oneway : ndarray of bool, shape (roads,)
        Traffic runs one way only.

    Returns
    -------
    width_m : ndarray of float, shape (roads,)
        NaN where not even a guess is made (paths, ferries). [m]
    source : ndarray of str, shape (roads,)
        ``tagged``, ``lanes`` (lanes times the lane width usual for the class), ``class`` (a guess)
        or ``unknown``.

    Notes
    -----
    The guess is what is usual for the class in Great Britain and stands in
    ``data/reference/road_widths.csv`` with the range that is met; a single narrow place is not
    seen by it.
    """
    classes, code = np.unique(road_class.astype(str), return_inverse=True)
    base = [name.removesuffix("_link") for name in classes]
    drivable = [not np.isnan(_value(f"{name}_twoway")) for name in base]
    lane = np.array(
        [
            (_value(f"lane_{name}") if f"lane_{name}" in _names() else _value("lane_other"))
            if ok
            else np.nan
            for name, ok in zip(base, drivable, strict=True)
        ]
    )
    one = np.array([_value(f"{name}_oneway") for name in base])
    two = np.array([_value(f"{name}_twoway") for name in base])
    # A slip road is one lane of its road, whatever the carriageway it leaves.
    link = np.array([name.endswith("_link") for name in classes])
    one, two = np.where(link, lane, one), np.where(link, 2 * lane, two)
    from_lanes = lanes * lane[code]
    guess = np.where(oneway, one[code], two[code])
    width = np.where(~np.isnan(tagged_m), tagged_m, from_lanes)
    width = np.where(~np.isnan(width), width, guess)
    source = np.select(
        [~np.isnan(tagged_m), ~np.isnan(from_lanes), ~np.isnan(guess)],
        ["tagged", "lanes", "class"],
        "unknown",
    )
    return width, source


def _names() -> frozenset[str]:
    return frozenset(read_table(_TABLE)["name"])
