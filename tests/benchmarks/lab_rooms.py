"""The JupyterLab and browser of the browser tests, for benchmarks."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from typing import Any


def lab_rooms() -> Any:
    """The module that holds the server, the browser's flags and what runs a notebook."""
    path = Path(__file__).resolve().parents[1] / "browser" / "conftest.py"
    spec = importlib.util.spec_from_file_location("lab", path)
    assert spec is not None
    assert spec.loader is not None
    rooms = importlib.util.module_from_spec(spec)
    sys.modules["lab"] = rooms
    spec.loader.exec_module(rooms)
    return rooms
