"""Places ranked by what the household cares about, every score a sum of its parts.

`attraction_criteria` looks at each place once and gives figures from 0 to 1; `rank_attractions`
weighs them, and is quick enough to follow a slider.
"""

from __future__ import annotations

from functools import lru_cache
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.errors import PlannerKitError, nearest_name
from planner_kit.outings.entry import party_of
from planner_kit.outings.place_words import named, plain_name, usual_of_kinds
from planner_kit.reference import constant, read_table
from planner_kit.region.places import LABELS

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Mapping, Sequence

    from planner_kit.trip.household import Household, Person

CRITERIA = (
    "rating", "drive", "cost", "age", "wet_day", "open", "time", "likes", "novelty", "dogs",
    "step_free",
)  # fmt: skip


def _number(name: str) -> float:
    return float(constant("outing_constants", name))


def criteria_that_apply(household: Household) -> tuple[str, ...]:
    """The criteria that can tell places apart: dogs only with a dog, step-free where one needs it.

    Parameters
    ----------
    household : Household
    """
    needless = set() if household.dogs else {"dogs"}
    if not any(person.step_free for person in household.people):
        needless.add("step_free")
    return tuple(name for name in CRITERIA if name not in needless)


def outing_weights(
    household: Household, *, weights: Mapping[str, float] | None = None
) -> dict[str, float]:
    """The weight of each criterion: the kit's, then the household's, then `weights`.

    A criterion that does not apply to the household weighs nothing unless it says so itself.

    Raises
    ------
    PlannerKitError
        If a criterion is not known or a weight is negative or not a number.
    """
    table = read_table("outing_weights").set_index("name")["value"]
    apply = criteria_that_apply(household)
    found = {name: float(table[name]) if name in apply else 0.0 for name in CRITERIA}
    for source in (household.preferences.attractions, weights or {}):
        for name, weight in source.items():
            if name not in found:
                raise PlannerKitError(
                    f"preferences, attractions: the criterion '{name}' is not known; "
                    f"{nearest_name(name, CRITERIA)}"
                )
            if not (np.isfinite(weight) and weight >= 0):
                raise PlannerKitError(
                    f"preferences, attractions: the weight {weight} of '{name}' is not a number "
                    "from 0 up; use 0 to 10."
                )
            found[name] = float(weight)
    return found


def shrunk_rating(
    rating: Any, count: Any, *, prior_mean: float | None = None, prior_count: float | None = None
) -> np.ndarray:
    """A mean rating drawn towards the middle where few people gave it.

    Parameters
    ----------
    rating : array_like of float
        Mean rating; NaN where there is none.
    count : array_like of float
        How many gave it; NaN where that is not known, which counts as a few.
    prior_mean, prior_count : float, optional
        The rating of a place that nobody rated, and how many ratings it weighs as much as.

    Returns
    -------
    rating : ndarray of float
        On the scale of `rating`; NaN where there is none.

    References
    ----------
    .. [1] Wikipedia, "Bayesian average": (C m + sum of x) / (C + n).
    """
    mean = _number("rating_prior_mean") if prior_mean is None else prior_mean
    weight = _number("rating_prior_count") if prior_count is None else prior_count
    ratings = np.asarray(rating, dtype=float)
    counts = np.asarray(count, dtype=float)
    counts = np.where(np.isnan(counts), _number("rating_count_if_unknown"), counts)
    shrunk: np.ndarray = (weight * mean + counts * ratings) / (weight + counts)
    return shrunk


