import datetime as dt

import pytest

from planner_kit.rules import cautions_for, law_of, licence_covers, tyre_load_kg

DAY = dt.date(2027, 7, 24)


@pytest.mark.published(
    source="GOV.UK notice 'New rules for towing a trailer with a car from 16 December 2021': "
    "trailers up to 3,500 kg MAM; stored copy read 2026-11-25"
)
@pytest.mark.parametrize(("caravan", "covers"), [(3500, True), (3501, False)])
def test_category_b_in_great_britain(caravan: float, covers: bool) -> None:
    answer = licence_covers("GB", "B", car_gross_kg=3500, caravan_plate_kg=caravan, on=DAY)
    assert answer.covers is covers


# The directive: B with a trailer of up to 750 kg; B with a heavier one up to 3 500 kg together;
# up to 4 250 kg together after training or a test (code 96); BE with a trailer up to 3 500 kg.
@pytest.mark.published(
    source="Directive 2006/126/EC, Article 4 (4) (b) and (c), text as quoted at "
    "http://i-drive.com.cy/?p=287, stored copy read 2026-11-25"
)
@pytest.mark.parametrize(
    ("category", "car", "caravan", "covers"),
    [
        ("B", 3500, 750, True),
        ("B", 2750, 751, False),
        ("B", 2000, 1500, True),
        ("B", 2001, 1500, False),
        ("B96", 2750, 1500, True),
        ("B96", 2751, 1500, False),
        ("BE", 3500, 3500, True),
        ("BE", 2000, 3501, False),
    ],
)
def test_categories_of_the_european_directive(
    category: str, car: float, caravan: float, covers: bool
) -> None:
    for country in ("FR", "DE", "NL", "IE"):
        answer = licence_covers(
            country, category, car_gross_kg=car, caravan_plate_kg=caravan, on=DAY
        )
        assert answer.covers is covers


@pytest.mark.published(
    source="GOV.UK, Towing with a car, weight and width limits: 2.55 m wide, 7 m long behind a "
    "vehicle of up to 3,500 kg; stored copy read 2026-11-25"
)
def test_size_of_a_trailer_in_great_britain() -> None:
    assert law_of("GB", "trailer_width_m", on=DAY).value == 2.55
    assert law_of("GB", "trailer_length_m", on=DAY).value == 7


@pytest.mark.published(
    source="The Highway Code, rule 265: any vehicle drawing a trailer must not use the right-hand "
    "lane of a motorway with three or more lanes; copy read 2026-11-25"
)
def test_lane_rule_of_great_britain() -> None:
    text = law_of("GB", "lane", on=DAY).text
    assert "right-hand lane" in text
    assert "three or more lanes" in text


@pytest.mark.published(
    source="The Highway Code, rule 98: mirrors if the trailer is wider or blocks the view; a "
    "secondary coupling device; copy read 2026-11-25"
)
def test_equipment_rules_of_great_britain() -> None:
    assert "wider than the car" in law_of("GB", "mirrors", on=DAY).text
    assert "second coupling" in law_of("GB", "coupling", on=DAY).text


@pytest.mark.published(
    source="StVO § 18 (1), as of 20 July 2023: not higher than 4 m and not wider than 2.55 m on "
    "motorways; read 2026-11-25"
)
def test_size_on_german_motorways() -> None:
    assert law_of("DE", "height_m", on=DAY).value == 4
    assert law_of("DE", "trailer_width_m", on=DAY).value == 2.55


# Worked example for tyres marked 96/94: 710 kg each on a single axle, 1,420 kg for the pair;
# 670 kg each on two axles, 2,680 kg for the four.
@pytest.mark.published(
    source="Load Index, worked example of dual marking 96/94, "
    "https://trailermedic.co.uk/load-index, stored copy read 2026-11-25"
)
def test_load_of_a_pair_and_of_four_tyres() -> None:
    single, twin = tyre_load_kg(96), tyre_load_kg(94)
    assert single is not None
    assert twin is not None
    assert 2 * single == 1420
    assert 4 * twin == 2680


# Every seventh value of the chart from 60 to 116.
@pytest.mark.published(
    source="Load Index chart 60 to 119, https://trailermedic.co.uk/load-index, stored copy read "
    "2026-11-25"
)
@pytest.mark.parametrize(
    ("index", "load"),
    [
        (60, 250),
        (67, 307),
        (74, 375),
        (81, 462),
        (88, 560),
        (95, 690),
        (102, 850),
        (109, 1030),
        (116, 1250),
    ],
)
def test_load_index_chart(index: int, load: float) -> None:
    assert tyre_load_kg(index) == load


@pytest.mark.published(
    source="The Highway Code, rule 98: do not exceed the manufacturer's recommended weight and "
    "tow ball load; copy read 2026-11-25"
)
def test_cautions_give_way_to_plates_and_handbooks() -> None:
    weights, nose = cautions_for("weights", "noseweight")
    assert "plates" in weights
    assert "handbooks" in weights
    assert "lower of the limits" in nose
