import numpy as np
import pytest

from planner_kit.errors import PlanFileError
from planner_kit.outings import read_rides

PITCH = (49.5, -14.5)
HEAD = '<gpx version="1.1" creator="x" xmlns="http://www.topografix.com/GPX/1/1">'


def track(*points, name="Dune loop"):
    marks = "".join(
        f'<trkpt lat="{lat}" lon="{lon}">{f"<ele>{h}</ele>" if h is not None else ""}</trkpt>'
        for lat, lon, h in points
    )
    return f"{HEAD}<trk><name>{name}</name><trkseg>{marks}</trkseg></trk></gpx>"


def write(tmp_path, text, name="ride.gpx"):
    path = tmp_path / name
    path.write_bytes(text if isinstance(text, bytes) else text.encode())
    return path


def test_loop_has_its_length_climb_and_start(tmp_path):
    text = track((49.5, -14.5, 10), (49.51, -14.5, 40), (49.52, -14.5, 25), (49.5, -14.5, 10))
    row = read_rides([write(tmp_path, text)], near=PITCH).iloc[0]
    assert row["length_km"] == pytest.approx(2 * 0.02 * 111.2, rel=0.002)  # 111.2 km a degree here
    assert (row["climb_m"], row["descent_m"]) == (30, 30)
    assert row["start_distance_km"] == 0
    assert row["loop"]
    assert row["name"] == "Dune loop"


def test_ride_with_a_height_missing_has_no_climb(tmp_path):
    text = track((49.6, -14.5, 10), (49.61, -14.5, None), (49.62, -14.5, 30))
    row = read_rides([write(tmp_path, text)], near=PITCH).iloc[0]
    assert np.isnan(row["climb_m"])
    assert np.isnan(row["descent_m"])
    assert not row["loop"]


def test_nearest_start_comes_first(tmp_path):
    far = write(tmp_path, track((49.8, -14.5, 1), (49.81, -14.5, 1)), "far.gpx")
    near = write(tmp_path, track((49.51, -14.5, 1), (49.52, -14.5, 1)), "near.gpx")
    assert list(read_rides([far, near], near=PITCH)["ride"]) == ["near", "far"]


def test_no_rides_is_an_empty_frame():
    assert read_rides([], near=PITCH).empty


@pytest.mark.parametrize(
    ("text", "words"),
    [
        (b"\xff\xfe\x00", "not UTF-8"),
        (b"<gpx", "not GPX"),
        (b"<html></html>", "no track or route"),
        (f"{HEAD}</gpx>".encode(), "no track or route"),
        (track((49.5, -14.5, 1)).encode(), "no track or route"),
        (
            b'<!DOCTYPE g [<!ENTITY a "aaaa"><!ENTITY b "&a;&a;">]>' + f"{HEAD}&b;</gpx>".encode(),
            "document type",
        ),
        (
            b'<!DOCTYPE g [<!ENTITY x SYSTEM "file:///etc/passwd">]>' + f"{HEAD}&x;</gpx>".encode(),
            "document type",
        ),
        (track((499.5, -14.5, 1), ("north", -14.5, 1)).encode(), "not GPX|no track"),
    ],
)
def test_file_that_is_no_ride_is_refused_in_one_sentence(tmp_path, text, words):
    with pytest.raises(PlanFileError, match=words) as caught:
        read_rides([write(tmp_path, text)], near=PITCH)
    assert "ride.gpx" in str(caught.value)
    assert "\n" not in str(caught.value)


def test_missing_file_is_named(tmp_path):
    with pytest.raises(PlanFileError, match="no such file"):
        read_rides([tmp_path / "gone.gpx"], near=PITCH)
