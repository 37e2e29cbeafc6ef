"""The sheets of each towing day: times, map, route card, rests, lists to tick."""

from __future__ import annotations

from typing import TYPE_CHECKING

from planner_kit.pack import blocks
from planner_kit.pack.checklists import checklist
from planner_kit.pack.close_maps import last_miles_sheet, strip_sheet
from planner_kit.pack.leg_points import leg_points
from planner_kit.pack.print_map import print_map
from planner_kit.pack.profile_chart import profile_chart
from planner_kit.reference import constant
from planner_kit.states import State
from planner_kit.tow import route_card
from planner_kit.trip import display

if TYPE_CHECKING:
    from collections.abc import Collection, Hashable, Mapping, Sequence
    from typing import Any

    from planner_kit.pack.blocks import Block
    from planner_kit.plan import TripPlan
    from planner_kit.tow.leg import Leg
    from planner_kit.trip.household import Units

_TITLES = {"out": "Towing out", "move": "Moving on", "home": "Towing home"}


def tow_sheets(plan: TripPlan, width_mm: float) -> list[Block]:
    """The sheets of each leg: the day, lists to tick, route card, strip maps and last miles.

    Parameters
    ----------
    plan : TripPlan
    width_mm : float
        Room for drawings between the margins. [mm]

    Returns
    -------
    sheets : list of dict
    """
    sheets = []
    for leg in plan.tow.legs:
        sheets.append(_day_sheet(plan, leg, width_mm))
        if leg.kind == "out":
            title = (
                f"Ready to go: {display.day(leg.day, plan.files.inputs.household.units, 'short')}"
            )
            lists = [*_lists(plan, leg), blocks.cautions(plan.tow.cautions)]
            sheets.append(blocks.sheet("ready", title, lists))
        sheets.append(_route_sheet(plan, leg))
        if leg.kind != "home" and not leg.route.geometry.is_empty:
            sheets.append(strip_sheet(plan, leg, width_mm))
            sheets.append(last_miles_sheet(plan, leg, width_mm))
    return sheets


def _day_sheet(plan: TripPlan, leg: Leg, width_mm: float) -> Block:
    units = plan.files.inputs.household.units
    terrain = plan.files.region.terrain
    outfit = plan.outfit.outfit
    end = "home" if leg.kind == "home" else leg.to_name
    # The lists of the first day take a sheet of their own; the shorter later one stands here.
    out = leg.kind == "out"
    size_mm = (width_mm, 70.0 if out else 60.0)
    drawn = print_map(
        plan.files.region,
        route=leg.route.geometry,
        points=leg_points(plan, leg),
        size_mm=size_mm,
        units=units,
    )
    profile = profile_chart(leg.route, terrain, size_mm=(width_mm, 34.0), units=units)
    steep_pct = constant("pack", "steep_shown_from_pct").value
    # The sheet of the last miles tells of the approach itself.
    apart = leg.kind != "home" and not leg.route.geometry.is_empty
    fine = [
        check
        for check in leg.checks
        if check.state is State.FINE and not (apart and check.subject.startswith("approach"))
    ]
    return blocks.sheet(
        "tow",
        f"{_TITLES[leg.kind]}: {display.day(leg.day, units, 'full')}",
        [
            blocks.facts(_day_facts(leg, units), columns=4),
            blocks.figure(
                drawn,
                f"Map of the tow from {leg.from_name} to {leg.to_name}.",
                f"{leg.from_name} to {end}. The dark line is the tow; arrows point the way. "
                "H home, S site, R rest, ! a place to look at.",
                width_mm=width_mm,
            ),
            blocks.figure(
                profile,
                "Heights along the tow.",
                f"Heights along the tow; hatched where the road is {steep_pct:.0f}% or steeper.",
                width_mm=width_mm,
            )
            or blocks.text("The heights along the way are not known: the region has no terrain."),
            blocks.facts(
                [
                    ("height of the outfit", display.dimension(outfit.height_m, units)),
                    ("width", display.dimension(outfit.width_m, units)),
                    ("length", display.dimension(outfit.length_m, units)),
                ]
            ),
            blocks.heading("Watch out for"),
            blocks.checks(check for check in leg.checks if check.state is not State.FINE)
            or blocks.text(
                f"Nothing stood out in {len(leg.checks)} checks."
                if leg.checks
                else "No check was made for this tow; that says nothing about the road."
            ),
            blocks.heading("Also checked") if fine else None,
            blocks.checks(fine),
            *([] if out else [*_lists(plan, leg), blocks.cautions(plan.tow.cautions)]),
        ],
        intro=f"From {leg.from_name} to {leg.to_name}.",
    )


