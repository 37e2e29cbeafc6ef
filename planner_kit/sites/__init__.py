"""Sites: prices, fit, shortlist, bookings and deadlines."""

from planner_kit.sites.bookings import booking_ledger, check_booking, check_clashes
from planner_kit.sites.dates import prices_by_start, shifted_dates
from planner_kit.sites.deadlines import deadline_uid, deadlines_for, working_day_before
from planner_kit.sites.fit import check_fit, is_open
from planner_kit.sites.free_days import read_school_holidays
from planner_kit.sites.gathering import gather_sites, read_matches
from planner_kit.sites.metered import metered_line
from planner_kit.sites.other_trips import other_trips, read_trips
from planner_kit.sites.reach import tow_reach
from planner_kit.sites.report import SitesReport
from planner_kit.sites.shortlist import (
    must_have_table,
    rank_sites,
    removed_by,
    shrunk_rating,
    site_criteria,
    site_weights,
    what_each_removed,
)
from planner_kit.sites.site_list import read_seasons, read_sites, season_gaps, site_of
from planner_kit.sites.stays import candidate_sites, plan_sites, report_sites
from planner_kit.sites.tariff import price_sum, site_price, without_meter
from planner_kit.sites.tariff_rules import TariffRules, no_rules, read_tariffs
from planner_kit.sites.year import read_year

__all__ = [
    "SitesReport",
    "TariffRules",
    "booking_ledger",
    "candidate_sites",
    "check_booking",
    "check_clashes",
    "check_fit",
    "deadline_uid",
    "deadlines_for",
    "gather_sites",
    "is_open",
    "metered_line",
    "must_have_table",
    "no_rules",
    "other_trips",
    "plan_sites",
    "price_sum",
    "prices_by_start",
    "rank_sites",
    "read_matches",
    "read_school_holidays",
    "read_seasons",
    "read_sites",
    "read_tariffs",
    "read_trips",
    "read_year",
    "removed_by",
    "report_sites",
    "season_gaps",
    "shifted_dates",
    "shrunk_rating",
    "site_criteria",
    "site_of",
    "site_price",
    "site_weights",
    "tow_reach",
    "what_each_removed",
    "without_meter",
    "working_day_before",
]
