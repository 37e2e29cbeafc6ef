"""The units that people read, against published conversion tables."""

import pytest

from planner_kit.trip import display
from planner_kit.trip.household import Units


@pytest.mark.published(
    source="Fuel consumption converter, worked example '30 mpg (US) is 7.84 l/100 km, 12.75 km/l "
    "and 36.03 mpg (imperial)', "
    "https://www.calcdragon.com/c/fuel-consumption-converter, stored copy "
    "read 2026-11-25"
)
def test_thirty_us_miles_to_the_gallon_in_the_other_units() -> None:
    per_100km = 7.84
    assert display.consumption(per_100km, Units(locale="en-US")) == "30.0 mpg (US)"
    assert display.consumption(per_100km, Units()) == "36.0 mpg"
    assert display.consumption(per_100km, Units(fuel="km_per_l")) == "12.8 km/l"


@pytest.mark.published(
    source="Conversion table 10 MPG = 23.522, 15 = 15.681, 20 = 11.761, 25 = 9.409, 40 = 5.881 "
    "l/100 km (US gallons), https://bilet.pp.ru/calculator/convert_mpg_to_l_per_100km.php, stored "
    "copy read 2026-11-25"
)
@pytest.mark.parametrize(
    ("mpg", "per_100km"), [(10, 23.522), (15, 15.681), (20, 11.761), (25, 9.409), (40, 5.881)]
)
def test_us_table_row_by_row(mpg: int, per_100km: float) -> None:
    assert display.consumption(per_100km, Units(locale="en-US")) == f"{mpg:.1f} mpg (US)"


@pytest.mark.published(
    source="The formula 282.48/x turns miles per imperial gallon into l/100 km, "
    "http://peswiki.com/miles-per-gallon, stored copy read 2026-11-25"
)
@pytest.mark.parametrize("mpg", [18, 24, 31, 47])
def test_imperial_formula(mpg: int) -> None:
    assert display.consumption(282.48 / mpg, Units()) == f"{mpg:.1f} mpg"
