"""What a record notebook shows: tables and drawings that stay when it is opened later."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd
from IPython.display import HTML

from planner_kit.diary.learning import learnt_sentences
from planner_kit.pack import print_map, profile_chart
from planner_kit.pack.leg_points import hard_places
from planner_kit.pack.outing_words import list_prices_sentence, price_words
from planner_kit.region import LABELS
from planner_kit.rules import cautions_for
from planner_kit.summary import all_checks, things_to_look_at, trip_sentences
from planner_kit.trip import display
from planner_kit.views import look
from planner_kit.views.against import against_html
from planner_kit.views.diary import changes_html
from planner_kit.views.load_tables import load_plan_html, not_needed_html
from planner_kit.views.money_tables import history_html
from planner_kit.views.outing_tables import (
    days_html,
    left_out_html,
    light_html,
    memberships_html,
    rides_html,
)
from planner_kit.views.pitch import pitch_html
from planner_kit.views.site_tables import (
    dates_html,
    ledger_html,
    price_lines_html,
    shortlist_html,
)
from planner_kit.views.tow_tables import (
    approach_html,
    card_html,
    corners_html,
    rests_html,
)
from planner_kit.views.tow_ways import ways_html
from planner_kit.views.tune_tables import WORDS

if TYPE_CHECKING:
    from collections.abc import Iterable

    from planner_kit.costs.report import TripCost
    from planner_kit.diary import Finished
    from planner_kit.outfit.report import OutfitReport
    from planner_kit.outings.report import OutingsReport
    from planner_kit.pitch.report import PitchReport
    from planner_kit.plan import TripPlan
    from planner_kit.sites.report import SitesReport
    from planner_kit.tow.leg import Leg, TowReport
    from planner_kit.trip.household import Units
    from planner_kit.trip_files import TripFiles


def _units(files: TripFiles | None) -> Units | None:
    return None if files is None else files.inputs.household.units


def show_trip(files: TripFiles) -> HTML:
    """The trip's dates, people and sites, and where its map comes from."""
    trip, household = files.inputs.trip, files.inputs.household
    units = household.units
    stays = pd.DataFrame(
        [
            {
                "site": files.sites.loc[stay.site, "name"],
                "from": display.day(arrive, units),
                "to": display.day(leave, units),
                "booking": stay.booking.state,
            }
            for stay, (arrive, leave) in zip(trip.stays, trip.stay_dates(), strict=True)
        ]
    )
    party = ", ".join(trip.party or tuple(person.name for person in household.people))
    return HTML(
        look.page(
            look.paragraphs([f"{household.name}: {party}.", *files.region.attribution]),
            look.table(stays, {name: name.capitalize() for name in stays.columns}),
            units=files.inputs.household.units,
        )
    )


def show_outfit(report: OutfitReport, files: TripFiles | None = None) -> HTML:
    """Plates and loading, the floor, the fewest things to move, and the cautions; not the law."""
    return HTML(
        look.page(
            report.floor or "",
            "" if files is None
            else not_needed_html(report.not_needed, files.inputs.household.units),
            load_plan_html(report.plan) if report.plan is not None else "",
            look.checks_table(report.plates, caption="Car and caravan"),
            look.bullets(report.outfit.assumed),
            look.cautions(report.cautions),
            units=_units(files),
        )
    )  # fmt: skip


def show_law(report: OutfitReport, files: TripFiles | None = None) -> HTML:
    """Licences, sizes, speeds and conduct by the law of each country that the tow crosses."""
    return HTML(
        look.page(
            look.checks_table(report.law, caption="Car and caravan before the law"),
            look.cautions(cautions_for("law")),
            units=_units(files),
        )
    )


def show_tow_map(files: TripFiles, tow: TowReport) -> HTML:
    """The first tow on the region's own map, with its heights below."""
    leg = tow.legs[0]
    units = files.inputs.household.units
    marks = hard_places(leg)
    drawing = print_map(files.region, route=leg.route.geometry, points=marks, units=units)
    chart = profile_chart(leg.route, files.region.terrain, units=units)
    heights = chart or look.paragraphs(["No terrain is known here, so no heights are drawn."])
    return HTML(
        look.page(
            drawing,
            heights,
            look.paragraphs(files.region.attribution),
            units=files.inputs.household.units,
        )
    )


