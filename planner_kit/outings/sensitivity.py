"""How firm a ranking is: which weight would put another place first, and a varied top of it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

if TYPE_CHECKING:
    from collections.abc import Mapping


def overtaking_weights(ranking: pd.DataFrame, weights: Mapping[str, float]) -> pd.DataFrame:
    """For each criterion the nearest weights at which another place comes first.

    Parameters
    ----------
    ranking : DataFrame, best first
        From `rank_attractions` with `weights`: attraction_id, name and ``part_<name>``.
    weights : mapping of str to float
        All the others stay as they are.

    Returns
    -------
    changes : DataFrame, one row for each criterion and direction that has one
        criterion, weight (now), new_weight (from there on the other is first; 0 or more),
        attraction_id, name (of the place that overtakes), change (new less now), nearest first.

    Notes
    -----
    Exact: with all weights but one held, the lead of the first place over another is a straight
    line in that weight, and the sum of all weights, which divides both, does not move its zero.
    """
    names = [name for name in weights if weights[name] > 0]
    total = sum(weights.values())
    rows = []
    if len(ranking) > 1 and total > 0:
        parts = ranking[[f"part_{name}" for name in names]].to_numpy(dtype=float) * total
        ahead = parts[0] - parts[1:]
        lead = ahead.sum(axis=1)
        keys, called = ranking["attraction_id"].to_numpy(), ranking["name"].to_numpy()
        for column, name in enumerate(names):
            now = float(weights[name])
            slope = ahead[:, column] / now
            with np.errstate(divide="ignore", invalid="ignore"):
                turn = now - lead / slope
            for side in (turn < now, turn > now):
                usable = side & np.isfinite(turn) & (turn >= 0) & (slope != 0)
                if usable.any():
                    off = np.where(usable, np.abs(turn - now), np.inf)
                    row = int(np.argmin(off))
                    rows.append((name, now, float(turn[row]), keys[row + 1], called[row + 1]))
    columns = ["criterion", "weight", "new_weight", "attraction_id", "name"]
    frame = pd.DataFrame(rows, columns=columns)
    frame["change"] = (frame["new_weight"] - frame["weight"]).astype(float)
    nearest = frame["change"].abs().argsort(kind="stable").to_numpy()
    return frame.iloc[nearest].reset_index(drop=True)


def diverse_top(
    ranking: pd.DataFrame, *, top: int = 10, relevance_frac: float = 0.7, among: int = 200
) -> pd.DataFrame:
    """The best places without ten of a kind: maximal marginal relevance.

    Parameters
    ----------
    ranking : DataFrame, best first
        score, kind, indoor, drive_min.
    top : int
        How many to give.
    relevance_frac : float
        1 keeps the order of the scores; less prefers what differs from the places before it.
    among : int
        How many of the best are looked at.

    Returns
    -------
    chosen : DataFrame
        Rows of `ranking` in the order chosen.

    Notes
    -----
    The score is the relevance. Two places are alike, 0 to 1, by the mean of:
    the same kind (counted twice), the same roof, and the nearness of their drives.

    References
    ----------
    .. [1] Carbonell, Goldstein, "The use of MMR, diversity-based reranking for reordering documents
       and producing summaries", SIGIR 1998.
    """
    head = ranking.head(among)
    relevance = head["score"].to_numpy(dtype=float)
    order = marginal_relevance_order(relevance, _likeness(head), top, relevance_frac)
    return head.iloc[order].reset_index(drop=True)


def marginal_relevance_order(
    relevance: np.ndarray, likeness: np.ndarray, top: int, relevance_frac: float
) -> list[int]:
    """Rows in the order of maximal marginal relevance.

    Parameters
    ----------
    relevance : ndarray, shape (n,)
    likeness : ndarray, shape (n, n)
    top : int
    relevance_frac : float
        Lambda of the formula.
    """
    chosen: list[int] = []
    nearest = np.zeros(len(relevance))
    free = np.ones(len(relevance), dtype=bool)
    while len(chosen) < min(top, len(relevance)):
        value = relevance_frac * relevance - (1 - relevance_frac) * nearest
        best = int(np.argmax(np.where(free, value, -np.inf)))
        chosen.append(best)
        free[best] = False
        nearest = np.maximum(nearest, likeness[best]) if len(chosen) > 1 else likeness[best].copy()
    return chosen


def _likeness(places: pd.DataFrame) -> np.ndarray:
    kind, roof = (places[name].astype("str").to_numpy() for name in ("kind", "indoor"))
    drive = places["drive_min"].fillna(places["drive_min"].median()).fillna(0).to_numpy(dtype=float)
    same_kind = (kind[:, None] == kind[None, :]) & (kind != "")[:, None]
    same_roof = roof[:, None] == roof[None, :]
    near = np.clip(1 - np.abs(drive[:, None] - drive[None, :]) / 30, 0, 1)
    likeness: np.ndarray = (2 * same_kind + same_roof + near) / 4
    return likeness
