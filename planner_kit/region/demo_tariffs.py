"""How the demo's sites charge beyond their seasons: rules, school holidays, a rate, a match.

Every price and every date here is invented.
"""

from __future__ import annotations

from planner_kit.region.demo_lists import AS_OF, CLUB, SOURCE, csv_text

# Which columns each rule fills in; the others stay empty.
RULES: tuple[dict[str, object], ...] = (
    {"site_id": "S01", "rule": "pitch", "amount": 36, "unit": "night", "start": "2026-07-15",
     "end": "2026-08-31", "note": "high season at last year's price"},
    {"site_id": "S01", "rule": "tax", "amount": "0.50", "unit": "night", "from_age": 16,
     "up_to_nights": 7, "note": "island visitor levy"},
    {"site_id": "S01", "rule": "offer", "amount": 1, "unit": "nights", "from_nights": 7,
     "start": "2027-05-01", "end": "2027-07-16", "note": "7 nights for 6 before the holidays"},
    {"site_id": "S01", "rule": "deposit", "amount": 50, "unit": "stay"},
    {"site_id": "S04", "rule": "offer", "amount": 1, "unit": "nights", "from_nights": 7,
     "note": "7 nights for 6"},
    {"site_id": "S04", "rule": "card", "amount": "1.5", "unit": "percent"},
    {"site_id": "S05", "rule": "arrive_on", "amount": 1, "unit": "nights", "weekdays": "sat wed",
     "start": "2027-07-15", "end": "2027-08-31", "note": "changeover days in high season"},
    {"site_id": "S06", "rule": "member", "amount": 3, "unit": "night", "club": CLUB},
    {"site_id": "S08", "rule": "pitch", "amount": 37, "unit": "night", "weekdays": "fri sat",
     "days": "school holidays"},
    {"site_id": "S08", "rule": "deposit", "amount": 25, "unit": "percent"},
    {"site_id": "S09", "rule": "hookup", "amount": 1, "unit": "night", "note": "standing charge"},
    {"site_id": "S09", "rule": "kwh", "amount": "0.48", "unit": "kwh"},
    {"site_id": "S09", "rule": "fee", "amount": 4, "unit": "stay"},
    {"site_id": "S10", "rule": "dog", "amount": 8, "unit": "stay"},
    {"site_id": "S11", "rule": "min_nights", "amount": 3, "unit": "nights",
     "days": "long weekends"},
    {"site_id": "S11", "rule": "offer", "amount": 10, "unit": "percent", "from_nights": 4,
     "days_ahead": 90, "with_member": "yes", "note": "10 % for booking three months ahead"},
    {"site_id": "S13", "rule": "pitch", "amount": 21, "unit": "night"},
    {"site_id": "S13", "rule": "person", "amount": 6, "unit": "night", "from_age": 16},
    {"site_id": "S13", "rule": "person", "amount": 4, "unit": "night", "from_age": 5,
     "to_age": 15},
    {"site_id": "S13", "rule": "person", "amount": 0, "unit": "night", "from_age": 0,
     "to_age": 4},
    {"site_id": "S13", "rule": "pitch", "amount": 25, "unit": "night",
     "days": "public holidays"},
)  # fmt: skip
RULE_COLUMNS = (
    "site_id", "rule", "amount", "unit", "start", "end", "weekdays", "days", "from_age", "to_age",
    "from_nights", "up_to_nights", "days_ahead", "club", "with_member", "note", "source", "as_of",
)  # fmt: skip


def tariffs_csv() -> str:
    """The sites' rules: taxes, offers, deposits, weekends, people by age, metered current."""
    told = {"source": SOURCE, "as_of": AS_OF}
    rows = [[{**rule, **told}.get(name, "") for name in RULE_COLUMNS] for rule in RULES]
    return csv_text(RULE_COLUMNS, rows)


def school_holidays_csv() -> str:
    """The island's school holidays, 2026 and 2027."""
    rows = [
        ("spring break", "2026-04-03", "2026-04-17"), ("half term", "2026-05-25", "2026-05-29"),
        ("summer", "2026-07-25", "2026-09-02"), ("autumn break", "2026-10-19", "2026-10-30"),
        ("spring break", "2027-03-26", "2027-04-09"), ("half term", "2027-05-31", "2027-06-04"),
        ("summer", "2027-07-24", "2027-09-01"), ("autumn break", "2027-10-18", "2027-10-29"),
    ]  # fmt: skip
    columns = ("name", "start", "end", "source", "as_of")
    return csv_text(columns, [(*row, SOURCE, AS_OF) for row in rows])


def rates_csv() -> str:
    """What one euro is worth: one site names its prices in it."""
    columns = ("from_currency", "to_currency", "rate", "as_of", "source")
    return csv_text(columns, [("EUR", "GBP", "0.86", "2027-01-04", SOURCE)])


def site_matches_csv() -> str:
    """What the household said of its sites and the map's."""
    return csv_text(("site_id", "place_id", "same"), [("S09", "w1000008", "yes")])
