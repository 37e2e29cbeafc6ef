from __future__ import annotations

import shutil
from pathlib import Path

import pytest


@pytest.fixture(scope="session")
def hostile_demo(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the demo whose first attraction is named by somebody who means harm."""
    folder = tmp_path_factory.mktemp("hostile") / "island"
    shutil.copytree(demo, folder)
    path = folder / "attractions.csv"
    text = path.read_text(encoding="utf-8")
    assert "Hallin Show Cave" in text
    harm = '"<script>alert(1)</script><img src=x onerror=alert(1)>"'
    path.write_text(text.replace("Hallin Show Cave", harm, 1), encoding="utf-8")
    return folder
