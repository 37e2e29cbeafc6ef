"""The words of the sheets: in the household's units, dates and money, and explained at the end."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner_kit.pack import blocks
from planner_kit.trip.wording import glosses, household_words

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    from planner_kit.pack.blocks import Block
    from planner_kit.trip.household import Units

# What a block holds besides words for people.
_NOT_WORDS = {"type", "name", "svg", "widths", "colour", "mark", "words", "source", "file"}


def in_household_words(sheet: Block, units: Units) -> Block:
    """A sheet whose sentences read as the household reads figures; sources stay as they are."""
    found: Block = _converted(sheet, units)
    return found


def _converted(part: Any, units: Units) -> Any:
    if isinstance(part, str):
        return household_words(part, units)
    if isinstance(part, list):
        return [_converted(one, units) for one in part]
    if isinstance(part, dict):
        return {
            key: value if key in _NOT_WORDS else _converted(value, units)
            for key, value in part.items()
        }
    return part


def words_sheet(sheets: Iterable[Block]) -> Block:
    """The words of the trade that stand on some sheets, with what they mean."""
    rows = glosses(text for sheet in sheets for text in _texts(sheet))
    return blocks.sheet(
        "words",
        "Words in this folder",
        [
            blocks.table(
                [("word", "auto"), ("what it means", "1fr")],
                rows,
                empty="This folder uses no word that needs explaining.",
            )
        ],
    )


def _texts(part: Any) -> Iterator[str]:
    if isinstance(part, str):
        yield part
    elif isinstance(part, list):
        for one in part:
            yield from _texts(one)
    elif isinstance(part, dict):
        for key, value in part.items():
            if key not in _NOT_WORDS or key == "source":  # the rule of a check has words too
                yield from _texts(value)