def show_tow(files: TripFiles, tow: TowReport) -> HTML:
    """Each leg of the tow: times, rests, what to look at, and the route card."""
    parts = [_leg_html(files, leg) for leg in tow.legs]
    return HTML(
        look.page(
            *parts,
            look.cautions(tow.cautions),
            units=files.inputs.household.units,
        )
    )


def _leg_html(files: TripFiles, leg: Leg) -> str:
    units = files.inputs.household.units
    head = (
        f"{display.day(leg.day, units, 'full')}: from {leg.from_name} to {leg.to_name}, "
        f"{display.distance(leg.route.length_km, units)}, leave {display.clock(leg.depart, units)},"
        f" arrive {display.clock(leg.arrive, units)}. A car alone would drive "
        f"{display.distance(leg.car_route.length_km, units)} in "
        f"{display.duration(leg.car_route.time_min)}; this tow takes "
        f"{display.duration(leg.route.time_min)} of driving."
    )
    return "".join(
        [
            look.paragraphs([head]),
            rests_html(leg, units),
            "" if leg.ways is None else ways_html(leg.ways, units, drawn=False),
            look.checks_table(leg.checks, caption=f"Tow to {leg.to_name}"),
            corners_html(leg.corners, units),
            approach_html(leg.approach, units),
            card_html(leg, units),
            look.bullets(leg.unknowns),
        ]
    )


def show_pitches(pitches: Iterable[PitchReport], files: TripFiles | None = None) -> HTML:
    """What is dangerous, then power, water, waste and signals of each stay."""
    return HTML(
        look.page(
            *(pitch_html(report) for report in pitches),
            units=_units(files),
        )
    )


def show_outings(files: TripFiles, outings: Iterable[OutingsReport]) -> HTML:
    """The days, and the attractions with the parts of their scores."""
    units, parts = files.inputs.household.units, []
    for report in outings:
        parts += [
            days_html(report.days, units, gap_frac=report.gap_frac),
            left_out_html(report.left_out),
            _ranking_html(report.ranking.head(15), units),
            look.paragraphs(filter(None, [list_prices_sentence(files.inputs.learnt)])),
            light_html(report, units),
            rides_html(files, report.rides),
            memberships_html(report, units),
            look.checks_table(report.checks) if report.checks else "",
            look.bullets(report.unknowns),
        ]  # fmt: skip
    return HTML(
        look.page(
            *parts,
            units=files.inputs.household.units,
        )
    )


_HOW = {"foot": " on foot", "bike": " by bicycle"}


def _ranking_html(best: pd.DataFrame, units: Units) -> str:
    score_parts = [name for name in best.columns if name.startswith("part_")]
    figures = ["score", *score_parts]
    shown = best.assign(
        kind=[LABELS.get(str(kind), str(kind).replace("_", " ")) for kind in best["kind"]],
        drive=[
            f"{display.duration(minutes)}{_HOW.get(str(by), '')}"
            for minutes, by in zip(best["travel_min"], best["by"], strict=True)
        ],
        price=[price_words(place, units) for place in best.to_dict("records")],
        **{name: [display.number(one, units, 2) for one in best[name]] for name in figures},
    )
    told = {name: WORDS.get(name.removeprefix("part_"), name) for name in score_parts}
    return look.table(
        shown,
        {"name": "Attraction", "kind": "Kind", "drive": "One way", "price": "For all",
         "score": "Score"},
        caption="The best fifteen",
        figures=("drive", "score"),
    ) + look.table(
        shown,
        {"name": "Attraction", **told, "score": "Score"},
        caption="The parts that make up each score",
        figures=figures,
    )  # fmt: skip


def show_sites(report: SitesReport, files: TripFiles | None = None) -> HTML:
    """Prices line by line, checks, the shortlist and how firm it is, bookings and deadlines."""
    return HTML(
        look.page(
            price_lines_html(report),
            look.checks_table(report.checks, caption="Sites and bookings"),
            shortlist_html(report),
            "" if report.dates is None else dates_html(
                report.dates,
                "The cheapest other days",
                str(next(iter(report.price_lines["currency"]), "")),
            ),
            "" if report.ledger is None else ledger_html(report.ledger, "All bookings"),
            look.table(
                report.deadlines,
                {"on": "By", "what": "What", "why": "Why", "state": "State"},
                caption="Deadlines",
            ),
            look.bullets(report.unknowns),
            units=_units(files),
        )
    )  # fmt: skip


