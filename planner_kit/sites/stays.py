"""The sites stage: prices, fit, shortlist, bookings and deadlines of a whole trip."""

from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.outfit import outfit_of
from planner_kit.pitch import mains_use
from planner_kit.sites.amounts import as_number, shown
from planner_kit.sites.bookings import (
    booking_cost_lines,
    booking_ledger,
    check_booking,
    check_clashes,
)
from planner_kit.sites.candidates import weighed_candidates
from planner_kit.sites.dates import shifted_dates
from planner_kit.sites.deadlines import booking_day, deadlines_for
from planner_kit.sites.fit import check_fit
from planner_kit.sites.house_rules import check_house_rules
from planner_kit.sites.ledger import bookings_on, check_nights
from planner_kit.sites.metered import stay_meter
from planner_kit.sites.reach import tow_reach
from planner_kit.sites.report import SitesReport
from planner_kit.sites.site_list import season_gaps, site_of
from planner_kit.sites.surroundings import (
    Surroundings,
    outing_minutes,
    signal_shares,
)
from planner_kit.sites.tariff import PRICE_COLUMNS, price_sum, site_price, without_meter
from planner_kit.sites.terms import check_terms, deposit_of
from planner_kit.states import Check, State
from planner_kit.tow import drive_times

if TYPE_CHECKING:
    from collections.abc import Mapping, Sequence

    from planner_kit.outfit.report import Outfit
    from planner_kit.outings.report import OutingsReport
    from planner_kit.pitch import MainsUse
    from planner_kit.pitch.report import PitchReport
    from planner_kit.region import Region
    from planner_kit.sites.tariff import PriceSum
    from planner_kit.sites.tariff_rules import TariffRules
    from planner_kit.sites.terms import Deposit
    from planner_kit.tow.leg import TowReport
    from planner_kit.trip.money import CostLine
    from planner_kit.trip.reading import TripInputs
    from planner_kit.trip.trip import Stay, Trip

STAY_COLUMNS = (
    "site_id", "name", "arrive", "leave", "nights", "price", "price_before_discount", "currency",
    "price_from", "paid", "balance", "booking_state", "booking_reference", "arrive_from",
    "arrive_until", "depart_by", "phone",
)  # fmt: skip


def plan_sites(
    inputs: TripInputs,
    region: Region,
    sites: pd.DataFrame,
    seasons: pd.DataFrame,
    *,
    tow: TowReport | None,
    planned_on: dt.date,
    pitches: Sequence[PitchReport] = (),
    outings: Sequence[OutingsReport] = (),
    outfit: Outfit | None = None,
    rules: TariffRules | None = None,
    masts: pd.DataFrame | None = None,
    others: Sequence[Trip] = (),
    rates: Mapping[str, float] | None = None,
    use: MainsUse | None = None,
) -> SitesReport:
    """Everything about the sites of a trip.

    Parameters
    ----------
    inputs : TripInputs
    region : Region
        For the drive to each candidate.
    sites, seasons : DataFrame
        See `read_sites` and `read_seasons`.
    tow : TowReport or None
        For the times of arrival and departure.
    planned_on : date
        The day on which bookings and deadlines are looked at.
    pitches : sequence of PitchReport
        What was found on the pitches of the stays.
    outings : sequence of OutingsReport
        The nearer a candidate lies to the chosen days out, the better.
    outfit : Outfit, optional
        As loaded; without it, the outfit of the household's plates.
    rules : TariffRules, optional
        What the sites charge beyond the columns of the site list.
    masts : DataFrame, optional
        For the signals on every candidate.
    others : sequence of Trip
        The household's other trips: for clashes, and for how it liked a site before.
    rates : mapping of str to float, optional
        What one of another currency is worth in the trip's, by ISO 4217 code.
    use : MainsUse, optional
        What a night draws from the mains, as the pitch stage's `mains_use` has it; without it, of
        the trip's own weather and with no price where a site names none.

    Returns
    -------
    report : SitesReport

    Raises
    ------
    PlanFileError
        If the trip names a site that is not in the list (the sentence names the nearest), or the
        household weighs or insists on something that is not known.
    """
    candidates = candidate_sites(inputs, sites)
    home = (inputs.household.home.lat, inputs.household.home.lon)
    trip, household = inputs.trip, inputs.household
    drive = drive_times(region, home, candidates, on=trip.start)
    rig = outfit or outfit_of(household, on=trip.start, party=trip.party)
    return report_sites(
        inputs,
        sites,
        seasons,
        drive_min=drive["minutes"],
        reach=tow_reach(inputs, region, rig, candidates),
        tow=tow,
        country=region.country,
        time_zone=region.time_zone or "UTC",
        planned_on=planned_on,
        around=Surroundings(
            outing_min=outing_minutes(region, candidates, outings, trip.start),
            signals=signal_shares(region, candidates, household, masts),
        ),
        rules=rules,
        others=others,
        rates=rates,
        use=use,
    )


