"""Electricity by the kilowatt-hour: the same estimate for pitch, price, shortlist and cost."""

import datetime as dt
from dataclasses import replace

import pandas as pd
import pytest

from planner_kit.costs import Change, changed_lines
from planner_kit.pitch import mains_use
from planner_kit.pitch.climate import climate_of
from planner_kit.pitch.electricity import electricity_need
from planner_kit.sites import (
    TariffRules,
    metered_line,
    price_sum,
    prices_by_start,
    read_tariffs,
    report_sites,
    site_price,
    without_meter,
)
from planner_kit.sites.tariff_rules import TARIFF_COLUMNS
from planner_kit.trip.money import cost_frame

ARRIVE = dt.date(2027, 7, 10)
ON = dt.date(2027, 1, 9)
KETTLE = {"name": "kettle", "watts": 1000.0, "hours_per_day": 1.0}
FRIDGE = {"name": "fridge", "watts": 125.0, "hours_per_day": 24.0}
VAN = {
    "name": "caravan", "shipping_length_m": 7.1, "width_m": 2.3, "body_length_m": 6.0,
    "awning_depth_m": 2.5, "heating": "electric", "hot_water": "electric", "insulation_class": 3,
}  # fmt: skip
COOL = [{"low_c": 4.0, "high_c": 14.0}]
FLAT = {"price_low": "20", "price_mid": "20", "price_high": "20"}
METER = {"hookup_metered": "yes", "kwh_price": "0.5", "hookup_price": "0"}


def inputs(kit, *, van=None, climate=COOL, nights=7, **trip):
    household = {"appliances": [KETTLE, FRIDGE]} | ({} if van is None else {"caravan": van})
    stays = trip.pop("stays", [{"site": "gull-field", "nights": nights}])
    return kit.inputs_with(household, climate=climate, stays=stays, **trip)


def prices(price="0.4", low="0.3", high="0.6", currency="GBP"):
    row = {
        "item": "kwh_site", "price": price, "low": low, "high": high, "currency": currency,
        "as_of": pd.NaT, "source": "made",
    }  # fmt: skip
    return pd.DataFrame([row])


def report(kit, given, sites, *, rules=None, use=None):
    return report_sites(
        given, sites, kit.season_frame(*kit.YEAR), drive_min=pd.Series(dtype=float), reach=None,
        tow=None, country="GB", planned_on=ON, rules=rules, use=use,
    )  # fmt: skip


def meter_of(found):
    return next(line for line in found.cost_lines if line.kind == "electricity")


@pytest.fixture
def tariff(tmp_path):
    def read(*cells):
        names = [column.name for column in TARIFF_COLUMNS]
        path = tmp_path / "tariffs.csv"
        rows = [
            ",".join(str({"site_id": "gull-field", **row}.get(name, "")) for name in names)
            for row in cells
        ]
        path.write_text("\n".join([",".join(names), *rows]) + "\n", encoding="utf-8")
        return TariffRules(read_tariffs(path), None, "GB")

    return read


def test_appliances_alone_cost_hours_times_watts(kit):
    # 1 kWh of the kettle and 3 of the fridge a night, seven nights, 0.50 each.
    line = meter_of(report(kit, inputs(kit), kit.site_frame(**METER)))
    assert (line.low, line.likely, line.high) == (14.0, 14.0, 14.0)
    assert line.what.endswith(", 28 kWh")
    assert line.source.startswith("appliances 28 kWh, times")
    assert line.on == dt.date(2027, 7, 17)


