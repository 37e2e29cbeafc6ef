"""Names full of code stay words in a real browser: in every notebook and the folder for a phone."""

from __future__ import annotations

import datetime as dt
import shutil
from collections.abc import Iterator
from pathlib import Path
from typing import TYPE_CHECKING, Any

import nbformat
import pytest

from planner_kit.diary import record_trip
from tests.browser.conftest import running_lab
from tests.hostile_island import RAN, hostile_island

if TYPE_CHECKING:
    from playwright.sync_api import Browser

PROJECT = Path(__file__).resolve().parents[2]
NOTEBOOKS = sorted(path.stem for path in (PROJECT / "notebooks").glob("*.ipynb"))
FIRST_SCRIPT = f"window.{RAN}=1"


@pytest.fixture(scope="module")
def record(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The folder of a record made on the hostile island."""
    island = hostile_island(demo, tmp_path_factory.mktemp("hostile") / "island")
    return record_trip(
        island / "trip_2027.toml",
        island / "records",
        planned_on=dt.date(2027, 1, 9),
        progress=False,
    ).folder


@pytest.fixture(scope="module")
def lab(browser: Browser, record: Path, tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    """A JupyterLab whose notebooks are set to the hostile island, and its record beside them."""
    home = tmp_path_factory.mktemp("hostile_lab")
    shutil.copytree(PROJECT / "notebooks", home / "notebooks")
    for path in (home / "notebooks").glob("*.ipynb"):
        notebook = nbformat.read(path, as_version=4)
        for cell in notebook.cells:
            if "parameters" in cell.metadata.get("tags", []):
                folder = str(record.parent.parent)
                cell.source = cell.source.replace('folder = ""', f"folder = {folder!r}")
        nbformat.write(notebook, path)
    shutil.copy(record / "record.ipynb", home / "notebooks" / "of_somebody_else.ipynb")
    with running_lab(home, home / "notebooks") as address:
        yield address


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_notebook_shows_hostile_names_and_runs_none(open_notebook: Any, name: str) -> None:
    opened = open_notebook(f"{name}.ipynb")
    opened.page.wait_for_timeout(500)
    assert opened.page.evaluate(f"() => window.{RAN}") is None
    assert opened.outputs_with_errors() == []
    assert opened.refused == []


def test_folder_on_a_phone_shows_hostile_names_and_runs_none(
    browser: Browser, record: Path
) -> None:
    context = browser.new_context(offline=True)
    page = context.new_page()
    told: list[str] = []
    page.on("dialog", lambda dialog: told.append(dialog.message))
    page.on("request", lambda request: told.append(request.url))
    twin = (record / "pack.html").as_uri()
    page.goto(twin)
    page.wait_for_timeout(500)
    assert page.evaluate(f"() => window.{RAN}") is None
    assert FIRST_SCRIPT in page.inner_text("body")
    assert page.locator("img[src=x], iframe, object").count() == 0
    assert [each for each in told if each != twin and not each.startswith("data:")] == []
    context.close()


def test_record_of_somebody_else_opens_without_running(
    browser: Browser, lab: str, record: Path
) -> None:
    context = browser.new_context()
    page = context.new_page()
    page.goto(f"{lab}/doc/tree/of_somebody_else.ipynb?reset", wait_until="domcontentloaded")
    page.locator(".jp-Notebook .jp-OutputArea-output").first.wait_for(timeout=60_000)
    page.wait_for_timeout(1_000)
    assert page.evaluate(f"() => window.{RAN}") is None
    cells = nbformat.read(record / "record.ipynb", as_version=4).cells
    numbers = [f"[{cell.execution_count}]:" for cell in cells if cell.cell_type == "code"]
    prompts = page.locator(".jp-Notebook .jp-CodeCell .jp-InputPrompt").all_inner_texts()
    assert [prompt.strip() for prompt in prompts if prompt.strip()] == numbers
    context.close()
