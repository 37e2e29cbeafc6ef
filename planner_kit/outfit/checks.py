"""All checks on an outfit in the order in which people should read them."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from planner_kit.outfit.licence import licence_checks, size_checks
from planner_kit.outfit.loading import loading_plan
from planner_kit.outfit.masses import masses_of
from planner_kit.outfit.matching import mass_checks, plate_faults
from planner_kit.outfit.noseweight import estimated_noseweight, noseweight_checks
from planner_kit.outfit.report import OutfitReport
from planner_kit.outfit.tyres import tyre_checks
from planner_kit.reference import constant
from planner_kit.rules.cautions import cautions_for

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    import pandas as pd

    from planner_kit.outfit.report import Outfit
    from planner_kit.trip.household import Household


def check_outfit(
    household: Household,
    outfit: Outfit,
    *,
    items: pd.DataFrame | None = None,
    countries: Iterable[str],
    on: dt.date,
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

    Returns
    -------
    report : OutfitReport
        A check whose figures are not all given is unknown, never fine.
    """
    visited = tuple(dict.fromkeys(countries))
    masses = masses_of(household, items=items, on=on)
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
    checks = [
        *plate_faults(household),
        *mass_checks(household, masses, nose),
        *noseweight_checks(household, masses, nose),
        *tyre_checks(household, on=on),
        *licence_checks(household, countries=visited, on=on),
        *size_checks(household, outfit, countries=visited, on=on),
    ]
    loading = None
    if items is not None:
        loading = loading_plan(items, axle_span_m=constant("outfit", "over_axle").value)
    return OutfitReport(
        outfit=outfit,
        checks=tuple(checks),
        loading=loading,
        cautions=cautions_for("weights", "noseweight", "brakes", "tyres", "law"),
    )
