"""What stands behind a choice and its money: other bookings, earlier trips, how firm it is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.costs import earlier_trips
from planner_kit.pack import blocks
from planner_kit.sites.ledger import ledger_totals
from planner_kit.sites.weighing import margin_sentences
from planner_kit.trip import display

if TYPE_CHECKING:
    from planner_kit.pack.blocks import Block
    from planner_kit.plan import TripPlan


def ledger_blocks(plan: TripPlan) -> list[Block | None]:
    """What all bookings come to on the day of planning; nothing where there are none."""
    units, ledger = plan.files.inputs.household.units, plan.sites.ledger
    if ledger is None or ledger.empty:
        return []
    columns = ("price", "paid", "balance", "refundable", "committed")
    rows = [
        [
            *(display.money(row[name], str(row["currency"]), units) for name in columns),
            str(row["not_known"]),
        ]
        for row in ledger_totals(ledger).to_dict("records")
    ]
    heads = ("agreed", "paid", "still to pay", "comes back", "gone or owed", "terms not known")
    return [
        blocks.heading("All bookings of all trips on this day"),
        blocks.table([(head, "1fr right") for head in heads], rows),
    ]


def history_blocks(plan: TripPlan) -> list[Block | None]:
    """The trip beside what earlier ones came to; nothing where none is noted."""
    files, units = plan.files, plan.files.inputs.household.units
    table = earlier_trips(plan.cost, files.inputs.trip, files.others, units.currency)
    if len(table) < 2:
        return []
    rows = [
        (
            str(row["trip"]),
            display.day(row["start"], units),
            str(row["what"]),
            display.money(row["total"], plan.cost.currency, units),
            display.money(row["per_night"], plan.cost.currency, units),
            ""
            if display.is_missing(row["against_this_pct"])
            else f"{row['against_this_pct']:+.0f} %",
        )
        for row in table.to_dict("records")
    ]
    columns = [
        ("trip", "1fr"), ("from", "auto"), ("what", "auto"), ("in all", "auto right"),
        ("a night", "auto right"), ("planned now, like for like", "auto right"),
    ]  # fmt: skip
    return [
        blocks.heading("Beside earlier trips"),
        blocks.table(columns, rows),
        blocks.text(
            "Like for like: this trip's cost a night against that one's, only of the kinds of "
            "spending which the earlier trip noted."
        ),
    ]


def choice_blocks(plan: TripPlan) -> list[Block | None]:
    """Which candidate comes first, who is beaten on everything, and what would change it."""
    report = plan.sites
    left = report.shortlist[report.shortlist["removed_by"] == ""]
    if report.margins is None or len(left) < 2:
        return []
    names = dict(
        zip(report.shortlist["site_id"].astype(str), report.shortlist["name"], strict=True)
    )
    winner = str(left["name"].iloc[0])
    order = ", ".join(str(name) for name in left["name"].head(5))
    beaten = [
        f"{row['name']} is beaten on everything by {names.get(str(row['beaten_by']), '')}."
        for row in left[left["beaten_by"] != ""].to_dict("records")
    ]
    return [
        blocks.heading("How firm the choice of site is"),
        blocks.text(
            f"In the order of your weights: {order}. Where one weight alone is moved, another "
            "site comes first:"
        ),
        blocks.bullets([*margin_sentences(report.margins, names, winner), *beaten]),
    ]