def _other_ways(leg: Leg, units: Units) -> list[Block | None]:
    """The ways that were set side by side, should the best one be shut on the day."""
    if leg.ways is None or len(leg.ways) < 2:
        return []
    found = leg.ways.to_dict("records")
    rows = [
        (
            _way_name(way) + f": {way['by'] or 'small roads'}",
            display.distance(way["length_km"], units),
            display.duration(way["time_min"]),
            display.money_range(way["money_low"], way["money_high"], way["currency"], units)
            + (" and more" if way["money_unknown"] else ""),
            display.duration(way["stress_min"]),
            display.gradient(way["steepest_pct"], units),
            display.number(way["whole_road"], units),
            "" if way["kind"] == "best" else f"{way['shared_frac']:.0%}",
        )
        for way in found
    ]
    plain = " and ".join(_way_name(way) for way in found if not _worst_words([way], units))
    unpriced = leg.ways["money_unknown"].astype(bool).any()
    return [
        blocks.heading("Other ways"),
        blocks.table(
            [
                ("way", "1fr"), ("distance", "auto right"), ("driving", "auto right"),
                ("money", "auto right"), ("stress", "auto right"), ("steepest", "auto right"),
                ("corners", "auto right"), ("shared", "auto right"),
            ],
            rows,
        ),
        blocks.text(
            "Stress is the extra time of your dislikes, not driven; corners are those that take "
            "the whole road; shared is how much of this card's way another one uses."
            + (" And more: something on that way has no known price." if unpriced else "")
            + (f" Nothing else on {plain} stands out on the map." if plain else "")
        ),
        blocks.bullets(_worst_words(found, units, {check.sentence for check in leg.checks})),
    ]  # fmt: skip


def _way_name(way: Mapping[Hashable, Any]) -> str:
    return "this card" if way["kind"] == "best" else f"way {way['label']}"


def _worst_words(
    ways: Sequence[Mapping[Hashable, Any]], units: Units, told_before: Collection[str] = ()
) -> list[str]:
    """The worst places of each way, to be weighed against those of the others.

    What the sheet of the day tells already is only named.
    """
    lines = []
    for way in ways:
        name = _way_name(way)
        told = [check.sentence for check in way["worst"] if check.sentence not in told_before]
        named = [check.subject for check in way["worst"] if check.sentence in told_before]
        if named:
            told.append(f"{'; '.join(named)} (see the sheet of the day, “Watch out for”).")
        if way["narrow_km"] > 0:
            told.append(
                f"For {display.distance(way['narrow_km'], units)} a car that comes the other way "
                "cannot pass."
            )
        if told:
            lines.append(f"{name[:1].upper()}{name[1:]}: {' '.join(told)}")
    return lines


def _day_facts(leg: Leg, units: Units) -> list[tuple[str, object]]:
    rest_min = None if leg.rests.empty else float(leg.rests["minutes"].sum())
    fuel = leg.fuel
    used = (
        "unknown"
        if fuel is None
        else (
            f"{display.number(fuel.low, units, 1)} to "
            f"{display.number(fuel.high, units, 1)} {fuel.unit}"
        )
    )
    rate = (
        "unknown"
        if fuel is None or leg.route.length_km <= 0
        else display.consumption(fuel.likely / leg.route.length_km * 100, units, fuel.unit)
    )
    extra_min = leg.route.time_min - leg.car_route.time_min
    return [
        ("leave", display.clock(leg.depart, units)),
        ("arrive about", display.clock(leg.arrive, units)),
        ("distance", display.distance(leg.route.length_km, units)),
        ("driving", display.duration(leg.route.time_min)),
        ("rests", "none planned" if rest_min is None else display.duration(rest_min)),
        ("fuel" if fuel is None or fuel.unit == "l" else "energy", used),
        ("that is about", rate),
        ("longer than by car alone", display.duration(extra_min)),
    ]


def _lists(plan: TripPlan, leg: Leg) -> list[Block | None]:
    """What is ticked off before the outfit moves."""
    household = plan.files.inputs.household
    first = (("departure", "Before you leave home"), ("hitching", "Hitching up"))
    found: list[Block | None] = []
    for name, title in first if leg.kind == "out" else (("leaving", "Leaving the pitch"),):
        found += [blocks.heading(title), blocks.ticks(checklist(name, household))]
    return found


def _route_sheet(plan: TripPlan, leg: Leg) -> Block:
    units = plan.files.inputs.household.units
    return blocks.sheet(
        "route",
        f"Route card: {display.day(leg.day, units, 'short')}",
        [
            blocks.table(
                [("at", "auto right"), ("do this", "2fr"), ("then on for", "auto right"),
                 ("look out", "1fr")],
                [
                    (row["at"], row["instruction"], row["then"], row["look_out"])
                    for row in route_card(leg.route, units, leg=leg).to_dict("records")
                ],
                empty="The way has no steps.",
            ),
            blocks.heading("Rests"),
            blocks.table(
                [
                    ("at", "auto right"), ("arrive", "auto"), ("leave", "auto"), ("where", "1fr"),
                    ("what", "auto"), ("room for the outfit", "auto"), ("why", "1fr"),
                ],
                [
                    (
                        display.distance(row["at_km"], units),
                        display.clock(row["arrive"], units),
                        display.clock(row["leave"], units),
                        row["name"] or str(row["kind"]).replace("_", " "),
                        row.get("does", "break"),
                        row["room"],
                        row["why"],
                    )
                    for row in leg.rests.to_dict("records")
                ],
                empty="No rest is planned on this tow. Stop whenever you feel tired.",
            ),
            blocks.bullets(leg.rest_notes),
            *_other_ways(leg, units),
        ],
        intro=f"From {leg.from_name} to {leg.to_name}. The passenger reads, the driver drives.",
    )  # fmt: skip
