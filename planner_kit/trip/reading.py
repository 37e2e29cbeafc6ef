"""Reading household.toml and trip.toml, with errors of one sentence."""

from __future__ import annotations

import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any, TypeVar, get_args

from pydantic import BaseModel, ValidationError

from planner_kit.errors import PlanFileError, nearest_name
from planner_kit.files import read_words
from planner_kit.trip.household import Household
from planner_kit.trip.learnt import Learnt
from planner_kit.trip.mass_words import mass_in_kg
from planner_kit.trip.trip import Trip

if TYPE_CHECKING:
    from pathlib import Path

    from pydantic_core import ErrorDetails

_Model = TypeVar("_Model", bound=BaseModel)


def read_toml(path: Path) -> dict[str, Any]:
    """The tables of a TOML file.

    Raises
    ------
    PlanFileError
        If the file is missing, too large, not UTF-8 or not TOML.
    """
    text = read_words(path, most_mb=2)
    try:
        return tomllib.loads(text)
    except (tomllib.TOMLDecodeError, RecursionError) as error:
        what = str(error) or "it is nested too deeply"
        raise PlanFileError(f"it is not valid TOML: {what}", str(path), "mend that line") from error


def read_household(path: Path) -> Household:
    """The household of a file.

    Parameters
    ----------
    path : Path
        A ``household.toml``.

    Returns
    -------
    household : Household

    Raises
    ------
    PlanFileError
        If the file is missing or a key or value is not allowed; the sentence names the key.
    """
    return _validated(Household, path)


def read_trip(path: Path) -> Trip:
    """The trip of a file; see `read_household` for the errors."""
    return _validated(Trip, path)


def _validated(model: type[_Model], path: Path) -> _Model:
    tables = read_toml(path)
    try:
        return model.model_validate(tables)
    except ValidationError as error:
        raise _as_sentence(model, path, error) from None


def _as_sentence(model: type[BaseModel], path: Path, error: ValidationError) -> PlanFileError:
    faults = sorted(error.errors(), key=lambda fault: fault["type"] != "extra_forbidden")
    fault = faults[0]
    more = f" (and {len(faults) - 1} more to mend after this)" if len(faults) > 1 else ""
    where = f"{path}, {key_text(fault['loc'])}" if fault["loc"] else str(path)
    what, remedy = what_and_remedy(model, fault)
    return PlanFileError(what, where, remedy + more)


def key_text(location: tuple[int | str, ...]) -> str:
    """A place in a TOML file in words: ``("stays", 0, "nights")`` is ``[stays] 1, nights``."""
    words: list[str] = []
    for step in location:
        words.append(str(step + 1) if isinstance(step, int) else step)
    return " > ".join(words)


def what_and_remedy(model: type[BaseModel], fault: ErrorDetails) -> tuple[str, str]:
    """What is wrong with a value of a file, and what to do, in words."""
    kind, seen = fault["type"], fault["input"]
    context = fault.get("ctx", {})
    key = str(fault["loc"][-1]) if fault["loc"] else ""
    if kind == "extra_forbidden":
        allowed = _keys_at(model, fault["loc"][:-1])
        return f"the key '{key}' is not known", nearest_name(key, allowed)
    if kind == "missing":
        return f"'{key}' is missing", "add it"
    if kind == "value_error":
        return str(context.get("error", fault["msg"])), "put it right"
    if kind == "literal_error":
        return f"{seen!r} is not one of {context['expected']}", "use one of them"
    if kind == "string_pattern_mismatch":
        return f"{seen!r} does not have the form {context['pattern']}", "write it in that form"
    shown = repr(seen) if len(repr(seen)) < 60 else repr(seen)[:57] + "..."
    if kind in ("float_parsing", "int_parsing") and isinstance(seen, str):
        return f"{shown} is not a number", _plain_number(key, seen)
    for name, words in _BOUNDS:
        if kind.removesuffix("_equal") in ("greater_than", "less_than") and name in context:
            return f"{shown} will not do: it must be {words} {context[name]:g}", "correct the value"
    return f"{shown} will not do: {fault['msg'][0].lower()}{fault['msg'][1:]}", "correct the value"


