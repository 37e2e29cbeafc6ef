"""Facts of older kits, brought to the present schema.

Schema 1: the first. Schema 2: `learning`, `learnt` and `actual_against_plan` were added, and the
reasons of figures became finer. Schema 3: `happened`, `tows`, `photos` and `notes` were added, and
the household's name to `trip`. Schema 4: `not_needed` and the sites' names were added, and the
reasons of figures begin with their cause. A step adds what was not kept as unknown and never
invents it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

from planner_kit.diary.old_reasons import renamed_reasons

if TYPE_CHECKING:
    from collections.abc import Callable

FACTS_SCHEMA = 4


def migrated(facts: dict[str, Any]) -> dict[str, Any]:
    """The facts in the present schema; the file they came from is left as it is.

    Parameters
    ----------
    facts : dict
        Of any schema up to `FACTS_SCHEMA`.

    Returns
    -------
    facts : dict
    """
    while facts["schema"] < FACTS_SCHEMA:
        facts = _STEPS[facts["schema"]](facts)
    return facts


def _from_1_to_2(facts: dict[str, Any]) -> dict[str, Any]:
    return {
        "actual_against_plan": [],
        "learning": _base_of_figures(facts),
        "learnt": None,
        **facts,
        "schema": 2,
    }


def _from_2_to_3(facts: dict[str, Any]) -> dict[str, Any]:
    added: dict[str, Any] = {"happened": [], "notes": [], "photos": [], "tows": []}
    trip = {"household": None, **facts["trip"]}
    return {**added, **facts, "trip": trip, "schema": 3}


def _from_3_to_4(facts: dict[str, Any]) -> dict[str, Any]:
    labels = {figure["key"]: str(figure["label"]) for figure in facts["figures"]}
    sites = facts["trip"].get("sites", [])
    # The price of a stay was labelled with the site's name.
    names = [
        labels.get(f"site.{number}.price", "").removeprefix("price of ") or site
        for number, site in enumerate(sites, start=1)
    ]
    learnt = facts.get("learnt")
    figures = [{**figure, "reasons": renamed_reasons(figure)} for figure in facts["figures"]]
    return {
        "not_needed": [],
        **facts,
        "trip": {"site_names": names, **facts["trip"]},
        "figures": figures,
        "learnt": None if learnt is None else {"not_needed": [], **learnt},
        "schema": 4,
    }


def _base_of_figures(facts: dict[str, Any]) -> dict[str, Any]:
    """What an old record's figures say of the base for learning; the rest was not kept."""
    value = {figure["key"]: figure["value"] for figure in facts["figures"]}
    kms = [
        amount for key, amount in value.items() if key.startswith("tow.") and key.endswith(".km")
    ]
    kinds = {
        key.removeprefix("cost."): amount
        for key, amount in value.items()
        if key.startswith("cost.") and key not in ("cost.likely", "cost.low", "cost.high")
    }
    return {
        "legs": len(kms),
        "tow_km": None if not kms or None in kms else sum(kms),
        "tow_min": {},
        "breaks": None,
        "stint_min": None,
        "signals": [],
        "spending": {kind: amount for kind, amount in kinds.items() if amount},
    }


_STEPS: dict[int, Callable[[dict[str, Any]], dict[str, Any]]] = {
    1: _from_1_to_2,
    2: _from_2_to_3,
    3: _from_3_to_4,
}