def attraction_criteria(
    attractions: pd.DataFrame,
    *,
    household: Household,
    on: dt.date,
    days: int,
    party: Sequence[str] = (),
    visited: Sequence[str] = (),
    day_min: float | None = None,
) -> pd.DataFrame:
    """How good each place is for this party and stay, one figure from 0 to 1 for each criterion.

    Parameters
    ----------
    attractions : DataFrame, n rows
        From `gather_attractions`, with travel_min (one way by the means chosen; drive_min where
        it is absent) [min], cost and currency (from `entry_costs`) and open_days (of the stay's
        days; NaN unknown).
    household : Household
    on : date
        The day that ages are taken on.
    days : int
        Days of the stay on which one could go out.
    party : sequence of str, optional
    visited : sequence of str, optional
        Names or ids of places that have been seen.
    day_min : float, optional
        From the start of a day out to being back; a place that needs longer gets 0 for its time.

    Returns
    -------
    criteria : DataFrame, n rows, same index
        One column for each of `CRITERIA`; NaN where it is not known. 1 is best.

    Notes
    -----
    ``time`` is the share of the outing that is spent at the place and not on the way. ``dogs`` and
    ``step_free`` are 1 everywhere for a household that has no dog, or no need of it.
    """
    people = party_of(household, party)
    scale = attractions["rating_scale"].fillna(5).to_numpy(dtype=float)
    rating = attractions["rating"].to_numpy(dtype=float) / scale * 5
    counts = attractions["rating_count"].to_numpy(dtype=float, na_value=np.nan)
    cost = attractions["cost"].to_numpy(dtype=float)
    own_money = (attractions["currency"] == household.units.currency).to_numpy()
    worst_cost = _number("cost_worst_per_person") * len(people)
    way = "travel_min" if "travel_min" in attractions else "drive_min"
    drive = attractions[way].to_numpy(dtype=float)
    open_days = attractions["open_days"].to_numpy(dtype=float)
    roof = attractions["indoor"].map({"yes": 1.0, "part": 0.5, "no": 0.0})
    return pd.DataFrame(
        {
            "rating": np.clip(shrunk_rating(rating, counts) / 5, 0, 1),
            "drive": 1 - np.clip(drive / _number("drive_worst_min"), 0, 1),
            "cost": np.where(own_money, 1 - np.clip(cost / worst_cost, 0, 1), np.nan),
            "age": _age_fit(attractions, people, on),
            "wet_day": roof.to_numpy(dtype=float),
            "open": np.clip(open_days / days, 0, 1) if days > 0 else np.full(len(roof), np.nan),
            "time": _time_there(attractions, drive, day_min),
            "likes": _liking(attractions, people),
            "novelty": np.where(named(attractions, tuple(visited)), 0.0, 1.0),
            "dogs": _access(attractions, "dogs", needed=bool(household.dogs)),
            "step_free": _access(
                attractions, "wheelchair", needed=any(person.step_free for person in people)
            ),
        },
        index=attractions.index,
    )


def _time_there(
    attractions: pd.DataFrame, travel_min: np.ndarray, day_min: float | None
) -> np.ndarray:
    """Share of the outing that is spent at the place; 0 where it needs more than the day."""
    visit = attractions["time_needed_min"].to_numpy(dtype=float)
    whole = visit + 2 * travel_min
    there = visit / np.where(whole > 0, whole, np.nan)
    fitted: np.ndarray = there if day_min is None else np.where(whole > day_min, 0.0, there)
    return np.where(np.isnan(whole), np.nan, fitted)


def _access(attractions: pd.DataFrame, fact: str, *, needed: bool) -> np.ndarray:
    """What a word about dogs or wheelchairs counts; NaN for one that the table does not know."""
    if not needed:
        return np.ones(len(attractions))
    values = access_words(fact)
    words = attractions[fact].astype("str").str.strip().str.casefold()
    return words.map(values).to_numpy(dtype=float)


@lru_cache
def access_words(fact: str) -> dict[str, float]:
    """What each word of the reference table about ``dogs`` or ``wheelchair`` counts, 0 to 1."""
    table = read_table("outing_access")
    rows = table[table["fact"] == fact]
    return dict(zip(rows["word"], rows["value"].astype(float), strict=True))


def _age_fit(attractions: pd.DataFrame, people: Sequence[Person], on: dt.date) -> np.ndarray:
    """Share of the party whose age is within the place's ages; NaN where none are given."""
    low = attractions["min_age"].to_numpy(dtype=float)
    high = attractions["max_age"].to_numpy(dtype=float)
    ages = np.array([np.nan if (a := p.age_on(on)) is None else a for p in people], dtype=float)
    given = ~(np.isnan(low) & np.isnan(high))
    known = ages[~np.isnan(ages)]
    if known.size == 0:
        return np.full(len(attractions), np.nan)
    floor = np.where(np.isnan(low), -np.inf, low)[:, None]
    ceiling = np.where(np.isnan(high), np.inf, high)[:, None]
    fits = ((known >= floor) & (known <= ceiling)).mean(axis=1)
    return np.where(given, fits, np.nan)


def _liking(attractions: pd.DataFrame, people: Sequence[Person]) -> np.ndarray:
    """0.5 for a place nobody has a word about, up to 1 where all like it and 0 where none do."""
    kinds = attractions["kind"].astype("str")
    words = {
        kind: plain_name(f"{kind} {LABELS.get(kind, '')} {_words_of(kind)}".replace("_", " "))
        for kind in kinds.unique()
    }
    text = " " + kinds.map(words) + " " + attractions["name"].map(plain_name)
    text = text + " " + attractions["notes"].map(plain_name)
    votes = []
    for person in people:
        if person.likes or person.dislikes:
            liked = _any_word(text, person.likes)
            votes.append(liked.astype(float) - _any_word(text, person.dislikes).astype(float))
    if not votes:
        return np.full(len(attractions), np.nan)
    liking: np.ndarray = 0.5 + 0.5 * np.mean(votes, axis=0)
    return liking


