"""Tables of candidates, bookings and dates, as a record and the notebooks show them."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.sites.ledger import ledger_totals
from planner_kit.sites.weighing import margin_sentences
from planner_kit.trip import display
from planner_kit.views import look

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner_kit.sites.report import SitesReport
    from planner_kit.trip.household import Units

CRITERION_WORDS = {
    "price": "Low price",
    "drive": "Short drive",
    "tow": "Easy tow",
    "approach": "No tight places",
    "outings": "Near the days out",
    "rating": "What others think",
    "facilities": "Facilities",
    "signals": "Signals",
    "room": "Room on the pitch",
    "been": "Liked before",
}
MUST_WORDS = {
    "fits": "room for us",
    "open": "open then",
    "dogs": "dogs may come",
    "hookup": "hook-up",
    "wifi": "wireless internet",
    "playground": "playground",
    "water_point": "water point",
    "no_club": "no club needed",
}

_REACH = "no way there for the outfit"
_NOT_ASKED = "not asked"


def out_words(removed_by: object) -> str:
    """Why a candidate is out, as the ticks name it."""
    return _REACH if removed_by == "reach" else MUST_WORDS.get(str(removed_by), str(removed_by))


def criterion_words(names: object) -> str:
    """Names of criteria with commas between, as the sliders name them."""
    known = [name.strip() for name in str(names).split(",") if name.strip()]
    return ", ".join(CRITERION_WORDS.get(name, name).lower() for name in known)


def _amounts(table: pd.DataFrame, *columns: str) -> pd.DataFrame:
    """A table whose amounts have two places and their currency; what is not known stays so."""
    money = table["currency"].astype(str) + " " if "currency" in table else [""] * len(table)
    return table.assign(
        **{
            name: [
                "not known" if pd.isna(one) else f"{of}{one:,.2f}"
                for of, one in zip(money, table[name], strict=True)
            ]
            for name in columns
        }
    )


def site_names(report: SitesReport) -> dict[str, str]:
    """The candidates' names by site id."""
    pairs = zip(report.shortlist["site_id"], report.shortlist["name"], strict=True)
    return {str(site_id): str(name) for site_id, name in pairs}


def metered_words(shortlist: pd.DataFrame, units: Units | None = None) -> list[str]:
    """For each candidate with a meter, how much of its price is electricity by estimate."""
    words = []
    for row in shortlist.to_dict("records"):
        if row["metered"] != row["metered"]:
            words.append(f"{row['name']} counts kilowatt-hours, and how many is not known.")
        elif row["metered"] > 0:
            told = f"{row['currency']} {row['metered']:,.2f}"
            if units is not None:
                told = display.money(row["metered"], str(row["currency"]), units)
            words.append(
                f"{row['name']}: its price is not known, and {told} for metered electricity is "
                "only a part of it."
                if display.is_missing(row["price"])
                else f"{row['name']}: {told} for metered electricity is in the price."
            )
    return words


def shortlist_html(report: SitesReport) -> str:
    """All candidates with the parts of their scores, and how firm the first place is."""
    names = site_names(report)
    parts = [name for name in report.shortlist.columns if name.startswith("part_")]
    told = {
        name: CRITERION_WORDS.get(name.removeprefix("part_"), name.removeprefix("part_"))
        for name in parts
    }
    shown = report.shortlist.assign(
        state=report.shortlist["fit"],
        beaten=[names.get(str(one), "") for one in report.shortlist["beaten_by"]],
        not_known=[criterion_words(one) for one in report.shortlist["not_known"]],
        out=["" if one == "" else out_words(one) for one in report.shortlist["removed_by"]],
        **{name: [f"{one:.2f}" for one in report.shortlist[name]] for name in ("score", *parts)},
    )
    html = look.table(
        _amounts(shown, "price"),
        {"name": "Site", "state": "Fit", "price": "Price", "score": "Score",
         "beaten": "Beaten on everything by", "not_known": "Earns nothing, as not known",
         "out": "Left out because"},
        caption="All candidates, best first",
        blank=("out", "beaten", "not_known"),
        figures=("price", "score"),
    )  # fmt: skip
    html += look.table(
        shown,
        {"name": "Site", **told, "score": "Score"},
        caption="The parts that make up each score",
        figures=("score", *parts),
    )
    html += look.paragraphs(metered_words(report.shortlist))
    if report.must_haves is not None and len(report.must_haves):
        html += must_haves_html(report.must_haves)
    left = report.shortlist[report.shortlist["removed_by"] == ""]
    if report.margins is not None and len(left):
        html += margins_html(report.margins, names, str(left["name"].iloc[0]))
    if report.people is not None and len(report.people):
        html += people_html(report.people, names)
    return html


