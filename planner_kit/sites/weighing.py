"""How firm a ranking is: what it takes to change the winner, who is beaten, who would agree."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.sites.shortlist import rank_sites

if TYPE_CHECKING:
    from collections.abc import Mapping

    import numpy.typing as npt

# The largest weight that a household file or a slider can say.
MOST_WEIGHT = 10


def weight_margins(
    criteria: pd.DataFrame, weights: Mapping[str, float], removed: pd.Series | None = None
) -> pd.DataFrame:
    """How far each weight may move, the others staying, before another site comes first.

    Parameters
    ----------
    criteria : DataFrame, n rows
        See `planner_kit.sites.site_criteria`; an unknown figure earns nothing, as in the ranking.
    weights : mapping of str to float
    removed : Series, optional
        Sites with words in it are left out.

    Returns
    -------
    margins : DataFrame, one row for each criterion
        criterion, weight, down_to, up_to (the range within which the winner stays first; 0 and inf
        where nothing stops it), rival_below, rival_above (index of the site that takes over at
        each end; empty where none does).

    Notes
    -----
    Exact: scores are linear in each weight, and dividing by the sum of the weights changes no
    order.
    """
    left = criteria if removed is None else criteria[removed.reindex(criteria.index) == ""]
    names = [name for name in criteria.columns if name in weights]
    columns = ["criterion", "weight", "down_to", "up_to", "rival_below", "rival_above"]
    if left.empty:
        return pd.DataFrame(columns=columns)
    values = np.nan_to_num(left[names].to_numpy(float))
    weight = np.array([weights[name] for name in names], dtype=float)
    score = values @ weight
    # Of equal scores the first in the ranking that people see.
    winner = left.index.get_loc(rank_sites(left, weights).index[0])
    lead = np.maximum(score[winner] - score, 0.0)
    rows = []
    for place, name in enumerate(names):
        gain = values[winner, place] - values[:, place]
        with np.errstate(divide="ignore", invalid="ignore"):
            turn = weight[place] - lead / gain
        below = np.where(gain > 0, turn, -np.inf)
        above = np.where(gain < 0, turn, np.inf)
        low, high = float(below.max()), float(above.min())
        rows.append(
            {
                "criterion": name,
                "weight": weight[place],
                "down_to": max(low, 0.0),
                "up_to": high,
                "rival_below": str(left.index[int(below.argmax())]) if low >= 0 else "",
                "rival_above": str(left.index[int(above.argmin())]) if np.isfinite(high) else "",
            }
        )
    return pd.DataFrame(rows, columns=columns)


def beaten_by(criteria: pd.DataFrame, names: list[str] | None = None) -> pd.Series:
    """For each site one that is at least as good by every criterion and better by one.

    Parameters
    ----------
    criteria : DataFrame, n rows
        Higher is better; two sites are compared only where the same figures are known of both.
    names : list of str, optional
        The criteria to look at; all if not given.

    Returns
    -------
    beaten : Series of str, n rows
        The index of the site that beats it; empty for a site that none beats (Pareto-best).
    """
    values = criteria[names or list(criteria.columns)].to_numpy(float)
    found = np.full(len(values), -1)
    known = ~np.isnan(values)
    filled = np.nan_to_num(values)
    pattern = known @ (1 << np.arange(values.shape[1]))
    for kind in np.unique(pattern):
        mine = np.flatnonzero(pattern == kind)
        _mark_beaten(filled[mine], mine, found)
    ids = [str(one) for one in criteria.index]
    return pd.Series([ids[n] if n >= 0 else "" for n in found], index=criteria.index, dtype="str")


def _mark_beaten(
    values: npt.NDArray[np.float64], places: npt.NDArray[np.int_], found: npt.NDArray[np.int_]
) -> None:
    """Best sums first: whoever is beaten is beaten by someone not beaten that came before."""
    order = np.argsort(-values.sum(axis=1), kind="stable")
    front: list[int] = []
    for one in order:
        if front:
            best = values[front]
            over = (best >= values[one]).all(axis=1) & (best > values[one]).any(axis=1)
            if over.any():
                found[places[one]] = places[front[int(over.argmax())]]
                continue
        front.append(int(one))


def group_weights(
    sets: Mapping[str, Mapping[str, float]], says: Mapping[str, float] | None = None
) -> dict[str, float]:
    """One set of weights out of several people's.

    Parameters
    ----------
    sets : mapping of str to mapping
        Each person's weights. Only the ratios within one person's matter, so that whoever writes
        larger figures has no larger say.
    says : mapping of str to float, optional
        How much each person's opinion counts; the same for all if not given.

    Returns
    -------
    weights : dict
        Sum to 1.
    """
    total: dict[str, float] = {}
    shares = {name: (says or {}).get(name, 1.0) for name in sets}
    whole = sum(shares.values())
    for person, weights in sets.items():
        own = sum(weights.values())
        for name, weight in weights.items():
            part = shares[person] / whole * (weight / own if own > 0 else 0.0)
            total[name] = total.get(name, 0.0) + part
    return total


def group_ranking(
    criteria: pd.DataFrame,
    sets: Mapping[str, Mapping[str, float]],
    removed: pd.Series | None = None,
    says: Mapping[str, float] | None = None,
) -> pd.DataFrame:
    """What each person makes of each site, and where they meet.

    Returns
    -------
    ranking : DataFrame, n rows, indexed like `criteria`
        ``place_<person>`` and ``score_<person>`` (0 to 1), together (score with `group_weights`),
        least (the score of whoever likes it least), best first by `together`, removed sites left
        out.
    """
    left = criteria if removed is None else criteria[removed.reindex(criteria.index) == ""]
    table = pd.DataFrame(index=left.index)
    for person, weights in sets.items():
        score = rank_sites(left, weights)["score"].reindex(left.index)
        table[f"score_{person}"] = score
        table[f"place_{person}"] = score.rank(ascending=False, method="min").astype(int)
    table["together"] = rank_sites(left, group_weights(sets, says))["score"].reindex(left.index)
    table["least"] = table[[f"score_{person}" for person in sets]].min(axis=1)
    return table.sort_values("together", ascending=False, kind="stable")


def margin_sentences(margins: pd.DataFrame, names: Mapping[str, str], winner: str) -> list[str]:
    """The margins in words, the firmest left out.

    Parameters
    ----------
    margins : DataFrame
        See `weight_margins`.
    names : mapping of str to str
        Site names by site id.
    winner : str
        The name of the site that comes first.

    Notes
    -----
    Weights go up to 10, so that a turn beyond that is none.
    """
    said = []
    for row in margins.to_dict("records"):
        ends = []
        if row["rival_below"]:
            ends.append(f"below {row['down_to']:.2g}, {names[row['rival_below']]} comes first")
        if row["rival_above"] and row["up_to"] <= MOST_WEIGHT:
            ends.append(f"above {row['up_to']:.2g}, {names[row['rival_above']]} comes first")
        if ends:
            what = str(row["criterion"]).replace("_", " ")
            said.append(f"{what} (weight {row['weight']:.2g}): {'; '.join(ends)}.")
    return said or [f"{winner} stays first however far any one weight is moved."]
