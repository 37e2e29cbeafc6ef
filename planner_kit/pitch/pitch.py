"""The pitch of a stay: signals, hook-up, water, toilet and gas in one report."""

from __future__ import annotations

from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.pitch.battery import check_battery
from planner_kit.pitch.gas import check_gas, gas_kg
from planner_kit.pitch.hookup import check_hookup, electricity_kwh
from planner_kit.pitch.lead import check_lead
from planner_kit.pitch.receivers import receivers_of
from planner_kit.pitch.report import PitchReport
from planner_kit.pitch.signals import signal_checks, signal_table
from planner_kit.pitch.site_rules import SiteOffer, check_toilet_fluid, site_offer
from planner_kit.pitch.water import Amount, cassette_fillings, check_cassette, check_water
from planner_kit.reference import constant
from planner_kit.rules.cautions import cautions_for
from planner_kit.states import Check, State
from planner_kit.trip.money import CostLine
from planner_kit.trip.prices import price_of

if TYPE_CHECKING:
    import datetime as dt

    from planner_kit.region import Region
    from planner_kit.trip.money import CostKind
    from planner_kit.trip.reading import TripInputs
    from planner_kit.trip.trip import Stay

TO_BRING_COLUMNS = ("what", "how_much", "why", "cost_likely", "source")


def plan_pitch(
    inputs: TripInputs,
    region: Region,
    site: pd.Series,
    arrive: dt.date,
    leave: dt.date,
    *,
    masts: pd.DataFrame,
    prices: pd.DataFrame,
    stay: Stay,
) -> PitchReport:
    """Signals and utilities of one stay.

    Parameters
    ----------
    inputs : TripInputs
    region : Region
        Only its `terrain` is read; it may be None.
    site : Series
        A row of the site list, named by its site_id.
    arrive, leave : date
    masts : DataFrame
        As `planner_kit.pitch.masts.read_masts` returns it.
    prices : DataFrame
        As `planner_kit.trip.prices.read_prices` returns it.
    stay : Stay

    Returns
    -------
    report : PitchReport
    """
    household, offer = inputs.household, site_offer(site)
    caravan = household.caravan
    nights = (leave - arrive).days
    people = len(inputs.trip.party) or len(household.people)
    powered = stay.hookup and offer.hookup_a != 0
    burnt = _gas_of(offer, stay, nights)
    receivers = receivers_of(household.phones, caravan)
    signals = signal_table(float(site["lat"]), float(site["lon"]), receivers, masts, region.terrain)
    checks = (
        *_power_checks(inputs, offer, stay, nights),
        check_water(caravan, offer, people, nights),
        check_cassette(caravan, people),
        check_toilet_fluid(offer),
        check_gas(caravan, nights, arrive, hookup=_is_sure(offer, stay)),
        *signal_checks(signals, receivers),
        *_absent_checks(inputs),
    )
    costs, cost_gaps = _costs(
        inputs, offer, prices, nights, people, leave, burnt=burnt, powered=powered
    )
    unknowns = tuple(
        dict.fromkeys(
            [f"{c.subject}: {c.sentence}" for c in checks if c.state is State.UNKNOWN] + cost_gaps
        )
    )
    return PitchReport(
        site_id=str(site.name),
        signals=signals,
        checks=checks,
        to_bring=_to_bring(inputs, offer, nights, people, costs, burnt=burnt, powered=powered),
        cost_lines=costs,
        cautions=cautions_for("mains", "gas", "carbon_monoxide"),
        unknowns=unknowns,
    )


def _is_sure(offer: SiteOffer, stay: Stay) -> bool:
    """Whether the stay has mains for certain; where the site is silent, gas is brought for none."""
    return stay.hookup and offer.hookup_a is not None and offer.hookup_a > 0


def _gas_of(offer: SiteOffer, stay: Stay, nights: int) -> Amount:
    return gas_kg(nights, hookup=_is_sure(offer, stay))


def _gas_uses(burnt: Amount, nights: int) -> str:
    on_mains = gas_kg(nights, hookup=True)
    return "cooking" if burnt == on_mains else "cooking and the refrigerator"


def _power_checks(
    inputs: TripInputs, offer: SiteOffer, stay: Stay, nights: int
) -> tuple[Check, ...]:
    household = inputs.household
    if stay.hookup and offer.hookup_a != 0:
        return (
            check_hookup(offer, household.appliances),
            check_lead(household.caravan, offer),
        )
    battery = check_battery(household.caravan, household.appliances, nights)
    if stay.hookup:
        return (check_hookup(offer, household.appliances), battery)
    return (battery,)