def report_sites(
    inputs: TripInputs,
    sites: pd.DataFrame,
    seasons: pd.DataFrame,
    *,
    drive_min: pd.Series,
    reach: pd.DataFrame | None,
    tow: TowReport | None,
    country: str,
    planned_on: dt.date,
    time_zone: str = "UTC",
    around: Surroundings | None = None,
    rules: TariffRules | None = None,
    others: Sequence[Trip] = (),
    rates: Mapping[str, float] | None = None,
    use: MainsUse | None = None,
) -> SitesReport:
    """`plan_sites` where the drives are known.

    Parameters
    ----------
    inputs, sites, seasons, tow, planned_on, rules, others, rates, use
        See `plan_sites`.
    drive_min : Series
        Drive from home by site id; NaN or no row for unknown. [min]
    reach : DataFrame or None
        See `planner_kit.sites.reach.tow_reach`; without it nothing is known of the tow.
    country : str
        For public holidays, ISO 3166-1 alpha-2.
    time_zone : str
        For opening hours.
    around : Surroundings, optional
        What lies round each candidate; without it nothing is known of it.

    Returns
    -------
    report : SitesReport
    """
    trip, use = inputs.trip, use or mains_use(inputs)
    stays: list[dict[str, object]] = []
    frames: list[pd.DataFrame] = []
    lines: list[CostLine] = []
    checks: list[Check] = []
    unknowns: list[str] = []
    deposits: dict[int, Deposit] = {}
    for number in range(len(trip.stays)):
        found = _stay_found(
            inputs, sites, seasons, number, tow, planned_on, rules, time_zone, country, use
        )
        if found.deposit is not None:
            deposits[number] = found.deposit
        stays.append(found.row)
        frames.append(found.lines)
        lines.extend(found.cost_lines)
        checks.extend(found.checks)
        unknowns.extend(found.unknowns)
    checks.extend(check_clashes((trip, *others), about=trip))
    checks.extend(check_nights(trip))
    weighed = weighed_candidates(
        inputs, candidate_sites(inputs, sites), seasons, drive_min, reach, around, rules, others,
        rates, use,
    )  # fmt: skip
    unknowns.extend(weighed.unknowns)
    currency = inputs.household.units.currency
    names = {str(site_id): str(name) for site_id, name in sites["name"].items()}
    return SitesReport(
        stays=pd.DataFrame(stays, columns=list(STAY_COLUMNS)),
        price_lines=pd.concat(frames, ignore_index=True)[list(PRICE_COLUMNS)],
        shortlist=weighed.shortlist,
        deadlines=deadlines_for(
            trip,
            names,
            country=country,
            planned_on=planned_on,
            opens_days_ahead={
                str(site_id): int(days)
                for site_id, days in sites["opens_days_ahead"].dropna().items()
            },
            deposits=deposits,
        ),
        checks=tuple(checks),
        cost_lines=tuple(lines),
        unknowns=tuple(unknowns),
        criteria=weighed.criteria,
        removed=weighed.removed,
        must_haves=weighed.must_haves,
        offers=weighed.offers,
        margins=weighed.margins,
        people=weighed.people,
        ledger=bookings_on((trip, *others), names, currency, planned_on),
        dates=_other_dates(inputs, sites, seasons, rules, use),
    )


def _other_dates(
    inputs: TripInputs,
    sites: pd.DataFrame,
    seasons: pd.DataFrame,
    rules: TariffRules | None,
    use: MainsUse,
) -> pd.DataFrame | None:
    """What the longest stay would cost on the days that the family allows."""
    trip, days = inputs.trip, inputs.trip.may_move_days
    if not days:
        return None
    place = max(range(len(trip.stays)), key=lambda number: trip.stays[number].nights)
    stay, (arrive, _) = trip.stays[place], trip.stay_dates()[place]
    return shifted_dates(
        sites.loc[[stay.site]], seasons, arrive, stay.nights, inputs.household, trip.party,
        earlier_days=days, later_days=days, hookup=stay.hookup, awning=stay.awning, rules=rules,
        use=use,
    )  # fmt: skip


def candidate_sites(inputs: TripInputs, sites: pd.DataFrame) -> pd.DataFrame:
    """The sites of the trip's stays and its candidates, each once, in the order of the trip file.

    Raises
    ------
    PlanFileError
        If one is not in the list.
    """
    trip, path = inputs.trip, inputs.trip_path
    wanted = [
        (stay.site, f"{path}, stays > {number} > site")
        for number, stay in enumerate(trip.stays, start=1)
    ]
    wanted += [(site, f"{path}, candidates") for site in trip.candidates]
    for site_id, where in wanted:
        site_of(sites, site_id, where)
    return sites.loc[list(dict.fromkeys(site_id for site_id, _ in wanted))]


@dataclass(frozen=True)
class _StayFound:
    row: dict[str, object]
    lines: pd.DataFrame
    cost_lines: tuple[CostLine, ...]
    checks: tuple[Check, ...]
    unknowns: tuple[str, ...]
    deposit: Deposit | None


