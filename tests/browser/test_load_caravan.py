from __future__ import annotations

from typing import Any


def test_caravan_is_loaded_by_hand(open_notebook: Any) -> None:
    opened = open_notebook("load_caravan.ipynb", width=1400, height=1200)
    page = opened.page
    page.locator("caption", has_text="Plates and noseweight").first.wait_for()
    assert opened.outputs_with_errors() == []
    assert opened.refused == []
    mass = page.get_by_label("awning and poles", exact=True)
    mass.fill("64")
    page.locator("svg text", has_text="awning and poles, 64 kg").first.wait_for(timeout=5000)
    page.get_by_text("53 kg too heavy").first.wait_for(timeout=5000)
    page.get_by_role("button", name="What is the least to change?").click()
    page.get_by_text("to change, because of").first.wait_for(timeout=5000)
    assert opened.console == []