def price_lines_html(report: SitesReport) -> str:
    """How the price of each stay adds up, line by line."""
    names = site_names(report)
    lines = report.price_lines
    shown = _amounts(lines, "unit_price", "amount").assign(
        site=[names.get(str(one), str(one)) for one in lines["site_id"]]
    )
    return look.table(
        shown,
        {"site": "Site", "what": "What", "quantity": "Times", "unit_price": "Each",
         "amount": "Amount"},
        caption="How the price adds up",
        figures=("unit_price", "amount"),
        below={"what": "source"},
    )  # fmt: skip


def must_haves_html(counts: pd.DataFrame) -> str:
    """How many candidates each must-have removes."""
    shown = counts.assign(
        must_have=[MUST_WORDS.get(str(one), str(one)) for one in counts["must_have"]]
    )
    return look.table(
        shown,
        {"must_have": "Must-have", "removed": "Removes", "not_known": "Of these not known",
         "only_this": "Removed by nothing else"},
        caption="What each must-have removes",
    )  # fmt: skip


def margins_html(margins: pd.DataFrame, names: Mapping[str, str], winner: str) -> str:
    """What it takes to change the site that comes first."""
    words = margins.assign(
        criterion=[CRITERION_WORDS.get(str(one), str(one)) for one in margins["criterion"]]
    )
    return look.paragraphs([f"What it takes to change the first place of {winner}:"]) + (
        look.bullets(margin_sentences(words, names, winner))
    )


def people_html(people: pd.DataFrame, names: Mapping[str, str]) -> str:
    """What each person makes of the sites, and where they meet."""
    columns = [str(name) for name in people.columns]
    persons = [name.removeprefix("place_") for name in columns if name.startswith("place_")]
    shown = _amounts(
        people.assign(name=[names.get(str(one), str(one)) for one in people.index]),
        "together", "least",
    )  # fmt: skip
    told = {"name": "Site", **{f"place_{p}": f"Place for {p}" for p in persons}}
    told |= {"together": "Score together", "least": "Score of who likes it least"}
    return look.table(shown, told, caption="Where the family meets", figures=("together", "least"))


def ledger_html(ledger: pd.DataFrame, caption: str) -> str:
    """All bookings, what is paid and owed of each, what calling it off would cost, and the sums."""
    money = ("price", "paid", "balance", "refundable", "committed")
    shown = _amounts(ledger, *money).rename(columns={"state": "booking"})
    asked = shown[((ledger["state"] != _NOT_ASKED) | (ledger["paid"] > 0)).to_numpy()]
    stay = {"site": "Site", "arrive": "Arrive"}
    parts = [
        look.table(
            shown,
            {"trip": "Trip", **stay, "leave": "Leave", "booking": "Booking",
             "reference": "Reference"},
            caption=caption,
            blank=("reference",),
        )
    ]  # fmt: skip
    if len(asked):
        parts += [
            look.table(
                asked,
                {**stay, "price": "Price", "paid": "Paid", "balance": "Still to pay",
                 "due_on": "Due"},
                caption="What they cost",
                figures=money,
            ),
            look.table(
                asked,
                {**stay, "free_until": "Free to call off until", "refundable": "Comes back",
                 "committed": "Gone or owed"},
                caption="If they were called off",
                figures=money,
            ),
        ]  # fmt: skip
    totals = look.table(
        _amounts(ledger_totals(ledger), *money),
        {"price": "Agreed", "paid": "Paid", "balance": "Still to pay",
         "refundable": "Comes back", "committed": "Gone or owed",
         "not_known": "Bookings with terms not known"},
        caption="In all",
        figures=money,
    )  # fmt: skip
    return "".join([*parts, totals])


def dates_html(dates: pd.DataFrame, caption: str, currency: str, most: int = 8) -> str:
    """The cheapest days of arrival, and what stands against each."""
    return look.table(
        _amounts(dates.head(most).assign(currency=currency), "price", "saved"),
        {"arrive": "Arrive", "leave": "Leave", "price": "Price", "saved": "Saved",
         "allowed": "Can be booked", "why": "What stands against it"},
        caption=caption,
        blank=("why",),
        figures=("price", "saved"),
    )  # fmt: skip
