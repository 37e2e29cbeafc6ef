"""What may run at once on the pitch's hook-up, and whether the lead is fit for it."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.reference import constant
from planner_kit.states import Check, State

if TYPE_CHECKING:
    from collections.abc import Sequence

    from planner_kit.pitch.site_rules import SiteOffer
    from planner_kit.trip.household import Appliance

CHARGER = "charger for the 12 V appliances"
LOAD_COLUMNS = ("name", "watts", "kwh_per_day", "needed", "always_on", *range(24))
_CAUTION = "the breaker of the pitch and the caravan's own handbook decide"


def mains_loads(appliances: Sequence[Appliance]) -> pd.DataFrame:
    """What each appliance draws from the 230 V supply in each hour of the day.

    Parameters
    ----------
    appliances : sequence of Appliance
        Those of 12 V are not counted themselves: the charger that feeds them is. It stands in the
        list by name, or is put in with the mean 12 V load over its efficiency.

    Returns
    -------
    loads : DataFrame
        name, watts [W], kwh_per_day [kWh], needed, always_on, and one column for each hour 0 to 23
        with the watts that may be drawn in it. An appliance without hours of its own may run in
        any hour.
    """
    plugged = [each for each in appliances if each.volts == 230]
    names = [each.name for each in plugged]
    watts = [float(each.watts) for each in plugged]
    kwh = [each.watts * each.hours_per_day / 1000 for each in plugged]
    needed = [each.needed for each in plugged]
    always = [each.hours_per_day >= 24 for each in plugged]
    runs = [[not each.when or hour in each.when for hour in range(24)] for each in plugged]
    low_wh = sum(a.watts * a.hours_per_day for a in appliances if a.volts == 12)
    if low_wh > 0 and not any("charger" in name.casefold() for name in names):
        mean_w = low_wh / 24 / float(constant("hookup", "charger_efficiency"))
        names.append(CHARGER)
        watts.append(mean_w)
        kwh.append(mean_w * 24 / 1000)
        needed.append(True)
        always.append(True)
        runs.append([True] * 24)
    hourly = np.where(np.array(runs, dtype=bool).reshape(-1, 24), np.array(watts)[:, None], 0.0)
    columns = (
        pd.array(names, dtype="str"), np.array(watts, dtype=float), np.array(kwh, dtype=float),
        np.array(needed, dtype=bool), np.array(always, dtype=bool), *hourly.T,
    )  # fmt: skip
    return pd.DataFrame(dict(zip(LOAD_COLUMNS, columns, strict=True)))


def supply_w(offer: SiteOffer) -> float | None:
    """What the pitch's supply gives; None when its rating is not known, in W."""
    if offer.hookup_a is None:
        return None
    volts = float(constant("hookup", "volts")) if offer.hookup_v is None else offer.hookup_v
    return offer.hookup_a * volts


def pairs_together(loads: pd.DataFrame, limit_w: float) -> pd.DataFrame:
    """Which two appliances may run at once, on top of whatever is always on.

    Parameters
    ----------
    loads : DataFrame
        As `mains_loads` returns it.
    limit_w : float
        [W]

    Returns
    -------
    pairs : DataFrame
        first, second, watts (with what is always on) [W], spare_w [W], together (bool); heaviest
        first.
    """
    base = float(loads.loc[loads["always_on"], "watts"].sum())
    others = loads[~loads["always_on"].astype(bool)]
    names, watts = others["name"].to_numpy(), others["watts"].to_numpy(dtype=np.float64)
    first, second = np.triu_indices(len(names), k=1)
    total = base + watts[first] + watts[second]
    frame = pd.DataFrame(
        {
            "first": names[first],
            "second": names[second],
            "watts": total,
            "spare_w": limit_w - total,
            "together": total <= limit_w,
        }
    )
    return frame.sort_values("watts", ascending=False, kind="stable", ignore_index=True)


