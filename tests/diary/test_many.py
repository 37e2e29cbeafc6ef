"""Many trips: on this machine and on a Dask cluster the same; what fails is listed."""

from __future__ import annotations

import importlib.util
import shutil
from pathlib import Path
from typing import Any

import pandas as pd
import pytest

from planner_kit.cli import main
from planner_kit.diary.many import many_sentences, record_many
from planner_kit.errors import PlanFileError

BENCH = Path(__file__).resolve().parents[1] / "benchmarks" / "bench_many.py"


@pytest.fixture(scope="module")
def bench() -> Any:
    spec = importlib.util.spec_from_file_location("bench_many", BENCH)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


@pytest.fixture(scope="module")
def club(bench: Any, demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Two households: one with a trip that holds, one with a wrong site; and no trip."""
    base = tmp_path_factory.mktemp("club")
    shutil.copytree(demo, base / "demo", ignore=shutil.ignore_patterns("records"))
    (base / "club").mkdir()
    bench.make_club(base / "club", 5)
    for name in ("trip_1.toml", "trip_2.toml", "trip_3.toml"):
        (base / "club" / "h0000" / name).unlink()
    wrong = base / "club" / "h0001" / "trip_0.toml"
    text = wrong.read_text()
    assert f'site = "{bench.SITES[4]}"' in text
    wrong.write_text(text.replace(f'site = "{bench.SITES[4]}"', 'site = "S99"'))
    (base / "club" / "trip_torn.toml").write_text("schema = ")
    return base


@pytest.fixture(scope="module")
def local(bench: Any, club: Path) -> pd.DataFrame:
    many = record_many(
        club / "club", club / "local", planned_on=bench.DAY, template=bench.light_template(club),
        workers=1,
    )  # fmt: skip
    assert pd.read_csv(many.summary).shape == (3, 5)
    told = many_sentences(many)
    assert told[0] == "3 trips: 1 recorded, 2 refused."
    assert any("S99" in line for line in told)
    assert any("trip_torn.toml" in line for line in told)
    return many.outcomes


def test_trips_that_fail_are_listed_and_the_rest_is_recorded(local: pd.DataFrame) -> None:
    by_name = local.set_index(local["trip_file"].map(lambda name: "/".join(Path(name).parts[-2:])))
    assert by_name.loc["h0000/trip_0.toml", "state"] == "recorded"
    assert by_name.loc["h0001/trip_0.toml", "state"] == "refused"
    assert by_name.loc["club/trip_torn.toml", "state"] == "refused"
    assert (Path(str(by_name.loc["h0000/trip_0.toml", "record"])) / "record.ipynb").is_file()


def test_a_dask_cluster_makes_the_same_records_byte_for_byte(
    bench: Any, club: Path, local: pd.DataFrame
) -> None:
    distributed = pytest.importorskip("distributed")
    with distributed.LocalCluster(
        n_workers=1, threads_per_worker=1, processes=False, dashboard_address=None
    ) as cluster:
        many = record_many(
            club / "club", club / "dask", planned_on=bench.DAY, template=club / "light.ipynb",
            cluster=cluster.scheduler_address,
        )  # fmt: skip
    compared = ["trip_file", "state", "sentence"]
    pd.testing.assert_frame_equal(many.outcomes[compared], local[compared])
    for here, there in zip(local["record"], many.outcomes["record"], strict=True):
        if here:
            ours, theirs = (Path(str(one)) / "facts.json" for one in (here, there))
            assert ours.read_bytes() == theirs.read_bytes()


def test_a_run_that_was_cut_short_goes_on_and_leaves_what_is_done(
    bench: Any, club: Path, local: pd.DataFrame
) -> None:
    before = {path.name for path in (club / "local").rglob("facts.json")}
    asked = {"planned_on": bench.DAY, "template": club / "light.ipynb", "workers": 1}
    again = record_many(club / "club", club / "local", **asked)
    assert sorted(again.outcomes["state"]) == ["as before", "refused", "refused"]
    assert {path.name for path in (club / "local").rglob("facts.json")} == before


def test_folder_without_a_trip_and_cluster_that_is_not_there_are_one_sentence(
    tmp_path: Path, club: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(PlanFileError, match="no trip file"):
        record_many(tmp_path)
    with pytest.raises(PlanFileError, match="no such folder"):
        record_many(tmp_path / "none")
    pytest.importorskip("distributed")
    with pytest.raises(PlanFileError, match="cannot be reached"):
        record_many(club / "club", tmp_path, cluster="nonsense://x")
    assert main(["record", "many"]) == 2
    assert "one folder" in capsys.readouterr().err
    assert main(["record", "a.toml", "b.toml"]) == 2
