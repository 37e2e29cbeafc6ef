"""The sheets about the whole trip: cover, deadlines, outfit, money, what to bring."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING

from planner_kit.pack import blocks
from planner_kit.pack.choice_blocks import choice_blocks, history_blocks, ledger_blocks
from planner_kit.pack.sources import SOURCES_TITLE, numbered_sources
from planner_kit.pack.stay_sheets import site_name
from planner_kit.states import State
from planner_kit.summary import all_checks, things_to_look_at
from planner_kit.trip import display

if TYPE_CHECKING:
    from collections.abc import Iterable, Mapping

    import pandas as pd

    from planner_kit.outfit import LoadPlan
    from planner_kit.pack.blocks import Block
    from planner_kit.plan import TripPlan
    from planner_kit.trip.household import Units

_THINGS = 3


def cover_sheet(plan: TripPlan) -> Block:
    """The trip at a glance."""
    trip, household = plan.files.inputs.trip, plan.files.inputs.household
    units = household.units
    party = trip.party or tuple(person.name for person in household.people)
    legs = plan.tow.legs
    things = things_to_look_at(plan, count=None)
    left = len(things) - _THINGS
    away = [
        (
            display.day(arrive, units, "short"),
            display.day(leave, units, "short"),
            str(stay.nights),
            site_name(plan, stay.site),
            stay.booking.state,
        )
        for stay, (arrive, leave) in zip(trip.stays, trip.stay_dates(), strict=True)
    ]
    tows = [
        (
            display.day(leg.day, units, "short"),
            f"{leg.from_name} to {leg.to_name}",
            f"{display.clock(leg.depart, units)} to {display.clock(leg.arrive, units)}",
            display.distance(leg.route.length_km, units),
        )
        for leg in legs
    ]
    return blocks.sheet(
        "cover",
        trip.name,
        [
            blocks.facts(
                [
                    ("from", display.day(trip.start, units, "full")),
                    ("to", display.day(trip.end, units, "full")),
                    ("nights", trip.nights),
                    ("who goes", ", ".join([*party, *(dog.name for dog in household.dogs)])),
                    (
                        "likely cost",
                        display.money(plan.cost.likely, plan.cost.currency, units, whole=True),
                    ),
                    (
                        "between",
                        display.money_range(
                            plan.cost.low, plan.cost.high, plan.cost.currency, units
                        ),
                    ),
                ]
            ),
            blocks.heading("Look at these first"),
            blocks.checks(things[:_THINGS])
            or blocks.text(f"Nothing stood out in {len(all_checks(plan))} checks."),
            blocks.text(
                f"{left} more {'waits' if left == 1 else 'wait'} on the sheets that follow."
                if left > 0
                else "",
                small=True,
            ),
            blocks.heading("Where we stay"),
            blocks.table(
                [
                    ("arrive", "auto"), ("leave", "auto"), ("nights", "auto right"),
                    ("site", "1fr"), ("booking", "auto"),
                ],
                away,
            ),
            blocks.heading("When we tow"),
            blocks.table(
                [("day", "auto"), ("from and to", "1fr"), ("time", "auto"), ("way", "auto right")],
                tows,
                empty="No tow is planned.",
            ),
            *([blocks.heading("Notes"), blocks.bullets(trip.notes)] if trip.notes else []),
            blocks.heading("In this folder"),
            blocks.contents(),
        ],
        intro=household.name,
    )  # fmt: skip


def deadlines_sheet(plan: TripPlan) -> Block:
    """What has to be done by when, and where each booking stands."""
    trip = plan.files.inputs.trip
    units = plan.files.inputs.household.units
    rows = [
        (
            _done_cell(str(row["state"])),
            _day_of(row["on"], trip.start.year, units),
            row["what"],
            row["why"],
        )
        for _, row in plan.sites.deadlines.iterrows()
    ]
    found: list[Block | None] = [
        blocks.table(
            [("", "auto"), ("by", "auto"), ("what", "1fr"), ("why", "1fr")],
            rows,
            empty="No deadline is known. A booking without dates in the trip file has none here.",
        ),
        blocks.heading("Bookings"),
    ]
    for place, (stay, (arrive, leave)) in enumerate(
        zip(trip.stays, trip.stay_dates(), strict=True)
    ):
        booking = stay.booking
        currency = booking.currency or plan.cost.currency
        row = plan.sites.stays.iloc[place] if place < len(plan.sites.stays) else None
        found += [
            blocks.text(
                f"{site_name(plan, stay.site)}, {display.day(arrive, units, 'short')} to "
                f"{display.day(leave, units, 'short')}"
            ),
            blocks.facts(
                [
                    ("booking", booking.state),
                    ("reference", booking.reference or "none yet"),
                    ("price", display.money(booking.price, currency, units)),
                    ("paid so far", display.money(booking.paid, currency, units)),
                    ("rest due", _day_or(booking.due_on, units, "no date given")),
                    (
                        "free to call off until",
                        _day_or(booking.free_cancellation_until, units, "no date given"),
                    ),
                    ("arrive from", _of_stay(row, "arrive_from")),
                    ("arrive until", _of_stay(row, "arrive_until")),
                    ("leave by", _of_stay(row, "depart_by")),
                    ("pitch", stay.pitch or "not given"),
                    ("gate code", booking.arrival_code or "none given"),
                    ("phone", _of_stay(row, "phone")),
                ],
                columns=4,
            ),
        ]
    found += ledger_blocks(plan)
    found += choice_blocks(plan)
    checked = blocks.checks(plan.sites.checks)
    found += [blocks.heading("What was checked about the site"), checked] if checked else []
    return blocks.sheet("deadlines", "Deadlines and bookings", found)


def _day_or(day: dt.date | None, units: Units, otherwise: str) -> str:
    return otherwise if day is None else display.day(day, units, "short")


def _day_of(day: dt.date, year: int, units: Units) -> str:
    """A day in short, with its year where that is not the year of the trip."""
    if display.is_missing(day) or day.year == year:
        return display.day(day, units, "short")
    return display.day(day, units)


def _of_stay(row: pd.Series | None, key: str) -> str:
    value = None if row is None else row.get(key)
    return "unknown" if value is None or display.is_missing(value) or value == "" else str(value)


def _done_cell(state: str) -> blocks.Cell:
    """A deadline's state; a late one is not fine, one to do is something to look at."""
    as_state = {"done": State.FINE, "to do": State.LOOK, "late": State.NOT_FINE}.get(state)
    if as_state is None:
        return blocks.clean(state)
    return {"state": state, "mark": as_state.mark, "colour": as_state.colour}


