"""The lists that are ticked off beside the caravan, kept to what the outfit has."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.reference import read_table

if TYPE_CHECKING:
    from planner_kit.trip.household import Household
    from planner_kit.trip.trip import Stay

LISTS = ("hitching", "departure", "arrival", "leaving")


def checklist(name: str, household: Household, stay: Stay | None = None) -> tuple[str, ...]:
    """The lines of a list that hold for this household.

    Parameters
    ----------
    name : str
        One of `LISTS`.
    household : Household
        A line is left out only where the household says that it has no use for it; where it does
        not say, the line stays.
    stay : Stay, optional
        Leaves out the hook-up and the awning where the stay is planned without them.

    Returns
    -------
    lines : tuple of str
        In the order in which they are done.

    Raises
    ------
    KeyError
        If there is no list of that name.
    """
    if name not in LISTS:
        raise KeyError(f"checklists.csv has no list '{name}'; use one of {', '.join(LISTS)}")
    caravan = household.caravan
    has = {
        "": True,
        "stabiliser": caravan.stabiliser is not False,
        "braked": caravan.braked is not False,
        "gas": caravan.gas_cylinders != 0,
        "cassette": caravan.cassette_l != 0,
        "dog": bool(household.dogs),
        "hookup": stay is None or stay.hookup,
        "awning": stay is None or stay.awning,
    }
    table = read_table("checklists")
    rows = table[table["list"] == name]
    return tuple(
        item for item, needs in zip(rows["item"], rows["needs"], strict=True) if has[needs]
    )
