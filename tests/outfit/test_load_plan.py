import datetime as dt
import xml.etree.ElementTree as ET

import pytest

from planner_kit.errors import PlanFileError
from planner_kit.outfit import (
    floor_picture,
    load_checks,
    mass_in_kg,
    outfit_of,
    read_items,
    write_items,
)
from planner_kit.outfit.compared import PLAIN
from planner_kit.outfit.masses import masses_of
from planner_kit.reference import shipped_folder
from planner_kit.states import State

DAY = dt.date(2027, 7, 24)
WHOLE_CAR = {
    "front_axle_kerb_kg": 1000,
    "rear_axle_kerb_kg": 800,
    "wheelbase_m": 2.8,
    "drive": "front",
}
ROWS = (
    ("awning", 28, 1, "caravan floor", 0.2),
    ("gas bottle", 15, 1, "caravan front locker", 2.6),
    ("boxes", 9, 2, "caravan rear", -2.0),
    ("tools", 10, 1, "car boot", None),
)


def report_of(house, items, **options):
    outfit = outfit_of(house, items=items, on=DAY)
    return load_checks(house, outfit, items=items, on=DAY, **options)


@pytest.fixture
def house(make_household):
    return make_household(car=WHOLE_CAR, loading={"caravan_load_kg": None, "car_load_kg": None})


def test_rear_axle_carries_more_than_the_ball_itself(house, make_items) -> None:
    checks = {check.subject: check for check in report_of(house, make_items(*ROWS)).checks}
    rear = checks["load on the car's rear axle"]
    front = checks["load on the car's front axle"]
    # Ball 1.3 m behind an axle of a 2.8 m wheelbase: 80 kg lift 37 kg off the front axle.
    assert "lifts 37 kg" in front.sentence
    assert rear.figure is not None
    assert rear.state is State.LOOK


def test_kerb_mass_with_a_driver_counts_the_driver_once(house, make_items) -> None:
    items = make_items(*ROWS)
    with_driver = house.model_copy(
        update={"car": house.car.model_copy(update={"kerb_includes_driver": True})}
    )
    light = masses_of(with_driver, items=items, on=DAY)
    heavy = masses_of(house, items=items, on=DAY)
    assert heavy.car_kg - light.car_kg == 75
    assert any("not said" in text for text in outfit_of(house, items=items, on=DAY).assumed)


def test_ratio_near_the_advice_is_looked_at_while_the_driver_is_unsaid(make_household) -> None:
    house = make_household(car={"kerb_kg": 1800}, caravan={"mtplm_kg": 1500})
    (check,) = [c for c in report_of(house, None).checks if "kerb mass" in c.subject]
    assert check.state is State.LOOK
    assert "kerb_includes_driver" in check.sentence


def test_thing_beyond_the_caravan_is_one_sentence(house, make_items) -> None:
    items = make_items(*ROWS, ("canoe", 20, 1, "caravan rear", -6.0))
    (check,) = [c for c in report_of(house, items).checks if "places in" in c.subject]
    assert check.state is State.NOT_FINE
    assert "canoe" in check.sentence
    assert "x_m" in check.sentence


def test_thing_beside_the_caravan_is_one_sentence(house, make_items) -> None:
    items = make_items(*ROWS).assign(y_m=[0.3, 1.14, -1.3, 1.4])
    (check,) = [c for c in report_of(house, items).checks if "places in" in c.subject]
    # 2.3 m wide, so 1.15 m to each side; the tools lie in the car.
    assert check.state is State.NOT_FINE
    assert "boxes" in check.sentence
    assert "y_m" in check.sentence


def test_effects_add_up_to_the_moment_of_the_load(house, make_items) -> None:
    effects = report_of(house, make_items(*ROWS)).plan.effects
    assert effects["nose_kg"].sum() == pytest.approx((28 * 0.2 + 15 * 2.6 - 18 * 2.0) / 4.4)
    assert (effects["home_kg"] == -effects["nose_kg"]).all()


def test_loadings_are_compared_at_the_same_noseweight(house, make_items) -> None:
    sway = report_of(house, make_items(*ROWS)).plan.sway.set_index("loading")
    now, near, ends = (
        sway.loc[name]
        for name in (
            "as it is loaded",
            PLAIN,
            "at the two ends, same noseweight",
        )
    )
    assert near["nose_kg"] == pytest.approx(now["nose_kg"])
    assert ends["nose_kg"] == pytest.approx(now["nose_kg"])
    assert near["yaw_inertia_kg_m2"] < now["yaw_inertia_kg_m2"] < ends["yaw_inertia_kg_m2"] + 1e-6
    assert near["damping"] > ends["damping"]
    assert (near["trend_pct"], now["trend_pct"] < 0, ends["trend_pct"] < 0) == (0, True, True)


