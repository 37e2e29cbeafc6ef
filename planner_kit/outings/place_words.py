"""What kinds of place are usually like, and places by the names that people use."""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.reference import read_table

if TYPE_CHECKING:
    import numpy as np


@lru_cache
def usual_of_kinds() -> pd.DataFrame:
    """What is usual for each kind of place: kind (index), indoor, time_needed_min, words."""
    table = read_table("outing_kinds").set_index("kind")
    return table.assign(time_needed_min=pd.to_numeric(table["time_needed_min"]))


def plain_name(name: str) -> str:
    """A name without case, accents, articles and signs, to compare by."""
    letters = unicodedata.normalize("NFKD", name).casefold()
    words = re.findall(r"[a-z0-9]+", "".join(c for c in letters if not unicodedata.combining(c)))
    return " ".join(word for word in words if word not in ("the", "of", "and", "at"))


def named(frame: pd.DataFrame, names: tuple[str, ...]) -> np.ndarray:
    """Which rows a person means by some names or ids; bool, one for each row."""
    wanted = {plain_name(name) for name in names}
    by_name = frame["name"].map(plain_name).isin(wanted).to_numpy()
    return by_name | frame["attraction_id"].isin(names).to_numpy()
