"""The whole trip's money: what each stage found, put together with its range."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.costs.ranges import sum_range
from planner_kit.costs.report import TripCost
from planner_kit.costs.yearly import yearly_shares
from planner_kit.reference import constant
from planner_kit.states import Check, State
from planner_kit.trip.money import CostLine, cost_frame

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from planner_kit.costs.rates import ExchangeRate
    from planner_kit.trip.reading import TripInputs

SHARE_FRAC = 0.8
# Each kind is a triangle between the sums of its low, likely and high figures.
RANGE_METHOD = (
    "Eight totals in ten should lie between low and high. Prices of one kind, such as fuel, are "
    "taken to rise and fall together, and the kinds not to depend on each other. The likely total "
    "is the plain sum of the likely figures, and low and high are widened where needed to hold it."
)


def cost_trip(
    inputs: TripInputs,
    lines: Iterable[CostLine],
    *,
    planned_on: dt.date,
    rates: Mapping[str, ExchangeRate] | None = None,
) -> TripCost:
    """The lines of all stages, with food, in the trip's currency, and their total with its range.

    Parameters
    ----------
    inputs : TripInputs
    lines : iterable of CostLine
        What the stages found.
    planned_on : date
        The day of planning: what should have been paid before it and was not is pointed out.
    rates : mapping of str to ExchangeRate, optional
        For lines in other currencies, by ISO 4217 code; a line with no rate becomes unknown.

    Returns
    -------
    cost : TripCost
        Unknown lines are listed with no amount and are in no sum.
    """
    trip = inputs.trip
    currency = trip_currency(inputs)
    frame = cost_frame(trip_lines(inputs, lines, rates=rates))
    low, likely, high = total_range(frame)
    people = len(trip.party) or len(inputs.household.people)
    checks = [
        *_check_unknown(frame, currency),
        *_check_overdue(frame, currency, planned_on),
        *_check_budget(trip.budget.total, frame, (low, likely, high), currency),
    ]
    return TripCost(
        lines=frame,
        currency=currency,
        low=low,
        likely=likely,
        high=high,
        range_method=RANGE_METHOD,
        per_night=likely / trip.nights,
        per_person=likely / people,
        by_month=by_month(frame),
        checks=tuple(checks),
    )


def trip_currency(inputs: TripInputs) -> str:
    """The currency that a trip is reckoned in: the budget's, else the household's."""
    return inputs.trip.budget.currency or inputs.household.units.currency


def trip_lines(
    inputs: TripInputs,
    lines: Iterable[CostLine],
    *,
    rates: Mapping[str, ExchangeRate] | None = None,
) -> list[CostLine]:
    """The lines of the stages with food and yearly shares, all in the trip's currency."""
    currency = trip_currency(inputs)
    own = [_in_currency(line, currency, rates or {}) for line in lines]
    own.extend(food_lines(inputs, currency))
    own.extend(_in_currency(line, currency, rates or {}) for line in yearly_shares(inputs))
    return own


def total_range(lines: pd.DataFrame) -> tuple[float, float, float]:
    """Low, likely and high of the total of cost lines; see `RANGE_METHOD`.

    Parameters
    ----------
    lines : DataFrame
        See `planner_kit.trip.money.cost_frame`; lines without an amount are left out.

    Returns
    -------
    low, likely, high : float
        With low <= likely <= high. [currency of the lines]
    """
    amounts = lines[["low", "likely", "high"]].to_numpy(float)
    known = ~np.isnan(amounts[:, 1])
    if not known.any():
        return 0.0, 0.0, 0.0
    amounts = np.where(np.isnan(amounts), amounts[:, [1]], amounts)[known]
    _, kind = np.unique(lines["kind"].to_numpy(str)[known], return_inverse=True)
    low, likely, high = (np.bincount(kind, amounts[:, column]) for column in range(3))
    found = sum_range(low, likely, high, share_frac=SHARE_FRAC)
    total = round(float(amounts[:, 1].sum()), 6)
    return min(found.low, total), total, max(found.high, total)


def by_month(lines: pd.DataFrame) -> pd.DataFrame:
    """When the money goes out.

    Returns
    -------
    by_month : DataFrame
        month (``2027-07``, or ``no date``), amount, state; the amounts sum to the likely total.
    """
    known = lines.dropna(subset=["likely"])
    months = pd.DataFrame(
        {
            "month": ["no date" if pd.isna(day) else f"{day:%Y-%m}" for day in known["on"]],
            "amount": known["likely"].to_numpy(),
            "state": known["state"].to_numpy(),
        }
    )
    return months.groupby(["month", "state"]).sum().reset_index()[["month", "amount", "state"]]


