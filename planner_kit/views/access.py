"""What assistive technology needs and the widgets do not give by themselves."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import anywidget
import ipywidgets as widgets

if TYPE_CHECKING:
    from collections.abc import Iterable

_NAME_SLIDERS = """
const ASKED = '[role=slider]:not([aria-label])';

function nameSliders() {
  for (const handle of document.querySelectorAll(ASKED)) {
    const box = handle.closest('.jupyter-widgets');
    const label = box && box.querySelector('.widget-label');
    if (!label || !label.textContent.trim()) continue;
    const pair = box.querySelectorAll('[role=slider]').length > 1;
    const end = handle.classList.contains('noUi-handle-lower') ? ', from' : ', to';
    handle.setAttribute('aria-label', label.textContent.trim() + (pair ? end : ''));
  }
}

export default {
  render({ el }) {
    el.style.display = 'none';
    let asked = false;
    const later = () => {
      if (asked) return;
      asked = true;
      requestAnimationFrame(() => { asked = false; nameSliders(); });
    };
    nameSliders();
    const watch = new MutationObserver(later);
    watch.observe(document.body, { childList: true, subtree: true });
    return () => watch.disconnect();
  },
};
"""


class SliderNames(anywidget.AnyWidget):
    """Gives the handle of each slider on the page its label as a name that is read aloud."""

    _esm = _NAME_SLIDERS


class View(widgets.VBox):  # type: ignore[misc]
    """Widgets below each other, whose sliders have names for screen readers."""

    def __init__(self, children: Iterable[widgets.Widget], **more: Any) -> None:
        super().__init__([*children, SliderNames()], **more)
