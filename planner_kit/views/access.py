"""What assistive technology needs and the widgets do not give by themselves."""

from __future__ import annotations

import gc
from typing import TYPE_CHECKING, Any

import anywidget
import ipywidgets as widgets
import traitlets

from planner_kit.views import look

if TYPE_CHECKING:
    from collections.abc import Iterable

_READY = """
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

// The titles of parts that fold are not reached by Tab, and are not told to be buttons.
function nameFolds() {
  for (const title of document.querySelectorAll('.jupyter-widget-Collapse-header')) {
    title.tabIndex = 0;
    title.setAttribute('role', 'button');
    title.setAttribute('aria-label', title.textContent.trim());
    const open = title.parentElement.classList.contains('jupyter-widget-Collapse-open');
    title.setAttribute('aria-expanded', String(open));
  }
}

function pressFold(event) {
  const at = event.target;
  if (!(at instanceof Element) || !at.matches('.jupyter-widget-Collapse-header')) return;
  if (event.key !== 'Enter' && event.key !== ' ') return;
  event.preventDefault();
  at.click();
}

// In a notebook arrows and letters are shortcuts: an arrow in a list would leave the list for the
// next cell. In our widgets the keys are the widgets' own; the mark must stand on what has the
// focus.
function keepKeys(event) {
  const at = event.target;
  if (at instanceof Element && at.closest('.jupyter-widgets')) {
    at.setAttribute('data-lm-suppress-shortcuts', 'true');
  }
}

// A chart is drawn before it has its place, at a width of the library's own, and is drawn anew only
// when the window changes. It is told of its place, and of a side bar that takes room from it.
function fits(chart) {
  const drawn = chart.querySelector('.main-svg');
  return !drawn || !chart.clientWidth || Math.abs(drawn.clientWidth - chart.clientWidth) <= 2;
}

function watchCharts() {
  let asked = 0;
  const look = (charts, tries) => {
    if (charts.every(fits)) return;
    window.dispatchEvent(new Event('resize'));
    if (tries > 0) asked = setTimeout(() => look(charts, tries - 1), 400);
  };
  const charts = new Set();
  const changed = new ResizeObserver(() => {
    clearTimeout(asked);
    asked = setTimeout(() => look([...charts].filter(chart => chart.isConnected), 4), 100);
  });
  return {
    find() {
      for (const chart of document.querySelectorAll('.js-plotly-plot')) {
        if (charts.has(chart)) continue;
        charts.add(chart);
        changed.observe(chart);
      }
    },
    end() { clearTimeout(asked); changed.disconnect(); },
  };
}

export default {
  render({ model, el }) {
    el.style.display = 'none';
    model.set('seen', true);
    model.save_changes();
    let asked = false;
    const charts = watchCharts();
    const later = () => {
      if (asked) return;
      asked = true;
      requestAnimationFrame(() => { asked = false; nameSliders(); nameFolds(); charts.find(); });
    };
    later();
    document.addEventListener('keydown', pressFold);
    document.addEventListener('click', later);
    document.addEventListener('focusin', keepKeys);
    const watch = new MutationObserver(later);
    watch.observe(document.body, { childList: true, subtree: true });
    return () => {
      watch.disconnect();
      charts.end();
      document.removeEventListener('focusin', keepKeys);
      document.removeEventListener('keydown', pressFold);
      document.removeEventListener('click', later);
    };
  },
};
"""


class ReadyForKeys(anywidget.AnyWidget):
    """Makes all widgets of the page fit for the keyboard, for screen readers and for its width.

    The handle of each slider has its label as a name that is read aloud, keys that are pressed in a
    widget are the widget's and no shortcuts of the notebook, and charts take the width they have.
    """

    _esm = _READY
    seen = traitlets.Bool(default_value=False).tag(sync=True)
    _css = look.STYLE.removeprefix("<style>").removesuffix("</style>")


class View(widgets.VBox):  # type: ignore[misc]
    """Widgets below each other that the keyboard reaches and screen readers name."""

    def __init__(self, children: Iterable[widgets.Widget], **more: Any) -> None:
        self.ready = ReadyForKeys()
        super().__init__([*children, self.ready], **more)

    def _repr_mimebundle_(self, **kwargs: Any) -> Any:
        """What a notebook shows. All that was built for it is looked through for garbage now."""
        _look_through_once()
        return super()._repr_mimebundle_(**kwargs)


def _look_through_once() -> None:
    """Collect garbage now, and spare later collections what is left.

    Tables, map and widgets stay as long as the notebook; looking through them again and again
    would now and then keep a key waiting.
    """
    gc.unfreeze()
    gc.collect()
    gc.freeze()
