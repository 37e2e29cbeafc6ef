"""The loading list: what is carried, how heavy it is and where it lies."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

import numpy as np

from planner_kit.errors import PlanFileError
from planner_kit.files import write_whole
from planner_kit.reference import read_table
from planner_kit.spreadsheet import csv_text
from planner_kit.trip.lists import ListColumn, read_list, row_numbers
from planner_kit.trip.mass_words import mass_in_kg

if TYPE_CHECKING:
    from pathlib import Path

    import pandas as pd

ITEM_COLUMNS = (
    ListColumn("item", "text", "what it is", required=True),
    ListColumn("mass_kg", "number", "mass of one, in kg; empty if not weighed", low=0, high=2000),
    ListColumn("quantity", "whole", "how many; empty means one", low=0, high=1000),
    ListColumn(
        "place",
        "text",
        "begins with car, roof or caravan: 'car boot', 'caravan front locker'",
        required=True,
    ),
    ListColumn(
        "x_m",
        "number",
        "in the caravan: metres in front of the axle, behind it negative",
        low=-12,
        high=12,
    ),
    ListColumn("person", "text", "whose it is, or who packs it"),
    ListColumn("mass", "text", "mass of one with its unit, instead of mass_kg: 8 lb, 1 st 4 lb"),
    ListColumn(
        "y_m",
        "number",
        "in the caravan: metres right of the middle, left of it negative",
        low=-1.5,
        high=1.5,
    ),
    ListColumn("fixed", "yes_no", "yes: it stays where it is, such as a gas bottle in its locker"),
    ListColumn("needed", "yes_no", "no: it may be left at home"),
)

_VEHICLES = {"car": "car", "boot": "car", "roof": "roof", "caravan": "caravan"}


def vehicle_of(place: str) -> str | None:
    """Where a place is, by its first word: ``car``, ``roof``, ``caravan``, or None."""
    first = place.strip().lower().replace(":", " ").replace(",", " ").split(maxsplit=1)
    if not first:
        return None
    if first[0] == "car" and len(first) > 1 and first[1].startswith("roof"):
        return "roof"
    return _VEHICLES.get(first[0])


def read_items(path: Path) -> pd.DataFrame:
    """A household's loading list.

    Parameters
    ----------
    path : Path
        CSV with the columns of `ITEM_COLUMNS`.

    Returns
    -------
    items : DataFrame
        The columns of the list and ``vehicle`` (car, roof, caravan); mass_kg is NaN where the
        thing was not weighed.

    Raises
    ------
    PlanFileError
        If the file cannot be read, a place does not say in which vehicle it is, or a mass has a
        unit that is not known.
    """
    try:
        items = read_list(path, ITEM_COLUMNS)
    except PlanFileError as error:
        raise _with_kilograms(error) from error
    rows = row_numbers(path)
    items = items.assign(mass_kg=_masses_kg(path, items, rows))
    vehicles = [vehicle_of(str(place)) for place in items["place"]]
    for row, place, vehicle in zip(rows, items["place"], vehicles, strict=True):
        if vehicle is None:
            raise PlanFileError(
                f"the place '{place}' does not say which vehicle it is in",
                f"{path}, row {row}, column place",
                "begin it with car, roof or caravan, such as 'caravan front locker'",
            )
    return items.assign(vehicle=[str(vehicle) for vehicle in vehicles])


def write_items(items: pd.DataFrame, path: Path) -> None:
    """Write a loading list that `read_items` reads back; masses in kilograms.

    Raises
    ------
    PlanFileError
        If the place cannot be written to.
    """
    names = [column.name for column in ITEM_COLUMNS if column.name != "mass"]
    table = items.reindex(columns=names).copy()
    for name in ("fixed", "needed"):
        words = table[name].astype("boolean").map({True: "yes", False: "no"})
        table[name] = words.astype(object).where(words.notna(), "")
    write_whole(path, csv_text(table))


def _with_kilograms(error: PlanFileError) -> PlanFileError:
    """The error of a mass in another unit, with that mass in kilograms as the remedy."""
    cell = re.match(r"'(.*)' is not a number$", error.what)
    mass_kg = mass_in_kg(cell.group(1)) if cell else None
    if mass_kg is None or "column mass_kg" not in error.where:
        return error
    return PlanFileError(
        error.what,
        error.where,
        f"write {mass_kg:.4g}, which is that in kilograms, or use the column mass with units",
    )


def _masses_kg(path: Path, items: pd.DataFrame, rows: list[int]) -> pd.Series:
    masses = items["mass_kg"].copy()
    for place, words in enumerate(items["mass"].fillna("").astype(str)):
        if not words:
            continue
        where = f"{path}, row {rows[place]}, column mass"
        mass_kg = mass_in_kg(words)
        if mass_kg is None or mass_kg > 2000:
            raise PlanFileError(
                f"'{words}' is not a mass with its unit up to 2000 kg",
                where,
                "write it such as 3.5 kg, 8 lb or 1 st 4 lb",
            )
        if masses.notna().iloc[place]:
            raise PlanFileError("mass_kg is filled too", where, "keep one of the two")
        masses.iloc[place] = mass_kg
    return masses


def is_fixed(items: pd.DataFrame) -> pd.Series:
    """Which lines stay where they are: those that say so, and gas and batteries that do not say.

    The words that mark such things are in ``data/reference/loading_fixed.csv``.
    """
    words = "|".join(re.escape(word) for word in read_table("loading_fixed")["word"])
    by_name = items["item"].str.contains(rf"\b(?:{words})\b", case=False, regex=True)
    if "fixed" not in items.columns:
        return by_name.astype(bool)
    return items["fixed"].astype("boolean").fillna(by_name.astype("boolean")).astype(bool)


def with_totals(items: pd.DataFrame) -> pd.DataFrame:
    """The loading list with ``total_kg`` (mass times quantity) and ``vehicle`` for each line.

    A list that has its totals already is given back as it is.
    """
    if "total_kg" in items.columns:
        return items
    vehicle = items["place"].map(vehicle_of)
    quantity = items["quantity"].fillna(1).astype(float)
    return items.assign(vehicle=vehicle, total_kg=items["mass_kg"] * quantity)


def item_names(items: pd.DataFrame) -> list[str]:
    """A name for each line: the thing, and whose it is where lines of several people share it."""
    names = items["item"].astype(str)
    person = (
        items["person"].fillna("").astype(str).str.strip()
        if "person" in items.columns
        else names.str.slice(0, 0)
    )
    shared = names.str.casefold().duplicated(keep=False) & (person != "")
    return names.where(~shared, names + " (" + person + ")").tolist()


def load_kg(items: pd.DataFrame, *vehicles: str) -> float | None:
    """What lies in some vehicles, or None if a thing there was not weighed. [kg].

    Parameters
    ----------
    items : DataFrame
        From `read_items`.
    *vehicles : str
        ``car``, ``roof`` or ``caravan``.
    """
    table = with_totals(items)
    here = table.loc[table["vehicle"].isin(vehicles), "total_kg"]
    return None if here.isna().any() else float(here.sum())


def unweighed(items: pd.DataFrame, *vehicles: str) -> list[str]:
    """Names of the things in some vehicles that have no mass."""
    table = with_totals(items)
    hit = table["vehicle"].isin(vehicles) & table["mass_kg"].isna()
    return [str(name) for name in table.loc[hit, "item"]]


def loading_plan(items: pd.DataFrame, *, axle_span_m: float) -> pd.DataFrame:
    """The loading list in the order of vehicle and place, with a note on each line.

    Parameters
    ----------
    items : DataFrame
    axle_span_m : float
        How far from the axle counts as over it. [m]

    Returns
    -------
    plan : DataFrame
        Columns item, quantity, mass_kg (of the line), place, x_m, note. Fixed things are told no
        other place.

    References
    ----------
    .. [1] The Highway Code, rule 98: heavy items over the axle, and a downward load on the ball.
    """
    table = with_totals(items).sort_values(["vehicle", "place"], kind="stable")
    inside = table["vehicle"] == "caravan"
    heavy = (
        table["total_kg"] >= table.loc[inside, "total_kg"].quantile(0.75)
        if inside.any()
        else (table["total_kg"] > np.inf)
    )
    # What is fixed in its place is not asked to move.
    far = (table["x_m"].abs() > axle_span_m) & ~is_fixed(table)
    note = np.select(
        [
            table["mass_kg"].isna(),
            inside & table["x_m"].isna(),
            inside & heavy & far & (table["x_m"] < 0),
            inside & heavy & far,
        ],
        [
            "weigh it: its mass is missing",
            "say where it lies: its distance from the axle is missing",
            "heavy and far behind the axle: move it low and over the axle",
            "heavy and far in front of the axle: move it low and over the axle",
        ],
        default="",
    )
    plan = table.assign(mass_kg=table["total_kg"], quantity=table["quantity"].fillna(1), note=note)
    return plan[["item", "quantity", "mass_kg", "place", "x_m", "note"]].reset_index(drop=True)
