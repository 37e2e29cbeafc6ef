"""CSV lists: values, missing cells, and the row and column of a fault."""

import json
from pathlib import Path

import pandas as pd
import pytest

from planner_kit.errors import PlanFileError
from planner_kit.trip.lists import ListColumn, read_list
from planner_kit.trip.prices import price_of, read_prices

COLUMNS = (
    ListColumn("key", "id", "what it is", True),
    ListColumn("price", "number", "price", low=0, high=100),
    ListColumn("beds", "whole", "beds", low=0),
    ListColumn("dogs", "yes_no", "dogs allowed"),
    ListColumn("day", "date", "a day"),
    ListColumn("opens", "month_day", "season start"),
    ListColumn("at", "time", "arrival"),
    ListColumn("size", "choice", "size", choices=("small", "large")),
)


def _file(folder: Path, text: str) -> Path:
    path = folder / "list.csv"
    path.write_text(text, encoding="utf-8")
    return path


def test_cells_get_their_types_and_empty_ones_are_missing(tmp_path: Path) -> None:
    header, row = (
        "key,price,beds,dogs,day,opens,at,size",
        "a,1.5,2,yes,2027-07-24,02-29,14:30,large",
    )
    text = f"{header}\n{row}\nb,,,,,,,\n"
    frame = read_list(_file(tmp_path, text), COLUMNS)
    assert frame.loc[0, "price"] == 1.5
    assert frame.loc[0, "dogs"]
    assert frame.loc[0, "opens"] == "02-29"
    assert frame.loc[1, ["price", "beds", "dogs", "day"]].isna().all()
    assert frame.loc[1, "at"] == ""


@pytest.mark.parametrize(
    ("cell", "column", "expected"),
    [
        ("1,5", "price", "use a point for decimals"),
        ("12 pounds", "price", "'12 pounds' is not a number"),
        ("-3", "price", "-3 is outside 0 to 100"),
        ("2.5", "beds", "2.5 is not a whole number"),
        ("perhaps", "dogs", "'perhaps' is neither yes nor no"),
        ("24/07/2027", "day", "is not a date such as"),
        ("13-40", "opens", "is not a month and day"),
        ("25:00", "at", "is not a time"),
        ("larg", "size", "did you mean 'large'"),
    ],
)
def test_wrong_cell_is_named_by_row_and_column(
    tmp_path: Path, cell: str, column: str, expected: str
) -> None:
    text = f'key,{column}\na,\nb,"{cell}"\n'
    with pytest.raises(PlanFileError) as caught:
        read_list(_file(tmp_path, text), COLUMNS)
    assert f"row 3, column {column}" in str(caught.value)
    assert expected in str(caught.value)


def test_all_faults_are_counted(tmp_path: Path) -> None:
    with pytest.raises(PlanFileError, match="and 1 more cells to mend"):
        read_list(_file(tmp_path, "key,price\na,x\nb,y\n"), COLUMNS)


@pytest.mark.parametrize(
    ("text", "expected"),
    [
        ("", "it is empty"),
        ("price\n1\n", "the column 'key' is missing"),
        ("key,prize\na,1\n", "did you mean 'price'"),
        ("key,key\na,b\n", "stands twice"),
        ("key,price\na,1,2\n", "row 2: it has 3 cells"),
        ('key,price\n"a,1\n', "is not CSV"),
    ],
)
def test_fault_of_the_whole_file_is_said(tmp_path: Path, text: str, expected: str) -> None:
    with pytest.raises(PlanFileError) as caught:
        read_list(_file(tmp_path, text), COLUMNS)
    assert expected in str(caught.value)


def test_key_that_stands_twice_is_refused(tmp_path: Path) -> None:
    with pytest.raises(PlanFileError, match="row 3, column key: 'a' stands in an earlier row"):
        read_list(_file(tmp_path, "key,price\na,1\na,2\n"), COLUMNS, key="key")


def test_price_carries_range_and_origin_and_missing_is_none(tmp_path: Path) -> None:
    path = _file(
        tmp_path,
        "item,price,low,high,currency,as_of,source\ndiesel_l,1.5,1.4,,GBP,2027-01-02,receipt\n",
    )
    prices = read_prices(path)
    diesel = price_of(prices, "diesel_l")
    assert diesel is not None
    assert (diesel.low, diesel.likely, diesel.high) == (1.4, 1.5, 1.5)
    assert diesel.source == "receipt on 2027-01-02"
    assert price_of(prices, "petrol_l") is None
    assert isinstance(read_prices(None), pd.DataFrame)


def _points(tmp_path: Path, *features: object) -> Path:
    path = tmp_path / "points.geojson"
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}))
    return path


PLACES = (
    ListColumn("key", "id", "a key", True),
    ListColumn("price", "number", "a price", low=0, high=100),
    ListColumn("open", "yes_no", "open or not"),
    ListColumn("lat", "number", "latitude", True, low=-90, high=90),
    ListColumn("lon", "number", "longitude", True, low=-180, high=180),
)


def _feature(**properties: object) -> dict[str, object]:
    geometry = {"type": "Point", "coordinates": [-14.5, 49.5, 12.0]}
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def test_points_of_geojson_are_the_rows_of_a_list(tmp_path: Path) -> None:
    path = _points(tmp_path, _feature(key="a", price=2.5, open=True), _feature(key="b", price=None))
    frame = read_list(path, PLACES, key="key")
    assert frame["price"].tolist()[0] == 2.5
    assert frame["price"].isna().tolist() == [False, True]
    assert frame["open"].tolist()[0] is True
    assert (frame["lat"] == 49.5).all()
    assert (frame["lon"] == -14.5).all()


@pytest.mark.parametrize(
    ("features", "expected"),
    [
        ([_feature(key="a", price="dear")], "feature 1, property price: 'dear' is not a number"),
        ([_feature(key="a"), _feature(key="a")], "feature 2, property key: 'a' stands in"),
        (
            [_feature(key="a"), {"type": "Feature", "geometry": None}],
            "feature 2: it is not a point",
        ),
        ([_feature(key=["a"])], "feature 1: 'key' holds a list"),
        ([_feature(key="a", prize=1)], "did you mean 'price'"),
        ([], "with something in it"),
    ],
)
def test_fault_of_geojson_names_the_feature(
    tmp_path: Path, features: list[object], expected: str
) -> None:
    with pytest.raises(PlanFileError) as caught:
        read_list(_points(tmp_path, *features), PLACES, key="key")
    assert expected in str(caught.value)


def test_geojson_that_is_cut_off_names_the_line(tmp_path: Path) -> None:
    path = tmp_path / "cut.geojson"
    path.write_text('{"type": "FeatureCollection",\n "features": [')
    with pytest.raises(PlanFileError, match="line 2: it is not JSON"):
        read_list(path, PLACES)