def test_loading_is_told_against_the_plain_one_with_the_limits_of_the_model(
    house, make_items
) -> None:
    plan = report_of(house, make_items(*ROWS)).plan
    now, plain = (plan.sway.set_index("loading").loc[n] for n in ("as it is loaded", PLAIN))
    assert f"damping of {now['damping']:.3f}, against {plain['damping']:.3f}" in plan.sway_sentence
    assert f"{-now['trend_pct']:.0f} % lower" in plan.sway_sentence
    assert "names no safe speed" in plan.sway_sentence


def test_loading_of_a_caravan_with_nothing_in_it_is_not_compared_with_a_plain_one(
    house, make_items
) -> None:
    plan = report_of(house, make_items(("tools", 10, 1, "car boot", None))).plan
    assert PLAIN not in set(plan.sway["loading"])
    assert "against" not in plan.sway_sentence


def test_comparison_without_the_wheelbase_says_what_is_missing(make_household, make_items) -> None:
    house = make_household(loading={"caravan_load_kg": None})
    plan = report_of(house, make_items(*ROWS)).plan
    assert plan.sway is None
    assert "wheelbase" in plan.sway_sentence


def test_list_heavier_than_the_caravan_is_not_compared(make_household, make_items) -> None:
    house = make_household(car=WHOLE_CAR, loading={"caravan_load_kg": 100})
    plan = report_of(house, make_items(("lead", 1400, 1, "caravan floor", 0.0))).plan
    assert plan.sway is None
    assert "weigh more than the whole laden caravan" in plan.sway_sentence


def test_measured_noseweight_follows_a_thing_that_moves(house, make_items) -> None:
    before = make_items(*ROWS)
    after = before.copy()
    after.loc[0, "x_m"] = 1.2
    nose = report_of(house, after, measured_with=before).noseweight
    assert nose.kg == pytest.approx(80 + 28 * 1.0 / 4.4)
    assert not nose.measured


def test_noseweight_stays_measured_while_nothing_in_the_caravan_moves(house, make_items) -> None:
    before = make_items(*ROWS)
    after = before.assign(needed=[False, None, None, True])
    after.loc[3, "mass_kg"] = 25.0
    after = after.iloc[::-1].reset_index(drop=True)
    nose = report_of(house, after, measured_with=before).noseweight
    assert nose.measured
    assert nose.kg == 80


def test_noseweight_is_unknown_after_a_thing_lost_its_mass(house, make_items) -> None:
    before = make_items(*ROWS)
    after = before.copy()
    after.loc[0, "mass_kg"] = float("nan")
    assert report_of(house, after, measured_with=before).noseweight.kg is None


def test_noseweight_is_unknown_after_a_thing_without_a_place_got_heavier(house, make_items) -> None:
    before = make_items(*ROWS, ("books", 5, 1, "caravan rear", None))
    after = before.copy()
    after.loc[0, "x_m"] = 1.2
    assert report_of(house, after, measured_with=before).noseweight.kg is not None
    after.loc[4, "mass_kg"] = 25
    nose = report_of(house, after, measured_with=before).noseweight
    assert nose.kg is None
    assert "books" in nose.missing


def test_second_of_two_things_of_one_name_that_lost_its_place_is_named(house, make_items) -> None:
    rows = [*ROWS, ("clothes", 5, 1, "caravan rear", None), ("clothes", 5, 1, "caravan rear", -2.0)]
    before = make_items(*rows)
    after = before.copy()
    after.loc[5, "x_m"] = float("nan")
    assert "clothes" in report_of(house, after, measured_with=before).noseweight.missing


def test_picture_of_names_with_control_characters_is_still_xml(house, make_items) -> None:
    items = make_items(*ROWS, ("aw\x00ni\x1bng \u202e", 40, 1, "caravan kitchen", -0.5))
    outfit = outfit_of(house, items=items, on=DAY)
    svg = floor_picture(house.caravan, outfit, items)
    ET.fromstring(svg)
    assert "aw\\x00ni" in svg


