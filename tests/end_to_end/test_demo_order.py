"""The demo's routing order is found when its region is built, and kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

from planner_kit.demo import demo_folder
from planner_kit.tow.search import ORDER_FILE

if TYPE_CHECKING:
    from pathlib import Path


def test_order_is_there_before_the_first_route(demo: Path, capsys: pytest.CaptureFixture) -> None:
    kept = demo / "region" / ORDER_FILE
    assert kept.is_file()
    kept.unlink()
    demo_folder(demo)
    assert "routing order" in capsys.readouterr().err
    stamp = kept.stat().st_mtime_ns
    demo_folder(demo)
    assert kept.stat().st_mtime_ns == stamp
