"""A planning folder and a template that is quick to run, for tests of what befalls a run."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import nbformat
import pytest

FACTS = Path(__file__).parent / "kept_records" / "schema_4" / "facts.json"
_PARAMETERS = "\n".join(
    f'{name} = ""'
    for name in ("trip_file", "record_folder", "records", "compare_with", "start", "planned_on")
)


def quick_notebook(folder: Path, body: str, name: str = "quick.ipynb") -> Path:
    """A template that does what `body` says and then writes the kept facts."""
    code = nbformat.v4.new_code_cell(_PARAMETERS)
    code.metadata["tags"] = ["parameters"]
    work = nbformat.v4.new_code_cell(
        f"from pathlib import Path\nimport json\nimport time\n{body}\n"
        f"facts = json.loads(Path({str(FACTS)!r}).read_text(encoding='utf-8'))\n"
        "facts['trip']['start'] = start\n"
        "facts = json.dumps(facts)\n"
        "out = (Path(record_folder) / 'facts.json').open('w', encoding='utf-8')\n"
        "for at in range(0, len(facts), 4096):\n"
        "    out.write(facts[at : at + 4096])\n"
        "out.close()\n"
    )
    kernel = {"name": "python3", "display_name": "Python 3", "language": "python"}
    notebook = nbformat.v4.new_notebook(cells=[code, work], metadata={"kernelspec": kernel})
    path = folder / name
    nbformat.write(notebook, path)
    return path


@pytest.fixture
def quick() -> Callable[..., Path]:
    """Makes a template: folder, what its cell does, name."""
    return quick_notebook


@pytest.fixture(scope="session")
def newest_facts() -> dict[str, Any]:
    """The kept facts of the newest schema; a test that changes them copies them first."""
    facts: dict[str, Any] = json.loads(FACTS.read_text(encoding="utf-8"))
    return facts


@pytest.fixture(scope="module")
def planning(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the demo's folder, its region linked to."""
    folder = tmp_path_factory.mktemp("planning")
    for path in demo.iterdir():
        if path.is_dir() and path.name == "region":
            shutil.copytree(path, folder / "region")
        elif path.is_file():
            shutil.copy(path, folder)
    shutil.copytree(demo / "rides", folder / "rides")
    return folder
