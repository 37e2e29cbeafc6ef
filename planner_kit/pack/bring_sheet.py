"""The sheet of shopping and packing: what each pitch asks for, and the loading list to tick."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.outfit import freed_sentences, not_needed_note
from planner_kit.pack import blocks
from planner_kit.pack.stay_sheets import site_name
from planner_kit.trip import display

if TYPE_CHECKING:
    from planner_kit.pack.blocks import Block
    from planner_kit.plan import TripPlan

NOBODY = "Everybody"
_OWN_LIST = 3  # so many things of a person have a list of their own


def to_bring_sheet(plan: TripPlan) -> Block:
    """What to buy or bring for each pitch, and the packing list."""
    units = plan.files.inputs.household.units
    found: list[Block | None] = []
    columns = [
        ("", "auto"), ("what", "3fr"), ("how much", "2fr"), ("why", "2fr"),
        ("about", "auto right"),
    ]  # fmt: skip
    for report in plan.pitches:
        name = site_name(plan, report.site_id)
        for bought, title in ((True, f"To buy for {name}"), (False, f"To bring to {name}")):
            rows = [
                (
                    "☐",
                    blocks.noted_cell(row["what"], row["source"]),
                    row["how_much"],
                    row["why"],
                    ""
                    if display.is_missing(row["cost_likely"])
                    else display.money(row["cost_likely"], plan.cost.currency, units),
                )
                for _, row in report.to_bring.iterrows()
                if bool(row["buy"]) is bought
            ]
            found += [
                blocks.heading(title),
                blocks.table(columns, rows, empty="Nothing in particular."),
            ]
    if not found:
        found = [blocks.text("Nothing is known about what the pitches ask for.")]
    found += [*_packing(plan), blocks.lines(8, "And besides")]
    return blocks.sheet("bring", "To buy, to bring and to pack", found)


def _packing(plan: TripPlan) -> list[Block | None]:
    """The loading list to tick, by who packs it; nothing where the household keeps none.

    What earlier trips did not need is named first, and said again on its line.
    """
    items, units = plan.files.items, plan.files.inputs.household.units
    if items is None or items.empty:
        return []
    spare = plan.outfit.not_needed
    notes = (
        {} if spare is None
        else {row["line"]: not_needed_note(row, units) for row in spare.to_dict("records")}
    )  # fmt: skip
    who = items["person"].fillna("").astype(str).replace("", NOBODY)
    found: list[Block | None] = [blocks.heading("Packing list")]
    if spare is not None:
        found += [blocks.text(sentence) for sentence in freed_sentences(spare, units)]
    lines: dict[str, list[str]] = {}
    for line, (person, row) in enumerate(zip(who, items.to_dict("records"), strict=True)):
        note = f" - {notes[line]}" if line in notes else ""
        said = f"{_times(row['quantity'])}{row['item']} ({row['place']}){note}"
        lines.setdefault(person, []).append(said)
    few = [person for person, said in lines.items() if len(said) < _OWN_LIST]
    for person, listed in lines.items():
        if person not in few:
            found += [blocks.text(f"{person}:"), blocks.ticks(listed)]
    short = (f"{person}: {one}" for person in few for one in lines[person])
    return [*found, blocks.ticks(short)]


def _times(quantity: float) -> str:
    return "" if display.is_missing(quantity) or quantity == 1 else f"{quantity:g} × "