def test_tariff_site_list_and_price_list_are_asked_in_this_order(kit, tariff):
    rules = tariff({"rule": "kwh", "amount": 0.25, "unit": "kwh"})
    given = inputs(kit)
    use = mains_use(given, prices())
    by_tariff = meter_of(report(kit, given, kit.site_frame(**METER), rules=rules, use=use))
    assert by_tariff.likely == 7.0
    assert "times 0.25 GBP a kWh (tariff list row 2" in by_tariff.source
    own = meter_of(report(kit, given, kit.site_frame(**METER), use=use))
    assert own.likely == 14.0
    assert "times 0.50 GBP a kWh (the site's price" in own.source
    silent = kit.site_frame(**{**METER, "kwh_price": None})
    household = meter_of(report(kit, given, silent, use=use))
    # 28 kWh at 0.40, from 0.30 to 0.60.
    assert (household.low, household.likely, household.high) == pytest.approx((8.4, 11.2, 16.8))
    assert "times 0.30 to 0.60 GBP a kWh (price list, kwh_site" in household.source


def test_heating_and_hot_water_reach_the_tariffs_line_with_their_range(kit, tariff):
    rules = tariff({"rule": "kwh", "amount": 0.25, "unit": "kwh"})
    given = inputs(kit, van=VAN)
    line = meter_of(report(kit, given, kit.site_frame(), rules=rules))
    stay = electricity_need(given.household, climate_of(given.trip, "gull-field"), 3, 7).total
    assert stay is not None
    for cost, kwh in zip((line.low, line.likely, line.high), vars(stay).values(), strict=True):
        # Each of seven nights is rounded to the penny.
        assert cost == pytest.approx(kwh * 0.25, abs=0.035)
    assert line.low < line.likely < line.high
    assert "heating" in line.source
    assert "hot water" in line.source


def test_without_temperatures_the_line_and_the_price_are_unknown_and_say_why(kit):
    found = report(kit, inputs(kit, van=VAN, climate=[]), kit.site_frame(**METER))
    line = meter_of(found)
    assert (line.low, line.likely, line.high, line.state) == (None, None, None, "unknown")
    assert "the trip file names no temperatures" in line.source
    assert found.shortlist[["price", "metered"]].isna().all(axis=None)
    assert any("the trip file names no temperatures" in words for words in found.unknowns)
    # What the booking asks for is known all the same.
    assert found.stays["price"].notna().all()


def test_gas_heating_needs_no_temperatures_for_the_meter(kit):
    van = {**VAN, "heating": "gas", "hot_water": "gas"}
    line = meter_of(report(kit, inputs(kit, van=van, climate=[]), kit.site_frame(**METER)))
    assert line.likely == 14.0


def test_shortlist_counts_the_meter_of_the_site_list(kit):
    given = inputs(kit, candidates=["held-field"])
    held = kit.site_frame(site_id="held-field", name="Held Field", hookup_price="0", **FLAT)
    found = report(kit, given, pd.concat([kit.site_frame(**METER, **FLAT), held]))
    price = found.shortlist.set_index("site_id")["price"]
    assert price["gull-field"] - price["held-field"] == pytest.approx(14.0)
    counted = found.shortlist.set_index("site_id")["metered"]
    assert counted.to_dict() == {"gull-field": 14.0, "held-field": 0.0}


def test_price_of_stay_is_that_of_the_booking_and_the_meter_comes_on_top(kit):
    booking = {"state": "booked", "price": 300, "reference": "A1"}
    stays = [{"site": "gull-field", "nights": 7, "booking": booking}]
    found = report(kit, inputs(kit, stays=stays), kit.site_frame(**METER))
    assert found.stays["price"].item() == 300
    assert sum(line.likely for line in found.cost_lines if line.kind == "site") == 300
    assert meter_of(found).likely == 14.0
    parts = found.price_lines
    assert parts.loc[parts["part"] == "kwh", "amount"].sum() == pytest.approx(14.0)
    listed = price_sum(without_meter(parts)).total
    told = next(check for check in found.checks if check.subject.startswith("price at"))
    assert told.limit == pytest.approx(float(listed))


@pytest.mark.parametrize(
    "stay",
    [{"hookup": False}, {"booking": {"state": "called off", "price": 300}}],
    ids=["no hook-up wanted", "called off"],
)
def test_no_meter_where_nothing_is_drawn(kit, stay):
    stays = [{"site": "gull-field", "nights": 7, **stay}]
    found = report(kit, inputs(kit, stays=stays), kit.site_frame(**METER))
    assert not [line for line in found.cost_lines if line.kind == "electricity"]


