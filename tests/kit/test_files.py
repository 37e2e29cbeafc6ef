"""Files and folders are written whole or not at all."""

import signal
import subprocess
import sys
from pathlib import Path

import pytest

from planner_kit.errors import PlanFileError, nearest_name
from planner_kit.files import settle, sha256_of, whole_folder, write_whole
from planner_kit.states import Check, State, checks_frame, worst_state


def test_whole_file_replaces_the_old_one(tmp_path: Path) -> None:
    path = tmp_path / "new" / "note.txt"
    write_whole(path, "first")
    write_whole(path, "second")
    assert path.read_text() == "second"
    assert [each.name for each in path.parent.iterdir()] == ["note.txt"]


def test_folder_appears_only_when_it_is_whole(tmp_path: Path) -> None:
    target = tmp_path / "record"

    def fill_and_fail() -> None:
        with whole_folder(target) as beside:
            (beside / "half.txt").write_text("half")
            assert not target.exists()
            raise RuntimeError("stopped")

    with pytest.raises(RuntimeError, match="stopped"):
        fill_and_fail()
    assert list(tmp_path.iterdir()) == []
    with whole_folder(target) as beside:
        (beside / "all.txt").write_text("all")
    assert [path.name for path in target.iterdir()] == ["all.txt"]


def test_failed_refill_keeps_the_old_folder(tmp_path: Path) -> None:
    target = tmp_path / "region"
    with whole_folder(target) as beside:
        (beside / "old.txt").write_text("old")

    def refill_and_fail() -> None:
        with whole_folder(target) as beside:
            (beside / "new.txt").write_text("new")
            raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        refill_and_fail()
    assert (target / "old.txt").read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["region"]


def test_place_that_cannot_be_written_is_said_in_a_sentence(tmp_path: Path) -> None:
    (tmp_path / "file").write_text("in the way")
    with pytest.raises(PlanFileError, match="cannot be written"):
        write_whole(tmp_path / "file" / "note.txt", "text")


def test_sha256_of_a_published_example(tmp_path: Path) -> None:
    path = tmp_path / "abc"
    path.write_bytes(b"abc")
    # FIPS 180-2, appendix B.1: the digest of "abc".
    digest = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad"
    assert sha256_of(path) == digest


def test_unknown_is_graver_than_fine_and_nothing_is_unknown() -> None:
    assert worst_state([State.FINE, State.UNKNOWN]) is State.UNKNOWN
    assert worst_state([State.UNKNOWN, State.LOOK]) is State.LOOK
    assert worst_state([]) is State.UNKNOWN


def test_states_differ_in_word_and_shape() -> None:
    assert len({state.mark for state in State}) == len({state.value for state in State}) == 4


def test_checks_frame_has_its_columns_when_empty() -> None:
    assert list(checks_frame([]).columns)[:2] == ["subject", "state"]
    frame = checks_frame([Check("ball", State.FINE, "It fits.", figure=80, limit=100, unit="kg")])
    assert frame.loc[0, "limit"] == 100


def test_nearest_name_falls_back_to_the_list() -> None:
    assert nearest_name("nigths", ["nights", "site"]) == "did you mean 'nights'?"
    assert nearest_name("zzz", ["nights", "site"]) == "use one of nights, site"


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("Sallow Reach, £4", "Sallow Reach, £4"),
        ("red \x1b[31m", "red \\x1b[31m"),
        ("turned \u202eabc", "turned \\u202eabc"),
        ("half \ud800", "half \\ud800"),
        ("two\nlines", "two lines"),
        ("a" * 1000, "a" * 266 + " ... " + "a" * 100),
    ],
)
def test_sentence_writes_out_what_a_file_hides_in_it(text: str, expected: str) -> None:
    error = PlanFileError(text, "file", "mend it")
    assert str(error) == f"file: {expected}; mend it."
    str(error).encode("utf-8")


def _killed(folder: Path, code: str) -> None:
    """Run code in a process that kills itself in the middle of it."""
    start = "import os, signal\nfrom pathlib import Path\nfrom planner_kit import files\n"
    kill = "\nos.kill(os.getpid(), signal.SIGKILL)"
    done = subprocess.run([sys.executable, "-c", start + code + kill], cwd=folder, check=False)
    assert done.returncode == -signal.SIGKILL


def test_next_writer_clears_what_a_killed_one_left(tmp_path: Path) -> None:
    _killed(tmp_path, "held = files.whole_folder(Path('region')); held.__enter__()")
    assert [path.suffix for path in tmp_path.iterdir()] == [".part"]
    with whole_folder(tmp_path / "region") as beside:
        (beside / "new.txt").write_text("new")
    assert [path.name for path in tmp_path.iterdir()] == ["region"]


def test_what_a_running_process_writes_is_left_alone(tmp_path: Path) -> None:
    with whole_folder(tmp_path / "region") as beside:
        (beside / "half.txt").write_text("half")
        settle(tmp_path / "region")
        assert (beside / "half.txt").exists()


def test_folder_set_aside_by_a_killed_process_gets_its_name_back(tmp_path: Path) -> None:
    with whole_folder(tmp_path / "region") as beside:
        (beside / "old.txt").write_text("old")
    code = (
        "replace = os.replace; region = Path('region')\n"
        "def once(a, b):\n"
        "    replace(a, b)\n"
        "    os.kill(os.getpid(), signal.SIGKILL)\n"
        "os.replace = once\n"
        "with files.whole_folder(region) as beside: pass"
    )
    _killed(tmp_path, code)
    assert not (tmp_path / "region").exists()
    settle(tmp_path / "region")
    assert (tmp_path / "region" / "old.txt").read_text() == "old"
    assert [path.name for path in tmp_path.iterdir()] == ["region"]
