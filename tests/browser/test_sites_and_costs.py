"""A must-have takes sites out, a tour is found, and a what-if is told, in a real browser."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any


def _keep(page: Any, name: str) -> None:
    folder = os.environ.get("PLANNER_KIT_PICTURES")
    if folder:
        page.wait_for_timeout(800)
        page.screenshot(path=str(Path(folder) / f"{name}.png"))


def test_a_must_have_takes_sites_out_and_a_tour_is_found(open_notebook: Any) -> None:
    opened = open_notebook("choose_site.ipynb")
    page = opened.page
    page.get_by_text("2 of 8 are out.").first.wait_for(timeout=20_000)
    box = page.get_by_text("playground", exact=True).first
    box.scroll_into_view_if_needed()
    _keep(page, "sites_chosen")
    box.click()
    page.get_by_text("What each must-have removes").first.wait_for(timeout=20_000)
    button = page.get_by_role("button", name="Find the best tour")
    button.scroll_into_view_if_needed()
    button.click()
    page.get_by_text("The best tour:").first.wait_for(timeout=60_000)
    _keep(page, "sites_tour")
    assert opened.console == []


def test_another_way_to_tow_is_told_line_by_line(open_notebook: Any) -> None:
    opened = open_notebook("trip_cost.ipynb")
    page = opened.page
    way = page.get_by_label("Tow", exact=True).first
    way.scroll_into_view_if_needed()
    way.select_option("without tolls and ferries")
    page.get_by_text("The tows would be").first.wait_for(timeout=20_000)
    slider = page.get_by_role("slider", name="Nights more or fewer").first
    slider.focus()
    slider.press("ArrowLeft")
    page.get_by_text("What would change, line by line").first.wait_for(timeout=20_000)
    page.get_by_text("food for 4 people on 7 days").first.wait_for(timeout=20_000)
    _keep(page, "cost_changed")
    assert opened.console == []
