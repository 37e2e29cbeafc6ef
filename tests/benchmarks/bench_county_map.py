"""Panning and zooming the map of a county of more than 100,000 roads, as seen in the browser.

Run by hand: ``python tests/benchmarks/bench_county_map.py``. For each step it prints the bytes that
reached the browser, the time from the end of the gesture until everything in view was drawn anew,
and the longest frame meanwhile.
"""

from __future__ import annotations

import datetime as dt
import math
import statistics
import tempfile
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import nbformat
import numpy as np
import pandas as pd
from joined_region import joined_region, real_region
from lab_rooms import lab_rooms
from playwright.sync_api import Page, sync_playwright

HERE = Path(__file__).resolve().parent
COUNTY_ROADS = 100_000
_WATCH = """() => {
  window.lastDrawn = 0; window.frames = [];
  let last = performance.now();
  const tick = now => { window.frames.push(now - last); last = now; requestAnimationFrame(tick); };
  requestAnimationFrame(tick);
  for (const name of ['stroke', 'fill']) {
    const plain = CanvasRenderingContext2D.prototype[name];
    CanvasRenderingContext2D.prototype[name] = function (...more) {
      window.lastDrawn = performance.now();
      return plain.apply(this, more);
    };
  }
}"""
_QUIET_MS = 1000


def county_map(work: str) -> Any:
    """The map of copies of a real region side by side; called in the notebook's kernel."""
    from planner_kit.demo import demo_folder
    from planner_kit.outfit import outfit_of
    from planner_kit.tow import road_suitability
    from planner_kit.trip import read_household
    from planner_kit.views.region_map import RegionMap

    one = real_region("rutland", Path(work))
    side = math.ceil(math.sqrt(COUNTY_ROADS / len(one.roads)))
    many = joined_region(one, side, side, Path(work) / "joined")
    household = read_household(
        demo_folder(Path(work) / "island", progress=False) / "household.toml"
    )
    day = dt.date(2027, 7, 24)
    suits = road_suitability(one, outfit_of(household, on=day), household.preferences.tow, on=day)
    states = pd.Series(np.resize(suits["state"].astype(str).to_numpy(), len(many.roads)))
    region = SimpleNamespace(
        roads=many.roads, places=one.places, areas=one.areas, lines=one.lines,
        bounds=tuple(float(edge) for edge in many.roads.total_bounds),
        attribution=one.attribution,
    )  # fmt: skip
    west, south, east, north = one.bounds
    drawn = RegionMap(region, states=states, center=((south + north) / 2, (west + east) / 2))
    drawn.draw()
    print(len(many.roads), "roads")
    return drawn


def main() -> None:
    """Print a line for each gesture."""
    lab = lab_rooms()
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        home = Path(name)
        (home / "notebooks").mkdir()
        code = f"import sys\nsys.path.insert(0, {str(HERE)!r})\n" + (
            f"from bench_county_map import county_map\ncounty_map({str(home / 'work')!r})"
        )
        notebook = nbformat.v4.new_notebook(cells=[nbformat.v4.new_code_cell(code)])
        notebook.metadata["kernelspec"] = {"name": "python3", "display_name": "Python 3"}
        nbformat.write(notebook, home / "notebooks" / "county.ipynb")
        chromium = playwright.chromium.launch(executable_path=lab.CHROMIUM, args=lab.FLAGS)
        with lab.running_lab(home, home / "notebooks") as address:
            page = chromium.new_page(viewport={"width": 1280, "height": 1000})
            got = _bytes_of(page)
            page.goto(f"{address}/doc/tree/county.ipynb?reset")
            page.locator(".jp-Notebook .jp-CodeCell").first.wait_for(timeout=60_000)
            page.get_by_text("(ipykernel) | Idle").wait_for(timeout=60_000)
            page.locator(".jp-Notebook .jp-CodeCell .cm-content").first.click()
            page.keyboard.press("Shift+Enter")
            page.locator(".leaflet-container").wait_for(timeout=150_000)
            page.wait_for_timeout(4000)
            print(page.locator(".jp-OutputArea-output").first.inner_text(), "in the map")
            print(f"first view: {sum(got) / 1000:.0f} kB to the browser")
            page.evaluate(_WATCH)
            _gestures(page, got)
        chromium.close()


def _bytes_of(page: Page) -> list[int]:
    got: list[int] = []
    wire = page.context.new_cdp_session(page)
    wire.send("Network.enable")
    wire.on(
        "Network.webSocketFrameReceived",
        lambda event: got.append(len(event["response"]["payloadData"])),
    )
    return got


def _gestures(page: Page, got: list[int]) -> None:
    box = page.locator(".leaflet-container").bounding_box()
    assert box is not None
    middle = box["x"] + box["width"] / 2, box["y"] + box["height"] / 2

    def drag(dx: int, dy: int) -> None:
        page.mouse.move(*middle)
        page.mouse.down()
        for step in range(1, 13):
            page.mouse.move(middle[0] + dx * step / 12, middle[1] + dy * step / 12)
        page.wait_for_timeout(120)  # so that the map does not glide on
        page.mouse.up()

    def zoom(sign: str) -> None:
        page.locator(f".leaflet-control-zoom-{sign}").click()

    print("gesture            kB   drawn after ms   longest frame ms   median frame ms")
    for word, act, times in (
        ("pan at zoom 10", lambda way: drag(300 * way, 120 * way), 6),
        ("zoom in", lambda _: zoom("in"), 5),
        ("pan at zoom 15", lambda way: drag(300 * way, 120 * way), 6),
        ("zoom out", lambda _: zoom("out"), 6),
    ):
        kilobytes, after_ms, frames = [], [], []
        for number in range(times):
            got.clear()
            page.evaluate("() => { window.lastDrawn = 0; window.frames = []; }")
            act(1 if number % 2 else -1)
            begin = page.evaluate("() => performance.now()")
            page.wait_for_function(
                f"() => window.lastDrawn && performance.now() - window.lastDrawn > {_QUIET_MS}",
                timeout=30_000,
            )
            last, seen = page.evaluate("() => [window.lastDrawn, window.frames]")
            kilobytes.append(sum(got) / 1000)
            after_ms.append(max(0.0, last - begin))
            frames += seen
        print(
            f"{word:<16} {statistics.median(kilobytes):>4.0f} {statistics.median(after_ms):>16.0f}"
            f" {max(frames):>18.0f} {statistics.median(frames):>17.0f}"
        )


if __name__ == "__main__":
    main()
