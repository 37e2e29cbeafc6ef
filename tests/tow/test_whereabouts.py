from __future__ import annotations

import numpy as np
import pandas as pd
import pytest

from planner_kit.region.projection import WGS84
from planner_kit.tow.whereabouts import PlaceNames


@pytest.mark.parametrize("spread_deg", [0.1, 1.5, 12.0])
@pytest.mark.parametrize("at_lat", [-40.0, 5.0, 52.0, 69.0])
def test_nearest_settlement_is_the_nearest_on_the_ellipsoid(at_lat, spread_deg):
    rng = np.random.default_rng(7)
    lat = at_lat + rng.uniform(-1, 1, 300) * min(spread_deg, 8.0)
    lon = 10 + rng.uniform(-1, 1, 300) * spread_deg * 1.5
    towns = pd.DataFrame(
        {"kind": "village", "name": [f"v{row}" for row in range(300)], "lat": lat, "lon": lon}
    )
    names = PlaceNames(towns)
    for _ in range(60):
        here = at_lat + rng.uniform(-1, 1) * spread_deg / 2, 10 + rng.uniform(-1, 1) * spread_deg
        _, _, away = WGS84.inv(np.full(300, here[1]), np.full(300, here[0]), lon, lat)
        assert names.near(*here) == f"v{int(away.argmin())}"


def test_no_settlement_is_named_where_none_is_mapped():
    towns = pd.DataFrame({"kind": ["pub"], "name": ["The Boat"], "lat": [52.0], "lon": [0.0]})
    assert PlaceNames(towns).near(52.0, 0.0) == ""
