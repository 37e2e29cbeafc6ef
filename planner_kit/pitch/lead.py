"""The hook-up lead: thick enough, long enough, the volts it loses and the heat it makes."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from planner_kit.reference import constant, read_table
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from planner_kit.pitch.site_rules import SiteOffer
    from planner_kit.trip.household import Caravan

MOST_LAYERS = 4
_UNCOIL = "lay it out uncoiled, whatever its length"


def _cable(area_mm2: float) -> tuple[float, float] | None:
    """Rating [A] and drop [mV/A/m] of the thickest tabled conductor that is not above the area."""
    table = read_table("lead_cables")
    areas = table["area_mm2"].to_numpy(dtype=np.float64)
    fits = np.flatnonzero(areas <= area_mm2 + 1e-9)
    if not len(fits):
        return None
    row = table.iloc[int(fits[-1])]
    return float(row["rated_a"]), float(row["drop_mv_per_a_m"])


def _factor(kind: str, at: float) -> float:
    """A rating factor between the rows of its kind; beyond the last row, none is left (0)."""
    table = read_table("lead_factors")
    rows = table[table["kind"] == kind]
    x, y = rows["at"].to_numpy(dtype=np.float64), rows["factor"].to_numpy(dtype=np.float64)
    return float(np.interp(at, x, y, right=0.0))


def lead_rating_a(
    area_mm2: float, *, coiled_layers: int = 0, ambient_c: float = 30.0
) -> float | None:
    """Current that a flexible lead may carry without end; None if it is thinner than any tabled.

    Parameters
    ----------
    area_mm2 : float
        Conductor area; between two sizes of the table the thinner counts. [mm2]
    coiled_layers : int
        Layers of cable on a drum or in a heap, 0 when it is laid out.
    ambient_c : float
        Air around it; up to 30 deg C nothing is taken off, above 55 deg C nothing is left. [deg C]

    Returns
    -------
    rating_a : float or None
        [A]

    References
    ----------
    .. [1] BS 7671, table 4F3A and the notes on reeling drums; see ``lead_cables.csv`` and
       ``lead_factors.csv`` for the copies read.
    """
    cable = _cable(area_mm2)
    if cable is None:
        return None
    layers = min(max(coiled_layers, 0), MOST_LAYERS)
    return cable[0] * _factor("coil_layers", layers) * _factor("ambient_c", ambient_c)


def volt_drop_v(area_mm2: float, length_m: float, amperes: float) -> float | None:
    """Volts lost along a lead and back; None if it is thinner than any tabled, in V.

    References
    ----------
    .. [1] BS 7671, table 4F3B: millivolts for each ampere and metre of lead, conductors at
       60 deg C.
    """
    cable = _cable(area_mm2)
    return None if cable is None else cable[1] * amperes * length_m / 1000


def lead_heat_w_per_m(area_mm2: float, amperes: float) -> float | None:
    """Heat that each metre of a lead gives off, in W/m; None if it is thinner than any tabled."""
    drop = volt_drop_v(area_mm2, 1.0, amperes)
    return None if drop is None else drop * amperes


def check_lead(caravan: Caravan, offer: SiteOffer) -> Check:
    """Whether the hook-up lead is thick enough for the supply, and as long as the rules have it.

    References
    ----------
    .. [1] BS 7671, section 708 (25 m, plus or minus 2 m) and table 721 (2.5 mm2 for 16 A).
    """
    subject = "hook-up lead"
    length = constant("hookup_lead", "length")
    area_needed = _area_needed_mm2(offer.hookup_a)
    source = f"{length.source}; {constant('hookup_lead', 'area_16_a').source}"
    area, metres = caravan.hookup_lead_mm2, caravan.hookup_lead_m
    # Even where the supply is not known, no lead may be thinner than the smallest one.
    least = float(constant("hookup_lead", "area_16_a")) if area_needed is None else area_needed
    if area is not None and area < least:
        return Check(
            subject,
            State.NOT_FINE,
            f"The lead has conductors of {area:g} mm² and {least:g} mm² is the least for this "
            "supply: too thin a lead gets hot; use a thicker one.",
            figure=area,
            limit=least,
            unit="mm2",
            margin=area - least,
            source=source,
            basis="published",
        )
    if area is None or metres is None or area_needed is None:
        gaps = [
            words
            for gap, words in (
                (metres is None, "its length"),
                (area is None, "its conductor area"),
                (area_needed is None, "the amperes of the supply, or a lead for so many"),
            )
            if gap
        ]
        return Check(
            subject,
            State.UNKNOWN,
            f"Not known: {', '.join(gaps)}; read it off the sheath, and {_UNCOIL}.",
            figure=metres,
            limit=length.value,
            unit="m",
            source=source,
        )
    if metres < length.low:
        state, words = State.LOOK, f"{metres:g} m may not reach the post: pitches allow for 25 m"
    elif metres > length.high:
        state, words = State.LOOK, f"{metres:g} m is longer than the 25 m that pitches are made for"
    else:
        state, words = State.FINE, f"{metres:g} m of {area:g} mm² is what pitches are made for"
    return Check(
        subject,
        state,
        f"{words}; {_UNCOIL}.",
        figure=metres,
        limit=length.value,
        unit="m",
        margin=metres - length.low,
        source=source,
        basis="published",
    )


def check_volt_drop(
    area_mm2: float | None, length_m: float | None, amperes: float | None, volts: float
) -> Check:
    """Whether the appliances at the end of the lead still get enough volts.

    Parameters
    ----------
    area_mm2, length_m : float or None
        Of the lead. [mm2], [m]
    amperes : float or None
        The most that is drawn. [A]
    volts : float
        Of the supply. [V]
    """
    subject = "volts lost in the lead"
    limit = constant("hookup", "volt_drop_limit")
    source = str(read_table("lead_cables")["source"].iloc[0])
    lost = (
        None
        if area_mm2 is None or length_m is None or amperes is None
        else volt_drop_v(area_mm2, length_m, amperes)
    )
    if lost is None:
        return Check(
            subject,
            State.UNKNOWN,
            "Not known: the lead's length and conductor area, or what is drawn through it.",
            limit=limit.value,
            unit="%",
            source=source,
        )
    share = 100 * lost / volts
    fine = share <= limit.value
    return Check(
        subject,
        State.FINE if fine else State.LOOK,
        f"At {amperes:.1f} A the lead loses {lost:.1f} V of {volts:.0f} V ({share:.1f} %)"
        + (
            "."
            if fine
            else f", more than {limit.value:g} %: kettles are slow, motors run hot and a fault "
            "may not trip the breaker in time; use a shorter or thicker lead."
        ),
        figure=share,
        limit=limit.value,
        unit="%",
        margin=limit.value - share,
        rule=f"BS 7671, appendix 4: no more than {limit.value:g} % lost",
        source=f"{source}; {limit.source}",
        basis="published",
    )


def check_coiled(
    area_mm2: float | None, amperes: float | None, *, coiled_layers: int, ambient_c: float = 30.0
) -> Check:
    """Whether the lead stays cool with what is drawn, laid out or coiled.

    Parameters
    ----------
    area_mm2 : float or None
        [mm2]
    amperes : float or None
        What is drawn through it. [A]
    coiled_layers : int
        0 when it is laid out.
    ambient_c : float
        [deg C]
    """
    how = "laid out" if coiled_layers == 0 else f"left coiled in {coiled_layers} layers"
    subject = f"heat in the lead, {how}"
    source = str(read_table("lead_factors")["source"].iloc[-1 if coiled_layers == 0 else 0])
    rating = (
        None
        if area_mm2 is None
        else lead_rating_a(area_mm2, coiled_layers=coiled_layers, ambient_c=ambient_c)
    )
    if rating is None or amperes is None:
        return Check(
            subject,
            State.UNKNOWN,
            "Not known: the lead's conductor area, or what is drawn through it.",
            unit="A",
            source=source,
        )
    fine = amperes <= rating
    words = (
        f"{how.capitalize()} it may carry {rating:.1f} A and {amperes:.1f} A would be drawn"
        if fine
        else f"{how.capitalize()} it may carry only {rating:.1f} A and {amperes:.1f} A would be "
        "drawn: the insulation can melt and catch fire; unroll all of it"
    )
    return Check(
        subject,
        State.FINE if fine else State.NOT_FINE,
        f"{words}.",
        figure=amperes,
        limit=rating,
        unit="A",
        margin=rating - amperes,
        source=source,
        basis="published",
    )


def _area_needed_mm2(amperes: float | None) -> float | None:
    if amperes is None:
        return None
    for rated in (16, 25, 32):
        if amperes <= rated:
            return float(constant("hookup_lead", f"area_{rated}_a"))
    return None
