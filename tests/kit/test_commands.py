from __future__ import annotations

from pathlib import Path

import pytest

from planner_kit import cli

ABOUT = Path(__file__).resolve().parents[2] / "data" / "demo" / "region.toml"


@pytest.mark.parametrize(
    ("words", "sentence"),
    [
        (["record", "."], ".: it is a folder; name a file in it."),
        (["check", "."], ".: it is a folder; name the files in it."),
        (["diary", "nowhere"], "nowhere: there is no such folder; check the name."),
        (["year", "nowhere"], "nowhere: there is no such folder; check the name."),
    ],
)
def test_wrong_name_gets_one_sentence(
    words: list[str], sentence: str, tmp_path: Path, capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.chdir(tmp_path)
    assert cli.main(words) == cli.YOUR_INPUT
    said = "".join(capsys.readouterr()).strip()
    assert said.removeprefix("planner-kit: ") == sentence


@pytest.mark.parametrize("workers", ["0", "-1", "two", "1.5"])
def test_number_of_workers_that_is_none_is_refused(
    workers: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as ended:
        cli.main(["record", "many", str(tmp_path), f"--workers={workers}"])
    assert ended.value.code == cli.YOUR_INPUT
    assert f"'{workers}' is no number of workers; write 1 or more" in capsys.readouterr().err


def test_region_file_is_known_by_its_name(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    assert cli.main(["check", str(ABOUT)]) == cli.DONE
    capsys.readouterr()
    wrong = tmp_path / "region.toml"
    wrong.write_text('nmae = "Sallowey"\n', encoding="utf-8")
    assert cli.main(["check", str(wrong)]) == cli.YOUR_INPUT
    assert capsys.readouterr().out.strip().endswith("did you mean 'name'?")