def outfit_sheet(plan: TripPlan, numbers: Mapping[str, int] | None = None) -> Block:
    """The outfit's figures, the checks with plates and margins, and what is loaded where.

    Parameters
    ----------
    plan : TripPlan
    numbers : mapping of str to int, optional
        The numbers that sources have on the sheet at the end; without it they are listed here.

    Returns
    -------
    sheet : dict
    """
    units = plan.files.inputs.household.units
    outfit, report = plan.outfit.outfit, plan.outfit
    groups, own = numbered_sources(report.checks)
    listed = [] if numbers is not None else sorted(one for _, group in groups for one in group)
    loading = report.loading
    often = _often_said(loading)
    items = [] if loading is None else [
        (
            row["item"],
            display.number(row["quantity"], units),
            display.mass(row["mass_kg"], units),
            row["place"],
            "*" if row["note"] == often else row["note"],
        )
        for _, row in loading.iterrows()
    ]  # fmt: skip
    return blocks.sheet(
        "outfit",
        "The outfit",
        [
            blocks.facts(
                [
                    ("height", display.dimension(outfit.height_m, units)),
                    ("width", display.dimension(outfit.width_m, units)),
                    ("length", display.dimension(outfit.length_m, units)),
                    ("car, laden", display.mass(outfit.car_kg, units)),
                    ("caravan, laden", display.mass(outfit.caravan_kg, units)),
                    ("together", display.mass(outfit.train_kg, units)),
                ]
            ),
            blocks.heading("What was checked"),
            blocks.checks(report.checks, units=units, sources=own if numbers is None else numbers)
            or blocks.text("Nothing could be checked: the household file gives no plates."),
            blocks.text(
                "" if listed else f"A number in brackets is that of a source in “{SOURCES_TITLE}”.",
                small=True,
            ),
            blocks.heading("Assumed") if outfit.assumed else None,
            blocks.bullets(outfit.assumed),
            *([blocks.heading("Loading")] if items else []),
            blocks.figure(
                report.floor,
                "The caravan's floor from above with the heaviest things on it.",
                "A larger disc is a heavier thing; striped ones lie well behind the axle and lift "
                "the ball. The list below the floor says what each number is.",
                width_mm=160,
            ),
            *_load_advice(report.plan),
            blocks.table(
                [
                    ("what", "1fr"), ("how many", "auto right"), ("mass", "auto right"),
                    ("where", "1fr"), ("note", "1fr"),
                ],
                items,
            ),
            blocks.text(f"* {often}", small=True) if often else None,
            blocks.cautions(report.cautions),
            blocks.heading("Sources") if listed else None,
            blocks.sources([("", listed)]),
        ],
    )  # fmt: skip


def _load_advice(plan: LoadPlan | None) -> list[Block | None]:
    """The fewest things to move, in sentences; nothing where none could be worked out."""
    if plan is None or plan.advice is None:
        return []
    return [
        blocks.text(plan.advice.sentence),
        blocks.bullets(move.why for move in plan.advice.moves),
    ]


def _often_said(loading: pd.DataFrame | None) -> str:
    """The note that three items or more share: it is said once, under the table."""
    if loading is None or loading.empty:
        return ""
    counts = loading["note"][loading["note"] != ""].value_counts()
    return str(counts.index[0]) if len(counts) and counts.iloc[0] >= 3 else ""


