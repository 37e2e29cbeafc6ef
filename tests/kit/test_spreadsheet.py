"""No cell that the kit writes is taken for a formula by a spreadsheet."""

import csv
import io
from pathlib import Path

import pandas as pd
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.outfit.loading import read_items, write_items
from planner_kit.spreadsheet import csv_text

OBEYED = tuple("=+-@\t\r＝＋－＠")


@pytest.mark.published(source="OWASP, CSV Injection, read 2026-11-25: characters to escape")
@pytest.mark.parametrize("first", OBEYED)
@pytest.mark.parametrize("before", ["", " ", "\n"])
def test_words_that_begin_like_a_formula_are_quoted(first: str, before: str) -> None:
    text = csv_text(pd.DataFrame({"name": [f"{before}{first}HYPERLINK(1)"]}))
    assert list(csv.reader(io.StringIO(text, newline="")))[1][0].startswith("'")


@settings(max_examples=50, deadline=None)
@given(st.lists(st.text(max_size=12), min_size=1, max_size=5))
def test_no_cell_begins_like_a_formula(words: list[str]) -> None:
    text = csv_text(pd.DataFrame({"word": words}))
    cells = [row[0] for row in csv.reader(io.StringIO(text, newline="")) if row]
    assert not any(cell.lstrip().startswith(OBEYED) and not _is_number(cell) for cell in cells)


def _is_number(cell: str) -> bool:
    return cell.lstrip("+-").replace(".", "", 1).isdigit()


def test_numbers_stay_numbers() -> None:
    assert csv_text(pd.DataFrame({"a": [-1.5], "b": ["-14.5"]})) == "a,b\n-1.5,-14.5\n"


def test_loading_list_that_is_written_holds_no_formula(tmp_path: Path) -> None:
    path = tmp_path / "items.csv"
    path.write_text("item,mass_kg,quantity,place,x_m\n=1+1,24,1,caravan over axle,0.1\n")
    write_items(read_items(path), path)
    assert "'=1+1" in path.read_text()
    again = path.read_text()
    write_items(read_items(path), path)
    assert path.read_text() == again
