"""Taking away what a function was given, one input after another."""

from __future__ import annotations

import contextlib
import dataclasses
import types
import typing
from collections.abc import Iterator
from typing import Any

import numpy as np
import pandas as pd
from pydantic import BaseModel, ValidationError


def removals(value: Any, name: str) -> Iterator[tuple[str, Any]]:
    """Copies of a value, each without one of the facts in it, with the name of that fact.

    A field that may be None becomes None; a cell or a column becomes missing; a frame becomes
    empty; a tuple of parts becomes empty. What may not be missing stays.
    """
    if isinstance(value, BaseModel):
        for what, changed in _fields_of(value, name):
            with contextlib.suppress(ValidationError):
                yield what, type(value).model_validate(changed.model_dump(by_alias=True))
    elif isinstance(value, pd.DataFrame):
        yield f"{name} (no rows)", value.iloc[:0]
        for column in value.columns:
            blank = _blank_column(value[column])
            if blank is not None and not _is_blank(value[column]):
                yield f"{name}[{column}]", value.assign(**{column: blank})
    elif isinstance(value, pd.Series):
        for key, cell in value.items():
            blank = _blank_cell(cell)
            if blank is not _STAYS:
                changed = value.astype(object).copy()
                changed[key] = blank
                yield f"{name}[{key}]", changed
    elif dataclasses.is_dataclass(value) and not isinstance(value, type):
        yield from _attributes_of(value, name)


def _fields_of(value: BaseModel, name: str) -> Iterator[tuple[str, Any]]:
    for key, field in type(value).model_fields.items():
        yield from _parts(
            getattr(value, key),
            f"{name}.{key}",
            may_be_none=_takes_none(field.annotation),
            put=lambda new, key=key: value.model_copy(update={key: new}),
        )


def _attributes_of(value: Any, name: str) -> Iterator[tuple[str, Any]]:
    hints = typing.get_type_hints(type(value)) if _has_hints(value) else {}
    for field in dataclasses.fields(value):
        told = hints.get(field.name, str(field.type))
        optional = _takes_none(told) if not isinstance(told, str) else "None" in told
        yield from _parts(
            getattr(value, field.name),
            f"{name}.{field.name}",
            may_be_none=optional,
            put=lambda new, key=field.name: dataclasses.replace(value, **{key: new}),
        )


_STAYS = object()


def _parts(value: Any, name: str, *, may_be_none: bool, put: Any) -> Iterator[tuple[str, Any]]:
    if may_be_none and value is not None:
        yield name, put(None)
    if isinstance(value, tuple) and value and isinstance(value[0], BaseModel):
        yield f"{name} (none)", put(())
        for n, part in enumerate(value):
            for inner, changed in removals(part, f"{name}[{n}]"):
                yield inner, put((*value[:n], changed, *value[n + 1 :]))
    elif isinstance(value, (BaseModel, pd.DataFrame, pd.Series)) or (
        dataclasses.is_dataclass(value) and not isinstance(value, type)
    ):
        for inner, changed in removals(value, name):
            yield inner, put(changed)


def _takes_none(annotation: Any) -> bool:
    if annotation is type(None):
        return True
    if typing.get_origin(annotation) is typing.Annotated:
        return _takes_none(typing.get_args(annotation)[0])
    if isinstance(annotation, types.UnionType) or typing.get_origin(annotation) is typing.Union:
        return any(_takes_none(part) for part in typing.get_args(annotation))
    return False


def _has_hints(value: Any) -> bool:
    try:
        typing.get_type_hints(type(value))
    except NameError:  # imported for the type checker only
        return False
    return True


def _is_blank(column: pd.Series) -> bool:
    """Whether there is nothing in the column to take away."""
    return bool((column.isna() | column.astype(object).isin(["", "unknown"])).all())


def _blank_column(column: pd.Series) -> Any:
    """The column with nothing in it, None where its kind cannot be missing."""
    kind = column.dtype
    if kind.kind == "f":
        return np.nan
    if isinstance(kind, pd.CategoricalDtype):
        return pd.Categorical(["unknown"] * len(column)) if "unknown" in kind.categories else None
    if str(kind) in {"boolean", "Int64"}:
        return pd.array([pd.NA] * len(column), dtype=kind)
    if kind.kind == "M":
        return pd.NaT
    if str(kind) in {"str", "string"}:
        return ""
    if kind.kind == "O" and len(column):
        blank = _blank_cell(column.iloc[0])
        return None if blank is _STAYS else blank
    return None


def _blank_cell(cell: Any) -> Any:
    if isinstance(cell, str):
        return ""
    if isinstance(cell, (bool, np.bool_)):
        return pd.NA
    if isinstance(cell, (int, float, np.number)) and not pd.isna(cell):
        return np.nan
    return _STAYS