_BOUNDS = (("ge", "at least"), ("gt", "more than"), ("le", "at most"), ("lt", "less than"))


def _plain_number(key: str, words: str) -> str:
    """What to write instead of a number with words: a mass in another unit in kilograms."""
    mass_kg = mass_in_kg(words) if key.endswith("_kg") else None
    if mass_kg is None:
        return "write a plain number, without its unit and without quotes"
    return f"write {mass_kg:.4g}, which is that in kilograms"


def _keys_at(model: type[BaseModel], location: tuple[int | str, ...]) -> list[str]:
    here: type[BaseModel] = model
    for step in location:
        if isinstance(step, int) or step not in _by_alias(here):
            continue
        inner = _model_in(_by_alias(here)[step])
        if inner is None:
            return []
        here = inner
    return list(_by_alias(here))


def _by_alias(model: type[BaseModel]) -> dict[str, Any]:
    return {field.alias or name: field.annotation for name, field in model.model_fields.items()}


def _model_in(annotation: Any) -> type[BaseModel] | None:
    if isinstance(annotation, type) and issubclass(annotation, BaseModel):
        return annotation
    for inner in get_args(annotation):
        found = _model_in(inner)
        if found is not None:
            return found
    return None


@dataclass(frozen=True)
class TripInputs:
    """A trip with its household, as read, and where they lie.

    Attributes
    ----------
    trip : Trip
    household : Household
    trip_path, household_path : Path
        The files they were read from.
    learnt : Learnt or None
        What earlier trips taught, for the stages to use.
    """

    trip: Trip
    household: Household
    trip_path: Path
    household_path: Path
    learnt: Learnt | None = None

    def path_of(self, name: str) -> Path:
        """A file named in the trip file, relative to it.

        Raises
        ------
        PlanFileError
            If the name leads out of the trip's folder.
        """
        return resolve_inside(name, self.trip_path)

    def path_beside_household(self, name: str) -> Path:
        """A file named in the household file, relative to it; see `path_of`."""
        return resolve_inside(name, self.household_path)


def resolve_inside(name: str, trip_path: Path) -> Path:
    """Where a name written in a trip file leads, which is never out of the trip's folder.

    Raises
    ------
    PlanFileError
        If the path is absolute or leads out, through links or dots, or is no path at all.
    """
    return _resolved(name, trip_path, trip_path.parent, "keep the trip's files in one folder")


def resolve_region(name: str, trip_path: Path) -> Path:
    """Where the name of a region leads: in the trip's folder, or beside it to be shared by trips.

    Raises
    ------
    PlanFileError
        If the path is absolute or leads elsewhere, through links or dots, or is no path at all.
    """
    return _resolved(
        name,
        trip_path,
        trip_path.resolve().parent.parent,
        "keep the region in that folder or beside it",
    )


def _resolved(name: str, trip_path: Path, within: Path, remedy: str) -> Path:
    try:
        target = (trip_path.resolve().parent / name).resolve()
    except (ValueError, OSError, RuntimeError) as error:
        raise PlanFileError(
            f"'{name}' is no path", str(trip_path), "write a file's name"
        ) from error
    if not target.is_relative_to(within.resolve()) or name.startswith(("/", "~", "\\")):
        raise PlanFileError(
            f"the path '{name}' leads out of the trip's folder", str(trip_path), remedy
        )
    return target


def read_inputs(trip_path: Path) -> TripInputs:
    """A trip file and the household file that it names.

    Raises
    ------
    PlanFileError
        If either cannot be used; see `read_trip`.
    """
    trip = read_trip(trip_path)
    household_path = resolve_inside(trip.files.household, trip_path)
    household = read_household(household_path)
    known = {person.name for person in household.people}
    for name in trip.party:
        if name not in known:
            raise PlanFileError(
                f"'{name}' is not one of the household's people",
                f"{trip_path}, party",
                nearest_name(name, known),
            )
    return TripInputs(trip, household, trip_path, household_path)