def test_picture_has_a_disc_for_each_thing_and_escapes_names(house, make_items) -> None:
    items = make_items(*ROWS, ("<b>stove</b> & pan", 4, 1, "caravan kitchen", -0.5))
    outfit = outfit_of(house, items=items, on=DAY)
    svg = floor_picture(house.caravan, outfit, items, nose_kg=80, axle_kg=None)
    root = ET.fromstring(svg)
    titles = [each.text for each in root.iter("{http://www.w3.org/2000/svg}title")]
    assert len(titles) == 4
    assert any(title.startswith("<b>stove</b> & pan") for title in titles)
    assert "axle unknown" in svg


def test_picture_without_the_caravans_length_is_none(make_household, make_items) -> None:
    house = make_household(caravan={"shipping_length_m": None, "body_length_m": None})
    outfit = outfit_of(house, on=DAY)
    assert floor_picture(house.caravan, outfit, make_items(*ROWS)) is None


@pytest.mark.parametrize(
    ("words", "kilograms"),
    [
        ("12.5 kg", 12.5),
        ("350 g", 0.35),
        ("8 lb", 3.628739),
        ("1 st 4 lb", 18 * 0.45359237),
        ("12oz", 0.340194),
        ("2 stones", 12.700586),
        ("12", None),
        ("3 bags", None),
        ("", None),
        ("5 kg or so", None),
    ],
)
def test_mass_is_read_with_its_unit(words, kilograms) -> None:
    assert mass_in_kg(words) == (None if kilograms is None else pytest.approx(kilograms, abs=1e-5))


def written(tmp_path, text):
    path = tmp_path / "items.csv"
    path.write_text(text)
    return path


def test_pounds_among_kilograms_are_one_sentence_with_the_kilograms(tmp_path) -> None:
    path = written(tmp_path, "item,mass_kg,place\nawning,60 lb,caravan\n")
    with pytest.raises(PlanFileError, match=r"'60 lb' is not a number; write 27\.22"):
        read_items(path)


def test_column_with_units_is_read_into_kilograms(tmp_path) -> None:
    path = written(tmp_path, "item,mass,place\nawning,4 st,caravan\npeg,,caravan\n")
    items = read_items(path)
    assert items["mass_kg"].iloc[0] == pytest.approx(25.401173)
    assert items["mass_kg"].isna().iloc[1]


@pytest.mark.parametrize(
    ("row", "sentence"),
    [("awning,12,,caravan", "not a mass with its unit"), ("awning,8 lb,3,caravan", "keep one")],
)
def test_mass_in_two_minds_is_one_sentence(tmp_path, row, sentence) -> None:
    path = written(tmp_path, f"item,mass,mass_kg,place\n{row}\n")
    with pytest.raises(PlanFileError, match=sentence):
        read_items(path)


def test_row_of_a_fault_is_that_of_the_spreadsheet(tmp_path) -> None:
    path = written(tmp_path, "item,mass,place\n\npeg,2 lb,caravan\nawning,3 sacks,caravan\n")
    with pytest.raises(PlanFileError, match=r"row 4, column mass: '3 sacks'"):
        read_items(path)
    path = written(tmp_path, "item,place\npeg,caravan\nawning,shed\n")
    with pytest.raises(PlanFileError, match=r"row 3, column place: the place 'shed'"):
        read_items(path)


@pytest.mark.parametrize(("mark", "name"), [(";", "semicolons"), ("\t", "tabs")])
def test_list_with_other_separators_says_which_to_use(tmp_path, mark, name) -> None:
    path = written(tmp_path, "item,mass_kg,place\nawning,12,caravan\n".replace(",", mark))
    with pytest.raises(PlanFileError, match=f"parted by {name}; save it as CSV with commas"):
        read_items(path)


def test_list_written_reads_back_the_same(tmp_path) -> None:
    items = read_items(shipped_folder("data") / "starter" / "items.csv")
    write_items(items, tmp_path / "again.csv")
    again = read_items(tmp_path / "again.csv")
    for name in ("item", "mass_kg", "quantity", "place", "x_m", "fixed", "needed"):
        assert again[name].equals(items[name]), name


def test_what_each_person_packs_adds_up(house, make_items) -> None:
    items = make_items(
        ("clothes", 9, 1, "caravan front", 1.4),
        ("books", 2, 3, "caravan rear", -1.0),
        ("boots", 4, 1, "car boot", None),
        ("games", None, 1, "caravan rear", -1.0),
        ("awning", 20, 1, "caravan floor", 0.1),
    ).assign(person=["Ada", "Bo", "Ada", "Bo", ""])
    packed = report_of(house, items).plan.packed.set_index("person")
    assert packed.loc["Ada"].tolist() == [9, 4, 0]
    assert packed.loc["Bo"].tolist() == [6, 0, 1]
    assert len(packed) == 2
