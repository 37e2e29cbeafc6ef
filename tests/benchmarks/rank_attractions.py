"""How long 100,000 places take to be weighed anew; run this file with python."""

import statistics
import time

import numpy as np
import pandas as pd

from planner_kit.outings import CRITERIA, rank_attractions


def made_table(rows: int) -> pd.DataFrame:
    rng = np.random.default_rng(1)
    table = pd.DataFrame(
        {f"criterion_{name}": rng.random(rows) for name in CRITERIA}
        | {
            "attraction_id": [f"n{n}" for n in range(rows)],
            "name": [f"Place {n}" for n in range(rows)],
        }
    )
    for name in CRITERIA[:5]:
        table.loc[rng.random(rows) < 0.3, f"criterion_{name}"] = np.nan
    return table


def main() -> None:
    table = made_table(100_000)
    times = []
    for turn in range(15):
        weights = {name: float((turn + at) % 5) for at, name in enumerate(CRITERIA)}
        start = time.perf_counter()
        rank_attractions(table, weights)
        times.append((time.perf_counter() - start) * 1000)
    print(f"100,000 places: median {statistics.median(times):.0f} ms, worst {max(times):.0f} ms")


if __name__ == "__main__":
    main()
