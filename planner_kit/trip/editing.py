"""Changing a trip or household file in place: its comments stay, and it is written whole."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any, TypeVar

import tomlkit
from pydantic import BaseModel, ValidationError

from planner_kit.errors import PlanFileError
from planner_kit.files import write_whole
from planner_kit.trip.comments import keys_of, of_what_follows, take_out, written_out
from planner_kit.trip.household import AvoidRoad, Household
from planner_kit.trip.reading import key_text
from planner_kit.trip.trip import Trip, Via

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Callable, Mapping, Sequence
    from pathlib import Path


_Model = TypeVar("_Model", bound=BaseModel)


def edit_trip(path: Path, change: Callable[[Any], None]) -> Trip:
    """Change a trip file, its comments and order kept.

    Parameters
    ----------
    path : Path
        A trip.toml.
    change : callable
        Alters the tomlkit document that it is given.

    Returns
    -------
    trip : Trip
        As the changed file reads.

    Raises
    ------
    PlanFileError
        If the file cannot be read, or would no longer be a trip file: it is then left as it was.
    """
    return _edit(path, Trip, change)


def set_value(path: Path, keys: Sequence[str], value: Any) -> Household:
    """Set one value of a household file, its comments and order kept.

    Parameters
    ----------
    path : Path
        A household.toml.
    keys : sequence of str
        Where the value stands: tables that are not there yet are made.
    value : str, number, bool, list or mapping

    Returns
    -------
    household : Household
        As the changed file reads.

    Raises
    ------
    PlanFileError
        See `edit_trip`.
    """

    def change(document: Any) -> None:
        here = document
        for key in keys[:-1]:
            if key not in here:
                here[key] = tomlkit.table()
            here = here[key]
        here[keys[-1]] = value

    return _edit(path, Household, change)


def save_preset(path: Path, name: str, weights: Mapping[str, float]) -> Household:
    """Keep weights of attractions under a name in a household file.

    Parameters
    ----------
    path : Path
        A household.toml.
    name : str
    weights : mapping of str to float
        0 to 10 for each criterion.

    Raises
    ------
    PlanFileError
        If the name is empty, or see `edit_trip`.
    """
    if not name.strip():
        raise PlanFileError("a preset needs a name", str(path), "give it one")
    keys = ("preferences", "attraction_presets", name.strip())
    return set_value(path, keys, {key: round(float(one), 3) for key, one in weights.items()})


def _edit(path: Path, model: type[_Model], change: Callable[[Any], None]) -> _Model:
    try:
        document = tomlkit.parse(path.read_text(encoding="utf-8-sig"))
    except (OSError, tomlkit.exceptions.TOMLKitError, UnicodeDecodeError) as error:
        raise PlanFileError(f"it cannot be read ({error})", str(path), "mend it") from error
    before = keys_of(document)
    change(document)
    text = written_out(document, before)
    try:
        whole = model.model_validate(tomlkit.parse(text).unwrap())
    except ValidationError as error:
        fault = error.errors()[0]
        raise PlanFileError(
            f"the change would spoil it: {fault['msg'][0].lower()}{fault['msg'][1:]}",
            f"{path}, {key_text(fault['loc'])}",
            "choose another value",
        ) from None
    write_whole(path, text)
    return whole


def _stay(document: Any, number: int, path: Path) -> Any:
    stays = document.get("stays", [])
    if not 1 <= number <= len(stays):
        raise PlanFileError(f"there is no stay {number}", str(path), f"it has {len(stays)}")
    return stays[number - 1]


def choose_site(path: Path, number: int, site_id: str) -> Trip:
    """Write the site of a stay into a trip file; a booking of another site is taken out.

    Parameters
    ----------
    path : Path
    number : int
        Which stay, from 1.
    site_id : str

    Returns
    -------
    trip : Trip

    Raises
    ------
    PlanFileError
        See `edit_trip`; also where the trip has no such stay, or its booking is held, booked or
        paid: call that one off first.
    """

    def change(document: Any) -> None:
        stay = _stay(document, number, path)
        if stay["site"] == site_id:
            return
        booking = stay.get("booking", {})
        if booking.get("state") in ("held", "booked", "paid"):
            raise PlanFileError(
                f"stay {number} is {booking['state']} at {stay['site']}",
                f"{path}, stays > {number} > booking",
                "call that booking off before another site is chosen",
            )
        stay["site"] = site_id
        stay.pop("booking", None)
        stay.pop("pitch", None)

    return edit_trip(path, change)


def set_booking(path: Path, number: int, values: Mapping[str, Any]) -> Trip:
    """Write figures of a booking into a trip file; keys not named stay as they are.

    Parameters
    ----------
    path : Path
    number : int
        Which stay, from 1.
    values : mapping
        Keys of ``stays > booking``; None takes a key out.

    Returns
    -------
    trip : Trip

    Raises
    ------
    PlanFileError
        See `edit_trip`.
    """

    def change(document: Any) -> None:
        booking = _stay(document, number, path).setdefault("booking", tomlkit.table())
        for key, value in values.items():
            if value is None:
                booking.pop(key, None)
            else:
                booking[key] = value

    return edit_trip(path, change)


def set_stays(path: Path, stays: Sequence[tuple[str, int]], start: dt.date | None = None) -> Trip:
    """Write the sites and nights of a tour into a trip file.

    Parameters
    ----------
    path : Path
    stays : sequence of (str, int)
        Site id and nights of each stay in order; a stay whose site and nights do not change keeps
        all that is noted of it.
    start : date, optional
        New first day.

    Returns
    -------
    trip : Trip

    Raises
    ------
    PlanFileError
        See `edit_trip`; also where a stay that is held, booked or paid would be lost.
    """

    def change(document: Any) -> None:
        of_next = of_what_follows(document.get("stays"))
        old = list(document.get("stays", []))
        moved = start is not None and start != document["start"]
        kept = tomlkit.aot()
        for site_id, nights in stays:
            same = [s for s in old if (s["site"], s["nights"]) == (site_id, nights)]
            if same and not moved:
                kept.append(same[0])
                old.remove(same[0])
            else:
                table = tomlkit.table()
                table["site"], table["nights"] = site_id, nights
                kept.append(table)
        for stay in old:
            state = stay.get("booking", {}).get("state")
            if state in ("held", "booked", "paid"):
                raise PlanFileError(
                    f"the stay at {stay['site']} is {state} and would be lost",
                    f"{path}, stays",
                    "call that booking off first",
                )
        if of_next:
            kept[-1].value.body.extend(of_next)
        document["stays"] = kept
        if start is not None:
            document["start"] = start

    return edit_trip(path, change)


def avoid_road(path: Path, road: AvoidRoad) -> Household:
    """Put a road on a household's list of those never to tow on again.

    Parameters
    ----------
    path : Path
        A household.toml.
    road : AvoidRoad
        A way that is on the list already is put there anew, with the new reason.

    Returns
    -------
    household : Household
        As the changed file reads; every plan made from now on keeps off that road.

    Raises
    ------
    PlanFileError
        See `edit_trip`.
    """

    def change(document: Any) -> None:
        listed = document.get("avoid_roads")
        if listed is None:
            listed = document["avoid_roads"] = tomlkit.aot()
        for number in _listed(listed, road):
            del listed[number]
        told = road.model_dump(exclude_none=True, exclude_defaults=True)
        if isinstance(listed, tomlkit.items.AoT):
            table = tomlkit.table()
            table.update(told)
            of_next = of_what_follows(listed)
            listed.append(table)
            table.value.body.extend(of_next)
        else:
            inline = tomlkit.inline_table()
            inline.update(told)
            listed.append(inline)

    return _edit(path, Household, change)


def unavoid_road(path: Path, road: AvoidRoad) -> Household:
    """Take a road off a household's list of those never to tow on again.

    Parameters
    ----------
    path : Path
        A household.toml.
    road : AvoidRoad
        By its way, or by its point where it has none.

    Raises
    ------
    PlanFileError
        If it is not on the list, or see `edit_trip`.
    """

    def change(document: Any) -> None:
        listed = document.get("avoid_roads", [])
        numbers = _listed(listed, road)
        if not numbers:
            raise PlanFileError(
                "the road is not on the list", f"{path}, avoid_roads", "read the list again"
            )
        if len(numbers) == len(listed):
            take_out(document, "avoid_roads")
            return
        of_next = of_what_follows(listed)
        for number in numbers:
            del listed[number]
        if of_next:
            listed[-1].value.body.extend(of_next)

    return _edit(path, Household, change)


def _listed(listed: Any, road: AvoidRoad) -> list[int]:
    """Places of a road on a list, the last first."""

    def same(entry: Any) -> bool:
        if road.osm_way_id is not None:
            return bool(entry.get("osm_way_id") == road.osm_way_id)
        at = (entry.get("lat"), entry.get("lon"))
        return "osm_way_id" not in entry and at == (road.lat, road.lon)

    return [number for number in reversed(range(len(listed))) if same(listed[number])]


def set_via(path: Path, points: Sequence[Via]) -> Trip:
    """Write the points that a trip's tow out passes, in order; none takes them all away.

    Parameters
    ----------
    path : Path
        A trip.toml.
    points : sequence of Via

    Returns
    -------
    trip : Trip

    Raises
    ------
    PlanFileError
        See `edit_trip`.
    """

    def change(document: Any) -> None:
        if "tow" not in document:
            document["tow"] = tomlkit.table()
        tow = document["tow"]
        tow.pop("via", None)
        if points:
            listed = tomlkit.array()
            for point in points:
                inline = tomlkit.inline_table()
                inline.update(point.model_dump(exclude_none=True, exclude_defaults=True))
                listed.append(inline)
            tow["via"] = listed.multiline(len(points) > 1)

    return edit_trip(path, change)
