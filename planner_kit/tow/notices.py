"""What a person should know about a route: limits that are near, hard pieces, what is unknown."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np
import pandas as pd

from planner_kit.reference import constant
from planner_kit.region.projection import WGS84
from planner_kit.states import Check, State
from planner_kit.tow.limits import needed_width_m, number, signed_limits

if TYPE_CHECKING:
    from numpy.typing import NDArray

    from planner_kit.outfit.report import Outfit
    from planner_kit.tow.costing import Costing, RoadSystem

_TOWNS = ("city", "town", "village", "suburb", "hamlet")
_OSM = "OpenStreetMap tags"


def _value(name: str) -> float:
    return constant("towing_costs", name).value


class PlaceNames:
    """Names of the settlements of a region, for saying where something is.

    Parameters
    ----------
    places : DataFrame
        The region's places.
    """

    def __init__(self, places: pd.DataFrame) -> None:
        rows = places[places["kind"].astype(str).isin(_TOWNS) & (places["name"].astype(str) != "")]
        self.names = rows["name"].astype(str).to_numpy()
        self.lat = rows["lat"].to_numpy(dtype=float)
        self.lon = rows["lon"].to_numpy(dtype=float)

    def near(self, lat: float, lon: float) -> str:
        """The nearest settlement, or an empty text where none is mapped."""
        if len(self.names) == 0:
            return ""
        count = len(self.names)
        _, _, away = WGS84.inv(np.full(count, lon), np.full(count, lat), self.lon, self.lat)
        return str(self.names[int(np.argmin(away))])


def _at(steps: pd.DataFrame, column: str, place: int | np.intp) -> float:
    return float(steps[column].to_numpy(dtype=float)[place])


def _where(system: RoadSystem, names: PlaceNames, road: int) -> str:
    row = system.roads.iloc[road]
    point = row["geometry"].interpolate(0.5, normalized=True)
    label = " ".join(part for part in (str(row["ref"]), str(row["name"])) if part)
    town = names.near(point.y, point.x)
    return (label or f"an unnamed {row['road_class']} road") + (f", near {town}" if town else "")


def route_checks(
    system: RoadSystem,
    costing: Costing,
    steps: pd.DataFrame,
    arcs: NDArray[np.int64],
    outfit: Outfit,
    places: pd.DataFrame,
) -> tuple[Check, ...]:
    """Where the outfit comes near a limit, and the hardest pieces, in driving order.

    Parameters
    ----------
    system : RoadSystem
    costing : Costing
    steps : DataFrame
        Of the route.
    arcs : ndarray of int64
        The turn before each step, -1 for none.
    outfit : Outfit
    places : DataFrame
        The region's places.
    """
    names = PlaceNames(places)
    found: list[tuple[float, Check]] = []
    found += _near_signs(system, steps, outfit, names)
    found += _near_barriers(system, steps, arcs, outfit)
    found += _near_width(system, steps, outfit, names)
    found += _steep(system, steps, names)
    found += _narrow(system, steps, outfit, names)
    found += _sharp_turns(system, steps, arcs, names)
    found.sort(key=lambda pair: pair[0])
    return tuple(check for _, check in found)


def _near_signs(
    system: RoadSystem, steps: pd.DataFrame, outfit: Outfit, names: PlaceNames
) -> list[tuple[float, Check]]:
    found: list[tuple[float, Check]] = []
    rows = system.roads.iloc[steps["road_id"].to_numpy()]
    ways, start = rows["osm_way_id"].to_numpy(), steps["start_km"].to_numpy()
    for limit in signed_limits(outfit):
        told: set[tuple[int, float]] = set()
        signed = number(rows, limit.column)
        for place in np.flatnonzero(~np.isnan(signed)):
            key = int(ways[place]), float(signed[place])
            if key in told or limit.need is None:
                continue
            told.add(key)
            plated = _plate_above(limit.tag, outfit, signed[place])
            if not limit.near_at(signed[place]) and not plated:
                continue
            where = _where(system, names, int(_at(steps, "road_id", place)))
            room = float(signed[place]) - limit.need
            found.append(
                (
                    float(start[place]),
                    Check(
                        subject=f"{limit.what} on {where}",
                        state=State.LOOK,
                        sentence=f"At {start[place]:.1f} km, {where}: {limit.tag}="
                        f"{signed[place]:g} {limit.unit} leaves {room:.2f} {limit.unit}.{plated} "
                        "Obey the sign at the road.",
                        figure=limit.need,
                        limit=float(signed[place]),
                        unit=limit.unit,
                        margin=room,
                        rule=f"tag {limit.tag}",
                        source=f"{_OSM}, way {int(ways[place])}",
                    ),
                )
            )
    return found


def _plate_above(tag: str, outfit: Outfit, signed: float) -> str:
    plate = outfit.train_plate_kg
    if tag == "maxweight" and plate is not None and plate / 1000 > signed:
        return (
            f" The train's plated mass of {plate / 1000:.2f} t is above it; where the sign counts "
            "plated masses this road is not allowed."
        )
    return ""


def _near_barriers(
    system: RoadSystem, steps: pd.DataFrame, arcs: NDArray[np.int64], outfit: Outfit
) -> list[tuple[float, Check]]:
    found: list[tuple[float, Check]] = []
    if len(arcs) == 0 or (arcs < 0).all():
        return found
    for limit in signed_limits(outfit)[:2]:
        signed = number(system.nodes, limit.column)[system.network.junction[np.maximum(arcs, 0)]]
        for place in np.flatnonzero(~np.isnan(signed) & (arcs >= 0)):
            if limit.need is None or not limit.near_at(signed[place]):
                continue
            start = _at(steps, "start_km", place)
            room = float(signed[place]) - limit.need
            found.append(
                (
                    start,
                    Check(
                        subject=f"{limit.what} at a barrier",
                        state=State.LOOK,
                        sentence=f"At {start:.1f} km a barrier with {limit.tag}={signed[place]:g} "
                        f"{limit.unit} leaves {room:.2f} {limit.unit}. Obey the sign at the road.",
                        figure=limit.need,
                        limit=float(signed[place]),
                        unit=limit.unit,
                        margin=room,
                        rule=f"tag {limit.tag}",
                        source=_OSM,
                    ),
                )
            )
    return found


def _near_width(
    system: RoadSystem, steps: pd.DataFrame, outfit: Outfit, names: PlaceNames
) -> list[tuple[float, Check]]:
    """Carriageways that are hardly wider than the outfit needs, or guessed to be narrower."""
    need = needed_width_m(outfit)
    width = steps["width_m"].to_numpy()
    tagged = steps["width_source"].to_numpy() == "tagged"
    near = width < need + _value("near_width")
    found: list[tuple[float, Check]] = []
    for first, last in _runs(near):
        guessed = not tagged[first : last + 1].all()
        least = float(np.min(width[first : last + 1]))
        start = _at(steps, "start_km", first)
        km = float(steps["length_m"].iloc[first : last + 1].sum()) / 1000
        where = _where(system, names, int(_at(steps, "road_id", first)))
        how = "guessed from the kind of road" if guessed else "as tagged"
        found.append(
            (
                start,
                Check(
                    subject=f"carriageway width on {where}",
                    state=State.UNKNOWN if guessed and least < need else State.LOOK,
                    sentence=f"At {start:.1f} km, {where}: for {km:.1f} km the carriageway is "
                    f"{least:.1f} m wide ({how}); the outfit with its margin needs {need:.2f} m.",
                    figure=need,
                    limit=least,
                    unit="m",
                    margin=least - need,
                    rule="tag width" if not guessed else "width guessed from class or lanes",
                    source=_OSM,
                ),
            )
        )
    return found


def _runs(on: NDArray[np.bool_]) -> list[tuple[int, int]]:
    """First and last place of each unbroken run of True."""
    edge = np.flatnonzero(np.diff(np.r_[False, on, False].astype(np.int8)))
    return [(int(a), int(b) - 1) for a, b in zip(edge[::2], edge[1::2], strict=True)]


def _longest(steps: pd.DataFrame, on: NDArray[np.bool_], most: int) -> list[tuple[int, int, float]]:
    """The longest runs: first and last step, and length in km."""
    length = steps["length_m"].to_numpy()
    runs = [(a, b, float(length[a : b + 1].sum()) / 1000) for a, b in _runs(on)]
    return sorted(runs, key=lambda run: -run[2])[:most]


def _steep(system: RoadSystem, steps: pd.DataFrame, names: PlaceNames) -> list[tuple[float, Check]]:
    found: list[tuple[float, Check]] = []
    limit = _value("steep_check")
    for column, word, advice in (
        ("steepest_up_pct", "climb", "Take it in a low gear and do not stop on it if you can."),
        ("steepest_down_pct", "descent", "Go down in a low gear and spare the brakes."),
    ):
        slope = np.nan_to_num(steps[column].to_numpy(dtype=float))
        for first, last, km in _longest(steps, slope >= limit, 2):
            worst = float(slope[first : last + 1].max())
            at = first + int(slope[first : last + 1].argmax())
            where = _where(system, names, int(_at(steps, "road_id", at)))
            start = _at(steps, "start_km", first)
            found.append(
                (
                    start,
                    Check(
                        subject=f"steep {word} on {where}",
                        state=State.LOOK,
                        sentence=f"At {start:.1f} km, {where}: a {word} of up to {worst:.0f} % "
                        f"(1 in {100 / worst:.0f}) on {km:.1f} km of road. {advice}",
                        figure=worst,
                        limit=limit,
                        unit="%",
                        margin=limit - worst,
                        rule=f"steepest 100 m; pointed out from {limit:g} %",
                        source="terrain model and incline tags",
                    ),
                )
            )
    return found


def _narrow(
    system: RoadSystem, steps: pd.DataFrame, outfit: Outfit, names: PlaceNames
) -> list[tuple[float, Check]]:
    width = outfit.width_m if outfit.width_m is not None else _value("widest_lawful")
    need = width + _value("oncoming_width") + 0.5 * _value("passing_room")
    oneway = system.roads["oneway"].to_numpy()[steps["road_id"].to_numpy()] != 0
    ferry = steps["road_class"].to_numpy() == "ferry"
    on = (steps["width_m"].to_numpy() < need) & ~oneway & ~ferry
    found: list[tuple[float, Check]] = []
    for first, last, km in _longest(steps, on, 2):
        if km < _value("narrow_check"):
            continue
        least = float(steps["width_m"].iloc[first : last + 1].min())
        guessed = (steps["width_source"].iloc[first : last + 1] != "tagged").any()
        where = _where(system, names, int(_at(steps, "road_id", first)))
        start = _at(steps, "start_km", first)
        how = ", a width that is partly guessed" if guessed else ""
        found.append(
            (
                start,
                Check(
                    subject=f"narrow road from {where}",
                    state=State.LOOK,
                    sentence=f"At {start:.1f} km, {where}: {km:.1f} km on which a car that comes "
                    f"the other way may have to wait or back up; {least:.1f} m at the "
                    f"narrowest{how}.",
                    figure=least,
                    limit=need,
                    unit="m",
                    margin=least - need,
                    rule="outfit, oncoming car and half the usual room",
                    source=_OSM,
                ),
            )
        )
    return found


def _sharp_turns(
    system: RoadSystem, steps: pd.DataFrame, arcs: NDArray[np.int64], names: PlaceNames
) -> list[tuple[float, Check]]:
    ring = system.roads["roundabout"].to_numpy(dtype=bool)[steps["road_id"].to_numpy()]
    sharp = np.abs(steps["turn_deg"].to_numpy()) >= _value("sharp_turn")
    found: list[tuple[float, Check]] = []
    for place in np.flatnonzero(sharp & (arcs >= 0) & ~ring):
        start, turn = _at(steps, "start_km", place), _at(steps, "turn_deg", place)
        where = _where(system, names, int(_at(steps, "road_id", place)))
        found.append(
            (
                start,
                Check(
                    subject=f"sharp turn into {where}",
                    state=State.LOOK,
                    sentence=f"At {start:.1f} km: a turn of {abs(turn):.0f} degrees to the "
                    f"{'right' if turn > 0 else 'left'} into {where}; swing wide, the caravan "
                    "cuts the corner.",
                    figure=abs(turn),
                    limit=_value("sharp_turn"),
                    unit="deg",
                    margin=_value("sharp_turn") - abs(turn),
                    rule="turn at a junction",
                    source="OpenStreetMap geometry",
                ),
            )
        )
    return found


def route_unknowns(
    system: RoadSystem,
    costing: Costing,
    steps: pd.DataFrame,
    arcs: NDArray[np.int64],
    outfit: Outfit | None,
    away_m: tuple[float, float],
) -> tuple[str, ...]:
    """What the map or the household does not say about a route, in sentences."""
    road = steps["road_id"].to_numpy()
    km = steps["length_m"].to_numpy() / 1000
    rows = system.roads.iloc[road]
    told: list[str] = []

    def stretch(on: NDArray[np.bool_], text: str) -> None:
        if on.any():
            told.append(text.format(f"{km[on].sum():.1f} km"))

    stretch(costing.roads.speed_assumed[road], "No speed limit is known for {} of the route.")
    for name, metres in zip(("start", "end"), away_m, strict=True):
        if metres > _value("beside_road"):
            told.append(
                f"The {name} lies {metres:.0f} m from the road; the map shows no way there."
            )
    gates = np.unique(system.network.junction[arcs[arcs >= 0]])
    count = int(costing.limits.gate_unknown[gates].sum())
    if count:
        told.append(f"Whether {count} gate(s) on the route stand open is not mapped.")
    private = rows["motor_access"].astype(str).to_numpy() == "private"
    stretch(private, "{} of the route at its start or end is private road; ask whether you may.")
    if outfit is None:
        return tuple(told)
    for need, what in (
        (outfit.height_m, "height"),
        (outfit.width_m, "width"),
        (outfit.length_m, "length"),
        (outfit.train_kg, "laden mass"),
        (outfit.max_axle_kg, "heaviest axle load"),
    ):
        if need is None:
            told.append(
                f"The outfit's {what} is not known, so roads signed with a limit on it were left "
                "out and the others cannot be shown to be safe."
            )
    guessed = (rows["width_source"].astype(str).to_numpy() != "tagged") & (
        rows["road_class"].astype(str).to_numpy() != "ferry"
    )
    stretch(guessed, "The width of {} of the route was never measured and is a guess.")
    stretch(costing.roads.gradient_unknown[road], "No gradient is known for {} of the route.")
    for way, text in (
        rows.loc[rows["unread_limits"].astype(str) != "", ["osm_way_id", "unread_limits"]]
        .drop_duplicates()
        .itertuples(index=False)
    ):
        told.append(f"A limit on way {way} could not be read: {text}.")
    tunnel = rows["tunnel"].to_numpy(dtype=bool) & rows["maxheight_m"].isna().to_numpy()
    stretch(tunnel, "No height limit is mapped for {} in tunnels or under buildings.")
    told.append("Low bridges that nobody has mapped cannot be known; look out for signs.")
    return tuple(told)
