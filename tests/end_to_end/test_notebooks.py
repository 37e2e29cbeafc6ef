"""Every notebook runs from top to bottom on the demo, without a network."""

from __future__ import annotations

import html
import json
import re
from pathlib import Path

import nbformat
import papermill
import pytest

from planner_kit.rules import cautions_at

WIDGET_STATE = "application/vnd.jupyter.widget-state+json"
NOTEBOOKS = sorted((Path(__file__).resolve().parents[2] / "notebooks").glob("*.ipynb"))
# In each kernel before the notebook's own cells: any name that is looked up or any connection that
# is made beyond this machine fails the cell.
_NO_NETWORK = """
import socket, sys
def _stay_here(event, args):
    if event == "socket.getaddrinfo" and args[0] not in (None, "", "127.0.0.1", "localhost"):
        raise RuntimeError(f"a notebook looked for {args[0]}")
    if event == "socket.connect" and isinstance(args[1], tuple) and args[1][0] != "127.0.0.1":
        raise RuntimeError(f"a notebook spoke to {args[1]}")
sys.addaudithook(_stay_here)
"""


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebook_runs_on_the_demo_without_a_network(
    path: Path, demo: Path, tmp_path: Path
) -> None:
    notebook = nbformat.read(path, as_version=4)
    notebook.cells.insert(0, nbformat.v4.new_code_cell(_NO_NETWORK))
    guarded = tmp_path / "guarded.ipynb"
    nbformat.write(notebook, guarded)
    done = papermill.execute_notebook(
        guarded,
        tmp_path / "done.ipynb",
        parameters={"folder": str(demo)},
        cwd=tmp_path,
        progress_bar=False,
    )
    shown = [o for cell in done.cells if cell.cell_type == "code" for o in cell.outputs]
    assert all(output.output_type != "error" for output in shown)
    assert [o.text for o in shown if o.output_type == "stream" and o.name == "stderr"] == []
    assert any("application/vnd.jupyter.widget-view+json" in o.get("data", {}) for o in shown)
    words = _words_of(done)
    for caution in cautions_at(path.stem):
        assert caution in words


def _words_of(done: nbformat.NotebookNode) -> str:
    """All that an executed notebook shows, its widgets too, as plain text."""
    states = done.metadata.get("widgets", {}).get(WIDGET_STATE, {}).get("state", {})
    parts = [str(model["state"].get("value", "")) for model in states.values()]
    for cell in done.cells:
        parts += [str(o.get("data", {}).get("text/html", "")) for o in cell.get("outputs", [])]
    return html.unescape(" ".join(parts))


def test_notebook_that_reaches_out_is_caught(tmp_path: Path) -> None:
    notebook = nbformat.v4.new_notebook(
        cells=[
            nbformat.v4.new_code_cell(_NO_NETWORK),
            nbformat.v4.new_code_cell("socket.create_connection(('tiles.example', 443))"),
        ],
        metadata={"kernelspec": {"name": "python3", "display_name": "Python 3"}},
    )
    nbformat.write(notebook, tmp_path / "out.ipynb")
    with pytest.raises(papermill.PapermillExecutionError, match=r"looked for tiles\.example"):
        papermill.execute_notebook(
            tmp_path / "out.ipynb", tmp_path / "done.ipynb", progress_bar=False
        )


@pytest.mark.parametrize("path", NOTEBOOKS, ids=lambda path: path.stem)
def test_notebook_names_no_address_of_the_web(path: Path) -> None:
    cells = json.loads(path.read_text(encoding="utf-8"))["cells"]
    assert not re.search(r"https?://", "".join("".join(cell["source"]) for cell in cells))
