"""Dependencies are few: each is declared, used, and listed with its free licence."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
import tomllib
from importlib.metadata import metadata, packages_distributions
from pathlib import Path

import pytest

PROJECT = Path(__file__).resolve().parents[2]
# Used by name only: an engine, a front end or a table that another library loads.
NOT_IMPORTED = {"jupyterlab", "tzdata", "pyarrow", "anywidget"}
# Parts of a declared library that it ships as distributions of their own.
COMES_WITH = {"ipython": "ipywidgets", "traitlets": "ipywidgets", "pydantic-core": "pydantic",
              "markupsafe": "jinja2"}  # fmt: skip
FREE = re.compile(r"\b(MIT|BSD|Apache|PSF|Python Software|MPL|ISC|Zlib|0BSD|CC0)", re.IGNORECASE)


def _declared() -> set[str]:
    project = tomllib.loads((PROJECT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    return {_plain(re.split(r"[\[<>=~! ]", line)[0]) for line in project["dependencies"]}


def _plain(name: str) -> str:
    return name.lower().replace("_", "-")


def _imported() -> set[str]:
    """Distributions that the package imports anywhere, also inside functions."""
    found = set()
    for path in (PROJECT / "planner_kit").rglob("*.py"):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            names = []
            if isinstance(node, ast.Import):
                names = [alias.name for alias in node.names]
            elif isinstance(node, ast.ImportFrom) and node.level == 0:
                names = [node.module or ""]
            found |= {name.split(".")[0] for name in names}
    homes = packages_distributions()
    return {
        _plain(homes[name][0])
        for name in found - set(sys.stdlib_module_names) - {"planner_kit"}
        if name in homes
    }


def _licences() -> dict[str, str]:
    """The table of licences in the guide for contributors."""
    text = (PROJECT / "DEVELOPERS.md").read_text(encoding="utf-8")
    rows = re.findall(r"^\| `([a-z0-9-]+)` \| ([^|]+) \|", text, flags=re.M)
    return {name: licence.strip() for name, licence in rows}


def test_everything_imported_is_declared() -> None:
    extras = {"distributed", "dask", "duckdb"}  # optional: `pip install -e '.[many]'`
    found = {COMES_WITH.get(name, name) for name in _imported()}
    assert found - _declared() - extras == set()


def test_everything_declared_is_used() -> None:
    assert _declared() - _imported() - NOT_IMPORTED == set()


def test_every_dependency_is_listed_with_its_licence() -> None:
    assert set(_licences()) == _declared()


@pytest.mark.parametrize("name", sorted(_declared()))
def test_licence_listed_is_free_and_is_what_the_package_says(name: str) -> None:
    about = metadata(name)
    said = " ".join(
        [
            about.get("License-Expression") or "",
            (about.get("License") or "")[:2000],
            *[c for c in about.get_all("Classifier") or [] if c.startswith("License")],
        ]
    )
    listed = _licences()[name]
    assert FREE.search(listed)
    if said.strip():
        assert FREE.search(said)


def test_importing_the_kit_loads_nothing_heavy() -> None:
    code = "import sys, planner_kit, planner_kit.cli; print(*sorted(sys.modules))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    loaded = set(done.stdout.split())
    assert not loaded & {
        "numpy",
        "pandas",
        "geopandas",
        "ipywidgets",
        "plotly",
        "papermill",
        "scipy",
    }
