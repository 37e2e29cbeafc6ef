"""Legal speed limits for a car alone and for a car that tows, where no sign says otherwise.

The rules are rows of ``data/reference/towing_speeds.csv``. A sign on the road goes before all of
them; whoever uses these limits takes the lower of the signed one and the one here.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

import numpy as np
import pandas as pd

from planner_kit.reference import read_table

if TYPE_CHECKING:
    import datetime as dt
    from collections.abc import Iterable

    from numpy.typing import NDArray

# Exact by definition of the international mile.
_KMH = {"mph": 1.609344, "km/h": 1.0}

# Kinds of road, in the order of their codes. The last two carry no limit from the tables. Where a
# country has no rule for local roads, that for single carriageways holds on them.
KINDS = ("built_up", "local", "single", "dual", "expressway", "motorway", "ferry", "not for cars")
_BUILT_UP, _LOCAL, _SINGLE, _DUAL, _, _MOTORWAY, _FERRY, _NO_CARS = range(len(KINDS))
_KIND_WORDS = {
    "built_up": "built-up area",
    "local": "local road",
    "single": "single carriageway",
    "dual": "dual carriageway",
    "expressway": "expressway",
    "motorway": "motorway",
}
_VEHICLE_WORDS = {"car": "car alone", "car_towing": "car towing"}

# OpenStreetMap highway values. Only the classes that can have two carriageways are asked for
# `dual`: a lane of the others that runs one way is a one-way street.
_MAY_BE_DUAL = {"trunk", "primary", "secondary", "tertiary"}
_TOWN_STREETS = {"residential", "living_street", "pedestrian"}
_LOCAL_ROADS = {*_TOWN_STREETS, "unclassified", "service", "track", "road"}
_FOR_CARS = {*_MAY_BE_DUAL, *(f"{name}_link" for name in _MAY_BE_DUAL), *_LOCAL_ROADS}

# Countries in which street lights, and not a sign with the place's name, make a road built-up.
_BY_STREET_LIGHTS = {"GB"}

_ASSUMED = (
    "",
    "; taken as outside a built-up area, which the map does not say",
    "; taken as built-up because it is a street of houses",
)


class _Answer(NamedTuple):
    limit_kmh: float
    rule: str
    basis: str


def towing_speed_limits(
    roads: pd.DataFrame,
    *,
    caravan_plate_kg: float | None,
    train_plate_kg: float | None,
    on: dt.date,
) -> pd.DataFrame:
    """The legal limit for a car with a caravan on each road.

    Parameters
    ----------
    roads : DataFrame
        With the columns country, road_class, dual, built_up and lit of a region's roads. Where
        there are maxspeed_forward_kmh and maxspeed_backward_kmh too, a road with a sign is held
        to the limit of its carriageway and not to that of built-up areas.
    caravan_plate_kg : float or None
        MTPLM of the caravan. [kg]
    train_plate_kg : float or None
        Gross train mass. [kg]
    on : date
        The day of the journey.

    Returns
    -------
    limits : DataFrame
        Aligned with `roads`: limit_kmh (NaN where not known, inf where the law sets none), rule
        (category, a text that says what was assumed), basis (category: published, common practice,
        from memory or unknown) and assumed (bool).

    Notes
    -----
    Where a limit hangs on a mass that is not given, the lowest limit that could hold is taken and
    the rule says so. Roads signed for motor vehicles only (expressways) are not told apart in the
    region's table; they are held to the limit of their carriageway, which is never the higher one.
    """
    return _limits(
        roads, vehicle="car_towing", trailer_kg=caravan_plate_kg, train_kg=train_plate_kg, on=on
    )


def car_speed_limits(roads: pd.DataFrame, *, on: dt.date) -> pd.DataFrame:
    """The legal limit for a car without a trailer on each road; see `towing_speed_limits`."""
    return _limits(roads, vehicle="car", trailer_kg=None, train_kg=None, on=on)


def highest_towing_limit_kmh(
    countries: Iterable[str],
    *,
    caravan_plate_kg: float | None,
    train_plate_kg: float | None,
    on: dt.date,
) -> float | None:
    """The highest legal speed of the outfit on any kind of road of some countries.

    Parameters
    ----------
    countries : iterable of str
        ISO 3166-1 alpha-2 codes.
    caravan_plate_kg, train_plate_kg : float or None
        [kg]
    on : date

    Returns
    -------
    limit_kmh : float or None
        None where a country has no rule; inf where one sets no limit. [km/h]
    """
    highest = []
    for country in countries:
        answers = [
            _answer(country, "car_towing", kind, caravan_plate_kg, train_plate_kg, on).limit_kmh
            for kind in _KIND_WORDS
        ]
        known = [limit for limit in answers if not np.isnan(limit)]
        if not known:
            return None
        highest.append(max(known))
    return max(highest, default=None)


@dataclass(frozen=True)
class RoadKinds:
    """What decides the legal limit of each road, whoever drives it.

    Attributes
    ----------
    place : ndarray of int64, shape (roads,)
        Row of `combinations` for each road.
    combinations : tuple of (str, str, int)
        Country, one of `KINDS`, and what was assumed (0 for nothing).
    """

    place: NDArray[np.int64]
    combinations: tuple[tuple[str, str, int], ...]


def road_kinds(roads: pd.DataFrame) -> RoadKinds:
    """The kinds of road that there are, found once for a region; see `towing_speed_limits`."""
    country, names = _codes(roads["country"])
    kind, assumed = _kinds(roads, country, names)
    # One number for each combination that the rule text depends on.
    size = len(KINDS) * len(_ASSUMED)
    code = (country + 1) * size + kind.astype(np.int64) * len(_ASSUMED) + assumed
    present, place = np.unique(code, return_inverse=True)
    found = []
    for combination in present.tolist():
        where, rest = divmod(combination, size)
        road_kind, assumption = divmod(rest, len(_ASSUMED))
        name = names[where - 1] if where > 0 else "unknown"
        found.append((name, KINDS[road_kind], int(assumption)))
    return RoadKinds(place.astype(np.int64), tuple(found))


def kind_limits_kmh(
    kinds: RoadKinds,
    *,
    towing: bool,
    caravan_plate_kg: float | None = None,
    train_plate_kg: float | None = None,
    on: dt.date,
) -> NDArray[np.float64]:
    """The legal limit of each combination of `kinds`: NaN where not known, inf for none [km/h]."""
    vehicle = "car_towing" if towing else "car"
    answers = [
        _answer(name, vehicle, kind, caravan_plate_kg, train_plate_kg, on)
        for name, kind, _ in kinds.combinations
    ]
    return np.array([answer.limit_kmh for answer in answers], dtype=np.float64)


def _limits(
    roads: pd.DataFrame,
    *,
    vehicle: str,
    trailer_kg: float | None,
    train_kg: float | None,
    on: dt.date,
) -> pd.DataFrame:
    kinds = road_kinds(roads)
    place = kinds.place
    answers = []
    for name, kind, assumption in kinds.combinations:
        answer = _answer(name, vehicle, kind, trailer_kg, train_kg, on)
        known = answer.basis != "unknown"
        answers.append(answer._replace(rule=answer.rule + (_ASSUMED[assumption] if known else "")))
    kmh = np.array([answer.limit_kmh for answer in answers], dtype=float)
    assumed = np.array([told > 0 for _, _, told in kinds.combinations], dtype=bool)
    return pd.DataFrame(
        {
            "limit_kmh": kmh[place] if len(kmh) else np.empty(0),
            "rule": _texts([answer.rule for answer in answers], place),
            "basis": _texts([answer.basis for answer in answers], place),
            "assumed": assumed[place] if len(kmh) else np.empty(0, dtype=bool),
        },
        index=roads.index,
    )


def _codes(column: pd.Series) -> tuple[NDArray[np.int64], list[str]]:
    """A number for each row (-1 for missing) and the words behind the numbers."""
    words = column if isinstance(column.dtype, pd.CategoricalDtype) else column.astype("category")
    codes = words.cat.codes.to_numpy().astype(np.int64)
    return codes, [str(word) for word in words.cat.categories]


def _texts(words: list[str], place: NDArray[np.int64]) -> pd.Categorical:
    different = list(dict.fromkeys(words))
    renumber = np.array([different.index(word) for word in words], dtype=np.int64)
    codes = renumber[place] if len(words) else np.empty(0, np.int64)
    return pd.Categorical.from_codes(codes, categories=pd.Index(different, dtype="str"))


def _is_one_of(column: pd.Series, wanted: set[str]) -> NDArray[np.bool_]:
    codes, words = _codes(column)
    hit = np.array([*(word in wanted for word in words), False], dtype=bool)
    return hit[codes]


def _kinds(
    roads: pd.DataFrame, country: NDArray[np.int64], names: list[str]
) -> tuple[NDArray[np.int8], NDArray[np.int8]]:
    """The kind of each road as a code, and which of the assumptions was made for it."""
    road_class = roads["road_class"]
    built_up = roads["built_up"].astype("boolean")
    lit = roads["lit"].astype("boolean")
    by_lights = np.array([*(name in _BY_STREET_LIGHTS for name in names), False])[country]
    # Street lights decide where the law says so; where nobody mapped them, the built-up area does.
    lit_known, area_known = lit.notna().to_numpy(bool), built_up.notna().to_numpy(bool)
    use_lights = by_lights & lit_known
    told = np.where(
        use_lights, lit.fillna(False).to_numpy(bool), built_up.fillna(False).to_numpy(bool)
    )
    is_told = use_lights | area_known
    street = _is_one_of(road_class, _TOWN_STREETS)
    signed = _is_signed(roads)
    town = np.where(is_told, told, street) & ~signed
    dual = roads["dual"].fillna(False).to_numpy(bool) & _is_one_of(road_class, _MAY_BE_DUAL)

    local = _is_one_of(road_class, _LOCAL_ROADS)
    kind = np.select([town, local, dual], [_BUILT_UP, _LOCAL, _DUAL], _SINGLE).astype(np.int8)
    assumed = np.where(is_told | signed, 0, np.where(street, 2, 1)).astype(np.int8)
    motorway = _is_one_of(road_class, {"motorway", "motorway_link"})
    ferry = _is_one_of(road_class, {"ferry"})
    other = ~motorway & ~ferry & ~_is_one_of(road_class, _FOR_CARS)
    for rows, code in ((motorway, _MOTORWAY), (ferry, _FERRY), (other, _NO_CARS)):
        kind[rows], assumed[rows] = code, 0
    return kind, assumed


def _is_signed(roads: pd.DataFrame) -> NDArray[np.bool_]:
    """Whether a limit is mapped for both directions: then the built-up limit does not apply."""
    columns = ["maxspeed_forward_kmh", "maxspeed_backward_kmh"]
    if not set(columns) <= set(roads.columns):
        return np.zeros(len(roads), dtype=bool)
    return roads[columns].notna().all(axis=1).to_numpy(bool)


def _answer(
    country: str,
    vehicle: str,
    kind: str,
    trailer_kg: float | None,
    train_kg: float | None,
    on: dt.date,
) -> _Answer:
    if kind not in _KIND_WORDS:
        return _Answer(np.nan, f"{kind}: no speed limit of the road", "unknown")
    rows = [row for row in _rows(country, vehicle, kind) if _holds_on(row, on)]
    if kind == "local" and not rows:
        return _answer(country, vehicle, "single", trailer_kg, train_kg, on)
    possible = [
        (row, fit)
        for row in rows
        if (fit := _fit(row, trailer_kg=trailer_kg, train_kg=train_kg)) is not None
    ]
    if not possible:
        return _Answer(np.nan, "unknown", "unknown")
    row, sure = min(possible, key=lambda pair: (_limit_kmh(pair[0]), not pair[1]))
    shown = f"{row['limit']} {row['unit']}" if row["limit"] != "none" else "no general limit"
    rule = f"{country}: {_VEHICLE_WORDS[vehicle]}, {_KIND_WORDS[kind]} {shown}"
    if row["note"]:
        rule += f" ({row['note']})"
    if not sure:
        rule += "; the lowest that can hold, because a plate that decides it is missing"
    return _Answer(_limit_kmh(row), rule, row["basis"])


@lru_cache
def _rows(country: str, vehicle: str, kind: str) -> list[dict[str, str]]:
    table = read_table("towing_speeds")
    hit = table[
        (table["country"] == country) & (table["vehicle"] == vehicle) & (table["road_kind"] == kind)
    ]
    return [{str(key): str(cell) for key, cell in row.items()} for row in hit.to_dict("records")]


def _holds_on(row: dict[str, str], on: dt.date) -> bool:
    day = on.isoformat()
    return (row["since"] or "0000") <= day <= (row["until"] or "9999")


def _fit(row: dict[str, str], *, trailer_kg: float | None, train_kg: float | None) -> bool | None:
    """True if the row holds for these masses, None if it does not, False if nobody can tell."""
    sure = True
    for name, mass_kg in (("trailer", trailer_kg), ("train", train_kg)):
        over, upto = row[f"{name}_over_kg"], row[f"{name}_upto_kg"]
        if not over and not upto:
            continue
        if mass_kg is None:
            sure = False
        elif (over and mass_kg <= float(over)) or (upto and mass_kg > float(upto)):
            return None
    return sure


def _limit_kmh(row: dict[str, str]) -> float:
    return np.inf if row["limit"] == "none" else float(row["limit"]) * _KMH[row["unit"]]
