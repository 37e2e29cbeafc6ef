"""The notebooks in a real browser, with no network: they open, run, and answer the keyboard."""

from __future__ import annotations

import os
from pathlib import Path
from typing import Any

import pytest

NOTEBOOKS = sorted(
    path.stem for path in (Path(__file__).resolve().parents[2] / "notebooks").glob("*.ipynb")
)


def _keep_picture(page: Any, name: str) -> None:
    """Keep a picture where the environment asks for one, so that people can look at the page."""
    folder = os.environ.get("PLANNER_KIT_PICTURES")
    if folder:
        tall = page.evaluate(
            "() => Math.max(...[...document.querySelectorAll('.jp-WindowedPanel-outer')]"
            ".map(panel => panel.scrollHeight), 900)"
        )
        size = page.viewport_size
        page.set_viewport_size({"width": size["width"], "height": min(int(tall) + 160, 9000)})
        page.evaluate(
            "() => document.querySelectorAll('.jp-WindowedPanel-outer')"
            ".forEach(panel => { panel.scrollTop = 0; })"
        )
        page.wait_for_timeout(1200)
        page.screenshot(path=str(Path(folder) / f"{name}.png"))
        page.set_viewport_size(size)


@pytest.mark.parametrize("name", NOTEBOOKS)
def test_notebook_runs_without_a_network_and_everybody_can_use_it(
    open_notebook: Any, name: str
) -> None:
    opened = open_notebook(f"{name}.ipynb")
    assert opened.outputs_with_errors() == []
    assert opened.serious_findings() == []
    assert opened.charts_off_their_width() == []
    _keep_picture(opened.page, name)
    opened.page.set_viewport_size({"width": 800, "height": 1000})
    opened.page.wait_for_timeout(600)
    _keep_picture(opened.page, f"{name}_800")
    assert opened.wider_than_the_page() == []
    assert opened.refused == []
    assert opened.console == []


def test_chart_first_drawn_on_a_tablet_is_not_cut(open_notebook: Any) -> None:
    opened = open_notebook("diary.ipynb", width=820)
    assert opened.page.locator(".js-plotly-plot").count() > 0
    assert opened.charts_off_their_width() == []


def test_click_on_the_map_tells_what_is_there(open_notebook: Any) -> None:
    opened = open_notebook("explore_region.ipynb")
    drawn = opened.page.locator(".leaflet-container").first
    drawn.wait_for(timeout=20_000)
    told = opened.page.locator(".pk p", has_text="Click a road or a place").first
    told.wait_for(timeout=20_000)
    drawn.scroll_into_view_if_needed()
    box = drawn.bounding_box()
    drawn.click(position={"x": box["width"] * 0.55, "y": box["height"] * 0.5})
    told.wait_for(state="detached", timeout=20_000)
    assert opened.console == []


def test_slider_moved_with_the_keyboard_changes_the_table(open_notebook: Any) -> None:
    opened = open_notebook("tune_attractions.ipynb", height=1400)
    assert opened.outputs_with_errors() == []
    page = opened.page
    table = page.locator("table", has_text="Attraction").first
    table.wait_for(timeout=20_000)
    before = table.inner_text()
    handle = page.get_by_role("slider").first
    handle.focus()
    for _ in range(8):
        page.keyboard.press("ArrowLeft")
    page.wait_for_function(
        "before => ![...document.querySelectorAll('table')]"
        ".some(table => table.innerText === before)",
        arg=before,
        timeout=15_000,
    )
    assert opened.refused == []


def test_other_ways_to_tow_come_when_the_slider_rests(open_notebook: Any) -> None:
    opened = open_notebook("tow.ipynb", height=1400)
    page = opened.page
    page.get_by_role("columnheader", name="Way 2").first.wait_for(timeout=20_000)
    looking = page.get_by_text("Looking for other ways")
    page.get_by_role("slider", name="Narrow roads").focus()
    for _ in range(3):
        page.keyboard.press("ArrowRight")
    looking.wait_for(timeout=20_000)
    looking.wait_for(state="detached", timeout=20_000)
    page.get_by_role("columnheader", name="Way 2").first.wait_for(timeout=20_000)
    assert page.get_by_text("has ended").count() == 0
    assert opened.console == []


