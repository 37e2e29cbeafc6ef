from __future__ import annotations

import datetime as dt
from dataclasses import dataclass
from types import SimpleNamespace

import geopandas as gpd
import pandas as pd
import pytest
import shapely

from planner_kit.diary.pitch_figures import pitch_figures
from planner_kit.pitch import PitchReport, plan_pitch, with_trip_gas
from planner_kit.states import State
from planner_kit.trip.prices import PRICE_COLUMNS
from planner_kit.trip.trip import Stay

ARRIVE, LEAVE = dt.date(2027, 7, 24), dt.date(2027, 7, 29)
STAY = Stay(site="made-site", nights=5)


def prices(*rows: tuple[str, float, float, float]) -> pd.DataFrame:
    frame = pd.DataFrame(
        [
            {
                "item": item, "price": price, "low": low, "high": high, "currency": "GBP",
                "as_of": pd.Timestamp("2026-11-01"), "source": "made price list",
            }
            for item, price, low, high in rows
        ],
        columns=[c.name for c in PRICE_COLUMNS],
    )  # fmt: skip
    return frame


FULL = prices(
    ("gas_kg_propane", 3.0, 2.5, 4.0),
    ("cassette_fluid_l", 8.0, 8.0, 8.0),
    ("kwh_site", 0.5, 0.4, 0.6),
)


@dataclass(frozen=True, eq=False)
class MadeRegion:
    terrain: object
    places: pd.DataFrame
    areas: pd.DataFrame
    time_zone: str
    country: str
    bounds: tuple[float, float, float, float] = (-0.5, 53.5, 0.5, 54.5)

    @property
    def roads(self) -> gpd.GeoDataFrame:
        line = shapely.LineString([(-0.01, 54.002), (0.01, 54.002)])
        return gpd.GeoDataFrame({"geometry": [line]}, crs=4326)


def plan(inputs, site, masts, ground, *, price_list=FULL, stay=STAY) -> PitchReport:
    region = MadeRegion(
        ground, pd.DataFrame({"kind": []}), pd.DataFrame({"kind": []}), "Europe/London", "GB"
    )
    return plan_pitch(
        inputs, region, site, ARRIVE, LEAVE, masts=masts, prices=price_list, stay=stay
    )


def state_of(report: PitchReport, subject: str) -> State:
    (check,) = [c for c in report.checks if c.subject.startswith(subject)]
    return check.state


def test_whole_report_of_a_stay(inputs, site, masts, flat) -> None:
    report = plan(inputs(), site(), masts({}), flat)
    assert report.site_id == "made-site"
    assert state_of(report, "hook-up load") is State.FINE
    assert state_of(report, "hook-up lead") is State.FINE
    assert state_of(report, "phone of Ann") is State.FINE
    assert state_of(report, "television") is State.UNKNOWN
    assert any("television" in words for words in report.unknowns)
    assert len(report.cautions) == 4
    gas = next(line for line in report.cost_lines if line.kind == "gas")
    # 250 g x 5 nights = 1.25 kg at 3.00, from 0.25 kg at 2.50 to 3 kg at 4.00.
    assert (gas.low, gas.likely, gas.high) == (0.62, 3.75, 12.0)
    assert gas.currency == "GBP"
    assert "100 to 400 g an hour, 0.5 to 1.5 hours a day" in gas.source
    assert report.to_bring["what"].tolist() == [
        "gas (propane)", "toilet fluid", "hook-up lead", "polarity tester", "water carrier",
        "waste container", "levelling ramps",
    ]  # fmt: skip


def test_green_rule_reaches_the_things_to_bring(inputs, site, masts, flat) -> None:
    report = plan(inputs(), site(toilet_fluid="green only"), masts({}), flat)
    assert "green toilet fluid" in report.to_bring["what"].tolist()
    assert state_of(report, "toilet fluid") is State.LOOK


def test_silent_site_is_unknown_all_through(inputs, site, masts) -> None:
    silent = site(hookup_a=float("nan"), hookup_price=float("nan"), toilet_fluid="", water_point="")
    report = plan(inputs(), silent, masts(), None)
    for subject in ("hook-up load", "hook-up lead", "toilet fluid", "water", "phone", "television"):
        assert state_of(report, subject) is State.UNKNOWN
    assert any("electricity" in words for words in report.unknowns)
    # Without amperes for certain the refrigerator may need gas: 5 x (250 + 420) g.
    assert report.to_bring["how_much"].iloc[0].startswith("3.4 kg")
    assert "refrigerator" in report.to_bring["why"].iloc[0]


