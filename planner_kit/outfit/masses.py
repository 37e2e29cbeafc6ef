"""What car and caravan weigh on this trip, and what the sum rests on."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from planner_kit.outfit.loading import load_kg, unweighed, with_totals
from planner_kit.reference import constant

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    import pandas as pd

    from planner_kit.trip.household import Household, Person

# Below these ages a person counts as an infant and as a child in the sums of mass.
_INFANT_BELOW, _CHILD_BELOW = 2, 12


@dataclass(frozen=True)
class Masses:
    """Laden masses; None where a figure that decides them is missing.

    Attributes
    ----------
    car_kg : float or None
        Kerb mass, people, dogs and what is in and on the car; without the noseweight. [kg]
    car_missing : str
        What is missing for `car_kg`.
    people_kg : float
        People and dogs, by usual masses. [kg]
    car_load_kg, caravan_load_kg, roof_load_kg : float or None
        What is loaded. [kg]
    caravan_kg : float or None
        Mass in running order and what is loaded. [kg]
    caravan_missing : str
        What is missing for `caravan_kg`.
    has_roof_load : bool
        Whether the loading list has anything on the car's roof.
    """

    car_kg: float | None
    car_missing: str
    people_kg: float
    car_load_kg: float | None
    roof_load_kg: float | None
    caravan_kg: float | None
    caravan_load_kg: float | None
    caravan_missing: str
    has_roof_load: bool


def person_kg(person: Person, *, on: dt.date) -> float:
    """The mass that a person is taken to have; an unknown age counts as a grown person. [kg]."""
    age = person.age_on(on)
    if age is None or age >= _CHILD_BELOW:
        return constant("outfit", "adult_mass").value
    if age < _INFANT_BELOW:
        return constant("outfit", "infant_mass").value
    return constant("outfit", "child_mass").value


def people_kg(household: Household, *, on: dt.date, party: Iterable[str] = ()) -> float:
    """People and dogs of a trip, by usual masses; an empty party means everybody. [kg]."""
    names = set(party)
    people = [p for p in household.people if not names or p.name in names]
    dogs = len(household.dogs) * constant("outfit", "dog_mass").value
    return sum(person_kg(person, on=on) for person in people) + dogs


def counted_driver_kg(household: Household) -> float:
    """The driver's mass that the kerb mass already holds: 75 or 0. [kg].

    References
    ----------
    .. [1] Regulation (EU) No 1230/2012, Article 2 (4) (a): the mass in running order of a motor
       vehicle holds the driver, legislation.gov.uk/eur/2012/1230/article/2. The British kerbside
       weight holds nobody: app.croneri.co.uk, vehicle weight definitions. Both read 2026-11-25.
    """
    return constant("outfit", "adult_mass").value if household.car.kerb_includes_driver else 0.0


def masses_of(
    household: Household,
    *,
    items: pd.DataFrame | None = None,
    on: dt.date,
    party: Iterable[str] = (),
) -> Masses:
    """The laden masses of car and caravan.

    Parameters
    ----------
    household : Household
        Its ``loading.car_load_kg`` and ``caravan_load_kg`` (from a weighbridge: all that is loaded
        beyond the empty vehicle, without people) go before the loading list.
    items : DataFrame, optional
        The loading list.
    on : date
    party : iterable of str
        Names of those who come along; empty for everybody.

    Returns
    -------
    masses : Masses

    Notes
    -----
    A kerb mass may or may not hold a driver of 75 kg (``kerb_includes_driver``). Where that is not
    said, it is taken not to, so that the sum is rather too high than too low.
    """
    car, caravan, loading = household.car, household.caravan, household.loading
    aboard = people_kg(household, on=on, party=party)
    people = max(aboard - counted_driver_kg(household), 0.0)
    car_load, car_gap = _load(loading.car_load_kg, items, "car", "roof")
    van_load, van_gap = _load(loading.caravan_load_kg, items, "caravan")
    car_missing = _both("the car's kerb mass" if car.kerb_kg is None else "", car_gap)
    running = caravan.mass_in_running_order_kg
    van_missing = _both("the caravan's mass in running order" if running is None else "", van_gap)
    return Masses(
        car_kg=None if car.kerb_kg is None or car_load is None else car.kerb_kg + people + car_load,
        car_missing=car_missing,
        people_kg=aboard,
        car_load_kg=car_load,
        roof_load_kg=None if items is None else load_kg(items, "roof"),
        caravan_kg=None if running is None or van_load is None else running + van_load,
        caravan_load_kg=van_load,
        caravan_missing=van_missing,
        has_roof_load=items is not None and bool((with_totals(items)["vehicle"] == "roof").any()),
    )


def _load(
    weighed_kg: float | None, items: pd.DataFrame | None, *vehicles: str
) -> tuple[float | None, str]:
    """What is loaded, and what is missing to know it."""
    if weighed_kg is not None:
        return weighed_kg, ""
    if items is None or items.empty:
        return None, f"what is loaded in the {vehicles[0]}"
    total = load_kg(items, *vehicles)
    if total is None:
        names = unweighed(items, *vehicles)
        more = f" and {len(names) - 3} more" if len(names) > 3 else ""
        return None, "the mass of " + ", ".join(names[:3]) + more
    return total, ""


def _both(*parts: str) -> str:
    return " and ".join(part for part in parts if part)