def test_list_is_chosen_from_with_the_arrow_keys(open_notebook: Any) -> None:
    opened = open_notebook("print_folder.ipynb")
    page = opened.page
    paper = page.get_by_label("Paper", exact=True)
    paper.wait_for(timeout=20_000)
    cells, before = page.locator(".jp-Notebook .jp-Cell").count(), paper.input_value()
    # In a notebook an arrow would go on to the next cell, and a letter add one.
    paper.focus()
    page.keyboard.press("ArrowDown")
    page.wait_for_function(
        "before => document.activeElement.tagName === 'SELECT'"
        " && document.activeElement.value !== before",
        arg=before,
        timeout=10_000,
    )
    page.keyboard.press("b")
    page.wait_for_timeout(300)
    assert page.locator(".jp-Notebook .jp-Cell").count() == cells
    assert opened.console == []


def test_pin_that_is_dragged_leads_the_tow_another_way(open_notebook: Any) -> None:
    opened = open_notebook("tow.ipynb", height=1600)
    page = opened.page
    drawn = page.locator(".leaflet-container").first
    drawn.wait_for(timeout=20_000)
    drawn.scroll_into_view_if_needed()
    table = page.locator("table", has_text="Ways side by side").first
    table.wait_for(timeout=20_000)
    box = drawn.bounding_box()
    drawn.click(position={"x": box["width"] * 0.62, "y": box["height"] * 0.7})
    go = page.get_by_role("button", name="Go this way")
    go.wait_for(timeout=20_000)
    before = table.inner_text()
    go.click()
    pin = page.locator(".leaflet-marker-icon").first
    pin.wait_for(timeout=20_000)
    changed = (
        "before => ![...document.querySelectorAll('table')]"
        ".some(table => table.innerText === before)"
    )
    page.wait_for_function(changed, arg=before, timeout=20_000)
    before, at = table.inner_text(), pin.bounding_box()
    page.mouse.move(at["x"] + 15, at["y"] + 15)
    page.mouse.down()
    page.mouse.move(at["x"] - 120, at["y"] - 60, steps=8)
    page.mouse.up()
    page.wait_for_function(changed, arg=before, timeout=20_000)
    _keep_picture(page, "tow_dragged")
    assert opened.refused == []
    assert opened.console == []


def test_key_is_answered_while_days_are_planned_and_the_days_are_those_of_the_last_weights(
    open_notebook: Any,
) -> None:
    opened = open_notebook("tune_attractions.ipynb", height=1400)
    page = opened.page
    days = page.locator(".pk-days")
    days.get_by_text("The days with these weights").wait_for(timeout=20_000)
    drive = page.get_by_role("slider", name="A short way")
    drive.focus()
    # What the page says of the days at the moment at which the bars follow the key.
    follow = """key => new Promise(done => {
        const bars = document.querySelector('.pk-bars').closest('.widget-html-content');
        new MutationObserver((_, watch) => {
            watch.disconnect();
            done(document.querySelector('.pk-days [role=status]').innerText);
        }).observe(bars, {childList: true});
        document.activeElement.dispatchEvent(new KeyboardEvent('keydown', {key, bubbles: true}));
    })"""
    page.evaluate(follow, "End")
    page.wait_for_timeout(600)  # by now these days are being planned
    for key in ("Home", "PageUp", "Home"):
        page.evaluate(follow, key)
    days.get_by_text("until then these are those of the weights before").wait_for(timeout=5_000)
    days.get_by_text("The days with these weights").wait_for(timeout=30_000)
    best = [
        name.split(". ", 1)[1] for name in page.locator(".pk-bars > b").all_inner_texts() if name
    ]
    left_out = days.locator("table").last.locator("tbody td:first-child").all_inner_texts()
    told = [name for name in left_out if name in best]
    assert len(told) > 1
    # Places are left out in the order of the weights that the days were planned with.
    assert told == sorted(told, key=best.index)
    assert opened.outputs_with_errors() == []
    assert opened.console == []