def food_lines(inputs: TripInputs, currency: str) -> tuple[CostLine, ...]:
    """What the household eats, from what it set aside for each person and day.

    Arrival and departure days both count; the range is that of data/reference/food.csv. Without
    ``food_per_person_day`` the line is unknown.
    """
    trip = inputs.trip
    people, days = len(trip.party) or len(inputs.household.people), trip.nights + 1
    who = "1 person" if people == 1 else f"{people} people"
    what = f"food for {who} on {days} days"
    aside = trip.budget.food_per_person_day
    if aside is None:
        source = "trip file: budget > food_per_person_day is not given"
        return (
            CostLine("food", what, None, None, None, currency, "unknown", source, None, "costs"),
        )
    spread = constant("food", "spread")
    likely = round(aside * people * days, 2)
    source = f"trip file: {currency} {aside:,.2f} for each person and day"
    return (
        CostLine(
            "food", what, likely * spread.low, likely, likely * spread.high, currency, "expected",
            source, trip.start, "costs",
        ),
    )  # fmt: skip


def _in_currency(line: CostLine, currency: str, rates: Mapping[str, ExchangeRate]) -> CostLine:
    if line.likely is None:
        # An unknown amount has no currency of its own to keep.
        return replace(line, low=None, high=None, currency=currency, state="unknown")
    if line.currency == currency:
        return line
    if line.currency not in rates:
        said = f"{line.currency} {line.likely:.2f}; no rate to {currency} is given ({line.source})"
        return replace(
            line, low=None, likely=None, high=None, currency=currency, state="unknown", source=said
        )
    rate = rates[line.currency]

    def changed(amount: float | None) -> float | None:
        return None if amount is None else amount * rate.rate

    return replace(
        line,
        low=changed(line.low),
        likely=changed(line.likely),
        high=changed(line.high),
        currency=currency,
        source=f"{line.source}; {line.currency} at {rate.rate:g} ({rate.source})",
    )


def _check_unknown(lines: pd.DataFrame, currency: str) -> list[Check]:
    unknown = lines[lines["likely"].isna()]
    if unknown.empty:
        return []
    names = ", ".join(unknown["what"].iloc[:4]) + (", ..." if len(unknown) > 4 else "")
    words = f"{len(unknown)} prices are not known and are in no total: {names}."
    if len(unknown) == 1:
        words = f"One price is not known and is in no total: {names}."
    return [Check("unknown prices", State.UNKNOWN, words, float(len(unknown)), unit="prices")]


def _check_overdue(lines: pd.DataFrame, currency: str, planned_on: dt.date) -> list[Check]:
    open_lines = lines[(lines["state"] == "booked") & lines["likely"].notna()]
    late = [not pd.isna(day) and day < planned_on for day in open_lines["on"]]
    if not any(late):
        return []
    owed = open_lines[np.array(late)]
    total = float(owed["likely"].sum())
    words = (
        f"{currency} {total:,.2f} should have been paid before {planned_on}: "
        f"{', '.join(owed['what'])}."
    )
    return [Check("payments overdue", State.NOT_FINE, words, total, unit=currency)]


def _check_budget(
    budget: float | None,
    lines: pd.DataFrame,
    total: tuple[float, float, float],
    currency: str,
) -> list[Check]:
    if budget is None:
        return []
    low, likely, high = total
    unknown = int(lines["likely"].isna().sum())
    gone = "1 price is missing" if unknown == 1 else f"{unknown} prices are missing"
    figures = f"{currency} {likely:,.2f} ({currency} {low:,.0f} to {currency} {high:,.0f})"
    words = f"The trip comes to {figures} of a budget of {currency} {budget:,.2f}"
    if likely > budget:
        state, words = State.NOT_FINE, words + f": {currency} {likely - budget:,.2f} too much"
    elif high > budget:
        state, words = State.LOOK, words + ": it may be passed"
    elif unknown:
        state, words = State.UNKNOWN, words + f", but {gone} from that"
    else:
        state = State.FINE
    if unknown and state in (State.NOT_FINE, State.LOOK):
        words += f", and {gone} from that"
    return [
        Check(
            "budget", state, words + ".", round(likely, 2), budget, currency,
            round(budget - likely, 2), "the household's budget for the trip", "trip file",
        )
    ]  # fmt: skip
