"""Filling in the files of a household and a trip: made when they are missing, comments kept."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

import tomlkit
from pydantic import BaseModel, ValidationError

from planner_kit.errors import PlanFileError
from planner_kit.files import read_words, write_whole
from planner_kit.reference import shipped_folder
from planner_kit.trip.comments import keys_of, of_what_follows, take_out, written_out
from planner_kit.trip.household import Household
from planner_kit.trip.reading import key_text, what_and_remedy
from planner_kit.trip.trip import Trip

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence
    from pathlib import Path

Keys = tuple[str | int, ...]
_Model = TypeVar("_Model", bound=BaseModel)


def fill_household(path: Path, values: Mapping[Keys, Any]) -> Household:
    """Write values into a household file, which is made from the starter file if it is missing.

    Parameters
    ----------
    path : Path
        A household.toml.
    values : mapping
        What is wanted for each key, such as ``("car", "kerb_kg")`` or ``("people", 0, "name")``;
        None takes a key out. A list of mappings stands for a whole list of tables: those that stay
        in their place keep the comments and the keys that are not named.

    Returns
    -------
    household : Household
        As the file then reads.

    Raises
    ------
    PlanFileError
        If the file cannot be read or written, or would be no household file: it is then left as it
        was.
    """
    return _fill(path, Household, "household.toml", values)


def fill_trip(path: Path, values: Mapping[Keys, Any]) -> Trip:
    """Write values into a trip file, which is made if it is missing; see `fill_household`."""
    return _fill(path, Trip, "trip.toml", values)


def _fill(path: Path, model: type[_Model], starter: str, values: Mapping[Keys, Any]) -> _Model:
    source = path if path.exists() else shipped_folder("data") / "starter" / starter
    text = read_words(source, most_mb=2)
    try:
        document: Any = tomlkit.parse(text)
    except tomlkit.exceptions.TOMLKitError as error:
        raise PlanFileError(
            f"it is not valid TOML: {error}", str(path), "mend that line"
        ) from error
    before = keys_of(document)
    for keys, value in values.items():
        _put(document, keys, value)
    filled = written_out(document, before)
    try:
        whole = model.model_validate(tomlkit.parse(filled).unwrap())
    except ValidationError as error:
        fault = error.errors()[0]
        what, remedy = what_and_remedy(model, fault)
        raise PlanFileError(what, f"{path.name}, {key_text(fault['loc'])}", remedy) from None
    if not path.exists() or filled != text:
        write_whole(path, filled)
    return whole


def _put(document: Any, keys: Sequence[str | int], value: Any) -> None:
    here = document
    for key in keys[:-1]:
        if isinstance(key, str) and key not in here:
            here[key] = tomlkit.table()
        here = here[key]
    last: Any = keys[-1]
    if value is None:
        if last in here:
            take_out(here, last)
    elif isinstance(value, list) and all(isinstance(one, dict) for one in value):
        _put_tables(here, last, value)
    elif last not in here or here[last] != value:
        _set_beside_comment(here, last, value)


def _set_beside_comment(table: Any, key: str, value: Any) -> None:
    """Set a value; a comment on its line stays."""
    old = table.get(key)
    item = tomlkit.item(value)
    if hasattr(old, "trivia"):
        item.trivia.comment_ws = old.trivia.comment_ws
        item.trivia.comment = old.trivia.comment
    table[key] = item


def _put_tables(here: Any, key: str, rows: list[dict[str, Any]]) -> None:
    """Make a list of tables say these rows; a table that stays keeps what is not named."""
    if not rows:
        if key in here:
            take_out(here, key)
        return
    tables = here.get(key)
    if tables is None:
        tables = tomlkit.aot()
    of_next = of_what_follows(tables)
    while len(tables) > len(rows):
        del tables[len(tables) - 1]
    while len(tables) < len(rows):
        table = tomlkit.table()
        table.trivia.indent = "\n" if len(tables) else ""
        tables.append(table)
    for table, row in zip(tables, rows, strict=True):
        for name, value in row.items():
            _put(table, (name,), value)
    if of_next:
        tables[-1].value.body.extend(of_next)
    if key not in here:
        here[key] = tables