def money_sheet(plan: TripPlan) -> Block:
    """Each line of money with its range, state and source; the sum; and when it goes out."""
    units = plan.files.inputs.household.units
    cost = plan.cost
    rows = [
        (
            blocks.noted_cell(row["what"], row["source"]),
            "unknown"
            if display.is_missing(row["likely"])
            else display.money(row["likely"], row["currency"], units),
            ""
            if display.is_missing(row["likely"]) or row["low"] == row["high"]
            else display.money_range(row["low"], row["high"], row["currency"], units, whole=False),
            row["state"],
            _day_or(None if display.is_missing(row["on"]) else row["on"], units, ""),
        )
        for _, row in cost.lines.iterrows()
    ]
    months = [
        (
            _month(str(row["month"]), units),
            display.money(row["amount"], cost.currency, units),
            str(row["state"]),
        )
        for _, row in cost.by_month.iterrows()
    ]
    unpriced = int(cost.lines["likely"].isna().sum())
    missing = (
        f"The sum leaves out {unpriced} {'line' if unpriced == 1 else 'lines'} whose price is not "
        "known."
        if unpriced
        else ""
    )
    return blocks.sheet(
        "money",
        "Money",
        [
            blocks.facts(
                [
                    ("likely", display.money(cost.likely, cost.currency, units, whole=True)),
                    ("between", display.money_range(cost.low, cost.high, cost.currency, units)),
                    ("a night", display.money(cost.per_night, cost.currency, units)),
                    ("a person", display.money(cost.per_person, cost.currency, units)),
                ],
                columns=4,
            ),
            blocks.text(" ".join([missing, cost.range_method]), small=True),
            blocks.checks(cost.checks),
            blocks.heading("Line by line"),
            blocks.table(
                [
                    ("what, and where the figure is from", "1fr"), ("likely", "auto right"),
                    ("between", "auto right"), ("state", "auto"), ("when", "auto"),
                ],
                rows,
                empty="No costs are known.",
            ),
            blocks.heading("When it goes out"),
            blocks.table(
                [("month", "1fr"), ("amount", "auto right"), ("state", "1fr")],
                months,
                empty="No dates of payment are known.",
            ),
            *history_blocks(plan),
        ],
    )  # fmt: skip


def _month(month: str, units: Units) -> str:
    """``2027-07`` as ``July 2027``; anything else as it is."""
    try:
        first = dt.date.fromisoformat(f"{month}-01")
    except ValueError:
        return month
    return display.month(first, units)


def _unknown_words(plan: TripPlan, said: set[str]) -> list[str]:
    """Checks that could not be made and are not said yet; those of one kind in one line."""
    alike: dict[tuple[str, str], list[str]] = {}
    for check in all_checks(plan):
        what, of, name = check.subject.partition(" of ")
        if check.state is State.UNKNOWN and check.sentence not in said:
            kind = check.sentence.replace(name, "\0") if of and name else check.sentence
            alike.setdefault((what + of, kind), []).append(name)
    found = []
    for (what, kind), names in alike.items():
        several = len(names) > 1 and "\0" in kind
        for told in [names] if several else [[name] for name in names]:
            listed = ", ".join(told[:-1]) + " and " + told[-1] if several else told[0]
            who = "each of them" if several else told[0]
            found.append(f"{what}{listed}: {kind.replace(chr(0), who)}")
    return found


def unknowns_sheet(plan: TripPlan) -> Block:
    """What the map and the lists do not say."""
    groups: list[tuple[str, Iterable[str]]] = [("The outfit", plan.outfit.outfit.assumed)]
    for leg in plan.tow.legs:
        title = f"The way from {leg.from_name} to {leg.to_name}"
        groups.append((title, (*leg.route.unknowns, *leg.unknowns)))
    for pitch in plan.pitches:
        groups.append((f"The pitch at {site_name(plan, pitch.site_id)}", pitch.unknowns))
    for outings in plan.outings:
        title = f"Days out from {site_name(plan, outings.site_id)}"
        groups.append((title, outings.unknowns))
    groups.append(("Sites", plan.sites.unknowns))
    unpriced = [str(what) for what in plan.cost.lines.loc[plan.cost.lines["likely"].isna(), "what"]]
    told = [check.sentence for check in plan.cost.checks if check.state is State.UNKNOWN]
    listed = [what for what in unpriced if not any(what in sentence for sentence in told)]
    groups.append(("What has no price", listed))
    groups.append(
        (
            "Checks that could not be made",
            _unknown_words(plan, {line for _, lines in groups for line in lines}),
        )
    )
    found: list[Block | None] = []
    said: set[str] = set()
    for title, lines in groups:
        rows = blocks.bullets(line for line in dict.fromkeys(lines) if line not in said)
        said.update(lines)
        if rows is not None:
            found += [blocks.heading(title), rows]
    return blocks.sheet(
        "unknowns",
        "What the map and the lists do not say",
        found or [blocks.text("Nothing is noted as missing.")],
        intro="Unknown does not mean fine. Ask, measure or look before you rely on it.",
    )
