"""The folder for the phone in a real browser, with the network cut."""

from __future__ import annotations

import datetime as dt
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from planner_kit.pack import print_folder


@pytest.fixture(scope="module")
def twin(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("twin")
    written = print_folder(
        demo / "trip_2027.toml", folder, phone=True, planned_on=dt.date(2027, 1, 9)
    )
    return written[-1]


def test_one_file_opens_on_a_phone_without_a_network(
    twin: Path, browser: Any, findings: Callable[[Any], list[str]]
) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844}, offline=True)
    page = context.new_page()
    console: list[str] = []
    asked: list[str] = []
    page.on("console", lambda m: console.append(m.text) if m.type == "error" else None)
    page.on("request", lambda request: asked.append(request.url))
    page.goto(twin.as_uri())
    assert page.get_by_role("heading", level=1).first.inner_text() == "Summer at Marren Bay"
    pictures = page.evaluate(
        "() => [...document.images].map(i => [i.complete, i.naturalWidth, i.alt.length])"
    )
    assert len(pictures) > 8
    assert all(whole and wide and words for whole, wide, words in pictures)
    assert [address for address in asked if not address.startswith(("file:", "data:"))] == []
    wide = page.evaluate("() => document.documentElement.scrollWidth - window.innerWidth")
    assert wide <= 0
    box = page.get_by_role("checkbox").first
    box.check()
    assert box.is_checked()
    page.get_by_role("link", name="Money").click()
    assert page.get_by_role("heading", name="Money").first.is_visible()
    if os.environ.get("PLANNER_KIT_PICTURES"):
        page.screenshot(path=Path(os.environ["PLANNER_KIT_PICTURES"]) / "twin.png", full_page=True)
    assert console == []
    context.close()


def test_everybody_can_use_the_page_for_the_phone(
    twin: Path, browser: Any, findings: Callable[[Any], list[str]]
) -> None:
    context = browser.new_context(viewport={"width": 390, "height": 844}, bypass_csp=True)
    page = context.new_page()
    page.goto(twin.as_uri())
    assert findings(page) == []
    context.close()
