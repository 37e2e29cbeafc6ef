"""How long a slider takes to answer, as seen in the browser: from the key to the changed page.

Run by hand: ``python tests/benchmarks/bench_sliders.py``.
"""

from __future__ import annotations

import json
import shutil
import statistics
import tempfile
from pathlib import Path

from lab_rooms import lab_rooms
from playwright.sync_api import sync_playwright

NOTEBOOKS = ("compare_trips", "tune_attractions", "load_caravan", "choose_site")
_PRESS = """(key) => new Promise(done => {
  const handle = document.activeElement;
  const begin = performance.now();
  const watch = new MutationObserver(changes => {
    const own = changes.some(c => !handle.closest('.jupyter-widgets').contains(c.target));
    if (!own) return;
    watch.disconnect();
    requestAnimationFrame(() => done(performance.now() - begin));
  });
  const outputs = document.querySelector('.jp-Notebook');
  watch.observe(outputs, {subtree: true, childList: true, characterData: true});
  handle.dispatchEvent(new KeyboardEvent('keydown', {key, bubbles: true}));
  setTimeout(() => { watch.disconnect(); done(NaN); }, 5000);
})"""


def main() -> None:
    """Print a line for each notebook."""
    from planner_kit.demo import demo_folder

    lab = lab_rooms()
    with tempfile.TemporaryDirectory() as name, sync_playwright() as playwright:
        home = Path(name)
        island = demo_folder(home / "island", progress=False)
        lab.keep_records(island / "records")
        shutil.copytree(lab.PROJECT / "notebooks", home / "notebooks")
        for path in (home / "notebooks").glob("*.ipynb"):
            lab.set_folder(path, island)
        chromium = playwright.chromium.launch(executable_path=lab.CHROMIUM, args=lab.FLAGS)
        print("notebook            median ms   slowest ms")
        with lab.running_lab(home, home / "notebooks") as address:
            for notebook in NOTEBOOKS:
                page = chromium.new_page(viewport={"width": 1280, "height": 1000})
                page.goto(f"{address}/doc/tree/{notebook}.ipynb?reset")
                lab.run_all(page)
                page.wait_for_timeout(1500)
                page.get_by_role("slider").first.focus()
                keys = ["ArrowRight", "ArrowRight", "ArrowLeft", "ArrowLeft"] * 5
                took_ms = []
                for key in keys:
                    took_ms.append(page.evaluate(_PRESS, key))
                    page.wait_for_timeout(250)
                seen = [ms for ms in took_ms if ms == ms]
                print(
                    f"{notebook:<18} {statistics.median(seen):>10.0f} {max(seen):>12.0f}"
                    if seen
                    else f"{notebook:<18} no answer: {json.dumps(len(took_ms))}"
                )
                page.close()
        chromium.close()


if __name__ == "__main__":
    main()
