"""How far it is on foot from a pitch to water, waste and toilets, where the map knows them."""

from __future__ import annotations

import numpy as np
import pandas as pd
from pyproj import Geod

from planner_kit.reference import constant
from planner_kit.states import Check, State

POINT_COLUMNS = ("service", "kind", "name", "distance_m", "walk_m", "walk_min", "bearing_deg")
_SERVICES = {
    "water": ("water_point", "drinking_water"),
    "waste": ("sanitary_dump_station",),
    "toilets": ("toilets",),
}
_WGS84 = Geod(ellps="WGS84")


def service_points(places: pd.DataFrame | None, lat: float, lon: float) -> pd.DataFrame:
    """The nearest water point, waste point and toilets around a pitch.

    Parameters
    ----------
    places : DataFrame or None
        The region's places, with kind, name, lon and lat.
    lat, lon : float
        Of the pitch; the site's entrance where the pitch is not known. WGS 84. [deg]

    Returns
    -------
    points : DataFrame
        One row for each service that the map has near: service, kind, name, distance_m (straight)
        [m], walk_m (along paths, estimated) [m], walk_min (one way) [min], bearing_deg [deg].
    """
    if places is None or not len(places):
        return pd.DataFrame(columns=list(POINT_COLUMNS))
    kinds = [kind for group in _SERVICES.values() for kind in group]
    near = places[places["kind"].isin(kinds)]
    if near.empty:
        return pd.DataFrame(columns=list(POINT_COLUMNS))
    lons, lats = near["lon"].to_numpy(float), near["lat"].to_numpy(float)
    here = np.full(len(near), lon), np.full(len(near), lat)
    bearing, _, metres = _WGS84.inv(*here, lons, lats)
    factor, speed = constant("water", "path_factor"), constant("water", "walking_speed")
    rows = []
    for service, group in _SERVICES.items():
        mine = near["kind"].isin(group).to_numpy() & (metres <= constant("water", "searched").value)
        if not mine.any():
            continue
        place = int(np.argmin(np.where(mine, metres, np.inf)))
        walk = float(metres[place]) * factor.value
        rows.append(
            (
                service,
                str(near["kind"].iloc[place]),
                str(near["name"].iloc[place] or ""),
                float(metres[place]),
                walk,
                walk / (speed.value * 1000 / 60),
                float(bearing[place]) % 360,
            )
        )
    return pd.DataFrame(rows, columns=list(POINT_COLUMNS))


def walk_of(points: pd.DataFrame) -> float | None:
    """Walk to the further of water and waste; None where the map has neither, in m."""
    needed = points.loc[points["service"] != "toilets", "walk_m"]
    return None if needed.empty else float(needed.max())


def check_walks(points: pd.DataFrame, carries: int | None, empties: int | None) -> Check:
    """How far water and waste are carried in a stay.

    Parameters
    ----------
    points : DataFrame
        As `service_points` returns it.
    carries, empties : int or None
        How often water is fetched and the cassette emptied; None if not known.

    Returns
    -------
    check : Check
        Unknown where the map has no point near the pitch: the site's own plan is then asked for.
    """
    subject = "walk to water and waste"
    missing = [name for name in ("water", "waste") if name not in set(points["service"])]
    source = "the region's map; distances from the site's entrance, not from your pitch"
    if len(missing) == 2:
        return Check(
            subject,
            State.UNKNOWN,
            "The map has no water or waste point near the site; ask for its plan.",
            source=source,
        )
    far = walk_of(points) or 0.0
    columns = [points[name].tolist() for name in ("service", "walk_m", "walk_min")]
    rows = list(zip(*columns, strict=True))
    told = [
        f"{service} about {round(walk_m, -1):.0f} m ({max(1, round(minutes))} min)"
        for service, walk_m, minutes in rows
    ]
    trips = {"water": carries or 0, "waste": empties or 0}
    walked = sum(2 * walk_m * trips.get(service, 0) for service, walk_m, _ in rows)
    limit = constant("water", "far").value
    state = State.LOOK if far > limit else State.UNKNOWN if missing else State.FINE
    return Check(
        subject,
        state,
        f"From the entrance: {', '.join(told)}"
        + (f"; about {walked / 1000:.1f} km on foot in all" if walked else "")
        + (f"; not on the map: {' and '.join(missing)}" if missing else "")
        + ".",
        figure=far,
        limit=limit,
        unit="m",
        margin=limit - far,
        source=source,
        basis="common practice",
    )