def check_hookup(
    offer: SiteOffer, appliances: Sequence[Appliance], *, loads: pd.DataFrame | None = None
) -> Check:
    """Whether the household's appliances fit on the pitch's supply.

    Parameters
    ----------
    offer : SiteOffer
    appliances : sequence of Appliance
    loads : DataFrame, optional
        As `mains_loads` returns it, with what else draws; made from the appliances if left out.

    Returns
    -------
    check : Check
        Fine when everything may run at once; look at this when it fits only with care about what
        runs together; not fine when what is needed in some hour does not fit; unknown without the
        supply's amperes or a list of appliances. More amperes never make it worse.
    """
    subject = "hook-up load"
    loads = mains_loads(appliances) if loads is None else loads
    all_w = float(loads["watts"].sum())
    limit = supply_w(offer)
    if limit is None:
        return Check(
            subject,
            State.UNKNOWN,
            f"The site does not say how many amperes its hook-up gives; all together you would "
            f"draw {all_w:,.0f} W{_abroad_words(offer, loads)}.",
            figure=all_w,
            unit="W",
            source=offer.source,
        )
    if limit == 0:
        return Check(
            subject,
            State.NOT_FINE,
            "This site has no hook-up, and the trip asks for one.",
            figure=all_w,
            limit=0.0,
            unit="W",
            margin=-all_w,
            source=offer.source,
        )
    if loads.empty:
        return Check(
            subject,
            State.UNKNOWN,
            f"No appliance of 230 V is listed in the household file; the supply gives "
            f"{limit:,.0f} W.",
            limit=limit,
            unit="W",
            source=offer.source,
        )
    state, figure, sentence = _judged(loads, limit, all_w)
    return Check(
        subject,
        state,
        f"{sentence}; {_CAUTION}.",
        figure=figure,
        limit=limit,
        unit="W",
        margin=limit - figure,
        rule=f"{offer.hookup_a:g} A of the pitch times its volts",
        source=offer.source,
    )


def _abroad_words(offer: SiteOffer, loads: pd.DataFrame) -> str:
    """What to reckon with abroad, where posts are often weaker; empty at home."""
    if not offer.abroad or loads.empty:
        return ""
    usual = constant("hookup", "abroad_low_a")
    volts = float(constant("hookup", "volts"))
    told = "; posts abroad often give "
    parts = []
    for amperes in (usual.low, usual.high):
        clash = pairs_together(loads, amperes * volts)
        bad = clash[~clash["together"].astype(bool)]
        named = ", ".join(f"{a} with {b}" for a, b in zip(bad["first"], bad["second"], strict=True))
        parts.append(f"{amperes:g} A ({f'not together: {named}' if named else 'any two fit'})")
    return told + " or ".join(parts)


def _judged(loads: pd.DataFrame, limit: float, all_w: float) -> tuple[State, float, str]:
    hours = list(range(24))
    needed = loads[loads["needed"].astype(bool)]
    always = float(loads.loc[loads["always_on"] & loads["needed"].astype(bool), "watts"].sum())
    single = needed.loc[~needed["always_on"].astype(bool), ["name", "watts"]]
    if all_w <= limit:
        return State.FINE, all_w, f"Everything may run at once: {all_w:,.0f} W of {limit:,.0f} W"
    if always > limit:
        return (
            State.NOT_FINE,
            always,
            f"What is always on needs {always:,.0f} W and the supply gives {limit:,.0f} W",
        )
    heavy = single[single["watts"] + always > limit]
    if not heavy.empty:
        worst = heavy.sort_values("watts", ascending=False).iloc[0]
        return (
            State.NOT_FINE,
            float(worst["watts"]) + always,
            f"{worst['name']} ({worst['watts']:,.0f} W) does not fit beside what is always on: the "
            f"supply gives {limit:,.0f} W",
        )
    by_hour = loads[hours].sum(axis=0)
    peak_hour, peak = int(by_hour.to_numpy().argmax()), float(by_hour.max())
    if peak <= limit:
        return (
            State.LOOK,
            peak,
            f"It fits if each keeps to its hours: at most {peak:,.0f} W of {limit:,.0f} W, at "
            f"{peak_hour:02d}:00; all at once would be {all_w:,.0f} W",
        )
    clash = pairs_together(loads, limit)
    bad = clash[~clash["together"].astype(bool)]
    named = ", ".join(f"{a} with {b}" for a, b in zip(bad["first"], bad["second"], strict=True))
    words = f"not together: {named}" if named else "not all of them together, though any two fit"
    return (
        State.LOOK,
        peak,
        f"At {peak_hour:02d}:00 you could draw {peak:,.0f} W of the supply's {limit:,.0f} W: "
        f"{words}",
    )
