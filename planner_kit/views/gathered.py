"""The household's sites beside the map's: which is which, and where each fact comes from."""

from __future__ import annotations

from pathlib import Path

import pandas as pd
from IPython.display import HTML

from planner_kit.pack.stay_sheets import opening_words
from planner_kit.sites.site_list import FROM_MAP
from planner_kit.trip_files import read_files
from planner_kit.views import look


def show_gathered(folder: Path, *, trip: str) -> HTML:
    """The household's sites beside the map's: which is which, and where each fact comes from."""
    files = read_files(folder / trip)
    assert files.gathered is not None  # files that were read always have it
    found, own = files.gathered, files.gathered.matches["site_id"]
    more = len(found.sites) - int((found.sites[FROM_MAP] != "").sum())
    facts = found.facts[found.facts["site_id"].isin(own)]
    matches = found.matches.assign(
        name_alike=[f"{one:.0%}" for one in found.matches["name_alike"]],
        adds=[_told(facts, str(one)) for one in own],
        differs=[_disputed(facts, str(one)) for one in own],
        match=[
            f"{verdict}: {why}"
            for verdict, why in zip(found.matches["verdict"], found.matches["why"], strict=True)
        ],
    )
    doubtful = int((matches["verdict"] == "look at this").sum())
    table = look.table(
        matches,
        {"site": "Your list", "place": "On the map", "distance_m": "Metres apart",
         "name_alike": "Names alike", "match": "Same site?",
         "adds": "What the map adds", "differs": "Where the two differ: yours holds"},
        caption="Your sites and the map's",
        blank=("adds", "differs"),
        figures=("name_alike",),
    )  # fmt: skip
    as_of = facts.loc[facts["source"] == "OpenStreetMap", "as_of"].max()
    day = "of a day that is not known" if pd.isna(as_of) else f"of {as_of:%Y-%m-%d}"
    head = (
        f"On the map: {_sites(len(matches))} of your list, of which {doubtful or 'none'} must be "
        f"looked at. Known by the map or by your list alone: {_sites(more)}."
    )
    hint = look.paragraphs(
        [
            f"The map's facts are {day}. A match that is wrong or missing is put right in the list "
            "site_matches.csv of the trip: its columns are site_id, place_id and same (yes or no). "
            "A trip may name a site of the map by its place_id.",
        ]
    )
    return HTML(
        look.page(
            look.paragraphs([head]),
            f"<details><summary>Every match, and every fact that the map adds</summary>{hint}"
            f"{table}</details>",
        )
    )


def _sites(count: int) -> str:
    """A number of sites in words."""
    return "no site" if count == 0 else "1 site" if count == 1 else f"{count} sites"


def _told(facts: pd.DataFrame, site_id: str) -> str:
    """What the map adds to a site's row."""
    own = facts[(facts["site_id"] == site_id) & facts["used"]]
    own = own[own["source"] == "OpenStreetMap"]
    return _as_words(own)


def _disputed(facts: pd.DataFrame, site_id: str) -> str:
    """What the map says otherwise; a plain yes contradicts no words."""
    own = facts[(facts["site_id"] == site_id) & facts["disputed"] & ~facts["used"]]
    return _as_words(own[own["value"] != "yes"])


def _as_words(facts: pd.DataFrame) -> str:
    return "; ".join(
        f"{str(fact).replace('_', ' ')}: {_value_words(str(fact), str(value))}"
        for fact, value in zip(facts["fact"], facts["value"], strict=True)
    )


def _value_words(fact: str, value: str) -> str:
    if fact == "opening_hours":
        return opening_words(value)
    return {"True": "yes", "False": "no"}.get(value, value)
