"""All checks on an outfit in the order in which people should read them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner_kit.outfit.car_axles import car_axle_checks, car_load
from planner_kit.outfit.floor_picture import floor_picture
from planner_kit.outfit.licence import licence_checks, size_checks
from planner_kit.outfit.load_plan import load_plan
from planner_kit.outfit.loading import loading_plan, with_totals
from planner_kit.outfit.masses import masses_of
from planner_kit.outfit.matching import mass_checks, plate_faults
from planner_kit.outfit.noseweight import (
    Noseweight,
    estimated_noseweight,
    noseweight_checks,
    shifted_noseweight,
)
from planner_kit.outfit.odd_plates import odd_plates
from planner_kit.outfit.report import OutfitReport
from planner_kit.outfit.tyres import tyre_checks, tyre_speed_check
from planner_kit.reference import constant
from planner_kit.rules.cautions import cautions_for
from planner_kit.states import Check, State

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    import pandas as pd

    from planner_kit.outfit.load_plan import LoadPlan
    from planner_kit.outfit.report import Outfit
    from planner_kit.trip.household import Household

_UNKNOWN = "unknown"
_NO_COUNTRY = Check(
    "law where the country is not known",
    State.UNKNOWN,
    "Unknown: the map does not say in which country some of the way lies; find out whose law on "
    "licence, size, speed and equipment holds there.",
)


def check_outfit(
    household: Household,
    outfit: Outfit,
    *,
    items: pd.DataFrame | None = None,
    countries: Iterable[str],
    on: dt.date,
    party: Iterable[str] = (),
    measured_with: pd.DataFrame | None = None,
) -> OutfitReport:
    """The outfit against its plates, against the law of the countries, and its loading plan.

    Parameters
    ----------
    household : Household
    outfit : Outfit
        From `outfit_of`.
    items : DataFrame, optional
        The loading list from `read_items`.
    countries : iterable of str
        ISO 3166-1 alpha-2 codes of the countries driven in.
    on : date
        The first day of the trip.
    party : iterable of str
        Who comes along; empty for everybody.
    measured_with : DataFrame, optional
        The loading list as it was when the noseweight was measured; `items` if not given.

    Returns
    -------
    report : OutfitReport
        A check whose figures are not all given is unknown, never fine.
    """
    party = tuple(party)
    load = load_checks(
        household, outfit, items=items, on=on, party=party, measured_with=measured_with
    )
    loading = None
    if items is not None:
        loading = loading_plan(items, axle_span_m=constant("outfit", "over_axle").value)
    report = replace(
        load,
        checks=(*load.checks, *tyre_checks(household, on=on)),
        loading=loading,
        cautions=cautions_for("weights", "noseweight", "brakes", "tyres", "law"),
    )
    return with_law_of(report, household, countries=countries, on=on, party=party)


def with_law_of(
    report: OutfitReport,
    household: Household,
    *,
    countries: Iterable[str],
    on: dt.date,
    party: Iterable[str] = (),
) -> OutfitReport:
    """The report with the law of some countries in place of the law that it had.

    Parameters
    ----------
    report : OutfitReport
    household : Household
    countries : iterable of str
        ISO 3166-1 alpha-2 codes; one that no table holds gives checks that are unknown. None at
        all, or ``unknown`` among them, gives one unknown check on that.
    on : date
    party : iterable of str
        Who comes along; empty for everybody.

    Returns
    -------
    report : OutfitReport
    """
    visited = tuple(dict.fromkeys(countries))
    named = tuple(country for country in visited if country != _UNKNOWN)
    law = (
        tyre_speed_check(household, countries=visited or (_UNKNOWN,), on=on),
        *licence_checks(household, countries=named, on=on, party=party),
        *size_checks(household, report.outfit, countries=named, on=on),
        *([] if named and named == visited else [_NO_COUNTRY]),
    )
    return replace(report, checks=(*report.plates, *law), law=law)


def load_checks(
    household: Household,
    outfit: Outfit,
    *,
    items: pd.DataFrame | None,
    on: dt.date,
    party: Iterable[str] = (),
    band: tuple[float, float] | None = None,
    measured_with: pd.DataFrame | None = None,
    with_advice: bool = True,
) -> OutfitReport:
    """What the loading alone decides: masses, axles, noseweight, picture and advice.

    Parameters
    ----------
    household, outfit, items, on, party
        As in `check_outfit`.
    band : (float, float), optional
        Noseweight wanted, as shares of the laden caravan, for the advice. [1]
    measured_with : DataFrame, optional
        The loading list as it was when the noseweight was measured; `items` if not given.
    with_advice : bool
        Whether to look for moves and compare loadings, which takes longer than the figures.

    Returns
    -------
    report : OutfitReport
        Without the law, the tyres and the cautions; quick enough to follow a slider.
    """
    party = tuple(party)
    # The totals are asked for many times over; they are worked out once.
    items = None if items is None else with_totals(items)
    measured_with = None if measured_with is None else with_totals(measured_with)
    masses = masses_of(household, items=items, on=on, party=party)
    if masses.car_kg is not None:
        # The outfit knows who comes along.
        masses = replace(masses, car_kg=outfit.car_kg)
    caravan = household.caravan
    nose = estimated_noseweight(
        items,
        measured_kg=household.loading.noseweight_measured_kg,
        mass_in_running_order_kg=caravan.mass_in_running_order_kg,
        ball_to_axle_m=outfit.ball_to_axle_m,
    )
    if measured_with is not None and items is not None:
        nose = shifted_noseweight(nose, measured_with, items, ball_to_axle_m=outfit.ball_to_axle_m)
    elif nose.measured and household.loading.noseweight_measured_with is not None:
        gap = f"the list it was measured with ({household.loading.noseweight_measured_with})"
        nose = Noseweight(None, None, None, measured=False, missing=gap)
    axles = car_load(
        household,
        nose,
        items=items,
        on=on,
        ball_behind_rear_axle_m=outfit.ball_behind_rear_axle_m,
        party=party,
    )
    plan = floor = None
    if items is not None:
        plan = load_plan(
            household, outfit, items, masses, nose,
            on=on, party=party, band=band, with_advice=with_advice,
        )  # fmt: skip
        known = masses.caravan_kg is not None and nose.kg is not None
        axle_kg = masses.caravan_kg - nose.kg if known else None  # type: ignore[operator]
        floor = floor_picture(caravan, outfit, items, nose_kg=nose.kg, axle_kg=axle_kg)
    checks = [
        *plate_faults(household),
        *odd_plates(household),
        *_place_faults(plan),
        *mass_checks(household, masses, nose),
        *car_axle_checks(household, axles),
        *noseweight_checks(household, masses, nose),
    ]
    return OutfitReport(
        outfit=outfit,
        checks=tuple(checks),
        loading=None,
        cautions=(),
        masses=masses,
        noseweight=nose,
        plan=plan,
        floor=floor,
    )


def _place_faults(plan: LoadPlan | None) -> list[Check]:
    return [
        Check("places in the loading list", State.NOT_FINE, sentence, rule="the caravan's length")
        for sentence in (plan.outside if plan is not None else ())
    ]
