"""How long 1,000 sites take to be priced over 60 days of arrival; run this file with python."""

import datetime as dt
import statistics
import time

import numpy as np
import pandas as pd

from planner_kit.sites import prices_by_start
from planner_kit.sites.site_list import SITE_COLUMNS
from planner_kit.sites.tariff_rules import TARIFF_COLUMNS, TariffRules
from planner_kit.trip.household import Household

SITES, STARTS, NIGHTS = 1_000, 60, 7


def made_lists() -> tuple[pd.DataFrame, pd.DataFrame, TariffRules]:
    rng = np.random.default_rng(1)
    ids = [f"s{n}" for n in range(SITES)]
    sites = pd.DataFrame({column.name: [""] * SITES for column in SITE_COLUMNS})
    sites["site_id"], sites["currency"], sites["hookup_a"] = ids, "GBP", 16.0
    sites["member_discount_pct"] = np.nan
    sites["club"] = rng.choice(["", "club"], SITES)
    for column in (c.name for c in SITE_COLUMNS if "price" in c.name):
        sites[column] = rng.uniform(1, 40, SITES).round(2)
    spans = [("low", "01-01", "05-31"), ("mid", "06-01", "07-14"), ("high", "07-15", "08-31")]
    seasons = pd.DataFrame(
        [
            {"site_id": i, "season": s, "start": pd.Timestamp(f"2027-{a}"),
             "end": pd.Timestamp(f"2027-{b}")}
            for i in ids for s, a, b in spans
        ]
    )  # fmt: skip
    blank = dict.fromkeys([c.name for c in TARIFF_COLUMNS])
    rules = []
    for site in ids:
        for rule in (
            {"rule": "pitch", "amount": 30.0, "unit": "night", "weekdays": "fri sat"},
            {"rule": "tax", "amount": 1.5, "unit": "night", "from_age": 16},
            {"rule": "offer", "amount": 1.0, "unit": "nights", "from_nights": 7},
            {"rule": "card", "amount": 1.5, "unit": "percent"},
        ):
            rules.append({**blank, "weekdays": "", "days": "", "club": "", "note": "",
                          "source": "", **rule, "site_id": site, "row": 2})  # fmt: skip
    return sites.set_index("site_id"), seasons, TariffRules(pd.DataFrame(rules), None, "GB")


def main() -> None:
    sites, seasons, rules = made_lists()
    household = Household.model_validate(
        {
            "schema": 1, "name": "H", "home": {"lat": 50, "lon": 0},
            "people": [{"name": n, "adult": n in "AB"} for n in "ABCD"],
            "dogs": [{"name": "D"}],
            "memberships": [{"id": "club", "name": "C", "kind": "sites", "discount_pct": 10}],
            "car": {"name": "car", "fuel": "diesel"}, "caravan": {"name": "van"},
        }
    )  # fmt: skip
    starts = [dt.date(2027, 6, 1) + dt.timedelta(days=n) for n in range(STARTS)]
    times = []
    for _ in range(5):
        begun = time.perf_counter()
        prices = prices_by_start(sites, seasons, starts, NIGHTS, household, rules=rules)
        times.append(time.perf_counter() - begun)
    known = int(prices.notna().sum().sum())
    print(f"{SITES} sites x {STARTS} starts, {4 * SITES} rules, {known} prices: "
          f"median {statistics.median(times):.2f} s, worst {max(times):.2f} s")  # fmt: skip


if __name__ == "__main__":
    main()
