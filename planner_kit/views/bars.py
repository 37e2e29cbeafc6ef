"""Bars, drawn by the page itself: small to send and quick to draw at every key."""

from __future__ import annotations

import html
import math
from typing import TYPE_CHECKING

import ipywidgets as widgets
import numpy as np

from planner_kit.views import look

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping, Sequence

_MOST_TICKS = 6
_LINE = "rgba(255,255,255,.6)"
# A pattern of light lines or dots over a part's colour, so that it is told without colour too.
_MARKS = {
    "": "",
    "/": f"repeating-linear-gradient(135deg,{_LINE} 0 2px,transparent 2px 7px)",
    "\\": f"repeating-linear-gradient(45deg,{_LINE} 0 2px,transparent 2px 7px)",
    "-": f"repeating-linear-gradient(0deg,{_LINE} 0 2px,transparent 2px 6px)",
    "|": f"repeating-linear-gradient(90deg,{_LINE} 0 2px,transparent 2px 6px)",
    "+": f"repeating-linear-gradient(0deg,{_LINE} 0 1px,transparent 1px 6px),"
    f"repeating-linear-gradient(90deg,{_LINE} 0 1px,transparent 1px 6px)",
    "x": f"repeating-linear-gradient(45deg,{_LINE} 0 1px,transparent 1px 6px),"
    f"repeating-linear-gradient(135deg,{_LINE} 0 1px,transparent 1px 6px)",
    ".": f"radial-gradient({_LINE} 1.5px,transparent 1.6px) 0 0/6px 6px",
}
_STYLE = """<style>
.pk-parts {display: flex; flex-flow: row wrap; gap: .1rem 1rem; margin: .3rem 0}
.pk-parts i, .pk-bar i {print-color-adjust: exact; -webkit-print-color-adjust: exact}
.pk-parts i {display: inline-block; width: 1.5em; height: .9em; margin-right: .4em;
  vertical-align: -.05em}
.pk-bars {display: grid; grid-template-columns: minmax(6em, 16em) minmax(0, 1fr) auto;
  gap: .3rem .7rem; align-items: center}
.pk-bars > b {font-weight: 400; line-height: 1.2; overflow-wrap: anywhere}
.pk-bars > div:last-child {grid-column: 2 / 4; font-size: 13px}
.pk-bars > span {text-align: right; font-variant-numeric: tabular-nums}
.pk-bar {display: flex; height: 1.5em; background: repeating-linear-gradient(to right,
  #D5D5D5 0 1px, transparent 1px var(--step))}
.pk-axis {position: relative; height: 1.4em; font-size: 13px}
.pk-axis em {position: absolute; font-style: normal; transform: translateX(-50%)}
.pk-upright {display: grid; grid-template-columns: auto minmax(0, 1fr); gap: .2rem .5rem;
  margin-top: .8rem; font-size: 13px}
.pk-upright > div {grid-column: 2}
.pk-scale {grid-column: 1 !important; position: relative; min-width: 2.6em; text-align: right}
.pk-scale em {position: absolute; right: 0; font-style: normal; transform: translateY(50%)}
.pk-field {position: relative; display: flex; align-items: flex-end; height: 11rem;
  border-bottom: 1px solid #7F7F7F; background: repeating-linear-gradient(to top,
  #D5D5D5 0 1px, transparent 1px var(--step))}
.pk-field i {flex: 1; margin: 0 2px; print-color-adjust: exact;
  -webkit-print-color-adjust: exact}
.pk-field u {position: absolute; left: 0; right: 0; border-top: 2px dashed #1B1B1B}
.pk-under {display: flex}
.pk-under span {flex: 1; text-align: center}
</style>"""


