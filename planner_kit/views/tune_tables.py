"""What stands below the sliders of the attractions: the best, what would change it, where from."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import pandas as pd

from planner_kit.outings import overtaking_weights
from planner_kit.pack.outing_words import list_prices_sentence, price_words
from planner_kit.pack.stay_sheets import opening_words
from planner_kit.region import LABELS
from planner_kit.region.opening import can_be_read
from planner_kit.trip import display
from planner_kit.views import look

if TYPE_CHECKING:
    from collections.abc import Mapping

    from planner_kit.trip.household import Units
    from planner_kit.trip.learnt import Learnt

WORDS = {
    "rating": "What others think",
    "drive": "A short way",
    "cost": "Costs little",
    "age": "Fits our ages",
    "wet_day": "Good in rain",
    "open": "Open on our days",
    "time": "Time there, not driving",
    "likes": "What we like",
    "novelty": "Not seen before",
    "dogs": "The dog may come",
    "step_free": "Without steps",
}
_MISSING = {
    "rating": "rating", "drive": "the way", "cost": "price", "age": "for which ages",
    "wet_day": "rain or not", "open": "opening hours", "time": "how long", "likes": "what you like",
    "novelty": "whether seen", "dogs": "dogs", "step_free": "steps",
}  # fmt: skip
# Kinds that say no more than the heading does.
_PLAIN = ("attraction", "")
_PRICED = ["cost", "parking_cost", "currency", "free_with"]
_HOW = {"foot": " on foot", "bike": " by bicycle"}
_FACTS = {
    "position": "Where it is", "kind": "Kind", "opening_hours": "Opening hours",
    "adult_price": "Price for an adult", "rating": "Rating", "indoor": "Under a roof",
    "min_age": "From age", "time_needed_min": "Minutes for a visit", "dogs": "Dogs",
    "wheelchair": "Wheelchair",
}  # fmt: skip


def best_html(
    top: pd.DataFrame, units: Units, *, varied: bool, learnt: Learnt | None = None
) -> str:
    """The places shown, numbered as on the map."""
    shown = top.assign(
        place=range(1, len(top) + 1),
        name=[
            str(name) if kind in _PLAIN else f"{name} ({kind_words(kind)})"
            for name, kind in zip(top["name"], top["kind"], strict=True)
        ],
        way=[
            f"{display.duration(minutes)}{_HOW.get(str(by), '')}"
            for minutes, by in zip(top["travel_min"], top["by"], strict=True)
        ],
        price=[price_words(place, units) for place in top[_PRICED].to_dict("records")],
        score=[display.number(score, units, 2) for score in top["score"]],
        opening_hours=[opening_words(str(hours)) for hours in top["opening_hours"]],
        not_known=[_missing_words(str(names)) for names in top["not_known"]],
    )
    columns = {
        "place": "", "name": "Attraction", "way": "One way", "price": "For all",
        "opening_hours": "Opening hours", "score": "Score", "not_known": "Not known",
    }  # fmt: skip
    what = "A varied choice of the best places" if varied else "The best places"
    return look.part(
        look.table(
            shown,
            columns,
            caption=f"{what} with these weights; the numbers are those on the map",
            figures=("way", "score"),
        ),
        look.paragraphs(filter(None, [list_prices_sentence(learnt)])),
    )


def _missing_words(names: str) -> str:
    """What is not known of a place, as people call it."""
    known = [name.strip() for name in names.split(",") if name.strip()]
    return ", ".join(_MISSING.get(name, name) for name in known) or "nothing"


def kind_words(kind: object) -> str:
    """A kind of place in a person's words."""
    return LABELS.get(str(kind), str(kind).replace("_", " "))


def sensitivity_html(ranking: pd.DataFrame, weights: Mapping[str, float], units: Units) -> str:
    """Which weight, moved how far, would put another place first."""
    if len(ranking) < 2 or not sum(weights.values()):
        return ""
    changes = overtaking_weights(ranking, weights)
    winner = ranking["name"].iloc[0]
    within = changes[changes["new_weight"] <= 10]
    if within.empty:
        said = f"No single weight from 0 to 10 would put another place before {winner}."
        return look.part(look.paragraphs([said]))
    told = [
        f"{WORDS[row['criterion']]}: {'up' if row['change'] > 0 else 'down'} from "
        f"{display.number(row['weight'], units, 1)} to "
        f"{display.number(row['new_weight'], units, 1)}, and {row['name']} is first"
        for row in within.to_dict("records")
    ]
    return look.part(
        f"<p><strong>What would put another place before {look.text(winner)}</strong></p>",
        look.bullets(told[:6]),
    )


def facts_html(place: Mapping[Any, Any], units: Units) -> str:
    """A place's facts, each with where it comes from."""
    rows = []
    for fact, words in _FACTS.items():
        value: Any = (
            f"{place['lat']:.5f}, {place['lon']:.5f}" if fact == "position" else place[fact]
        )
        if fact == "kind":
            value = kind_words(value)
        if fact == "opening_hours" and value:
            read = can_be_read(str(value))
            value = opening_words(str(value)) if read else f"{value} (cannot be read: not known)"
        known = not (pd.isna(value) or value == "" or place[f"{fact}_from"] == "")
        origin = place[f"{fact}_from"] if known else "nowhere"
        if origin == "own list" and place["source"]:
            as_of = "" if pd.isna(place["as_of"]) else f", {place['as_of']:%Y-%m-%d}"
            origin = f"own list: {place['source']}{as_of}"
        if fact == "adult_price" and known:
            value = display.money(value, str(place["currency"]), units)
        if isinstance(value, float) and known:
            value = f"{value:g}"
        rows.append({"fact": words, "value": value if known else "not known", "from": origin})
    if place["inside_area"]:
        area = place["inside_area"]
        rows.append({"fact": "In the protected area", "value": area, "from": "map"})
    if place["also"]:
        rows.append({"fact": "The same place as", "value": place["also"], "from": "matched"})
    columns = {"fact": "Fact", "value": "", "from": "From"}
    return look.part(look.table(pd.DataFrame(rows), columns, caption=str(place["name"])))


def to_keep_html(weights: Mapping[str, float]) -> str:
    """The weights as lines of a household file."""
    lines = "\n".join(f"{name} = {weight:g}" for name, weight in weights.items())
    return look.part(
        "<details><summary>Keep these weights as the household's own</summary>"
        "<p>Put these lines into household.toml:</p>"
        f"<pre>[preferences.attractions]\n{lines}</pre></details>"
    )