def _stay_found(
    inputs: TripInputs,
    sites: pd.DataFrame,
    seasons: pd.DataFrame,
    number: int,
    tow: TowReport | None,
    planned_on: dt.date,
    rules: TariffRules | None,
    time_zone: str,
    country: str,
    use: MainsUse,
) -> _StayFound:
    trip, household = inputs.trip, inputs.household
    stay, (arrive, leave) = trip.stays[number], trip.stay_dates()[number]
    site = site_of(sites, stay.site, f"{inputs.trip_path}, stays > {number + 1} > site")
    lines = site_price(
        site, seasons, arrive, stay.nights, household, trip.party,
        hookup=stay.hookup, awning=stay.awning, rules=rules, use=use,
    )  # fmt: skip
    computed, name = price_sum(without_meter(lines)), str(site["name"])
    meter = stay_meter(stay, site, rules, household, arrive, use)
    source = str(lines["source"].iloc[0])
    arrive_at, depart_at = _times_at_gate(tow, arrive, leave)
    checks = check_fit(
        site, household, arrive, leave, hookup=stay.hookup, awning=stay.awning,
        arrive_at=arrive_at, depart_at=depart_at,
    )  # fmt: skip
    checks += check_house_rules(
        site, household, arrive, party=trip.party, hookup=False, arrive_at=arrive_at,
        depart_at=depart_at, time_zone=time_zone, country=country,
    )  # fmt: skip
    terms = check_terms(site, rules, household, arrive, stay.nights)
    told = {check.subject for check in terms}
    checks = (*(check for check in checks if check.subject not in told), *terms)
    checks += tuple(check_booking(stay, name, arrive, computed.currency, planned_on))
    checks += _check_price(stay, name, computed)
    unknowns = tuple(
        f"{name}: the price of {what} is not in the list." for what in computed.unknown
    )
    unknowns += tuple(f"{line.what}: {line.source}." for line in meter if line.likely is None)
    if computed.unknown and len(seasons):
        unknowns += season_gaps(seasons[seasons["site_id"] == stay.site], arrive, leave)
    opens = None if pd.isna(site["opens_days_ahead"]) else int(site["opens_days_ahead"])
    deposit = deposit_of(
        site, rules, household, stay.nights, computed.total,
        booking_day(stay, arrive, planned_on, opens),
    )  # fmt: skip
    return _StayFound(
        row=_stay_row(stay, site, arrive, leave, computed, planned_on),
        lines=lines,
        cost_lines=(
            *booking_cost_lines(stay, name, arrive, computed, source, planned_on, deposit=deposit),
            *meter,
        ),
        checks=checks,
        unknowns=unknowns,
        deposit=deposit,
    )


def _stay_row(
    stay: Stay,
    site: pd.Series,
    arrive: dt.date,
    leave: dt.date,
    computed: PriceSum,
    planned_on: dt.date,
) -> dict[str, object]:
    ledger = booking_ledger(stay.booking, computed.currency, planned_on)
    booked = ledger.price is not None
    return {
        "site_id": stay.site,
        "name": site["name"],
        "arrive": arrive,
        "leave": leave,
        "nights": stay.nights,
        "price": as_number(ledger.price if booked else computed.total),
        "price_before_discount": as_number(computed.before_discount),
        "currency": ledger.currency if booked else computed.currency,
        "price_from": "booking" if booked else "site list",
        "paid": as_number(ledger.paid),
        "balance": as_number(ledger.balance),
        "booking_state": stay.booking.state,
        "booking_reference": stay.booking.reference,
        **{key: site[key] for key in ("arrive_from", "arrive_until", "depart_by", "phone")},
    }


def _times_at_gate(
    tow: TowReport | None, arrive: dt.date, leave: dt.date
) -> tuple[dt.time | None, dt.time | None]:
    legs = () if tow is None else tow.legs
    into = [leg.arrive.time() for leg in legs if leg.kind != "home" and leg.arrive.date() == arrive]
    out = [leg.depart.time() for leg in legs if leg.kind != "out" and leg.depart.date() == leave]
    return (into[0] if into else None), (out[0] if out else None)


def _check_price(stay: Stay, name: str, computed: PriceSum) -> tuple[Check, ...]:
    """Whether the booked price is what the site list comes to."""
    ledger = booking_ledger(stay.booking, computed.currency, dt.date.min)
    subject = f"price at {name}"
    if ledger.price is None:
        if computed.total is not None:
            return ()
        known = shown(computed.known, computed.currency)
        words = f"The price is not fully known; {known} of it is."
        return (Check(subject, State.UNKNOWN, words, source="site list"),)
    booked = shown(ledger.price, ledger.currency)
    if computed.total is None or ledger.currency != computed.currency:
        words = f"The booked price {booked} holds; the site list cannot be compared with it."
        return (Check(subject, State.UNKNOWN, words, source="booking"),)
    listed = shown(computed.total, computed.currency)
    gap = ledger.price - computed.total
    state = State.FINE if gap == 0 else State.LOOK
    words = f"The booked price {booked} holds; the site list comes to {listed}."
    return (
        Check(
            subject, state, words, float(ledger.price), float(computed.total), ledger.currency,
            float(-gap), "a booked price goes before a computed one", "booking and site list",
        ),
    )  # fmt: skip
