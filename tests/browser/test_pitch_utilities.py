"""The pitch's page on a tablet, in a real browser: nothing is cut, dangers come first."""

from __future__ import annotations

from typing import Any

LEAST_SENTENCE_PX = 200  # a sentence narrower than that is a column of single words


def test_tablet_reads_sentences_and_whole_charts_and_dangers_first(open_notebook: Any) -> None:
    opened = open_notebook("pitch_utilities.ipynb", width=820, height=1180)
    page = opened.page
    page.get_by_text("What to bring, and what of it is bought").first.wait_for(timeout=20_000)
    narrowest = page.evaluate(
        "() => Math.min(...[...document.querySelectorAll('.pk-checks td.s')]"
        ".map(cell => cell.clientWidth))"
    )
    assert narrowest >= LEAST_SENTENCE_PX
    assert page.locator(".pk-field i").count() == 24
    assert opened.wider_than_the_page() == []
    page.get_by_label("Supply of the post").first.select_option("6 A")
    page.get_by_label("Lead, conductor").first.select_option("1 mm²")
    danger = page.get_by_text("too thin a lead gets hot").first
    danger.wait_for(timeout=20_000)
    table = page.get_by_text("Power, gas, water, waste and standing").first
    assert danger.bounding_box()["y"] < table.bounding_box()["y"]
    assert opened.console == []
