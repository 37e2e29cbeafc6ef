"""The line of cost of what a site's meter counts, with its range and where it comes from."""

from __future__ import annotations

import datetime as dt
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd

from planner_kit.sites.amounts import UNKNOWN, from_smallest
from planner_kit.sites.nightly import metered_charge, rules_for_stay
from planner_kit.sites.tariff_rules import NightCalendar, no_rules
from planner_kit.trip.money import CostLine

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.pitch import ElectricityNeed, MainsUse
    from planner_kit.pitch.water import Amount
    from planner_kit.sites.tariff_rules import TariffRules
    from planner_kit.trip.household import Household
    from planner_kit.trip.trip import Stay


def metered_line(
    site: pd.Series,
    rules: TariffRules | None,
    household: Household,
    arrive: dt.date,
    nights: int,
    use: MainsUse,
) -> CostLine | None:
    """The line of cost of a stay's metered electricity; None where no meter counts it.

    Parameters
    ----------
    site : Series
        A row of `planner_kit.sites.read_sites`, its name the site id.
    rules : TariffRules or None
    household : Household
        For its memberships.
    arrive : date
    nights : int
    use : MainsUse
        As `planner_kit.pitch.mains_use` returns it.

    Returns
    -------
    line : CostLine or None
        Paid on leaving, on top of whatever is booked. The range is that of the kilowatt-hours
        (insulation, warmth inside, hot water) times that of their price; an amount that is not
        known as a whole is unknown, and the source says what is missing.
    """
    if site["hookup_a"] == 0:
        return None
    listed, site_id = rules or no_rules(), str(site.name)
    own = rules_for_stay(listed.of_site(site_id), nights, household)
    calendar, one = NightCalendar(arrive, nights, listed), np.ones(1, dtype=np.int64)
    found = [
        metered_charge(dict(site.items()), own, calendar, use.at(site_id), use.price, one, level)
        for level in ("low", "likely", "high")
    ]
    if any(charge is None for charge in found):
        return None
    low, likely, high = (charge for charge in found if charge is not None)
    currency, leave = str(site["currency"]), arrive + dt.timedelta(days=nights)
    what = f"metered electricity at {site['name']}"
    said = [likely.words[label] for label in dict.fromkeys(likely.label.tolist())]
    if (likely.unit == UNKNOWN).any():
        why = "; ".join(dict.fromkeys(words for words, _ in said))
        return CostLine(
            "electricity", what, None, None, None, currency, "unknown", why, leave, "sites"
        )
    amounts = [
        float(from_smallest(int(charge.unit.sum()), currency)) for charge in (low, likely, high)
    ]
    sources = dict.fromkeys(source or _list_source(site) for _, source in said)
    need = use.at(site_id)
    kwh = "" if need.total is None else f", {need.total.likely * nights:.0f} kWh"
    return CostLine(
        "electricity", f"{what}{kwh}", amounts[0], amounts[1], amounts[2], currency, "expected",
        f"{_uses(need, nights)}, times {_rates(site, own, use)} a kWh ({'; '.join(sources)})",
        leave, "sites",
    )  # fmt: skip


def stay_meter(
    stay: Stay,
    site: pd.Series,
    rules: TariffRules | None,
    household: Household,
    arrive: dt.date,
    use: MainsUse,
) -> tuple[CostLine, ...]:
    """`metered_line` of a stay of a trip; none where it is called off or wants no hook-up."""
    if stay.booking.state == "called off" or not stay.hookup:
        return ()
    line = metered_line(site, rules, household, arrive, stay.nights, use)
    return () if line is None else (line,)


def _uses(need: ElectricityNeed, nights: int) -> str:
    """What the electricity of some nights goes into, each with its range where it is wide."""
    uses = need.uses.items()
    return ", ".join(f"{name} {_kwh_range(use.times(nights))} kWh" for name, use in uses)


def _kwh_range(kwh: Amount) -> str:
    """The likely figure, and from where to where where that is wide."""
    if round(kwh.low) == round(kwh.high):
        return f"{kwh.likely:.0f}"
    return f"{kwh.likely:.0f} ({kwh.low:.0f} to {kwh.high:.0f})"


def _rates(site: pd.Series, rules: Sequence[dict[str, Any]], use: MainsUse) -> str:
    """What a kilowatt-hour costs: "0.45 GBP", "0.35 to 0.60 GBP"."""
    amounts = {float(rule["amount"]) for rule in rules if rule["rule"] == "kwh"}
    if not amounts and not pd.isna(site["kwh_price"]):
        amounts = {float(site["kwh_price"])}
    elif not amounts and use.price is not None:
        amounts = {use.price.low, use.price.high}
    told = [f"{amount:.2f}" for amount in sorted(amounts)]
    return f"{' to '.join(dict.fromkeys([told[0], told[-1]]))} {site['currency']}"


def _list_source(site: pd.Series) -> str:
    as_of = site["as_of"]
    read = "" if pd.isna(as_of) else f" on {as_of:%Y-%m-%d}"
    return f"the site's price: {site['source'] or 'no source given'}{read}"