class StackedBars(widgets.VBox):  # type: ignore[misc]
    r"""A bar for each of some things, made of parts that are told by colour and pattern.

    Parameters
    ----------
    parts : mapping of str to (str, str)
        For each part its words, and the name of its colour in `look.PALETTE` with its pattern,
        one of ``"" / \ - | + x .``.
    axis : str
        What the length means.
    most : float, optional
        Where the axis ends; a little beyond the longest bar if not given.
    say : callable, optional
        A length as people read it; two decimals if not given.

    Attributes
    ----------
    names : list of str
        What the bars stand for, as shown last.
    lengths : ndarray, shape (n, k)
        Of each part.
    looks : list of str
        The style class of each part: the same colour and pattern have the same class everywhere.
    """

    def __init__(
        self,
        parts: Mapping[str, tuple[str, str]],
        *,
        axis: str,
        most: float | None = None,
        say: Callable[[float], str] = "{:.2f}".format,
    ) -> None:
        self._words, self._axis, self._most, self._say = list(parts), axis, most, say
        # The words and the style are sent once; a key sends the bars alone.
        self.looks, key = _legend(parts)
        self.names: list[str] = []
        self.lengths = np.empty((0, len(self._words)))
        self.bars = widgets.HTML()
        super().__init__([widgets.HTML(key), self.bars])

    def show(self, names: Sequence[str], lengths: np.ndarray) -> None:
        """Draw other bars.

        Parameters
        ----------
        names : sequence of str, n of them
            Escaped here.
        lengths : ndarray, shape (n, k)
            Of each part; one that is not known (NaN) has no length, and its bar says so.
        """
        self.names, self.lengths = list(names), np.asarray(lengths, dtype=float)
        drawn = np.nan_to_num(self.lengths)
        totals = drawn.sum(axis=1)
        longest = self._most or float(totals.max(initial=0.0)) or 1.0
        step = _step(longest)
        most = self._most or step * math.ceil(longest / step)
        rows = "".join(
            self._bar(name, row, 100 / most)
            for name, row in zip(self.names, self.lengths, strict=True)
        )
        ticks = "".join(
            f'<em style="left:{100 * at / most:.2f}%">{at:g}</em>'
            for at in np.arange(0, most + step / 2, step).round(9)
        )
        self.bars.value = (
            f'<div class="pk pk-bars" style="--step:{100 * step / most:.3f}%">{rows}'
            f'<b></b><div class="pk-axis" aria-hidden="true">{ticks}</div><span></span>'
            f"<b></b><div>{html.escape(self._axis)}</div></div>"
        )

    def _bar(self, name: str, row: np.ndarray, scale: float) -> str:
        whole = "not known" if np.isnan(row).any() else self._say(float(row.sum()))
        told, pieces = [], []
        for word, kind, length in zip(self._words, self.looks, row.tolist(), strict=True):
            if length > 0:
                words = f"{word}: {self._say(length)}"
                told.append(words)
                pieces.append(
                    f'<i class="{kind}" style="width:{scale * length:.2f}%" '
                    f'title="{html.escape(words)}"></i>'
                )
        label = html.escape(f"{name}: {whole}. {'; '.join(told)}")
        return (
            f"<b>{html.escape(name)}</b>"
            f'<div class="pk-bar" role="img" aria-label="{label}">{"".join(pieces)}</div>'
            f"<span>{html.escape(whole)}</span>"
        )


