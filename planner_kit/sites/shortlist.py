"""Ranking candidate sites by what the household weighs, with every part of the score kept."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.errors import PlanFileError, nearest_name
from planner_kit.reference import constant

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    import numpy.typing as npt

CRITERIA = (
    "price", "drive", "tow", "approach", "outings", "rating", "facilities", "signals", "room",
    "been",
)  # fmt: skip
MUST_HAVES = (
    "reach",
    "fits",
    "open",
    "dogs",
    "hookup",
    "wifi",
    "playground",
    "water_point",
    "no_club",
)
_FACILITIES = ("hookup", "wifi", "playground", "water_point")


def shrunk_rating(
    mean: npt.ArrayLike, count: npt.ArrayLike, prior_mean: float, prior_count: float
) -> npt.NDArray[np.float64]:
    """Mean ratings drawn towards a prior mean, the more so the fewer people gave one.

    Parameters
    ----------
    mean, count : array_like, shape (n,)
        Mean rating and how many gave it; a count that is missing counts as none.
    prior_mean : float
        What a site without ratings is taken for.
    prior_count : float
        How many ratings the prior counts for.

    Returns
    -------
    rating : ndarray, shape (n,)
        On the scale of the means; NaN where there is no rating at all, which is unknown and not
        the mean.

    References
    ----------
    .. [1] Weighted mean of prior and data, ``(v R + m C) / (v + m)``: the posterior mean of a
       normal mean with known variance, as set out in "A Bayesian cinefeel", statsravingmad.com,
       2009-11-26, read on 2026-11-25.
    """
    given = np.asarray(mean, dtype=float)
    votes = np.nan_to_num(np.asarray(count, dtype=float), nan=0.0)
    filled = np.where(np.isnan(given), prior_mean, given)
    shrunk = (votes * filled + prior_count * prior_mean) / (votes + prior_count)
    return np.where(np.isnan(given) | (votes == 0), np.nan, shrunk)


def site_facts(sites: pd.DataFrame) -> pd.DataFrame:
    """What the site list says of the facilities, as one column each: 1, 0 or NaN for unknown.

    Returns
    -------
    facts : DataFrame
        hookup, wifi, playground, water_point, dogs, no_club; indexed like `sites`.
    """
    amps = sites["hookup_a"].astype("float64")
    facts = pd.DataFrame(index=sites.index)
    facts["hookup"] = np.where(amps.isna(), np.nan, amps > 0)
    for name in ("wifi", "playground", "dogs"):
        facts[name] = (
            sites[name].astype("boolean").astype("Float64").to_numpy(float, na_value=np.nan)
        )
    water = sites["water_point"].astype(str)
    facts["water_point"] = np.where(water == "", np.nan, ~water.isin(("no", "none")))
    only = sites["members_only"].astype("boolean").astype("Float64")
    facts["no_club"] = 1 - only.to_numpy(float, na_value=np.nan)
    return facts


def site_criteria(
    sites: pd.DataFrame,
    *,
    price_per_night: npt.ArrayLike,
    drive_min: npt.ArrayLike,
    room_m: npt.ArrayLike,
    tow_stress_min: npt.ArrayLike | None = None,
    approach: npt.ArrayLike | None = None,
    outing_min: npt.ArrayLike | None = None,
    signals: npt.ArrayLike | None = None,
    been: npt.ArrayLike | None = None,
) -> pd.DataFrame:
    """How good each site is by each criterion, from 0 to 1, before any weight.

    Parameters
    ----------
    sites : DataFrame, n rows
        See `planner_kit.sites.read_sites`.
    price_per_night : array_like, shape (n,)
        In one currency; NaN where unknown.
    drive_min : array_like, shape (n,)
        Drive from home; NaN where unknown. [min]
    room_m : array_like, shape (n,)
        Least length or width to spare on the pitch; negative where the outfit does not fit. [m]
    tow_stress_min : array_like, shape (n,), optional
        What the household's dislikes add to the tow from home. [min]
    approach : array_like of str, shape (n,), optional
        State word of the tow to the site.
    outing_min : array_like, shape (n,), optional
        Mean drive to the chosen days out. [min]
    signals : array_like, shape (n,), optional
        Share of what should be received that is, 0 to 1.
    been : array_like, shape (n,), optional
        How it was liked before, 0 to 1; a half for a site not been to.

    Returns
    -------
    criteria : DataFrame, n rows
        One column for each of `CRITERIA`; NaN where the figure is unknown.

    Notes
    -----
    Price falls in a line from 1 when free to 0 at a stated multiple of the candidates' median;
    drive from 1 at the door to 0 at a stated time; room rises from 0 to 1 at a stated spare.
    Facilities is the share of hook-up, wireless internet, playground and water point that the site
    has, out of those that are known.
    """

    def scale(name: str) -> float:
        return constant("site_criteria", name).value

    price = np.asarray(price_per_night, dtype=float)
    known = price[~np.isnan(price)]
    worst = scale("worst_price_ratio") * (float(np.median(known)) if known.size else np.nan)
    share = sites["rating"].to_numpy(float) / sites["rating_scale"].to_numpy(float)
    votes = sites["rating_count"].astype("Float64").to_numpy(float, na_value=np.nan)
    rated = ~np.isnan(share) & (np.nan_to_num(votes) > 0)
    prior = float(np.average(share[rated], weights=votes[rated])) if rated.any() else np.nan
    facilities = site_facts(sites)[list(_FACILITIES)].mean(axis=1)
    nothing = np.full(len(sites), np.nan)

    def given(values: npt.ArrayLike | None) -> npt.NDArray[np.float64]:
        return nothing if values is None else np.asarray(values, dtype=float)

    worth = {"fine": 1.0, "look at this": 0.5, "not fine": 0.0}
    words = [] if approach is None else list(np.asarray(approach, dtype=object))
    cheap = 1 - price / worst if worst > 0 else np.where(np.isnan(price), np.nan, 1.0)
    return pd.DataFrame(
        {
            "price": np.clip(cheap, 0, 1),
            "drive": np.clip(1 - np.asarray(drive_min, dtype=float) / scale("worst_drive"), 0, 1),
            "tow": np.clip(1 - given(tow_stress_min) / scale("worst_tow_stress"), 0, 1),
            "approach": [worth.get(str(w), np.nan) for w in words] if words else nothing,
            "outings": np.clip(1 - given(outing_min) / scale("worst_outing_drive"), 0, 1),
            "rating": shrunk_rating(share, votes, prior, scale("rating_prior_count")),
            "facilities": facilities.to_numpy(),
            "signals": given(signals),
            "room": np.clip(np.asarray(room_m, dtype=float) / scale("best_room"), 0, 1),
            "been": given(been),
        },
        index=sites.index,
    )


def site_weights(
    own: Mapping[str, float], where: str = "household.toml", key: str = "sites"
) -> dict[str, float]:
    """The household's weights, with the usual ones for what it does not name.

    Raises
    ------
    PlanFileError
        If it weighs something that is not a criterion.
    """
    for name in own:
        if name not in CRITERIA:
            raise PlanFileError(
                f"'{name}' is not something that sites are weighed by",
                f"{where}, preferences > {key}",
                nearest_name(name, CRITERIA),
            )
    usual = {name: constant("site_criteria", f"weight_{name}").value for name in CRITERIA}
    return {**usual, **own}


def must_have_table(
    sites: pd.DataFrame, *, reach: npt.ArrayLike, fits: npt.ArrayLike, is_open: npt.ArrayLike
) -> pd.DataFrame:
    """Whether each site has what a household can insist on: 1, 0 or NaN for unknown.

    Parameters
    ----------
    sites : DataFrame, n rows
    reach, fits, is_open : array_like, shape (n,)
        1, 0 or NaN: whether the outfit can be towed there, whether it fits on a pitch, and whether
        the site is open on the dates.

    Returns
    -------
    table : DataFrame, n rows
        One column for each of `MUST_HAVES`.
    """
    table = site_facts(sites)
    table["reach"] = np.asarray(reach, dtype=float)
    table["fits"] = np.asarray(fits, dtype=float)
    table["open"] = np.asarray(is_open, dtype=float)
    return table[list(MUST_HAVES)]


def removed_by(
    table: pd.DataFrame, must_haves: Sequence[str], where: str = "household.toml"
) -> pd.Series:
    """For each site the must-haves that it fails, in words; empty for a site that stays in.

    A must-have that is not known removes a site too and says so: unknown is not yes. A site that
    the outfit cannot be towed to is out whether or not the household asks for it.

    Raises
    ------
    PlanFileError
        If a must-have is not one of `MUST_HAVES`.
    """
    for name in must_haves:
        if name not in table.columns:
            raise PlanFileError(
                f"'{name}' is not something that a site can be asked for",
                f"{where}, preferences > site_must_haves",
                nearest_name(name, MUST_HAVES),
            )
    asked = list(dict.fromkeys(must_haves))
    if "reach" in table.columns and "reach" not in asked:
        asked.insert(0, "reach")
    if not asked:
        return pd.Series("", index=table.index, dtype="str")
    known = table[asked].to_numpy(float)
    # 0 stays in, 1 is not known, 2 fails; a pattern of these is spelt once.
    outcome = np.where(np.isnan(known), 1, np.where(known == 0, 2, 0))
    if "reach" not in must_haves and asked[0] == "reach":
        outcome[:, 0] = np.where(outcome[:, 0] == 2, 2, 0)
    codes = outcome @ (3 ** np.arange(len(asked)))
    patterns, first, place = np.unique(codes, return_index=True, return_inverse=True)
    spelt = np.array(["; ".join(_spelt(outcome[row], asked)) for row in first], dtype=object)
    words = spelt[place] if len(patterns) else np.array([], dtype=object)
    return pd.Series(words, index=table.index, dtype="str")


def _spelt(outcome: npt.NDArray[np.int_], names: Sequence[str]) -> list[str]:
    """The must-haves of one pattern of outcomes that take a site out, in words."""
    said = {1: "{} (not known)", 2: "{}"}
    return [
        said[int(code)].format(name)
        for code, name in zip(outcome, names, strict=True)
        if int(code) in said
    ]


def what_each_removed(table: pd.DataFrame, must_haves: Sequence[str]) -> pd.DataFrame:
    """How many sites each must-have removes on its own, and how many only for want of knowledge.

    Returns
    -------
    counts : DataFrame
        must_have, removed, not_known, only_this (sites that no other must-have removes).
    """
    fails = {name: (table[name].fillna(0) == 0).to_numpy() for name in must_haves}
    rows = []
    for name in must_haves:
        others = [fail for other, fail in fails.items() if other != name]
        elsewhere = np.logical_or.reduce(others) if others else np.zeros(len(table), bool)
        rows.append(
            {
                "must_have": name,
                "removed": int(fails[name].sum()),
                "not_known": int(table[name].isna().sum()),
                "only_this": int((fails[name] & ~elsewhere).sum()),
            }
        )
    return pd.DataFrame(rows, columns=["must_have", "removed", "not_known", "only_this"])


def rank_sites(
    criteria: pd.DataFrame, weights: Mapping[str, float], removed: pd.Series | None = None
) -> pd.DataFrame:
    """Sites sorted best first, the parts of each score beside it.

    Parameters
    ----------
    criteria : DataFrame, n rows
        See `site_criteria`.
    weights : mapping of str to float
        See `site_weights`; only their ratios matter.
    removed : Series, optional
        See `removed_by`; removed sites come last.

    Returns
    -------
    ranking : DataFrame, n rows, indexed like `criteria`
        score (0 to 1), ``part_<criterion>`` which sum to the score, not_known (criteria without a
        figure, which earn nothing), removed_by.
    """
    names = [name for name in criteria.columns if name in weights]
    weight = np.array([weights[name] for name in names], dtype=float)
    total = weight.sum()
    values = criteria[names].to_numpy(float)
    parts = np.nan_to_num(values) * (weight / total if total > 0 else weight)
    ranking = pd.DataFrame(parts, columns=[f"part_{n}" for n in names], index=criteria.index)
    ranking.insert(0, "score", parts.sum(axis=1))
    missing = np.isnan(values) & (weight > 0)
    ranking["not_known"] = _names_of(missing, names)
    ranking["removed_by"] = "" if removed is None else removed
    out = (ranking["removed_by"] != "").to_numpy()
    return ranking.iloc[np.lexsort((np.arange(len(ranking)), -ranking["score"].to_numpy(), out))]


def _names_of(flags: npt.NDArray[np.bool_], names: Sequence[str]) -> list[str]:
    """The names of the flags set in each row; each pattern of flags is spelt once."""
    codes = flags @ (1 << np.arange(len(names)))
    spelt = {
        int(code): ", ".join(name for n, name in enumerate(names) if code >> n & 1)
        for code in np.unique(codes)
    }
    return [spelt[int(code)] for code in codes]
