"""The standing rules of the house: who may import whom, and what notebooks may hold."""

import ast
from collections.abc import Iterator
from pathlib import Path

import nbformat
import pandas as pd
import pytest

from planner_kit.reference import BASES, shipped_folder

PACKAGE = shipped_folder("data").parent / "planner_kit"
ORDER = (
    "rules", "region", "trip", "outfit", "tow", "pitch", "outings", "sites", "costs",
    "trip_files", "plan", "summary", "pack", "diary", "checking", "demo", "views", "cli",
)  # fmt: skip
FREE = {"errors", "states", "files", "reference", "kept", "spreadsheet", "__init__"}
PLOTTING = {"ipywidgets", "ipyleaflet", "plotly", "matplotlib", "IPython", "nbformat", "papermill"}
COMPUTING = ("rules", "region", "trip", "outfit", "tow", "pitch", "outings", "sites", "costs")


def _imports(path: Path) -> Iterator[str]:
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            yield from (alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            if node.module == "planner_kit":
                yield from (f"planner_kit.{alias.name}" for alias in node.names)
            else:
                yield node.module


def _room(path: Path) -> str:
    return path.relative_to(PACKAGE).parts[0].removesuffix(".py")


def _modules() -> list[Path]:
    return sorted(path for path in PACKAGE.rglob("*.py") if "_shipped" not in path.parts)


def test_every_module_stands_in_a_known_room() -> None:
    rooms = {_room(path) for path in _modules()}
    assert rooms <= set(ORDER) | FREE


@pytest.mark.parametrize("path", _modules(), ids=lambda path: str(path.relative_to(PACKAGE)))
def test_module_imports_only_from_rooms_before_its_own(path: Path) -> None:
    room = _room(path)
    allowed = FREE | {room} | set(ORDER[: ORDER.index(room)] if room in ORDER else ())
    for name in _imports(path):
        parts = name.split(".")
        if parts[0] == "planner_kit" and len(parts) > 1 and parts[1] != "__version__":
            assert parts[1] in allowed, f"{path.name} imports {name}"


@pytest.mark.parametrize("room", COMPUTING)
def test_computing_rooms_import_no_widgets_plots_or_notebooks(room: str) -> None:
    for path in sorted((PACKAGE / room).rglob("*.py")):
        for name in _imports(path):
            assert name.split(".")[0] not in PLOTTING, f"{path} imports {name}"


@pytest.mark.parametrize(
    "path",
    sorted((shipped_folder("data") / "reference").glob("*.csv")),
    ids=lambda path: path.stem,
)
def test_reference_table_names_source_and_basis_of_each_row(path: Path) -> None:
    table = pd.read_csv(path, dtype=str, keep_default_na=False, comment="#")
    assert {"source", "edition", "accessed", "basis"} <= set(table.columns)
    assert set(table["basis"]) <= set(BASES)
    published = table[table["basis"] == "published"]
    assert (published["source"] != "").all()
    assert (published["accessed"] != "").all()


def _notebooks() -> list[Path]:
    top = PACKAGE.parent
    return sorted([*(top / "notebooks").glob("*.ipynb"), *(top / "templates").glob("*.ipynb")])


@pytest.mark.parametrize("path", _notebooks(), ids=lambda path: path.stem)
def test_notebook_has_no_outputs_and_a_parameters_cell(path: Path) -> None:
    notebook = nbformat.read(path, as_version=4)
    nbformat.validate(notebook)
    code = [cell for cell in notebook.cells if cell.cell_type == "code"]
    assert all(not cell.outputs and cell.execution_count is None for cell in code)
    assert any("parameters" in cell.metadata.get("tags", []) for cell in code)


@pytest.mark.parametrize("path", _notebooks(), ids=lambda path: path.stem)
def test_notebook_cells_hold_only_imports_assignments_and_calls(path: Path) -> None:
    for cell in nbformat.read(path, as_version=4).cells:
        if cell.cell_type != "code":
            continue
        tree = ast.parse(cell.source)
        for node in tree.body:
            assert isinstance(node, (ast.Import, ast.ImportFrom, ast.Assign, ast.Expr)), cell.source
        for node in ast.walk(tree):
            assert not isinstance(
                node, (ast.BinOp, ast.IfExp, ast.Lambda, ast.ListComp, ast.DictComp, ast.For)
            ), cell.source
        if "parameters" in cell.metadata.get("tags", []):
            for node in tree.body:
                assert isinstance(node, ast.Assign), cell.source
                ast.literal_eval(node.value)
        else:
            lines = [line for line in cell.source.splitlines() if line.strip()]
            imports = [node for node in tree.body if isinstance(node, (ast.Import, ast.ImportFrom))]
            assert len(lines) - len(imports) <= 5, cell.source
