"""From an empty folder to a record, by the fields and buttons of start_here in a browser."""

from __future__ import annotations

from typing import Any

_WAIT_MS = 40_000


def test_new_user_gets_from_nothing_to_a_record_by_buttons(open_notebook: Any) -> None:
    opened = open_notebook("start_here.ipynb")
    page = opened.page

    def press(words: str, told: str) -> None:
        page.get_by_role("button", name=words, exact=True).click()
        page.locator("[role=status], [role=alert]", has_text=told).first.wait_for(timeout=_WAIT_MS)

    def fill(label: str, words: str) -> None:
        field = page.get_by_label(label, exact=True).and_(page.locator("input"))
        field.first.fill(words)

    def unfold(title: str) -> None:
        page.get_by_text(title, exact=True).first.click()

    press("Make the record", "there is no trip yet")
    press("Use the invented island", "Sallowey")
    fill("Household", "The Reed family")
    fill("Latitude of home", "49.514286")
    fill("Longitude of home", "-14.211916")
    unfold("People and dog")
    fill("Name", "Ada")
    unfold("Car")
    fill("Car", "estate")
    fill("Height (m)", "1.5")
    unfold("Caravan")
    fill("Caravan", "caravan")
    press("Save the household", "Saved: The Reed family, 1 person")
    fill("Name of the trip", "First try")
    fill("First day", "2027-06-04")
    nights = page.get_by_label("Nights", exact=True)
    nights.fill("2")
    nights.press("Tab")
    page.get_by_label("Site", exact=True).select_option(index=1)
    page.get_by_text("nights at").first.wait_for(timeout=_WAIT_MS)
    press("Save the trip", "Saved: First try, ")
    press("Make the record", "The record lies in")
    page.locator("a", has_text="pack.pdf").wait_for(timeout=_WAIT_MS)
    assert opened.outputs_with_errors() == []
    assert opened.refused == []
    assert opened.console == []


def test_parts_that_fold_are_opened_with_the_keyboard(open_notebook: Any) -> None:
    opened = open_notebook("start_here.ipynb")
    page = opened.page
    # Nothing sticks out of its column by its margin, which would put a bar to scroll below it.
    assert (
        page.evaluate(
            "() => [...document.querySelectorAll('.jp-OutputArea-output .widget-vbox')]"
            ".filter(box => box.scrollWidth > box.clientWidth).length"
        )
        == 0
    )
    car = page.get_by_role("button", name="Car", exact=True)
    car.wait_for(timeout=_WAIT_MS)
    reached = "() => document.activeElement.innerText"
    page.get_by_label("Town or village", exact=True).or_(
        page.get_by_label("Longitude of home", exact=True)
    ).first.focus()
    for _ in range(12):
        page.keyboard.press("Tab")
        if page.evaluate(reached) == "Car":
            break
    assert page.evaluate(reached) == "Car"
    assert car.get_attribute("aria-expanded") == "false"
    page.keyboard.press("Enter")
    mass = page.get_by_label("Kerb mass (kg)", exact=True)
    mass.wait_for(timeout=_WAIT_MS)
    page.wait_for_function(
        "at => at.getAttribute('aria-expanded') === 'true'", arg=car.element_handle()
    )
    page.keyboard.press(" ")
    mass.wait_for(state="hidden", timeout=_WAIT_MS)
    assert opened.serious_findings() == []
    assert opened.console == []
