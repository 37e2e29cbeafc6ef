import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.errors import PlanFileError
from planner_kit.outfit import estimated_noseweight, nose_from_load_kg, read_items
from planner_kit.outfit.loading import load_kg, loading_plan, vehicle_of


def test_list_is_read_with_the_vehicle_of_each_place(tmp_path) -> None:
    path = tmp_path / "items.csv"
    path.write_text(
        "item,mass_kg,quantity,place,x_m,person\n"
        "awning,28,1,caravan floor,0.2,Ada\n"
        "chairs,4,,car boot,,\n"
        "canoe,25,1,roof,,\n"
    )
    items = read_items(path)
    assert list(items["vehicle"]) == ["caravan", "car", "roof"]
    assert load_kg(items, "car", "roof") == 29
    assert load_kg(items, "caravan") == 28


def test_place_without_a_vehicle_is_one_sentence_with_the_remedy(tmp_path) -> None:
    path = tmp_path / "items.csv"
    path.write_text("item,mass_kg,place\nawning,28,front locker\n")
    with pytest.raises(PlanFileError, match=r"front locker.*begin it with car, roof or caravan"):
        read_items(path)


def test_negative_mass_names_row_and_column(tmp_path) -> None:
    path = tmp_path / "items.csv"
    path.write_text("item,mass_kg,place\nawning,-3,caravan\n")
    with pytest.raises(PlanFileError, match=r"row 2, column mass_kg"):
        read_items(path)


@pytest.mark.parametrize(
    ("place", "vehicle"),
    [("caravan", "caravan"), ("Car: boot", "car"), ("car roof box", "roof"), ("shed", None)],
)
def test_first_word_of_a_place_says_the_vehicle(place: str, vehicle: str | None) -> None:
    assert vehicle_of(place) == vehicle


def test_load_over_the_axle_adds_nothing_to_the_nose() -> None:
    assert nose_from_load_kg(100, 0, 4) == 0


def test_load_on_the_ball_rests_wholly_on_it() -> None:
    assert nose_from_load_kg(30, 4, 4) == 30


@settings(max_examples=50, deadline=None)
@given(
    mass=st.floats(0, 500), place=st.floats(-4, 6), span=st.floats(1.5, 9), share=st.floats(0, 1)
)
def test_load_in_two_parts_weighs_on_the_nose_like_the_whole(mass, place, span, share) -> None:
    whole = nose_from_load_kg(mass, place, span)
    parts = nose_from_load_kg(mass * share, place, span) + nose_from_load_kg(
        mass * (1 - share), place, span
    )
    assert parts == pytest.approx(whole, abs=1e-6)


def test_noseweight_without_a_list_says_what_is_missing() -> None:
    nose = estimated_noseweight(
        None, measured_kg=None, mass_in_running_order_kg=1300, ball_to_axle_m=4.4
    )
    assert nose.kg is None
    assert "loading list" in nose.missing


def test_thing_without_a_place_makes_the_noseweight_unknown(make_items) -> None:
    items = make_items(("awning", 30, 1, "caravan", None))
    nose = estimated_noseweight(
        items, measured_kg=None, mass_in_running_order_kg=1300, ball_to_axle_m=4.4
    )
    assert nose.kg is None
    assert "awning" in nose.missing


def test_measured_noseweight_goes_before_the_reckoned_one(make_items) -> None:
    items = make_items(("awning", 30, 1, "caravan", 3.0))
    nose = estimated_noseweight(
        items, measured_kg=71, mass_in_running_order_kg=1300, ball_to_axle_m=4.4
    )
    assert (nose.kg, nose.low_kg, nose.high_kg, nose.measured) == (71, 71, 71, True)


def test_fixed_thing_is_not_asked_to_move(make_items) -> None:
    items = make_items(
        ("gas bottle", 15, 1, "caravan front locker", 2.6),
        ("cast-iron pot", 15, 1, "caravan front locker", 2.6),
        ("cups", 1, 1, "caravan kitchen", 0.1),
    )
    notes = loading_plan(items, axle_span_m=1.0).set_index("item")["note"]
    assert notes["gas bottle"] == ""
    assert "move it low and over the axle" in notes["cast-iron pot"]
