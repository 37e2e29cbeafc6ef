"""What befalls a run: killed, disk full, folder that nobody may write; and records of strangers."""

from __future__ import annotations

import copy
import importlib.util
import json
import os
import pickle
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from planner_kit.checking import check_files
from planner_kit.diary import compare_records, read_index, record_trip
from planner_kit.diary.book import write_book
from planner_kit.diary.history import all_tows, search_records
from planner_kit.errors import PlanFileError
from planner_kit.kept import cache_folder, kept_or_made
from planner_kit.trip.household import Units

Quick = Callable[..., Path]
PROJECT = Path(__file__).resolve().parents[2]


def _kill_script() -> Any:
    place = PROJECT / "tests" / "benchmarks" / "kill_records.py"
    spec = importlib.util.spec_from_file_location("kill_records", place)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_killed_runs_leave_no_damaged_record_and_lose_none(
    planning: Path, quick: Quick, tmp_path: Path
) -> None:
    template, records = quick(tmp_path, "time.sleep(0.1)"), tmp_path / "records"

    def make() -> None:
        record_trip(
            planning / "trip_2026.toml", records, template=template, progress=False, here=True
        )

    counts = _kill_script().kill_many(make, records, 4, seed=5)
    assert counts["killed"] + counts["ended"] == 4
    assert counts["killed"] >= 1
    assert (counts["damaged"], counts["lost"], counts["left"]) == (0, 0, 0)


@pytest.fixture
def small_disk(tmp_path: Path) -> Iterator[Path]:
    """A file system of 200 kB."""
    place = tmp_path / "disk"
    place.mkdir()
    asked = ["mount", "-t", "tmpfs", "-o", "size=200k", "tmpfs", str(place)]
    if os.geteuid() != 0 or subprocess.run(asked, capture_output=True).returncode != 0:
        pytest.skip("a small file system can be mounted by the system's owner only")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def test_full_disk_is_said_in_a_sentence_and_leaves_nothing_half_written(
    planning: Path, quick: Quick, small_disk: Path, tmp_path: Path
) -> None:
    template = quick(tmp_path, "(Path(record_folder) / 'big').write_bytes(b'0' * 150_000)")
    with pytest.raises(PlanFileError, match="No space left on device"):
        record_trip(
            planning / "trip_2026.toml", small_disk / "records", template=template, progress=False
        )
    left = [path.name for path in (small_disk / "records").iterdir()]
    assert left == [".marren-summer.lock"]


@pytest.fixture
def locked(tmp_path: Path) -> Iterator[Path]:
    """A folder that may be read but not written to, for its owner too."""
    place = tmp_path / "locked"
    place.mkdir()
    if os.geteuid() != 0:
        place.chmod(0o555)
        yield place
        place.chmod(0o755)
        return
    asked = ["mount", "-t", "tmpfs", "-o", "ro,size=100k", "tmpfs", str(place)]
    if subprocess.run(asked, capture_output=True).returncode != 0:
        pytest.skip("a file system that is read only cannot be mounted here")
    yield place
    subprocess.run(["umount", "-l", str(place)], check=True)


def test_folder_that_is_read_only_is_said_in_a_sentence(planning: Path, locked: Path) -> None:
    with pytest.raises(PlanFileError, match="cannot be written"):
        record_trip(planning / "trip_2026.toml", locked / "records", progress=False)
    assert list(locked.iterdir()) == []


def test_fault_in_a_cell_leaves_no_record(planning: Path, quick: Quick, tmp_path: Path) -> None:
    template = quick(tmp_path, "raise OSError(28, 'No space left on device')")
    with pytest.raises(Exception, match="No space left on device"):
        record_trip(
            planning / "trip_2026.toml", tmp_path / "records", template=template, progress=False
        )
    assert [path.name for path in (tmp_path / "records").iterdir()] == [".marren-summer.lock"]


class _Harm:
    def __init__(self, mark: Path) -> None:
        self.mark = mark

    def __reduce__(self) -> Any:
        return (os.mkdir, (str(self.mark),))


def test_record_of_a_stranger_is_read_as_data_and_never_run(
    tmp_path: Path, demo: Path, quick: Quick, newest_facts: dict[str, Any]
) -> None:
    mark, record = tmp_path / "harmed", tmp_path / "records" / "theirs"
    record.mkdir(parents=True)
    evil = f"import os; os.mkdir({str(mark)!r})"
    quick(record, evil, "record.ipynb")
    facts = copy.deepcopy(newest_facts)
    facts["photos"] = [f"$(mkdir {mark})"]
    (record / "facts.json").write_text(json.dumps(facts), encoding="utf-8")
    body = pickle.dumps(_Harm(mark))
    for name in ("x.kept", "index.parquet", "stage.pkl", "tow.kept"):
        (record / name).write_bytes(b"0" * 32 + body)
        (record.parent / name).write_bytes(body)
    (record / "sitecustomize.py").write_text(evil)
    assert len(read_index(record.parent)) == 1
    assert compare_records(record, record).empty
    assert len(all_tows(record.parent)) == 2
    assert len(search_records(record.parent, "pegs")) == 1
    check_files([record / "record.ipynb", record / "facts.json"])
    write_book(
        record.parent, tmp_path / "book.html", units=Units(),
        photos_beside=demo / "household.toml",
    )  # fmt: skip
    assert not mark.exists()


def test_foreign_pickle_in_the_cache_is_never_opened(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("PLANNER_KIT_CACHE", str(tmp_path / "kept"))
    folder, mark = cache_folder(), tmp_path / "harmed"
    assert folder is not None
    assert kept_or_made("tow", "x", lambda: 1) == 1
    (path,) = folder.glob("*.kept")
    honest, body = path.read_bytes(), pickle.dumps(_Harm(mark))
    for seal in (b"", b"\0" * 32, honest[:32], os.urandom(32)):
        path.write_bytes(seal + body)
        assert kept_or_made("tow", "x", lambda: 2) == 2
        assert not mark.exists()
    # The harm is real: opened without the seal it would have been done.
    pickle.loads(body)
    assert mark.exists()


def test_kit_opens_pickles_in_one_place_only() -> None:
    found = [
        path.name
        for path in sorted((PROJECT / "planner_kit").rglob("*.py"))
        if "pickle.load" in path.read_text(encoding="utf-8")
    ]
    assert found == ["kept.py"]