@pytest.mark.parametrize(
    ("cells", "metered"),
    [({"hookup_metered": "no", "kwh_price": "0.5"}, False), ({"kwh_price": "0.5"}, True),
     ({"hookup_a": "0", "kwh_price": "0.5"}, False), ({}, False)],
)  # fmt: skip
def test_a_meter_is_what_the_row_says_or_a_price_means(kit, cells, metered):
    given = inputs(kit)
    site = kit.site_frame(**cells).iloc[0]
    line = metered_line(site, None, given.household, ARRIVE, 7, mains_use(given))
    assert (line is not None) is metered


def test_no_price_anywhere_and_one_in_other_money_are_unknown(kit):
    given = inputs(kit)
    silent = kit.site_frame(**{**METER, "kwh_price": None}).iloc[0]
    for use in (mains_use(given), mains_use(given, prices(currency="EUR"))):
        line = metered_line(silent, None, given.household, ARRIVE, 7, use)
        assert line.state == "unknown"
        assert "kwh_site" in line.source


def test_kilowatt_hours_that_the_tariff_includes_are_not_paid(kit, tariff):
    rules = tariff({"rule": "kwh", "amount": 0.25, "unit": "kwh", "included": 3})
    line = meter_of(report(kit, inputs(kit), kit.site_frame(), rules=rules))
    assert line.likely == pytest.approx(7 * 0.25)


def test_no_fee_is_reckoned_from_the_meter(kit, tariff):
    card = {"rule": "card", "amount": 2, "unit": "percent"}
    without = tariff(card)
    given = inputs(kit)
    site, seasons = kit.site_frame(**METER), kit.season_frame(*kit.YEAR)
    plain = kit.site_frame(hookup_price="0")

    def total(frame):
        lines = site_price(frame.iloc[0], seasons, ARRIVE, 7, given.household, rules=without)
        return float(price_sum(lines).total)

    assert total(site) - total(plain) == pytest.approx(14.0)


def test_other_days_hold_the_same_meter(kit):
    given = inputs(kit, van=VAN)
    site, seasons = kit.site_frame(**METER), kit.season_frame(*kit.YEAR)
    use = mains_use(given)
    starts = [ARRIVE + dt.timedelta(days=day) for day in (0, 3)]
    many = prices_by_start(site, seasons, starts, 7, given.household, use=use).iloc[0]
    for day in starts:
        lines = site_price(site.iloc[0], seasons, day, 7, given.household, use=use)
        assert many[day] == pytest.approx(float(price_sum(lines).total))


@pytest.mark.parametrize(
    "change",
    [Change(more_nights=-2), Change(days_later=9), Change(site_id="held-field")],
    ids=["two nights fewer", "other days", "another site"],
)
def test_a_what_if_costs_what_the_changed_trip_would(kit, change):
    given = inputs(kit, van=VAN, climate=[*COOL, {"site": "held-field", "low_c": 9, "high_c": 20}])
    held = kit.site_frame(site_id="held-field", name="Held Field", kwh_price="0.7")
    sites, seasons = pd.concat([kit.site_frame(**METER), held]), kit.season_frame(*kit.YEAR)
    use = mains_use(given)
    planned = cost_frame(report(kit, given, sites, use=use).cost_lines)
    seen = changed_lines(planned, given, sites, seasons, change, planned_on=ON, use=use)
    stay = given.trip.stays[0].model_copy(
        update={"nights": 7 + change.more_nights, "site": change.site_id or "gull-field"}
    )
    moved = given.trip.model_copy(
        update={"stays": (stay,), "start": ARRIVE + dt.timedelta(days=change.days_later)}
    )
    anew = report(kit, replace(given, trip=moved), sites, use=use)
    line = meter_of(anew)
    told = seen[seen["kind"] == "electricity"].iloc[0]
    assert (told["low"], told["likely"], told["high"]) == (line.low, line.likely, line.high)
    assert told["what"] == line.what
