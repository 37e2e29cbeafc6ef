"""Sites: prices, fit, shortlist, bookings and deadlines."""

from planner_kit.sites.bookings import booking_ledger, check_booking, check_clashes
from planner_kit.sites.deadlines import deadline_uid, deadlines_for, working_day_before
from planner_kit.sites.fit import check_fit, is_open
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
from planner_kit.sites.tariff import price_sum, site_price

__all__ = [
    "SitesReport",
    "booking_ledger",
    "candidate_sites",
    "check_booking",
    "check_clashes",
    "check_fit",
    "deadline_uid",
    "deadlines_for",
    "is_open",
    "must_have_table",
    "plan_sites",
    "price_sum",
    "rank_sites",
    "read_seasons",
    "read_sites",
    "removed_by",
    "report_sites",
    "season_gaps",
    "shrunk_rating",
    "site_criteria",
    "site_of",
    "site_price",
    "site_weights",
    "tow_reach",
    "what_each_removed",
    "working_day_before",
]