def show_cost(files: TripFiles, cost: TripCost) -> HTML:
    """The money of the whole trip, each line with its range and source."""
    units = files.inputs.household.units
    total = (
        f"In all about {display.money(cost.likely, cost.currency, units)}, "
        f"{display.money_range(cost.low, cost.high, cost.currency, units)}. {cost.range_method}"
    )
    return HTML(
        look.page(
            look.paragraphs([total]),
            look.table(
                cost.lines.assign(
                    **{
                        name: [
                            display.money(amount, str(currency or cost.currency), units)
                            for amount, currency in zip(
                                cost.lines[name], cost.lines["currency"], strict=True
                            )
                        ]
                        for name in ("low", "likely", "high")
                    }
                ),
                {"what": "What", "low": "Low", "likely": "Likely", "high": "High",
                 "state": "State"},
                figures=("low", "likely", "high"),
                below={"what": "source"},
            ),
            look.checks_table(cost.checks) if cost.checks else "",
            history_html(files, cost),
            units=files.inputs.household.units,
        )
    )  # fmt: skip


def show_summary(plan: TripPlan) -> HTML:
    """The trip in sentences, and the three things to look at."""
    return HTML(
        look.page(
            look.paragraphs(trip_sentences(plan)),
            look.checks_table(things_to_look_at(plan), caption="Look at these first"),
            against_html(plan) if plan.files.inputs.trip.actuals is not None else "",
            look.words_table(check.sentence for check in all_checks(plan)),
            units=plan.files.inputs.household.units,
        )
    )


def show_finished(finished: Finished) -> HTML:
    """The files that were written, and what changed since the earlier record."""
    files = pd.DataFrame(
        [{"what": what, "file": path.name} for what, path in finished.files.items()]
    )
    parts = [look.table(files, {"what": "What", "file": "File in this folder"})]
    if finished.changes is not None and finished.before is not None:
        parts.append(changes_html(finished.changes, f"What changed since {finished.before.name}"))
        parts.append(conflicts_html(finished.conflicts))
    return HTML(look.page(*parts, units=finished.units))


def conflicts_html(conflicts: pd.DataFrame | None) -> str:
    """What held on an earlier trip and does not now; says so where nothing conflicts."""
    if conflicts is None or conflicts.empty:
        return look.paragraphs(["Nothing that held then conflicts with these dates."])
    return look.table(
        conflicts,
        {"what": "What", "state": "State", "before": "Before", "now": "Now", "do": "What to do"},
        caption="What now conflicts",
    )


def show_learnt(files: TripFiles) -> HTML:
    """What earlier trips taught and this plan uses, with how sure each figure is."""
    learnt, units = files.inputs.learnt, files.inputs.household.units
    if learnt is None:
        return HTML(
            look.page(look.paragraphs(["No trip was filled in yet, so nothing is learnt."]))
        )
    count = f"{learnt.trips} trip" + ("" if learnt.trips == 1 else "s")
    told = (
        f"Learnt from {count} before this one; two times in three the truth lies within ± "
        "(one standard deviation)."
    )
    return HTML(
        look.page(
            look.paragraphs([told]), look.bullets(learnt_sentences(learnt, units)), units=units
        )
    )


def show_tour(files: TripFiles, tow: TowReport) -> HTML:
    """Every tow of a tour on its own map, with its hours against the nights that follow."""
    units, trip = files.inputs.household.units, files.inputs.trip
    nights = [*(str(stay.nights) for stay in trip.stays), "home"]
    rows = [
        {
            "tow": f"{leg.from_name} to {leg.to_name}",
            "day": display.day(leg.day, units),
            "distance": display.distance(leg.route.length_km, units),
            "driving": display.duration(leg.route.time_min),
            "arrive": display.clock(leg.arrive, units),
            "nights": stay,
        }
        for leg, stay in zip(tow.legs, nights, strict=True)
    ]
    maps = [print_map(files.region, route=leg.route.geometry, units=units) for leg in tow.legs]
    columns = {name: name.capitalize() for name in rows[0]}
    table = look.table(
        pd.DataFrame(rows), {**columns, "nights": "Nights there"}, caption="The tour"
    )
    return HTML(
        look.page(
            table,
            *maps,
            look.paragraphs(files.region.attribution),
            units=files.inputs.household.units,
        )
    )
