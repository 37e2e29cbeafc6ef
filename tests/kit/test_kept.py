"""Kept results of stages: reused for the same inputs, never opened when they were touched."""

from pathlib import Path

import pandas as pd
import pytest

from planner_kit.kept import cache_folder, input_hash, kept_or_made


@pytest.fixture
def cache(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.setenv("PLANNER_KIT_CACHE", str(tmp_path / "kept"))
    folder = cache_folder()
    assert folder is not None
    return folder


def test_same_inputs_are_not_made_twice_and_others_are(cache: Path) -> None:
    made: list[str] = []

    def make() -> pd.DataFrame:
        made.append("once")
        return pd.DataFrame({"km": [1.5, 2.5]})

    first = kept_or_made("tow", input_hash("a", 1), make)
    second = kept_or_made("tow", input_hash("a", 1), make)
    pd.testing.assert_frame_equal(first, second)
    assert len(made) == 1
    kept_or_made("tow", input_hash("a", 2), make)
    kept_or_made("pitch", input_hash("a", 1), make)
    assert len(made) == 3


@pytest.mark.parametrize("harm", ["cut", "changed", "foreign"])
def test_result_that_was_touched_is_made_anew(cache: Path, harm: str) -> None:
    assert kept_or_made("tow", "x", lambda: 1) == 1
    (path,) = cache.glob("*.kept")
    data = path.read_bytes()
    path.write_bytes(
        {"cut": data[:-1], "changed": data[:-1] + b"?", "foreign": b"0" * 32 + data[32:]}[harm]
    )
    assert kept_or_made("tow", "x", lambda: 2) == 2
    assert kept_or_made("tow", "x", lambda: 3) == 2


def test_folder_that_others_may_write_to_is_not_used(cache: Path) -> None:
    cache.chmod(0o777)
    assert cache_folder() is None
    assert kept_or_made("tow", "x", lambda: 1) == 1
    assert list(cache.iterdir()) == []


def test_file_contents_are_part_of_the_hash(tmp_path: Path) -> None:
    path = tmp_path / "sites.csv"
    path.write_text("a")
    before = input_hash("x", files=[path])
    path.write_text("b")
    assert input_hash("x", files=[path]) != before


def test_nothing_is_kept_when_it_is_switched_off(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("PLANNER_KIT_CACHE", "off")
    assert cache_folder() is None


def test_result_that_another_run_drops_meanwhile_stops_nobody(cache: Path) -> None:
    (cache / "dropped.kept").symlink_to(cache / "gone")  # listed, and not there any more
    assert kept_or_made("tow", "x", lambda: 1) == 1
    assert kept_or_made("tow", "x", lambda: 2) == 1
