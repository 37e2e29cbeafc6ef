from __future__ import annotations

import base64
import shutil
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from planner_kit.diary import files_with_lessons
from planner_kit.errors import PlanFileError
from planner_kit.tow.cost import DISLIKES
from planner_kit.trip import read_household, read_trip
from planner_kit.views.beside import Beside
from planner_kit.views.tow import TowTuner, tune_tow
from planner_kit.views.tow_plan import show_tow_plan
from planner_kit.views.tow_shapes import WAYS, way_shapes


@pytest.fixture(scope="module")
def folder(demo: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("tow") / "island"
    shutil.copytree(demo, folder)
    return folder


@pytest.fixture(scope="module")
def shared(folder: Path) -> TowTuner:
    return tune_tow(folder, trip="trip_2027.toml")


@pytest.fixture
def tuner(shared: TowTuner) -> TowTuner:
    shared.via = []
    shared._set_pins()
    shared._go_back(None)
    shared.follow()
    return shared


def on_the_way(tuner: TowTuner, number: int = 0, share: float = 0.5) -> tuple[float, float]:
    point = tuner.choices[number].route.geometry.interpolate(share, normalized=True)
    return point.y, point.x


def test_slider_that_costs_nothing_has_the_quickest_way(tuner: TowTuner) -> None:
    before = tuner.choices[0].route.time_min
    for slider in tuner.sliders.values():
        slider.value = 0
    assert tuner.choices[0].route.stress_min <= 5
    assert tuner.choices[0].route.time_min <= before + 1e-6


def test_best_way_follows_a_slider_and_the_others_come_when_it_rests(tuner: TowTuner) -> None:
    ends = tuner.ends
    narrow = tuner.sliders["narrow"]
    with ThreadPoolExecutor(1) as apart:  # no event loop runs there, whoever ran here before
        apart.submit(setattr, narrow, "value", narrow.value + 1).result()
    assert len(tuner.choices) == 1
    assert "Looking for other ways" in tuner.table.value
    tuner.settle()
    assert len(tuner.choices) >= 2
    assert "Looking for other ways" not in tuner.table.value
    assert len(tuner.ends) == len(tuner.choices) == len(tuner.which.options)
    assert len(ends) == len(tuner.ends)


def test_process_beside_the_kernel_finds_the_same_ways(tuner: TowTuner) -> None:
    helper = Beside()
    try:
        found = helper.do(tuner._work()).result(60)
    finally:
        helper.end()
    assert found.table == tuner.table.value
    assert found.ends == tuner.ends
    for here, there in zip(tuner.choices, found.choices, strict=True):
        assert here.route.road_id.tolist() == there.route.road_id.tolist()


def test_other_ways_are_told_by_dash_and_number_as_well_as_colour(tuner: TowTuner) -> None:
    assert len(tuner.choices) >= 2
    drawn = [shape["properties"]["style"] for shape in way_shapes(tuner.choices)["features"]]
    lines = {(style["color"], style.get("dashArray", "")) for style in drawn[1::2]}
    assert len(lines) == len(tuner.choices)
    assert len({dash for _, dash, _ in WAYS}) == len(WAYS)
    marks = base64.b64decode(tuner.marks.url.partition(",")[2]).decode()
    for number in range(len(tuner.choices)):
        assert f">{number + 1}</text>" in marks
        assert f"Way {number + 1}</th>" in tuner.table.value


def test_table_tells_hours_money_stress_and_worst_places(tuner: TowTuner) -> None:
    for word in ("Driving", "Money", "Stress", "Worst places", "Not known"):
        assert f'<th scope="row">{word}</th>' in tuner.table.value
    assert "£" in tuner.table.value


def test_way_goes_through_a_point_and_follows_when_it_is_moved(tuner: TowTuner) -> None:
    other = on_the_way(tuner, 1)
    away = tuner.choices[0].route.geometry
    tuner.show_road(*other)
    tuner.go_this_way.click()
    assert len(tuner._pins) == 1
    through = tuner.choices[0].route.geometry
    assert through.distance(_point(other)) < 0.001 < away.distance(_point(other))
    first = through.length
    tuner._pins[0].location = on_the_way(tuner, 0, 0.9)
    assert tuner.via[0] == pytest.approx(tuner._pins[0].location)
    assert tuner.choices[0].route.geometry.length != first
    far_from_roads = 49.49, -14.56
    tuner._pins[0].location = far_from_roads
    assert list(tuner._pins[0].location) == list(tuner.via[0])
    assert tuner.via[0] != far_from_roads
    assert tuner.choices
    tuner.clear_via.click()
    assert tuner.via == []
    assert tuner.choices[0].route.geometry.equals(away)


def _point(at: tuple[float, float]) -> object:
    from shapely.geometry import Point

    return Point(at[1], at[0])


def test_points_are_kept_in_the_trip_file(tuner: TowTuner, folder: Path) -> None:
    tuner.show_road(*on_the_way(tuner, 1))
    tuner.go_this_way.click()
    tuner.keep_via.click()
    kept = read_trip(folder / "trip_2027.toml").tow.via
    assert [(point.lat, point.lon) for point in kept] == [pytest.approx(tuner.via[0], abs=1e-6)]
    tuner.clear_via.click()
    tuner.keep_via.click()
    assert read_trip(folder / "trip_2027.toml").tow.via == ()


def test_road_is_avoided_in_the_household_file_and_allowed_again(
    tuner: TowTuner, folder: Path
) -> None:
    before = read_household(folder / "household.toml").avoid_roads
    at = on_the_way(tuner)
    tuner.show_road(*at)
    road = tuner.clicked
    way = int(tuner.files.region.roads["osm_way_id"].iloc[road])
    assert road in tuner.choices[0].route.road_id
    assert "Width" in tuner.panel.value
    tuner.never.click()
    there = read_household(folder / "household.toml").avoid_roads
    assert [each.osm_way_id for each in there] == [*(e.osm_way_id for e in before), way]
    ways = tuner.files.region.roads["osm_way_id"].to_numpy()
    for choice in tuner.choices:
        assert way not in ways[choice.route.road_id]
    assert "# The demo's household" in (folder / "household.toml").read_text(encoding="utf-8")
    tuner.avoided.children[-1].children[-1].click()
    assert read_household(folder / "household.toml").avoid_roads == before
    assert road in tuner.choices[0].route.road_id


def test_weights_are_kept_in_the_household_file(tuner: TowTuner, folder: Path) -> None:
    # The household reads miles: a slider counts seconds for each mile, the file for each km.
    tuner.sliders["narrow"].value = 250 * 1.609344
    tuner.keep.click()
    kept = read_household(folder / "household.toml").preferences.tow
    assert kept.narrow == 250
    tuner._go_back(None)
    tuner.keep.click()
    again = read_household(folder / "household.toml").preferences.tow
    assert [getattr(again, n) for n in DISLIKES] == [getattr(tuner.usual, n) for n in DISLIKES]


def test_no_way_left_is_told_where_the_table_was(tuner: TowTuner) -> None:
    try:
        tuner.via = [(0.0, 0.0)]
        tuner.follow()
        assert tuner.choices == ()
        assert "from the nearest road" in tuner.table.value
    finally:
        tuner.via = []
        tuner.follow()


def test_last_miles_of_the_chosen_way_are_told(tuner: TowTuner) -> None:
    tuner.show_end()
    assert tuner.plan.end.name in tuner.end.value
    assert "The last" in tuner.end.value
    assert "Check by eye" in tuner.end.value


def test_plan_of_a_leg_shows_its_rests_and_card(folder: Path) -> None:
    shown = show_tow_plan(folder, trip="trip_2027.toml").data
    assert "Route card" in shown


@pytest.mark.parametrize("call", [tune_tow, show_tow_plan])
def test_leg_that_the_trip_has_not_is_told(folder: Path, call: object) -> None:
    with pytest.raises(PlanFileError, match="the trip has no tow 9"):
        call(folder, trip="trip_2027.toml", leg=9)


def test_notebook_plans_with_what_earlier_trips_taught(demo: Path, tmp_path: Path) -> None:
    kept = Path(__file__).resolve().parents[1] / "diary" / "kept_records" / "schema_4"
    shutil.copytree(demo, tmp_path / "island", ignore=shutil.ignore_patterns("records"))
    plain = files_with_lessons(tmp_path / "island" / "trip_2027.toml")
    shutil.copytree(kept, tmp_path / "island" / "records" / "2026-07-25_marren-summer")
    taught = files_with_lessons(tmp_path / "island" / "trip_2027.toml")
    assert plain.inputs.learnt is None
    assert taught.inputs.learnt is not None
    assert taught.inputs.learnt.trips == 1
