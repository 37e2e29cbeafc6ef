from __future__ import annotations

from typing import Any

# One key press on a slider: milliseconds until the picture of the floor is another one.
_PRESS = """
async () => {
  const floor = () => document.querySelector('svg[aria-label^="Caravan floor"]').outerHTML;
  const handle = document.querySelector('.jupyter-widgets .noUi-handle');
  handle.focus();
  const before = floor();
  return await new Promise((done) => {
    const begun = performance.now();
    const watch = new MutationObserver(() => {
      if (floor() === before) return;
      watch.disconnect();
      done(performance.now() - begun);
    });
    watch.observe(document.body, {subtree: true, childList: true, characterData: true});
    handle.dispatchEvent(new KeyboardEvent('keydown', {key: 'ArrowRight', bubbles: true}));
    setTimeout(() => done(-1), 10000);
  });
}
"""


def test_caravan_is_loaded_by_hand(open_notebook: Any) -> None:
    opened = open_notebook("load_caravan.ipynb", width=1400, height=1200)
    page = opened.page
    page.locator("caption", has_text="Plates and noseweight").first.wait_for()
    assert opened.outputs_with_errors() == []
    assert opened.refused == []
    # Sliders that a browser shows send their values back; nothing has moved by that.
    page.wait_for_timeout(1500)
    ball = page.locator("tr", has_text="noseweight on the tow ball").first.inner_text()
    assert "fine" in ball
    assert "measure it again" not in ball
    mass = page.get_by_label("awning and poles", exact=True)
    mass.fill("64")
    page.locator("svg text", has_text="awning and poles, 64 kg").first.wait_for(timeout=5000)
    page.get_by_text("53 kg too heavy").first.wait_for(timeout=5000)
    # The picture follows a slider that is moved with the keyboard; how fast is noted, not judged.
    taken_ms = [page.evaluate(_PRESS) for _ in range(9)]
    print("slider to picture, ms:", [round(ms) for ms in sorted(taken_ms)])
    assert min(taken_ms) > 0
    page.get_by_role("button", name="What is the least to change?").click()
    page.get_by_text("to change, because of").first.wait_for(timeout=5000)
    assert opened.console == []
