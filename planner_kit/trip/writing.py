"""Writing household and trip files, whole or not at all."""

from __future__ import annotations

import json
from typing import TYPE_CHECKING, Any

import tomlkit
from pydantic import BaseModel

from planner_kit.files import write_whole
from planner_kit.trip.household import Household
from planner_kit.trip.trip import Trip

if TYPE_CHECKING:
    from pathlib import Path


def file_text(content: Household | Trip) -> str:
    """A household or a trip as TOML; only what differs from the defaults is written.

    Parameters
    ----------
    content : Household or Trip

    Returns
    -------
    text : str
        TOML that reads back as an equal household or trip.
    """
    tables = content.model_dump(by_alias=True, exclude_defaults=True, exclude_none=True)
    return tomlkit.dumps({"schema": content.schema_version, **_plain(tables)})


def write_file(content: Household | Trip, path: Path) -> None:
    """Write a household or a trip to `path`; see `file_text`.

    Raises
    ------
    PlanFileError
        If the place cannot be written to.
    """
    write_whole(path, file_text(content))


def schema_text(what: str) -> str:
    """The JSON Schema of ``household`` or ``trip`` files, indented."""
    models: dict[str, type[BaseModel]] = {"household": Household, "trip": Trip}
    return json.dumps(models[what].model_json_schema(by_alias=True), indent=2)


def _plain(value: Any) -> Any:
    if isinstance(value, dict):
        return {key: _plain(inner) for key, inner in value.items()}
    if isinstance(value, (list, tuple)):
        return [_plain(inner) for inner in value]
    return value
