"""One run of a template: its number, its lock, and what an interrupted one left behind.

Records are put in order by a number and not by the clock, which people set back.
"""

from __future__ import annotations

import contextlib
import datetime as dt
import json
import shutil
from contextlib import contextmanager
from dataclasses import asdict, dataclass
from typing import TYPE_CHECKING, Any

from filelock import FileLock, Timeout

from planner_kit import __version__
from planner_kit.diary.facts import inputs_of, read_facts
from planner_kit.diary.index import record_folders
from planner_kit.errors import PlanFileError
from planner_kit.files import sha256_of, write_whole
from planner_kit.trip.reading import read_trip
from planner_kit.trip_files import read_files

if TYPE_CHECKING:
    from collections.abc import Iterator
    from pathlib import Path

RUN_FILE = "run.json"


@dataclass(frozen=True)
class Run:
    """How a record came to be; kept apart from its facts, which do not depend on it.

    Attributes
    ----------
    number : int
        One more than that of every record that was there.
    made : str
        By the computer's clock, ISO 8601 in UTC.
    kit_version, template, template_sha256 : str
    warnings : tuple of str
    """

    number: int
    made: str
    kit_version: str
    template: str
    template_sha256: str
    warnings: tuple[str, ...] = ()


def begin_run(records: Path, template: Path, *, now: dt.datetime | None = None) -> Run:
    """The next run in a folder of records; says so when the clock stands before the last one."""
    now = now or dt.datetime.now(dt.UTC)
    made = now.astimezone(dt.UTC).isoformat(timespec="seconds")
    earlier = [read_run(path) for path in record_folders(records)]
    last = max((str(run.get("made", "")) for run in earlier), default="")
    warnings = (
        (f"This computer's clock says {made}, which is before the last record ({last}); records "
         "are put in order by their number.",)
        if last > made
        else ()
    )  # fmt: skip
    number = 1 + max((int(run.get("number", 0)) for run in earlier), default=0)
    return Run(number, made, __version__, template.name, sha256_of(template), warnings)


def write_run(run: Run, folder: Path) -> None:
    """Write ``run.json`` into a record's folder."""
    write_whole(folder / RUN_FILE, json.dumps(asdict(run), indent=1, ensure_ascii=False) + "\n")


def read_run(folder: Path) -> dict[str, Any]:
    """What ``run.json`` of a record says; empty where it is missing or damaged."""
    try:
        run = json.loads((folder / RUN_FILE).read_text(encoding="utf-8"))
    except (OSError, ValueError, RecursionError):
        return {}
    usable = isinstance(run, dict) and isinstance(run.get("number", 0), int)
    return run if usable else {}


def earlier_record(records: Path, trip_id: str, *, of_start: dt.date | None = None) -> Path | None:
    """The last whole record of a trip; one that cannot be read is passed over.

    Parameters
    ----------
    records : Path
    trip_id : str
    of_start : date, optional
        Those that begin on this day go before all others.
    """
    found = []
    for path in record_folders(records):
        with contextlib.suppress(PlanFileError):
            trip = read_facts(path / "facts.json")["trip"]
            if trip["id"] == trip_id:
                same = of_start is not None and trip.get("start") == of_start.isoformat()
                found.append((same, read_run(path).get("number", 0), path.name, path))
    return max(found)[-1] if found else None


def same_record(
    trip_path: Path, records: Path, *, planned_on: dt.date, template: Path | str | None = None
) -> Path | None:
    """The last record of a trip when nothing that it was made from has changed since.

    Parameters
    ----------
    trip_path, records : Path
    planned_on : date
    template : path, optional
        See `planner_kit.diary.record_trip`.

    Returns
    -------
    record : Path or None
        None also where an earlier trip was recorded after it, from which it could learn.
    """
    from planner_kit.diary.running import template_path

    trip = read_trip(trip_path)
    last = earlier_record(records, trip.id, of_start=trip.start)
    if last is None:
        return None
    files = read_files(trip_path)
    facts, run = read_facts(last / "facts.json"), read_run(last)
    notebook = template_path(template, stays=len(trip.stays), nights=trip.nights)
    same = (
        facts.get("kit_version") == __version__
        and facts["trip"].get("start") == trip.start.isoformat()
        and facts["trip"].get("planned_on") == planned_on.isoformat()
        and facts.get("inputs") == inputs_of(files)
        and run.get("template_sha256") == sha256_of(notebook)
    )
    number = int(run.get("number", 0))
    later = (path for path in record_folders(records) if read_run(path).get("number", 0) > number)
    return last if same and not any(_ended_before(path, trip.start) for path in later) else None


def _ended_before(record: Path, day: dt.date) -> bool:
    return str(read_facts(record / "facts.json")["trip"].get("end", "")) < day.isoformat()


@contextmanager
def one_run(records: Path, trip_id: str) -> Iterator[None]:
    """Hold the lock of a trip in a folder of records; a process that ends lets go of it.

    Raises
    ------
    PlanFileError
        If another run holds it, or the folder cannot be written to.
    """
    try:
        records.mkdir(parents=True, exist_ok=True)
        lock = FileLock(records / f".{trip_id}.lock")
        lock.acquire(timeout=0)
    except Timeout:
        raise PlanFileError(
            f"another run is recording the trip '{trip_id}' just now",
            str(records),
            "wait until it has finished, or stop it",
        ) from None
    except OSError as error:
        raise PlanFileError(
            f"it cannot be written ({error.strerror})", str(records), "choose another folder"
        ) from error
    try:
        yield
    finally:
        lock.release()


def drop_leftovers(records: Path, name: str) -> int:
    """Remove what killed runs of the same trip and day left half-made; hold `one_run` meanwhile.

    Returns
    -------
    count : int
        Folders removed.
    """
    left = [path for path in records.glob(f".{name}.*.part") if path.is_dir()]
    for path in left:
        shutil.rmtree(path, ignore_errors=True)
    return len(left)
