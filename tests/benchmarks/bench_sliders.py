"""How long a slider takes to answer, as seen in the browser: from the key to the changed page.

Run by hand: ``python tests/benchmarks/bench_sliders.py``. Names of notebooks as arguments choose
some. ``first`` is when the page first changes, ``whole`` when the last part of the answer stands
there. Every slider of a page takes its turn, with a few keys each, and the slowest is named. In the
second line of a notebook each key comes 0.45 s after the one before: what is worked out once the
sliders rest (days, other ways to tow) is being worked out then, in a process beside the kernel. Its
coming is no part of the answer to a key.
"""

from __future__ import annotations

import shutil
import statistics
import sys
import tempfile
from pathlib import Path

import numpy as np
import pandas as pd
from lab_rooms import lab_rooms
from playwright.sync_api import Browser, sync_playwright

NOTEBOOKS = (
    "tow", "load_caravan", "choose_site", "trip_cost", "tune_attractions", "find_rides",
    "pitch_utilities", "compare_trips",
)  # fmt: skip
PLACES = 2_000
KEYS = ["ArrowRight", "ArrowRight", "ArrowLeft", "ArrowLeft"]
# A step of a second for each mile seldom changes what is told of a way, and then nothing is seen.
LONG_KEYS = {"tow": ["PageUp", "PageUp", "PageDown", "PageDown"]}
KEYS_IN_ALL = 20
_WATCHED_MS = 300
# The days and the other ways to tow come when they are found; they are no part of the answer.
_PRESS = """([key, watched]) => new Promise(done => {
  const handle = document.activeElement;
  const begin = performance.now();
  let first = null, whole = null;
  const watch = new MutationObserver(changes => {
    const own = changes.some(c => {
      const at = c.target.closest ? c.target : c.target.parentElement;
      return at && at.closest('.jp-OutputArea') && !at.closest('.pk-days')
        && !document.querySelector('.pk-ways .pk-others')
        && !handle.closest('.jp-inline-slider, .widget-slider, .jupyter-widgets').contains(at);
    });
    if (own) requestAnimationFrame(() => {
      whole = performance.now() - begin;
      if (first === null) first = whole;
    });
  });
  watch.observe(document.querySelector('.jp-Notebook'),
    {subtree: true, childList: true, characterData: true, attributes: true,
     attributeFilter: ['src']});
  handle.dispatchEvent(new KeyboardEvent('keydown', {key, bubbles: true}));
  const end = () => { watch.disconnect(); done([first, whole]); };
  const wait = () => (first === null && performance.now() - begin < 2000)
    ? setTimeout(wait, 20) : end();
  setTimeout(wait, watched);
})"""


def main() -> None:
    """Print two lines for each notebook."""
    from planner_kit.demo import demo_folder

    asked = sys.argv[1:] or NOTEBOOKS
    lab = lab_rooms()
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        home = Path(name)
        island = demo_folder(home / "island", progress=False)
        lab.keep_records(island / "records")
        many = demo_folder(home / "many", progress=False)
        add_places(many / "attractions.csv", PLACES)
        for folder, books in ((island, "notebooks"), (many, "notebooks/many")):
            (home / books).mkdir()
            for path in (lab.PROJECT / "notebooks").glob("*.ipynb"):
                shutil.copy(path, home / books)
                lab.set_folder(home / books / path.name, folder)
        chromium = playwright.chromium.launch(executable_path=lab.CHROMIUM, args=lab.FLAGS)
        print(f"{'ms':<46} {'first: median slowest':>22} {'whole: median slowest':>22}")
        with lab.running_lab(home, home / "notebooks") as address:
            for notebook in asked:
                measure(chromium, f"{address}/doc/tree/{notebook}.ipynb?reset", notebook)
            if "tune_attractions" in asked:
                measure(
                    chromium,
                    f"{address}/doc/tree/many/tune_attractions.ipynb?reset",
                    f"tune_attractions, {PLACES:,} more places",
                )
        chromium.close()


def measure(chromium: Browser, address: str, name: str) -> None:
    """Open a notebook, press keys on each slider and print how long they took."""
    lab = sys.modules["lab"]
    page = chromium.new_page(viewport={"width": 1280, "height": 1000})
    page.goto(address)
    lab.run_all(page)
    page.wait_for_timeout(3000)
    handles = [each for each in page.get_by_role("slider").all() if each.is_visible()]
    rounds = max(1, round(KEYS_IN_ALL / (len(KEYS) * len(handles))))
    for words, pause_ms in (("", 0), (", 0.45 s after the last", 450 - _WATCHED_MS)):
        took: list[tuple[float, float, str]] = []
        without = 0
        for handle in handles:
            handle.focus()
            label = str(handle.get_attribute("aria-label"))
            for key in LONG_KEYS.get(name, KEYS) * rounds:
                first, whole = page.evaluate(_PRESS, [key, _WATCHED_MS])
                without += first is None  # at its end, or told apart by nothing on the page
                if first is not None:
                    took.append((first, whole, label))
                page.wait_for_timeout(pause_ms)
        first_ms, whole_ms, labels = zip(*took, strict=True)
        slowest = labels[whole_ms.index(max(whole_ms))]
        print(
            f"{name + words:<46} {statistics.median(first_ms):>14.0f} {max(first_ms):>7.0f} "
            f"{statistics.median(whole_ms):>14.0f} {max(whole_ms):>7.0f}"
            f"  {len(took)} keys, slowest: {slowest}"
            + (f"; {without} without an answer" if without else ""),
            flush=True,
        )
        page.wait_for_timeout(2500)
    page.close()


def add_places(path: Path, rows: int) -> None:
    """Lengthen a list of attractions by copies of its own that lie elsewhere."""
    listed = pd.read_csv(path, dtype=str, keep_default_na=False)
    rng = np.random.default_rng(3)
    more = pd.concat([listed] * (rows // len(listed) + 1), ignore_index=True).head(rows)
    more["attraction_id"] = [f"more-{n}" for n in range(rows)]
    more["osm_ref"] = ""  # a copy is no place of the map, or it would be taken for that one
    more["name"] = [f"{name} {n}" for n, name in enumerate(more["name"])]
    for place, column in enumerate(("lat", "lon")):
        at = more[column].astype(float) + rng.normal(0, 0.03 * (1 + place), rows)
        more[column] = [f"{one:.5f}" for one in at]
    pd.concat([listed, more], ignore_index=True).to_csv(path, index=False)


if __name__ == "__main__":
    main()
