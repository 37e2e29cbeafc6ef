import datetime as dt
from zoneinfo import ZoneInfo

import numpy as np
import pandas as pd

from planner_kit.outings import sun_table, sun_times

LONDON = ZoneInfo("Europe/London")


def test_order_of_light_and_local_clock():
    row = sun_table(54.0, -4.0, [dt.date(2027, 7, 24)], LONDON).iloc[0]
    assert row["dawn"] < row["sunrise"] < row["sunset"] < row["dusk"]
    assert row["sunrise"].utcoffset() == dt.timedelta(hours=1)
    assert row["sunrise"].date() == dt.date(2027, 7, 24)
    light = (row["sunset"] - row["sunrise"]).total_seconds() / 60
    assert row["daylight_min"] == light


def test_midnight_sun_has_no_sunset():
    row = sun_table(70.0, 20.0, [dt.date(2027, 6, 21)], ZoneInfo("Europe/Oslo")).iloc[0]
    assert pd.isna(row["sunset"])
    assert np.isnan(row["daylight_min"])


def test_no_days_no_rows():
    assert sun_table(54.0, -4.0, [], LONDON).empty


def test_one_day_is_the_row_of_the_table_and_takes_a_zone_by_name():
    day = dt.date(2027, 7, 24)
    one = sun_times(54.0, -4.0, day, "Europe/London")
    row = sun_table(54.0, -4.0, [day], LONDON).iloc[0]
    assert (one.sunrise, one.sunset) == (row["sunrise"], row["sunset"])
    assert sun_times(70.0, 20.0, dt.date(2027, 6, 21), "Europe/Oslo").sunset is None
