"""What to bring to a pitch, how much, why, and what of it is bought; and what it costs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

import pandas as pd

from planner_kit.pitch.cylinders import kwh_per_kg
from planner_kit.pitch.gas import cylinders_needed
from planner_kit.pitch.standing import block_height_m, track_width_m
from planner_kit.pitch.water import Amount, carrier_trips, fluid_l
from planner_kit.reference import constant
from planner_kit.trip.money import CostLine
from planner_kit.trip.prices import Price, price_of

if TYPE_CHECKING:
    import datetime as dt

    from planner_kit.pitch.climate import StayClimate
    from planner_kit.pitch.electricity import ElectricityNeed
    from planner_kit.pitch.gas import GasNeed
    from planner_kit.pitch.site_rules import SiteOffer
    from planner_kit.pitch.standing import Slope
    from planner_kit.trip.household import Household
    from planner_kit.trip.money import CostKind

TO_BRING_COLUMNS = ("what", "how_much", "why", "cost_likely", "source", "buy")


@dataclass(frozen=True)
class PitchNeeds:
    """What the shopping of a stay follows from.

    Attributes
    ----------
    household : Household
    offer : SiteOffer
    climate : StayClimate
    gas : GasNeed
    electricity : ElectricityNeed
    slope : Slope or None
    nights, people : int
    powered : bool
        Whether a hook-up is used.
    leave : date
        When what is used up is paid.
    """

    household: Household
    offer: SiteOffer
    climate: StayClimate
    gas: GasNeed
    electricity: ElectricityNeed
    slope: Slope | None
    nights: int
    people: int
    powered: bool
    leave: dt.date


def pitch_costs(
    needs: PitchNeeds, prices: pd.DataFrame
) -> tuple[tuple[CostLine, ...], tuple[str, ...]]:
    """The money for gas and toilet fluid, and what is not known of it.

    Parameters
    ----------
    needs : PitchNeeds
    prices : DataFrame
        As `planner_kit.trip.prices.read_prices` returns it.

    Returns
    -------
    lines : tuple of CostLine
        An amount without a price, or a price without an amount, is a line that is not known.
    gaps : tuple of str

    Notes
    -----
    What a meter counts is priced by the sites stage, which has the tariffs.
    """
    household, offer = needs.household, needs.offer
    kind = household.caravan.gas_kind
    lines = []
    if kind is None:
        why = "the household file does not say propane or butane"
        lines.append(_unknown(needs, "gas", "gas", why))
    else:
        burnt = needs.gas.total
        what = f"gas, {burnt.likely:.1f} kg for {needs.gas.words}"
        price = price_of(prices, f"gas_kg_{kind}")
        why = f"{burnt.low:.1f} to {burnt.high:.1f} kg ({needs.gas.why_so_wide})"
        lines.append(_line(needs, "gas", what, burnt, price, f"gas_kg_{kind}", why))
    if household.caravan.heating == "gas" and "heating" not in needs.gas.uses:
        gap = next(each for each in needs.gas.not_counted if each.startswith("heating"))
        why = gap.removeprefix("heating (").removesuffix(")")
        lines.append(_unknown(needs, "gas", f"gas for heating at {offer.name}", why))
    gaps = []
    if needs.powered and offer.metered:
        gaps += [f"metered electricity: not {each}" for each in needs.electricity.not_counted]
    elif needs.powered and offer.metered is None and offer.hookup_price is None:
        gaps.append("electricity: the site says neither a price for the hook-up nor a meter")
    fluid = fluid_l(household.caravan, needs.people, needs.nights)
    price = price_of(prices, "cassette_fluid_l")
    why = "estimate" if fluid is None else f"{fluid.low:.2f} to {fluid.high:.2f} L"
    lines.append(_line(needs, "other", "toilet fluid", fluid, price, "cassette_fluid_l", why))
    gaps += [f"cost of {line.what}: {line.source}" for line in lines if line.state == "unknown"]
    return tuple(lines), tuple(gaps)


def _line(
    needs: PitchNeeds,
    kind: CostKind,
    what: str,
    amount: Amount | None,
    price: Price | None,
    item: str,
    why: str = "estimate",
) -> CostLine:
    if price is None:
        return _unknown(needs, kind, what, f"no price '{item}' in the price list")
    if amount is None:
        return _unknown(needs, kind, what, "the amount is not known")
    return CostLine(
        kind,
        what,
        round(amount.low * price.low, 2),
        round(amount.likely * price.likely, 2),
        round(amount.high * price.high, 2),
        price.currency,
        "expected",
        f"{why} times {_price_words(price)}",
        needs.leave,
        "pitch",
    )


def _price_words(price: Price) -> str:
    each = f"{price.likely:.2f} {price.currency}"
    if price.low != price.high:
        each += f", {price.low:.2f} to {price.high:.2f}"
    return f"{each} ({price.source})"


def _unknown(needs: PitchNeeds, kind: CostKind, what: str, why: str) -> CostLine:
    currency = needs.household.units.currency
    return CostLine(kind, what, None, None, None, currency, "unknown", why, needs.leave, "pitch")


def to_bring(needs: PitchNeeds, lines: tuple[CostLine, ...]) -> pd.DataFrame:
    """One table of what to bring.

    Parameters
    ----------
    needs : PitchNeeds
    lines : tuple of CostLine
        As `pitch_costs` returns them.

    Returns
    -------
    table : DataFrame
        what, how_much, why, cost_likely (NaN if not known), source, buy (whether it is used up and
        bought for the stay).
    """
    # The first line of a kind is what is bought; one more says what of it is not known.
    likely = {line.kind: line.likely for line in reversed(lines)}
    rows = [_gas_row(needs, likely.get("gas")), _fluid_row(needs, likely.get("other"))]
    if needs.powered:
        rows += _power_rows(needs)
    rows += _water_rows(needs)
    rows.append(_ramps_row(needs))
    if needs.climate.frost:
        rows.append(
            (
                "for frost",
                "lagging for the hose and a bucket under the drain",
                f"nights down to {needs.climate.low_c:g} °C",
                None,
                constant("water", "frost").source,
                False,
            )
        )
    frame = pd.DataFrame(rows, columns=list(TO_BRING_COLUMNS))
    return frame.astype({"cost_likely": "float64", "buy": "bool"})


_Row = tuple[str, str, str, float | None, str, bool]


def _gas_row(needs: PitchNeeds, cost: float | None) -> _Row:
    caravan, total = needs.household.caravan, needs.gas.total
    kind = caravan.gas_kind or "kind not known"
    many = ""
    if caravan.gas_cylinder_kg is not None:
        full = cylinders_needed(total, caravan.gas_cylinder_kg)
        size = caravan.gas_cylinder_kg
        many = f": {full.likely:.0f} full of {size:g} kg"
        many += "" if full.high == full.likely else f", up to {full.high:.0f}"
    heat = f", {total.likely * kwh_per_kg(caravan.gas_kind or 'propane'):.0f} kWh of heat"
    left = "".join(f"; not {each.partition(' (')[0]}" for each in needs.gas.not_counted)
    return (
        f"gas ({kind})",
        f"{total.likely:.1f} kg, up to {total.high:.1f} kg{many}",
        f"{needs.gas.words} for {needs.nights} nights{heat}{left}",
        cost,
        constant("gas", "cooker").source,
        True,
    )


def _fluid_row(needs: PitchNeeds, cost: float | None) -> _Row:
    amount = fluid_l(needs.household.caravan, needs.people, needs.nights)
    rule = (needs.offer.toilet_fluid or "").casefold()
    colour = "" if rule == "any" else "green "
    why = {
        "any": "the site takes any",
        "green only": "the site takes green only",
        "": "the site does not say; green is the careful choice for a septic tank",
    }.get(rule, f"the site's rule: {needs.offer.toilet_fluid}")
    much = "amount not known" if amount is None else f"{amount.likely:.2f} L"
    source = constant("water", "cassette_fluid").source
    return (f"{colour}toilet fluid", much, why, cost, source, True)


def _power_rows(needs: PitchNeeds) -> list[_Row]:
    lead = constant("hookup_lead", "length")
    rows: list[_Row] = [
        (
            "hook-up lead",
            f"{lead.value:g} m of {constant('hookup_lead', 'area_16_a').value:g} mm²",
            "post and inlet may be as far apart; uncoil it",
            None,
            lead.source,
            False,
        ),
        (
            "polarity tester",
            "1",
            "shows crossed or missing wires at the post before you plug anything in",
            None,
            "common practice, no source",
            False,
        ),
    ]
    if needs.offer.abroad:
        rows.append(
            (
                "site adaptor",
                "1",
                "older posts abroad have two-pin sockets, often with crossed wires",
                None,
                "common practice, no source",
                False,
            )
        )
    return rows


def _water_rows(needs: PitchNeeds) -> list[_Row]:
    caravan = needs.household.caravan
    size = caravan.water_carrier_l or constant("water", "carrier").value
    trips = carrier_trips(caravan, needs.people, needs.nights)
    source = constant("water", "hygiene").source
    rows: list[_Row] = [
        (
            "water carrier",
            f"{size:g} L" + ("" if caravan.water_carrier_l else " or more"),
            f"about {trips} walks with it for all the water of the stay",
            None,
            source,
            False,
        )
    ]
    if not caravan.waste_water_l:
        rows.append(
            (
                "waste container",
                "1",
                "the household file names none",
                None,
                constant("water", "grey_share").source,
                False,
            )
        )
    return rows


def _ramps_row(needs: PitchNeeds) -> _Row:
    track = track_width_m(needs.household.caravan)
    much = "a pair, and a spirit level"
    why = "coarse terrain cannot tell that a pitch is level"
    if needs.slope is not None and track is not None:
        raise_cm = 100 * block_height_m(needs.slope.pct, track[0])
        much = f"for {raise_cm:.0f} cm, and a spirit level"
        why = f"the terrain falls about {needs.slope.pct:.1f} %; {why}"
    return ("levelling ramps", much, why, None, constant("standing", "track_share").source, False)
