"""Reading lists that people keep, as CSV or GeoJSON, with the row and column of what is wrong.

Each stage keeps the contract of its own list as a tuple of `ListColumn` and calls `read_list`.
"""

from __future__ import annotations

import csv
import io
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

import numpy as np
import pandas as pd

from planner_kit.errors import PlanFileError, nearest_name
from planner_kit.files import read_words
from planner_kit.trip import point_list

if TYPE_CHECKING:
    from collections.abc import Sequence
    from pathlib import Path

Kind = Literal["id", "text", "number", "whole", "yes_no", "date", "month_day", "time", "choice"]


@dataclass(frozen=True)
class ListColumn:
    """A column of a list that a person keeps.

    Attributes
    ----------
    name : str
    kind : str
        ``id`` and ``text`` give str; ``number`` float64; ``whole`` Int64; ``yes_no`` boolean (NA
        if empty); ``date`` datetime64; ``month_day`` str ``MM-DD``; ``time`` str ``HH:MM``;
        ``choice`` str, one of `choices`.
    meaning : str
        What it holds, with its unit.
    required : bool
        Whether the column must exist and each cell be filled; otherwise an empty cell is missing.
    low, high : float or None
        Limits of a number.
    choices : tuple of str
        The words allowed for a ``choice``.
    outside : str
        What to do about a number that is outside its limits.
    """

    name: str
    kind: Kind
    meaning: str
    required: bool = False
    low: float | None = None
    high: float | None = None
    choices: tuple[str, ...] = ()
    outside: str = "check the figure and its unit"


def read_list(path: Path, columns: Sequence[ListColumn], *, key: str | None = None) -> pd.DataFrame:
    """A list as a frame with exactly the columns of its contract.

    Parameters
    ----------
    path : Path
        CSV in UTF-8, the first line naming the columns; or GeoJSON points, whose properties are the
        columns (then a row is a feature).
    columns : sequence of ListColumn
        The contract; a column that is not required may be left out of the file.
    key : str, optional
        A column whose values must all differ.

    Returns
    -------
    frame : DataFrame
        One row for each line; missing cells are NaN, NA or the empty string.

    Raises
    ------
    PlanFileError
        If the file is missing or not text, a column is unknown or missing, or a cell is wrong: the
        sentence names row (as a spreadsheet counts it) and column, and how many more there are.
    """
    header, rows = _rows_of(path)
    _check_header(path, header, columns)
    faults: list[PlanFileError] = []
    data: dict[str, pd.Series] = {}
    for column in columns:
        if column.name in header:
            place = header.index(column.name)
            cells = [row[place].strip() if place < len(row) else "" for _, row in rows]
        else:
            cells = [""] * len(rows)
        data[column.name] = _column_of(path, column, cells, [line for line, _ in rows], faults)
    if key is not None:
        _check_unique(path, key, data[key], [line for line, _ in rows], faults)
    if faults:
        first = faults[0]
        more = f" (and {len(faults) - 1} more cells to mend)" if len(faults) > 1 else ""
        raise PlanFileError(first.what, first.where, first.remedy + more)
    return pd.DataFrame(data)


def list_header(path: Path) -> list[str]:
    """The columns that a list names, whatever list it is.

    Raises
    ------
    PlanFileError
        If the file is missing, is no text or names nothing.
    """
    return _rows_of(path)[0]


def row_numbers(path: Path) -> list[int]:
    """The row, as a spreadsheet counts it, of each line of a list that `read_list` accepted."""
    return [line for line, _ in _rows_of(path)[1]]


def _cell_name(path: Path, line: int, column: str) -> str:
    """Where a cell stands, in the words of its kind of file."""
    if path.suffix.lower() in point_list.ENDINGS:
        return f"{path}, feature {line}, property {column}"
    return f"{path}, row {line}, column {column}"


def _rows_of(path: Path) -> tuple[list[str], list[tuple[int, list[str]]]]:
    if path.suffix.lower() in point_list.ENDINGS:
        return point_list.read_points(path)
    text = read_words(path, most_mb=50, save_as="CSV UTF-8")
    try:
        reader = csv.reader(io.StringIO(text), strict=True)
        lines = [(reader.line_num, row) for row in reader if any(cell.strip() for cell in row)]
    except csv.Error as error:
        raise PlanFileError(
            f"line {reader.line_num} is not CSV ({error})", str(path), "mend the quotes there"
        ) from error
    if not lines:
        raise PlanFileError("it is empty", str(path), "write the column names in the first line")
    header = [cell.strip() for cell in lines[0][1]]
    for mark, name in ((";", "semicolons"), ("\t", "tabs")):
        if len(header) == 1 and mark in header[0]:
            raise PlanFileError(
                f"its columns are parted by {name}",
                str(path),
                "save it as CSV with commas, and with a point in numbers that have decimals",
            )
    for line, row in lines[1:]:
        if len(row) > len(header):
            raise PlanFileError(
                f"it has {len(row)} cells where the first line names {len(header)} columns",
                f"{path}, row {line}",
                "put quotes around a cell that holds a comma",
            )
    return header, lines[1:]


