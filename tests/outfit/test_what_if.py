import datetime as dt
import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from planner_kit.outfit import load_checks, outfit_of

DAY = dt.date(2027, 7, 24)
CAR = {"front_axle_kerb_kg": 1000, "rear_axle_kerb_kg": 800, "wheelbase_m": 2.8}
ROWS = (
    ("awning", 28, 1, "caravan floor", 0.2),
    ("gas bottle", 15, 1, "caravan front locker", 2.6),
    ("leisure battery", 22, 1, "caravan box", 0.6),
    ("clothes", 9, 2, "caravan rear", -2.0),
    ("bicycles", 14, 2, "car roof", None),
    ("water tank", None, 1, "caravan floor", 0.5),
)


@pytest.fixture(scope="module")
def house(make_household):
    return make_household(
        car=CAR,
        caravan={"fresh_water_l": 40},
        loading={"caravan_load_kg": None, "car_load_kg": None},
    )


def report_of(house, items, **options):
    return load_checks(house, outfit_of(house, items=items, on=DAY), items=items, on=DAY, **options)


def changes_of(house, items):
    return report_of(house, items).plan.what_if.set_index(["thing", "goes"])


def test_each_thing_asked_about_has_its_places(house, make_items) -> None:
    goes = report_of(house, make_items(*ROWS)).plan.what_if.groupby("thing")["goes"].agg(set)
    out = {"into the boot", "stays at home"}
    # 7.3 m long with the axle 4.4 m behind the ball: a rack hangs 0.3 m behind 2.9 m.
    assert goes["bicycles"] == {"over the axle", "rack behind, -3.2 m", *out}
    assert goes["awning"] == {"foremost, +2.6 m", "rearmost, -2.0 m", *out}
    # A fitted battery stays in the caravan.
    assert goes["leisure battery"] == {"over the axle", "foremost, +2.6 m", "rearmost, -2.0 m"}
    assert goes["water tank of 40 l"] == {"filled, +0.5 m"}


def test_figures_are_those_of_the_lever(house, make_items) -> None:
    changes = changes_of(house, make_items(*ROWS))
    tank = changes.loc[("water tank of 40 l", "filled, +0.5 m")]
    assert tank["nose_kg"] == pytest.approx(40 * 0.5 / 4.4)
    assert tank["nose_after_kg"] == pytest.approx(80 + 40 * 0.5 / 4.4)
    assert tank["caravan_kg"] == 40
    assert tank["axle_kg"] == pytest.approx(40 - 40 * 0.5 / 4.4)
    # The ball stands 1.3 m behind an axle of a 2.8 m wheelbase.
    assert tank["rear_kg"] == pytest.approx(40 * 0.5 / 4.4 * (1 + 1.3 / 2.8))


def test_two_axles_share_what_comes(house, make_items) -> None:
    two = house.model_copy(update={"caravan": house.caravan.model_copy(update={"axles": 2})})
    one = changes_of(house, make_items(*ROWS))["axle_kg"]
    assert changes_of(two, make_items(*ROWS))["axle_kg"].to_list() == pytest.approx(
        (one / 2).to_list()
    )


@settings(max_examples=25, deadline=None)
@given(mass=st.floats(1, 60), x_m=st.floats(-2.5, 3), seat=st.sampled_from(["boot", "home"]))
def test_change_told_is_the_change_of_the_whole_reckoning(
    house, make_items, mass, x_m, seat
) -> None:
    items = make_items(("awning", mass, 1, "caravan floor", x_m), *ROWS[1:5])
    told = report_of(house, items).plan.what_if
    words = {"boot": "into the boot", "home": "stays at home"}[seat]
    row = told[(told["thing"] == "awning") & (told["goes"] == words)].iloc[0]
    after = items.drop(index=0).reset_index(drop=True)
    if seat == "boot":
        after = items.copy()
        after.loc[0, ["place", "x_m"]] = ["car boot", math.nan]
    before_report = report_of(house, items)
    after_report = report_of(house, after, measured_with=items)
    change = after_report.noseweight.kg - before_report.noseweight.kg
    assert row["nose_kg"] == pytest.approx(change, abs=1e-9)
    assert row["nose_after_kg"] == pytest.approx(after_report.noseweight.kg)
    caravan = after_report.masses.caravan_kg - before_report.masses.caravan_kg
    assert row["caravan_kg"] == pytest.approx(caravan)


def test_what_is_not_known_stays_unknown(house, make_items) -> None:
    items = make_items(
        ("awning", 28, 1, "caravan floor", None), ("bikes", None, 2, "car roof", None)
    )
    told = report_of(house, items).plan.what_if.set_index("thing")
    assert told.loc["awning", "nose_kg"].isna().all()
    assert "bikes" not in told.index
    assert math.isnan(told.loc["water tank of 40 l", "nose_kg"])
    assert told.loc["water tank of 40 l", "caravan_kg"] == 40
