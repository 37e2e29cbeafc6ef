"""A trip becomes a record: from the files through papermill to paper, satnav and calendar."""

from __future__ import annotations

import csv
import datetime as dt
import json
import re
import shutil
from typing import TYPE_CHECKING

import nbformat
import pytest

from planner_kit.checking import check_files
from planner_kit.cli import main
from planner_kit.diary import Record, compare_records, read_facts, read_index, record_trip
from planner_kit.diary.rerun import rerun_trip
from planner_kit.errors import PlanFileError, PlannerKitError
from planner_kit.outfit import read_items
from planner_kit.sites import read_sites
from planner_kit.trip.reading import read_trip

if TYPE_CHECKING:
    from pathlib import Path

PLANNED_ON = dt.date(2027, 1, 9)


@pytest.fixture(scope="module")
def folder(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the demo's folder that this module may write to."""
    mine = tmp_path_factory.mktemp("family") / "planning"
    shutil.copytree(demo, mine)
    return mine


@pytest.fixture(scope="module")
def last_year(folder: Path) -> Record:
    return record_trip(
        folder / "trip_2026.toml", folder / "records", planned_on=PLANNED_ON, progress=False
    )


@pytest.fixture(scope="module")
def rerun(folder: Path, last_year: Record) -> Record:
    """Last year's trip with new dates."""
    again = rerun_trip(
        folder / "trip_2026.toml",
        start=dt.date(2027, 8, 21),
        planned_on=PLANNED_ON,
        progress=False,
    )
    assert again.reran == last_year.folder
    assert again.record is not None
    return again.record


def test_record_holds_notebook_figures_pack_gpx_and_calendar(last_year: Record) -> None:
    names = {path.name for path in last_year.folder.iterdir()}
    assert names == {
        "record.ipynb", "run.json", "trip.toml", "facts.json",
        "pack.pdf", "pack.html", "tow.gpx", "tow.geojson", "rides.gpx", "calendar.ics",
    }  # fmt: skip


def test_record_notebook_ran_whole_and_keeps_its_drawings(folder: Path, last_year: Record) -> None:
    notebook = nbformat.read(last_year.folder / "record.ipynb", as_version=4)
    nbformat.validate(notebook)
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert all(cell.execution_count for cell in code)
    html = "".join(
        output.data.get("text/html", "")
        for cell in code
        for output in cell.outputs
        if "data" in output
    )
    assert "<svg" in html
    assert read_sites(folder / "sites.csv").loc["S01", "name"] in html
    assert not re.search(r"(src|href)=[\"']?https?:|url\(https?:|@import", html)
    assert notebook.metadata.papermill.parameters.start == "2026-07-25"


def test_facts_name_every_input_by_its_hash(last_year: Record) -> None:
    inputs = last_year.facts["inputs"]
    assert {"trip", "household", "sites", "attractions", "region", "prices"} <= inputs.keys()
    assert all(len(digest) == 64 for digest in inputs.values())


def test_facts_and_folder_set_the_ways_of_a_tow_side_by_side(last_year: Record) -> None:
    figures = {figure["key"]: figure for figure in last_year.facts["figures"]}
    first, second = (
        {name: figures[f"tow.out.way_{way}.{name}"]["value"] for name in
         ("drive_min", "stress_min", "money_low", "money_high", "shared_pct")}
        for way in (1, 2)
    )  # fmt: skip
    assert first["drive_min"] == figures["tow.out.drive_min"]["value"]
    assert first["shared_pct"] == 100
    assert second["shared_pct"] < 100
    for way in (first, second):
        assert 0 < way["money_low"] <= way["money_high"]
    # The first is the best by time and dislikes together.
    assert first["drive_min"] + first["stress_min"] <= second["drive_min"] + second["stress_min"]
    page = (last_year.folder / "pack.html").read_text(encoding="utf-8")
    table = page.split("Other ways", 1)[1].split("Also checked", 1)[0]
    assert "this card: A" in table
    assert "way 2: A" in table
    assert "Stress is the extra time" in table


def test_rerun_is_a_second_record_with_a_table_of_what_changed_and_why(
    last_year: Record, rerun: Record
) -> None:
    assert rerun.folder != last_year.folder
    assert last_year.folder.is_dir()
    assert rerun.before == last_year.folder
    assert rerun.changes is not None
    changed = dict(zip(rerun.changes["what"], rerun.changes["why"], strict=True))
    cause = dict(zip(rerun.changes["what"], rerun.changes["cause"], strict=True))
    assert cause["price of Marren Bay Touring Park"] == "prices, bookings"
    assert "learnt" in cause["tow out: driving"]
    amounts = re.findall(r"(\S+) \d+\.\d\d before", " ".join(changed.values()))
    assert amounts
    assert set(amounts) == {"GBP"}
    with (rerun.folder / "changes.csv").open(encoding="utf-8") as lines:
        assert len(list(csv.DictReader(lines))) == len(rerun.changes)


def test_bookings_of_the_old_dates_are_not_carried_over(rerun: Record) -> None:
    assert [booking["state"] for booking in rerun.facts["bookings"]] == ["not asked"]
    assert "MB-26-0417" not in (rerun.folder / "trip.toml").read_text()
    text = json.dumps(rerun.facts)
    assert "MB-26-0417" not in text


def test_rerun_counts_what_was_visited_and_avoids_what_was_learnt(rerun: Record) -> None:
    trip = (rerun.folder / "trip.toml").read_text()
    assert "2027-08-21" in trip
    assert "[actuals]" not in trip


def test_rerun_learns_from_last_year_and_says_so(last_year: Record, rerun: Record) -> None:
    assert last_year.facts["learnt"] is None
    assert rerun.facts["learnt"]["trips"] == 1
    fuel = {figure["key"]: figure for figure in rerun.facts["figures"]}["tow.out.fuel"]
    assert "learnt from 1 trip" in fuel["reasons"]["learnt: use under tow"]


def test_rerun_says_what_last_year_did_not_need_and_what_that_frees(
    folder: Path, last_year: Record, rerun: Record
) -> None:
    assert last_year.facts["not_needed"] == []
    items = read_items(folder / "items.csv").set_index("item")
    said = read_trip(folder / "trip_2026.toml").actuals
    assert said is not None
    spare = {one["item"]: one for one in rerun.facts["not_needed"]}
    assert spare.keys() == set(said.not_needed)
    assert all(one["kg"] == items.loc[item, "mass_kg"] for item, one in spare.items())
    frees = f"that frees {sum(one['kg'] for one in spare.values()):.0f} kg in the caravan"
    assert any(frees in sentence for sentence in rerun.facts["sentences"])
    for name in ("pack.html", "record.ipynb"):
        text = (rerun.folder / name).read_text(encoding="utf-8")
        assert "not needed on Summer at Marren Bay, 25 July 2026" in text
        assert "1 of 1 trip said so" in text


def test_same_inputs_give_the_same_facts_byte_for_byte_made_anew_or_from_kept_stages(
    folder: Path, last_year: Record, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # As the folder was then: a rerun's new trip file beside the trip is an input too.
    then, later = tmp_path / "then", shutil.ignore_patterns("records", "trip_2027-*")
    shutil.copytree(folder, then, ignore=later)
    monkeypatch.setenv("PLANNER_KIT_CACHE", str(tmp_path / "kept"))
    facts = [
        record_trip(
            then / "trip_2026.toml",
            tmp_path / name,
            planned_on=PLANNED_ON,
            progress=False,
            here=name == "second",
        ).folder
        / "facts.json"
        for name in ("first", "second")
    ]
    assert len(list((tmp_path / "kept").glob("*.kept"))) == 3
    assert facts[0].read_bytes() == (last_year.folder / "facts.json").read_bytes()
    assert facts[1].read_bytes() == facts[0].read_bytes()


def test_index_lists_both_records_and_can_be_rebuilt(
    folder: Path, last_year: Record, rerun: Record
) -> None:
    index = read_index(folder / "records")
    assert list(index["record"]) == [rerun.folder.name, last_year.folder.name]
    assert (index["state"] == "whole").all()
    assert index.loc[1, "spent"] == pytest.approx(749.1)


def test_damaged_record_is_named_in_the_index_and_the_rest_stays(
    folder: Path, last_year: Record, rerun: Record, tmp_path: Path
) -> None:
    records = tmp_path / "records"
    shutil.copytree(folder / "records", records)
    (records / rerun.folder.name / "facts.json").write_text('{"schema": 1, "trip"')
    index = read_index(records)
    assert sorted(index["state"] == "whole") == [False, True]
    assert "it is not a facts file" in index["state"].loc[index["state"] != "whole"].item()


def test_a_record_compared_with_itself_shows_no_change(last_year: Record) -> None:
    assert compare_records(last_year.folder, last_year.folder).empty


def test_facts_of_a_newer_kit_are_refused(tmp_path: Path, last_year: Record) -> None:
    path = tmp_path / "facts.json"
    path.write_text(json.dumps({**last_year.facts, "schema": 99}))
    with pytest.raises(PlanFileError, match="this kit reads up to"):
        read_facts(path)


def test_unknown_site_is_one_sentence_and_nothing_is_left(folder: Path, tmp_path: Path) -> None:
    trip = folder / "trip_wrong.toml"
    text = (folder / "trip_2027.toml").read_text()
    trip.write_text(text.replace('site = "S01"', 'site = "S0l"'))
    with pytest.raises(PlanFileError, match="the site 'S0l' does not exist"):
        record_trip(trip, tmp_path / "records", progress=False)
    assert not (tmp_path / "records").exists()


def test_template_without_a_parameter_is_refused_before_it_runs(
    folder: Path, tmp_path: Path
) -> None:
    template = tmp_path / "mine.ipynb"
    cell = nbformat.v4.new_code_cell('trip_file = "x"')
    cell.metadata["tags"] = ["parameters"]
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    notebook = nbformat.v4.new_notebook(cells=[cell], metadata={"kernelspec": kernel})
    nbformat.write(notebook, template)
    with pytest.raises(PlanFileError, match="does not set 'record_folder'"):
        record_trip(
            folder / "trip_2027.toml", tmp_path / "records", template=template, progress=False
        )
    assert [path.name for path in (tmp_path / "records").iterdir()] == [".marren-summer.lock"]


def test_commands_end_with_the_code_of_what_happened(
    folder: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    good = [str(folder / name) for name in ("household.toml", "trip_2027.toml", "sites.csv")]
    assert main(["check", *good]) == 0
    (folder / "bad.toml").write_text("name = 3")
    assert main(["check", *good, str(folder / "bad.toml")]) == 2
    assert "bad.toml" in capsys.readouterr().out
    assert main(["check", "--schema", "trip"]) == 0
    assert json.loads(capsys.readouterr().out)["title"] == "Trip"
    assert main(["record", str(folder / "nowhere.toml")]) == 2
    assert "there is no such file" in capsys.readouterr().err


def test_every_file_of_the_demo_can_be_used(folder: Path) -> None:
    paths = [path for path in sorted(folder.rglob("*")) if path.suffix in (
        ".toml", ".csv", ".gpx", ".pbf", ".zip")]  # fmt: skip
    paths = [path for path in paths if "region" not in path.relative_to(folder).parts]
    paths = [path for path in paths if path.name not in ("region.toml", "bad.toml")]
    paths = [path for path in paths if not path.name.startswith("trip_wrong")]
    paths = [path for path in paths if "records" not in path.parts and "again" not in path.parts]
    sentences, all_well = check_files(paths)
    assert all_well, "\n".join(sentences)
    assert len(sentences) >= 14


def test_kernel_error_in_a_stage_becomes_the_kits_sentence(folder: Path, tmp_path: Path) -> None:
    trip = folder / "trip_far.toml"
    text = (folder / "trip_2027.toml").read_text()
    trip.write_text(text.replace('household = "household.toml"', 'household = "far.toml"'))
    people = (folder / "household.toml").read_text()
    (folder / "far.toml").write_text(people.replace("lat = 49.5", "lat = 40.5"))
    with pytest.raises(PlannerKitError, match="road"):
        record_trip(trip, tmp_path / "records", progress=False)
    assert [path.name for path in (tmp_path / "records").iterdir()] == [".marren-summer.lock"]