def _check_header(path: Path, header: list[str], columns: Sequence[ListColumn]) -> None:
    known = [column.name for column in columns]
    first = str(path) if path.suffix.lower() in point_list.ENDINGS else f"{path}, row 1"
    for name in header:
        if name not in known:
            raise PlanFileError(
                f"the column '{name}' is not known", first, nearest_name(name, known)
            )
        if header.count(name) > 1:
            raise PlanFileError(f"the column '{name}' stands twice", first, "keep one of them")
    for column in columns:
        if column.required and column.name not in header:
            raise PlanFileError(f"the column '{column.name}' is missing", first, "add it")


def _check_unique(
    path: Path, key: str, values: pd.Series, lines: list[int], faults: list[PlanFileError]
) -> None:
    for place in np.flatnonzero(values.duplicated().to_numpy()):
        faults.append(
            PlanFileError(
                f"'{values.iloc[place]}' stands in an earlier row too",
                _cell_name(path, lines[place], key),
                "give each row its own",
            )
        )


def _column_of(
    path: Path,
    column: ListColumn,
    cells: list[str],
    lines: list[int],
    faults: list[PlanFileError],
) -> pd.Series:
    values: list[object] = []
    for cell, line in zip(cells, lines, strict=True):
        value, fault = _cell_of(column, cell)
        if fault is not None:
            what, remedy = fault
            faults.append(PlanFileError(what, _cell_name(path, line, column.name), remedy))
        values.append(value)
    dtype = {
        "number": "float64",
        "whole": "Int64",
        "yes_no": "boolean",
        "date": "datetime64[s]",
    }.get(column.kind, "str")
    return pd.Series(values, dtype=dtype, name=column.name)


def _cell_of(column: ListColumn, cell: str) -> tuple[object, tuple[str, str] | None]:
    """The value of a cell (missing when it cannot be used), and what is wrong with it."""
    empty: object = {"number": np.nan, "whole": pd.NA, "yes_no": pd.NA, "date": pd.NaT}.get(
        column.kind, ""
    )
    if cell == "":
        return empty, ("it is empty", "fill it in") if column.required else None
    if column.kind in ("number", "whole"):
        return _number_of(column, cell, empty)
    if column.kind == "yes_no":
        words = {"yes": True, "no": False, "true": True, "false": False, "1": True, "0": False}
        if cell.lower() in words:
            return words[cell.lower()], None
        return empty, (f"'{cell}' is neither yes nor no", "write yes, no or nothing")
    if column.kind == "choice":
        if cell in column.choices:
            return cell, None
        return empty, (
            f"'{cell}' is not one of the words allowed",
            nearest_name(cell, column.choices),
        )
    return _written_value(column, cell, empty)


def _number_of(
    column: ListColumn, cell: str, empty: object
) -> tuple[object, tuple[str, str] | None]:
    try:
        number = float(cell)
    except ValueError:
        hint = "use a point for decimals" if "," in cell else "write a plain number, no unit"
        return empty, (f"'{cell}' is not a number", hint)
    low = -np.inf if column.low is None else column.low
    high = np.inf if column.high is None else column.high
    if not np.isfinite(number) or not low <= number <= high:
        return empty, (f"{cell} is outside {low:g} to {high:g}", column.outside)
    if column.kind == "whole" and number != int(number):
        return empty, (f"{cell} is not a whole number", "round it")
    return (int(number) if column.kind == "whole" else number), None


_FORMS = {
    "date": ("%Y-%m-%d", "a date such as 2027-07-24"),
    "month_day": ("%Y-%m-%d", "a month and day such as 03-28"),
    "time": ("%H:%M", "a time such as 14:30"),
}


def _written_value(
    column: ListColumn, cell: str, empty: object
) -> tuple[object, tuple[str, str] | None]:
    if column.kind not in _FORMS:
        return cell, None
    form, example = _FORMS[column.kind]
    text = f"2000-{cell}" if column.kind == "month_day" else cell
    try:
        stamp = pd.Timestamp(pd.to_datetime(text, format=form))
    except ValueError:
        return empty, (f"'{cell}' is not {example}", "write it in that form")
    return (stamp if column.kind == "date" else cell), None
