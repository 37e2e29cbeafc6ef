"""How long 10,000 sites take to be weighed and filtered anew; run this file with python."""

import statistics
import time

import numpy as np
import pandas as pd

from planner_kit.sites import must_have_table, rank_sites, removed_by, site_criteria
from planner_kit.sites.shortlist import CRITERIA
from planner_kit.sites.site_list import SITE_COLUMNS

ROWS = 10_000


def made_sites() -> pd.DataFrame:
    rng = np.random.default_rng(1)
    yes = [True, False, pd.NA]
    sites = pd.DataFrame({column.name: [""] * ROWS for column in SITE_COLUMNS})
    sites["hookup_a"] = rng.choice([0.0, 6, 10, 16, np.nan], ROWS)
    for name in ("wifi", "playground", "dogs", "members_only"):
        sites[name] = pd.array(rng.choice(yes, ROWS), dtype="boolean")
    sites["rating"] = rng.uniform(2, 5, ROWS)
    sites["rating_scale"] = 5.0
    sites["rating_count"] = pd.array(rng.integers(0, 400, ROWS), dtype="Int64")
    return sites


def main() -> None:
    rng, sites = np.random.default_rng(2), made_sites()
    price, drive = rng.uniform(10, 60, ROWS), rng.uniform(5, 400, ROWS)
    room = rng.uniform(-1, 6, ROWS)
    criteria = site_criteria(sites, price_per_night=price, drive_min=drive, room_m=room)
    table = must_have_table(sites, reach=np.ones(ROWS), fits=room > 0, is_open=np.ones(ROWS))
    times = []
    for turn in range(15):
        weights = {name: float((turn + at) % 5) for at, name in enumerate(CRITERIA)}
        start = time.perf_counter()
        rank_sites(criteria, weights, removed_by(table, ("dogs", "fits", "wifi")))
        times.append((time.perf_counter() - start) * 1000)
    print(f"10,000 sites: median {statistics.median(times):.0f} ms, worst {max(times):.0f} ms")


if __name__ == "__main__":
    main()