def _words_of(kind: str) -> str:
    usual = usual_of_kinds()
    return str(usual.at[kind, "words"]) if kind in usual.index else ""


def _any_word(text: pd.Series, wishes: Sequence[str]) -> np.ndarray:
    found = np.zeros(len(text), dtype=bool)
    for wish in wishes:
        stem = plain_name(wish).removesuffix("s")
        if stem:
            found |= text.str.contains(f" {stem}", regex=False).to_numpy(dtype=bool)
    return found


def score_places(
    table: pd.DataFrame, weights: Mapping[str, float]
) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Scores and their parts, without carrying the places' facts along.

    Parameters
    ----------
    table : DataFrame, n rows
        A column ``criterion_<name>`` for each criterion to weigh, 0 to 1 or NaN.
    weights : mapping of str to float
        k weights, 0 or more; only their proportions count.

    Returns
    -------
    score : ndarray, shape (n,)
        0 to 1.
    parts : ndarray, shape (n, k)
        In the order of `weights`; they sum to the score.
    missing : ndarray of bool, shape (n, k)
        Where a figure is not known.

    Raises
    ------
    KeyError
        If the table lacks a criterion that is weighed.

    Notes
    -----
    A figure that is not known counts as the lower of `unknown_criterion` in the reference table
    and the median of those that are known, so that it is never taken for the best.
    """
    names = list(weights)
    share = np.array([float(weights[name]) for name in names])
    total = share.sum()
    share = share / total if total > 0 else share
    values = table[[f"criterion_{name}" for name in names]].to_numpy(dtype=float, copy=True)
    missing = np.isnan(values)
    stand_in = _number("unknown_criterion")
    for column in np.flatnonzero(missing.any(axis=0)):
        gone = missing[:, column]
        known = values[~gone, column]
        values[gone, column] = min(stand_in, float(np.median(known))) if known.size else stand_in
    parts = values * share
    return parts.sum(axis=1), parts, missing


def rank_attractions(
    table: pd.DataFrame, weights: Mapping[str, float], *, top: int | None = None
) -> pd.DataFrame:
    """Places with their score and its parts, best first.

    Parameters
    ----------
    table : DataFrame, n rows
        Places with the columns that `score_places` takes.
    weights : mapping of str to float
        Weight of each criterion, 0 or more; only their proportions count.
    top : int, optional
        How many of the best to give back; all of them if left out. A slider needs a few only.

    Returns
    -------
    ranking : DataFrame, n rows or `top`, best first
        `table` with score (0 to 1), ``part_<name>`` for each weight (they sum to the score) and
        not_known (criteria without a figure, as text). Equal scores keep their order.

    Raises
    ------
    KeyError
        If the table lacks a criterion that is weighed.
    """
    names = list(weights)
    score, parts, missing = score_places(table, weights)
    order = _best_first(score, top)
    columns = ["score", *(f"part_{name}" for name in names)]
    figures = pd.DataFrame(np.column_stack([score[order], parts[order]]), columns=columns)
    ranking = table.drop(columns=[*columns, "not_known"], errors="ignore").take(order)
    ranking = ranking.reset_index(drop=True)
    return pd.concat([ranking, figures, _missing_text(missing[order], names)], axis=1)


def _best_first(score: np.ndarray, top: int | None) -> np.ndarray:
    """Rows by falling score, equal ones in their order; only the first `top` of them if given."""
    rows = np.arange(len(score))
    if top is not None and 0 < top < len(score):
        least = np.partition(score, len(score) - top)[len(score) - top]
        rows = np.flatnonzero(score >= least)
    ordered: np.ndarray = rows[np.argsort(-score[rows], kind="stable")]
    return ordered[:top]


def _missing_text(missing: np.ndarray, names: list[str]) -> pd.Series:
    """The criteria that are not known of each row, as text."""
    codes = np.zeros(len(missing), dtype=np.int64)
    for bit in range(len(names)):
        codes |= missing[:, bit].astype(np.int64) << bit
    found, inverse = np.unique(codes, return_inverse=True)
    texts = [
        ", ".join(name.replace("_", " ") for bit, name in enumerate(names) if code >> bit & 1)
        for code in found
    ]
    return pd.Series(texts, dtype="str", name="not_known").take(inverse).reset_index(drop=True)
