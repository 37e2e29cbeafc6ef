"""The invented household, trip and sites of the tests of sites, for those of costs."""

from __future__ import annotations

import importlib.util
from pathlib import Path
from types import ModuleType

import pytest


@pytest.fixture(scope="session")
def kit() -> ModuleType:
    """The builders of tests/sites/conftest.py."""
    path = Path(__file__).resolve().parents[1] / "sites" / "conftest.py"
    spec = importlib.util.spec_from_file_location("sites_builders", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module
