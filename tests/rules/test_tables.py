import pandas as pd
import pytest

from planner_kit.reference import BASES, shipped_folder

TABLES = sorted((shipped_folder("data") / "reference").glob("*.csv"))


@pytest.mark.parametrize("path", TABLES, ids=lambda path: path.stem)
def test_every_row_says_where_it_comes_from(path) -> None:
    table = pd.read_csv(path, dtype=str, keep_default_na=False, comment="#")
    assert {"source", "edition", "accessed", "basis"} <= set(table.columns)
    assert set(table["basis"]) <= set(BASES)
    published = table["basis"] == "published"
    assert (table.loc[published, "source"].str.len() > 10).all()
    assert (table.loc[published, "accessed"] != "").all()


def test_speed_rows_of_one_road_do_not_contradict_one_another() -> None:
    table = pd.read_csv(shipped_folder("data") / "reference/towing_speeds.csv", dtype=str)
    keys = [
        *("country", "vehicle", "road_kind", "trailer_over_kg", "trailer_upto_kg"),
        *("train_over_kg", "train_upto_kg", "since", "until"),
    ]
    assert not table.duplicated(keys).any()
