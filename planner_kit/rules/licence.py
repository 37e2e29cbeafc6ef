"""Which outfits a driving licence covers in a country on a day.

Rows of ``data/reference/towing_licences.csv``; each row is one way in which a category covers an
outfit, and any one of them is enough. Masses are those authorised on the plates, not those on the
scales.
"""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

from planner_kit.reference import read_table

if TYPE_CHECKING:
    import datetime as dt


class LicenceAnswer(NamedTuple):
    """Whether a licence covers an outfit.

    Attributes
    ----------
    covers : bool or None
        None when the law or a mass that decides it is not known.
    why : str
        The rule that covers it, or what is missing or too heavy, without a full stop.
    source, basis : str
    """

    covers: bool | None
    why: str
    source: str
    basis: str


def licence_covers(
    country: str,
    category: str,
    *,
    car_gross_kg: float | None,
    caravan_plate_kg: float | None,
    on: dt.date,
) -> LicenceAnswer:
    """Whether a licence category covers a car with a caravan.

    Parameters
    ----------
    country : str
        ISO 3166-1 alpha-2 code of the country driven in.
    category : str
        ``B``, ``B96``, ``BE`` or ``C1E``.
    car_gross_kg, caravan_plate_kg : float or None
        Authorised masses from the plates. [kg]
    on : date

    Returns
    -------
    answer : LicenceAnswer
    """
    table = read_table("towing_licences")
    day = on.isoformat()
    hit = table[
        (table["country"] == country)
        & (table["category"] == category)
        & ((table["since"] == "") | (table["since"] <= day))
        & ((table["until"] == "") | (table["until"] >= day))
    ]
    if hit.empty:
        why = f"no rule for category {category} in {country} is held"
        return LicenceAnswer(None, why, "", "unknown")
    train_kg = (
        car_gross_kg + caravan_plate_kg
        if car_gross_kg is not None and caravan_plate_kg is not None
        else None
    )
    masses = {"car": car_gross_kg, "trailer": caravan_plate_kg, "train": train_kg}
    missing: list[str] = []
    for _, row in hit.iterrows():
        bounds = {name: float(cell) for name in masses if (cell := row[f"{name}_upto_kg"])}
        lacking = [name for name in bounds if masses[name] is None]
        over = [
            name for name in bounds if (mass := masses[name]) is not None and mass > bounds[name]
        ]
        if over:
            continue
        if lacking:
            missing += lacking
            continue
        words = ", ".join(f"{_WORDS[name]} up to {bound:,.0f} kg" for name, bound in bounds.items())
        return LicenceAnswer(True, words, row["source"], row["basis"])
    first = hit.iloc[0]
    if missing:
        words = " and ".join(_PLATES[name] for name in dict.fromkeys(missing))
        return LicenceAnswer(None, f"{words} is missing", first["source"], first["basis"])
    most = "; or ".join(
        ", ".join(
            f"{_WORDS[name]} up to {float(row[f'{name}_upto_kg']):,.0f} kg"
            for name in masses
            if row[f"{name}_upto_kg"]
        )
        for _, row in hit.iterrows()
    )
    return LicenceAnswer(
        False, f"category {category} covers only {most}", first["source"], first["basis"]
    )


_WORDS = {"car": "a car", "trailer": "a caravan", "train": "both plates together"}
_PLATES = {
    "car": "the car's gross mass",
    "trailer": "the caravan's MTPLM",
    "train": "the car's gross mass or the caravan's MTPLM",
}
