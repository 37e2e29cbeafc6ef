"""The length of a ride, against an independent geodesic library."""

import itertools

import pytest

from planner_kit.outings import read_rides

POINTS = [(49.50, -14.50), (49.53, -14.47), (49.52, -14.41), (49.47, -14.44), (49.50, -14.50)]


@pytest.mark.published(
    source="geographiclib 2 (C. F. F. Karney, Algorithms for geodesics, J. Geodesy 87, 2013)"
)
def test_ride_length_is_the_sum_of_geodesics(tmp_path):
    geodesic = pytest.importorskip("geographiclib.geodesic").Geodesic.WGS84
    marks = "".join(f'<trkpt lat="{lat}" lon="{lon}"/>' for lat, lon in POINTS)
    path = tmp_path / "ride.gpx"
    path.write_text(
        '<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1"><trk><trkseg>'
        f"{marks}</trkseg></trk></gpx>"
    )
    legs = itertools.pairwise(POINTS)
    metres = sum(geodesic.Inverse(*a, *b)["s12"] for a, b in legs)
    row = read_rides([path], near=(49.6, -14.5)).iloc[0]
    assert row["length_km"] == pytest.approx(metres / 1000, abs=1e-6)
    start_m = geodesic.Inverse(49.6, -14.5, *POINTS[0])["s12"]
    assert row["start_distance_km"] == pytest.approx(start_m / 1000, abs=1e-6)