def test_no_price_gives_an_unknown_cost_and_says_so(inputs, site, masts, flat) -> None:
    report = plan(inputs(), site(), masts({}), flat, price_list=prices())
    assert {line.state for line in report.cost_lines} == {"unknown"}
    assert all(line.likely is None for line in report.cost_lines)
    assert any("gas_kg_propane" in words for words in report.unknowns)


def test_stay_without_hookup_looks_at_the_battery(inputs, site, masts, flat) -> None:
    stay = STAY.model_copy(update={"hookup": False})
    report = plan(inputs(), site(), masts({}), flat, stay=stay)
    subjects = [c.subject for c in report.checks]
    assert "leisure battery" in subjects
    assert "hook-up load" not in subjects


def test_site_without_posts_tells_both(inputs, site, masts, flat) -> None:
    report = plan(inputs(), site(hookup_a=0.0), masts({}), flat)
    assert state_of(report, "hook-up load") is State.NOT_FINE
    assert state_of(report, "leisure battery") is State.UNKNOWN


def test_household_without_phones_is_told(inputs, site, masts, flat) -> None:
    report = plan(inputs(phones=[]), site(), masts({}), flat)
    assert state_of(report, "phones") is State.UNKNOWN


def test_inputs_are_left_alone(inputs, site, masts, flat) -> None:
    row, list_ = site(), masts({})
    before_row, before_list = row.copy(), list_.copy(deep=True)
    plan(inputs(), row, list_, flat)
    assert row.equals(before_row)
    assert list_.equals(before_list)


def test_figures_of_the_pitch_reach_a_record(inputs, site, masts, flat) -> None:
    given = inputs()
    report = plan(given, site(), masts({}), flat)
    trip = SimpleNamespace(pitches=(report,), files=SimpleNamespace(inputs=given))
    figures = {key: (value, unit) for key, _, value, unit, _ in pitch_figures(trip)}
    # 250 g of gas, (750 x 0.5 + 1000 x 2 + 100 / 0.85) Wh and 2 x 11.25 L a day, for five nights.
    assert figures["pitch.1.gas_kg"] == (1.2, "kg")
    assert figures["pitch.1.kwh"] == (12.5, "kWh")
    assert figures["pitch.1.water_l"] == (112.5, "L")
    assert figures["pitch.1.walk_m"] == (None, "m")
    assert figures["pitch.1.dangers"] == (0, "warnings")
    level, unit = figures["pitch.1.signal.phone_of_ann_northwave"]
    assert unit == "dBm"
    assert level == pytest.approx(report.signals["level"].iloc[0], abs=0.05)


def test_gas_of_a_tour_is_added_up_over_its_stays(inputs, site, masts, flat) -> None:
    given = inputs(caravan={"gas_cylinders": 1, "gas_cylinder_kg": 2})
    stays = [plan(given, site(), masts({}), flat) for _ in range(2)]
    one = with_trip_gas(stays[:1], given.household.caravan)
    assert one == tuple(stays[:1])
    first, second = with_trip_gas(stays, given.household.caravan)
    # Twice 1.25 kg is more than one cylinder of 2 kg holds, though one stay is not.
    assert state_of(first, "gas for all 2 stays") is State.NOT_FINE
    assert any(words.startswith("Gas for all 2 stays") for words in first.warnings)
    assert second is stays[1]


def test_gas_that_heats_for_nobody_knows_how_cold_is_an_unknown_line(
    inputs, site, masts, flat
) -> None:
    van = {"heating": "gas", "body_length_m": 6.0, "width_m": 2.3, "insulation_class": 3}
    report = plan(inputs(caravan=van), site(), masts({}), flat)
    first, heat = [line for line in report.cost_lines if line.kind == "gas"]
    assert first.likely == 3.75
    assert (heat.likely, heat.state) == (None, "unknown")
    assert "the trip file names no temperatures" in heat.source
    assert report.to_bring["cost_likely"].iloc[0] == 3.75
    plain = plan(inputs(caravan={"heating": "electric"}), site(), masts({}), flat)
    assert len([line for line in plain.cost_lines if line.kind == "gas"]) == 1
