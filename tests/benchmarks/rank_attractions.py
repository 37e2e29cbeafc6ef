"""How long 100,000 places take to be weighed anew; run this file with python."""

import statistics
import time

import numpy as np
import pandas as pd

from planner_kit.outings import CRITERIA, rank_attractions


def made_table(rows: int, text_columns: int = 20, number_columns: int = 15) -> pd.DataFrame:
    """A table as wide as that of a stay, with a third of some criteria missing."""
    rng = np.random.default_rng(1)
    columns = {f"criterion_{name}": rng.random(rows) for name in CRITERIA}
    for name in CRITERIA[:5]:
        columns[f"criterion_{name}"][rng.random(rows) < 0.3] = np.nan
    words = pd.Series([f"Place {n}" for n in range(rows)], dtype="str")
    texts = {f"text_{n}": words for n in range(text_columns)}
    numbers = {f"number_{n}": rng.random(rows) for n in range(number_columns)}
    return pd.DataFrame(columns | texts | numbers)


def main() -> None:
    """Print the median and the worst of many turns, for the best few and for all places."""
    table = made_table(100_000)
    for top in (12, None):
        times = []
        for turn in range(25):
            weights = {name: float((turn + at) % 5) for at, name in enumerate(CRITERIA)}
            start = time.perf_counter()
            rank_attractions(table, weights, top=top)
            times.append((time.perf_counter() - start) * 1000)
        median, worst = statistics.median(times), max(times)
        print(f"{top or 'all'} of 100,000 places: median {median:.0f} ms, worst {worst:.0f} ms")


if __name__ == "__main__":
    main()
