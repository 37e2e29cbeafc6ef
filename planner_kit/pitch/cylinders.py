"""Propane and butane: their heat, and the pressure that is left in the cold."""

from __future__ import annotations

import math
from typing import TYPE_CHECKING, Literal

from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from planner_kit.pitch.climate import StayClimate
    from planner_kit.trip.household import Caravan

Kind = Literal["propane", "butane"]
_ZERO_K = 273.15
_AIR_BAR = 1.01325


def vapour_pressure_bar(kind: Kind, temperature_c: float) -> float:
    """Absolute pressure over the liquid of a pure gas, in bar.

    Parameters
    ----------
    kind : str
        ``propane`` or ``butane`` (n-butane).
    temperature_c : float
        Of the liquid, between -45 and 50. [deg C]

    Notes
    -----
    Commercial gases are mixtures: commercial propane may hold propene and some butane, commercial
    butane some propane, so a cylinder may do a little better or worse.

    References
    ----------
    .. [1] Poling, Prausnitz, O'Connell, The Properties of Gases and Liquids, 5th edition, 2001,
       appendix A (Antoine constants).
    """
    a, b, c = (constant("gas", f"{kind}_antoine_{letter}").value for letter in "abc")
    return float(10 ** (a - b / (temperature_c + _ZERO_K + c)) / 1e5)


def coldest_c(kind: Kind) -> float:
    """Liquid temperature below which the pressure no longer works the regulator, in deg C."""
    a, b, c = (constant("gas", f"{kind}_antoine_{letter}").value for letter in "abc")
    needed_pa = (_AIR_BAR + constant("gas", "regulator_inlet").value) * 1e5
    return b / (a - math.log10(needed_pa)) - c - _ZERO_K


def kwh_per_kg(kind: Kind) -> float:
    """Heat of burning without that of the steam, in kWh/kg."""
    return constant("gas", f"{kind}_mj_per_kg").value / 3.6


def check_gas_in_cold(caravan: Caravan, climate: StayClimate) -> Check:
    """Whether the gas on board still turns to vapour in the coldest night.

    Returns
    -------
    check : Check
        Not fine when the coldest night leaves too little pressure; unknown without the kind of gas
        or the temperature, however warm the season.
    """
    subject = "gas in the cold"
    kind = caravan.gas_kind
    if kind is None or climate.low_c is None:
        gap = "propane or butane" if kind is None else "the coldest night"
        limit = (
            ""
            if kind is None
            else f"; below about {coldest_c(kind) + _below():.0f} °C outside {kind} gives no gas"
        )
        return Check(
            subject,
            State.UNKNOWN,
            f"Not known: {gap}{limit}.",
            unit="bar",
            source=constant("gas", "propane_antoine_a").source,
            basis="published",
        )
    liquid_c = climate.low_c - _below()
    over_air = vapour_pressure_bar(kind, liquid_c) - _AIR_BAR
    needed = constant("gas", "regulator_inlet").value
    margin = over_air - needed
    state = State.NOT_FINE if margin < 0 else State.LOOK if margin < needed else State.FINE
    gas, night = kind.capitalize(), f"in a night of {climate.low_c:g} °C"
    weak = "no gas" if over_air <= 0 else "less gas than a regulator needs"
    out = f"{gas} gives {weak} {night}: cooker, heating and refrigerator burn low or go out"
    words = {
        State.FINE: f"{gas} keeps {over_air:.1f} bar over the air {night}",
        State.LOOK: f"{gas} keeps only {over_air:.1f} bar over the air {night}: "
        + ("take propane if it may be colder" if kind == "butane" else "little is left for colder"),
        State.NOT_FINE: f"{out}; "
        + (
            "take propane (with the regulator and hose that the fitter and the handbook allow)"
            if kind == "butane"
            else "no cylinder of propane works there: stay where it is warmer or heat by mains"
        ),
    }[state]
    return Check(
        subject,
        state,
        f"{words}.",
        figure=over_air,
        limit=needed,
        unit="bar",
        margin=margin,
        rule=f"a regulator needs {needed:g} bar over the air",
        source=f"{constant('gas', 'regulator_inlet').source} (from memory); "
        f"{constant('gas', f'{kind}_antoine_a').source}",
        basis="from memory",
    )


def _below() -> float:
    return constant("gas", "cylinder_below_air").value