class UprightBars(widgets.VBox):  # type: ignore[misc]
    r"""Bars that stand side by side over a scale, each of one kind, told by colour and pattern.

    Parameters
    ----------
    kinds : mapping of str to (str, str)
        As the parts of `StackedBars`.
    axis : str
        What the bars stand for, said below them.
    unit : str
        Of the scale.

    Attributes
    ----------
    lengths : ndarray, shape (n,)
        As shown last.
    kinds : list of str, n of them
    """

    def __init__(self, kinds: Mapping[str, tuple[str, str]], *, axis: str, unit: str) -> None:
        self._words, self._axis, self._unit = list(kinds), axis, unit
        looks, key = _legend(kinds)
        self._looks = dict(zip(self._words, looks, strict=True))
        self.lengths = np.empty(0)
        self.kinds: list[str] = []
        self.key, self.bars = widgets.HTML(key), widgets.HTML()
        super().__init__([self.bars, self.key])

    def show(
        self,
        title: str,
        names: Sequence[str] = (),
        lengths: Sequence[float] | np.ndarray = (),
        kinds: Sequence[str] = (),
        *,
        said: Sequence[str] = (),
        line: float = 0.0,
        line_word: str = "",
    ) -> None:
        """Draw other bars; with none of them, the title alone.

        Parameters
        ----------
        title : str
            Escaped here, as all words are.
        names : sequence of str, n of them
        lengths : sequence of float, n of them
        kinds : sequence of str, n of them
            One of the kinds for each.
        said : sequence of str, n of them
            More of each bar, for a pointer that rests on it.
        line : float
            A length to set the bars against.
        line_word : str
            What that length is.
        """
        self.lengths, self.kinds = np.asarray(lengths, dtype=float), list(kinds)
        self.key.layout.display = "" if self.kinds else "none"
        head = f"<strong>{html.escape(title)}</strong>"
        if not self.kinds:
            self.bars.value = f'<div class="pk">{head}</div>'
            return
        longest = max(float(self.lengths.max()), line) or 1.0
        step = _step(longest)
        most = step * math.ceil(longest / step)
        pieces, told = [], []
        for name, length, kind, more in zip(
            names, self.lengths.tolist(), self.kinds, said, strict=True
        ):
            words = html.escape(f"{name}: {length:.1f} {self._unit}, {kind}. {more}")
            pieces.append(
                f'<i class="{self._looks[kind]}" style="height:{100 * length / most:.1f}%" '
                f'title="{words}"></i>'
            )
            told.append(f"{name}: {length:.1f} {self._unit}, {kind}")
        ticks = "".join(
            f'<em style="bottom:{100 * at / most:.2f}%">{at:g} {html.escape(self._unit)}</em>'
            for at in np.arange(0, most + step / 2, step).round(9)
        )
        against = f"{line_word}: {line:g} {self._unit}"
        label = html.escape(f"{title}. {against}. {'; '.join(told)}")
        self.bars.value = (
            f'<div class="pk">{head}<div class="pk-upright">'
            f'<div class="pk-scale" aria-hidden="true">{ticks}</div>'
            f'<div class="pk-field" style="--step:{100 * step / most:.3f}%" role="img" '
            f'aria-label="{label}">{"".join(pieces)}'
            f'<u style="bottom:{100 * line / most:.2f}%" title="{html.escape(against)}"></u></div>'
            f'<div class="pk-under" aria-hidden="true">'
            f"{''.join(f'<span>{html.escape(name)}</span>' for name in names)}</div>"
            f"<div>{html.escape(self._axis)}; the dashed line: {html.escape(against)}</div>"
            "</div></div>"
        )


def _legend(kinds: Mapping[str, tuple[str, str]]) -> tuple[list[str], str]:
    """The style class of each kind, and the styles with a key of their words."""
    looks = [f"pk-b-{colour}-{list(_MARKS).index(mark)}" for colour, mark in kinds.values()]
    style = "".join(
        f".{name} {{background: {_painted(colour, mark)}}}\n"
        for name, (colour, mark) in zip(looks, kinds.values(), strict=True)
    )
    words = "".join(
        f'<span><i class="{kind}"></i>{html.escape(word)}</span>'
        for kind, word in zip(looks, kinds, strict=True)
    )
    return looks, f'{_STYLE}<style>{style}</style><div class="pk pk-parts">{words}</div>'


def _painted(colour: str, mark: str) -> str:
    """A part's colour below its pattern, as a CSS background."""
    return f"{_MARKS[mark]},{look.PALETTE[colour]}" if mark else look.PALETTE[colour]


def _step(most: float) -> float:
    """The distance of the axis's figures: 1, 2 or 5 of a power of ten."""
    least = most / _MOST_TICKS
    power = 10.0 ** math.floor(math.log10(least))
    return power * next(factor for factor in (1, 2, 5, 10) if factor * power >= least * (1 - 1e-9))