def _absent_checks(inputs: TripInputs) -> tuple[Check, ...]:
    """What cannot be checked because the household file is silent."""
    if inputs.household.phones:
        return ()
    return (
        Check(
            "phones",
            State.UNKNOWN,
            "The household file names no phone and operator, so no mobile signal is looked at.",
        ),
    )


def _costs(
    inputs: TripInputs,
    offer: SiteOffer,
    prices: pd.DataFrame,
    nights: int,
    people: int,
    leave: dt.date,
    *,
    burnt: Amount,
    powered: bool,
) -> tuple[tuple[CostLine, ...], list[str]]:
    household = inputs.household
    caravan, currency = household.caravan, household.units.currency
    lines: list[CostLine] = []
    gaps: list[str] = []

    def add(kind: CostKind, what: str, item: str, amount: Amount | None, how: str) -> None:
        line = _line(kind, what, item, amount, how, prices, currency, leave)
        lines.append(line)
        if line.state == "unknown":
            gaps.append(f"cost of {what}: {line.source}")

    if caravan.gas_kind is None:
        why = "the household file does not say propane or butane"
        unknown = CostLine("gas", "gas", None, None, None, currency, "unknown", why, leave, "pitch")
        lines.append(unknown)
        gaps.append(f"cost of gas: {why}")
    else:
        what = f"gas, {burnt.likely:.1f} kg"
        add("gas", what, f"gas_kg_{caravan.gas_kind}", burnt, "estimate")
    if powered and offer.metered:
        kwh = electricity_kwh(household.appliances, nights)
        amount = None if kwh is None else Amount(kwh, kwh, kwh)
        add("electricity", "metered electricity", "kwh_site", amount, "appliances of the file")
    elif powered and offer.metered is None and offer.hookup_price is None:
        gaps.append("electricity: the site says neither a price for the hook-up nor a meter")
    fills = cassette_fillings(caravan, people, nights)
    fluid = None
    if fills is not None:
        dose = constant("water", "cassette_fluid")
        fluid = Amount(dose.low, dose.value, dose.high).times(fills)
    add("other", "toilet fluid", "cassette_fluid_l", fluid, "estimate")
    return tuple(lines), gaps


def _line(
    kind: CostKind,
    what: str,
    item: str,
    amount: Amount | None,
    how: str,
    prices: pd.DataFrame,
    currency: str,
    on: dt.date,
) -> CostLine:
    price = price_of(prices, item)
    if price is None or amount is None:
        why = f"no price '{item}' in the price list" if price is None else "the amount is not known"
        return CostLine(kind, what, None, None, None, currency, "unknown", why, on, "pitch")
    return CostLine(
        kind,
        what,
        round(amount.low * price.low, 2),
        round(amount.likely * price.likely, 2),
        round(amount.high * price.high, 2),
        price.currency,
        "expected",
        f"{how} times {price.source}",
        on,
        "pitch",
    )


def _to_bring(
    inputs: TripInputs,
    offer: SiteOffer,
    nights: int,
    people: int,
    costs: tuple[CostLine, ...],
    *,
    burnt: Amount,
    powered: bool,
) -> pd.DataFrame:
    caravan = inputs.household.caravan
    likely = {line.kind: line.likely for line in costs}
    rows: list[tuple[str, str, str, float | None, str]] = [
        (
            f"gas ({caravan.gas_kind or 'kind not known'})",
            f"{burnt.likely:.1f} kg, up to {burnt.high:.1f} kg",
            f"{_gas_uses(burnt, nights)} for {nights} nights; not heating",
            likely.get("gas"),
            constant("gas", "cooker").source,
        )
    ]
    fills = cassette_fillings(caravan, people, nights)
    dose = constant("water", "cassette_fluid")
    amount = "amount not known" if fills is None else f"{fills * dose.value:.2f} L"
    rule = (offer.toilet_fluid or "").casefold()
    colour = "" if rule == "any" else "green "
    why = {
        "any": "the site takes any",
        "green only": "the site takes green only",
        "": "the site does not say; green is the careful choice",
    }.get(rule, f"the site's rule: {offer.toilet_fluid}")
    rows.append((f"{colour}toilet fluid", amount, why, likely.get("other"), dose.source))
    if powered:
        lead = constant("hookup_lead", "length")
        rows.append(
            (
                "hook-up lead",
                f"{lead.value:g} m",
                "post and inlet may be as far apart; uncoil it",
                None,
                lead.source,
            )
        )
    frame = pd.DataFrame(rows, columns=list(TO_BRING_COLUMNS))
    return frame.astype({"cost_likely": "float64"})
