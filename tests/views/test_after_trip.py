from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

from planner_kit.plan import plan_trip
from planner_kit.trip.reading import read_trip
from planner_kit.trip_files import read_files
from planner_kit.views.after_trip import AfterTrip
from planner_kit.views.against import against_html

if TYPE_CHECKING:
    from planner_kit.plan import TripPlan

HARM = "<script>alert(1)</script>"


@pytest.fixture(scope="module")
def planned(demo: Path) -> dict[str, TripPlan]:
    day = dt.date(2027, 1, 9)
    names = ("trip_2026.toml", "trip_2027.toml")
    return {name: plan_trip(read_files(demo / name), planned_on=day) for name in names}


@pytest.fixture
def trip_file(demo: Path, tmp_path: Path) -> Path:
    return Path(shutil.copy(demo / "trip_2027.toml", tmp_path))


def test_what_is_filled_in_lands_in_the_trip_file_and_its_comments_stay(
    planned: dict[str, TripPlan], trip_file: Path
) -> None:
    form = AfterTrip(planned["trip_2027.toml"], trip_file)
    for (number, key), miles in zip(
        form.odometer.fields, ("41000", "41043.5", "41170", "41213"), strict=True
    ):
        form.odometer.fields[number, key].value = miles
    form.driven.fields["tow_hours",].value = "2.5"
    form.driven.fields["breaks",].value = "3"
    row = form.spent.add()
    row.fields["kind",].value, row.fields["amount",].value = "fuel", "51.20"
    form.spent.add()
    assert form.signals is not None
    heard = form.signals.add()
    heard.fields["level_dbm",].value, heard.fields["calls",].value = "-99", True
    form.not_needed.value = (form.not_needed.options[0],)
    form.never.add()
    form.learnt.value = f"Leave earlier {HARM}\n\n"
    form.save.click()
    assert "Written into" in form.told.value
    actuals = read_trip(trip_file).actuals
    assert actuals is not None
    assert actuals.tow_km == pytest.approx(86.5 * 1.609344, abs=0.1)
    assert actuals.solo_km == pytest.approx(126.5 * 1.609344, abs=0.1)
    assert (actuals.tow_hours, actuals.breaks) == (2.5, 3)
    assert [(one.kind, one.amount) for one in actuals.spent] == [("fuel", 51.2)]
    assert actuals.signals[0].level_dbm == -99
    assert actuals.signals[0].calls is True
    assert actuals.signals[0].video is None
    assert len(actuals.not_needed) == len(actuals.never_again) == 1
    assert actuals.never_again[0].osm_way_id
    assert "# first Saturday of the school holidays" in trip_file.read_text()


def test_form_opens_with_what_the_file_says_and_writes_the_same_again(
    planned: dict[str, TripPlan], demo: Path, tmp_path: Path
) -> None:
    path = Path(shutil.copy(demo / "trip_2026.toml", tmp_path))
    before = read_trip(path)
    form = AfterTrip(planned["trip_2026.toml"], path)
    form.save.click()
    assert "Written into" in form.told.value
    assert read_trip(path) == before


def test_reading_that_is_no_number_or_half_of_a_pair_is_one_sentence_and_writes_nothing(
    planned: dict[str, TripPlan], trip_file: Path
) -> None:
    before = trip_file.read_bytes()
    form = AfterTrip(planned["trip_2027.toml"], trip_file)
    first = next(iter(form.odometer.fields))
    form.odometer.fields[first].value = "many"
    form.save.click()
    assert "is no number" in form.told.value
    form.odometer.fields[first].value = "41000"
    form.save.click()
    assert "one of the two readings is missing" in form.told.value
    for key, value in zip(form.odometer.fields, ("41000", "40000", "41170", "41213"), strict=True):
        form.odometer.fields[key].value = value
    form.save.click()
    assert 'role="alert"' in form.told.value
    assert "falls from one reading" in form.told.value
    assert trip_file.read_bytes() == before


def test_trip_file_taken_away_meanwhile_is_told_and_not_made_anew(
    planned: dict[str, TripPlan], trip_file: Path
) -> None:
    form = AfterTrip(planned["trip_2027.toml"], trip_file)
    form.driven.fields["tow_hours",].value = "2.5"
    trip_file.unlink()
    form.save.click()
    assert "trip_2027.toml: the file is gone; put it back" in form.told.value
    assert not trip_file.exists()


def test_plan_against_actual_reads_in_the_households_units(planned: dict[str, TripPlan]) -> None:
    shown = against_html(planned["trip_2026.toml"])
    assert "73 miles" in shown
    assert "-12 miles" in shown  # 85 were planned
    assert "The total compares only" in shown
    assert "2 h 18 min" in shown
    assert "£" in shown
    assert "Nothing is noted yet" in against_html(planned["trip_2027.toml"])


def test_what_is_unticked_or_emptied_leaves_the_file_again(
    planned: dict[str, TripPlan], demo: Path, tmp_path: Path
) -> None:
    path = Path(shutil.copy(demo / "trip_2026.toml", tmp_path))
    form = AfterTrip(planned["trip_2026.toml"], path)
    assert set(form.not_needed.value) == {"tinned food", "groundsheet"}
    assert set(form.not_needed.value) < set(form.not_needed.options)
    form.not_needed.value = ("groundsheet",)
    form.visited.value, form.learnt.value = (), ""
    form.save.click()
    actuals = read_trip(path).actuals
    assert actuals is not None
    assert (actuals.not_needed, actuals.visited, actuals.learnt) == (("groundsheet",), (), ())
    assert "visited" not in path.read_text()


def test_no_label_of_the_form_is_cut_in_a_wide_window(planned: dict[str, TripPlan]) -> None:
    form = AfterTrip(planned["trip_2026.toml"], Path("trip.toml"))
    for part in (form.odometer, form.driven):
        for field in part.fields.values():
            room_em = float(field.style.description_width.removeprefix("min(").split("em")[0])
            # A letter of the usual faces takes half an em on the average.
            assert len(field.description) * 0.5 < room_em


def test_fields_of_the_form_begin_below_each_other_and_amounts_have_pennies(
    planned: dict[str, TripPlan],
) -> None:
    form = AfterTrip(planned["trip_2026.toml"], Path("trip.toml"))
    assert form.signals is not None
    parts = [form.odometer, form.driven, *form.spent.forms, *form.signals.forms]
    fields = [field for part in parts for field in part.fields.values()]
    fields += [form.learnt, form.photos]
    assert len({field.style.description_width for field in fields}) == 1
    shown = {one.fields["amount",].value for one in form.spent.forms}
    assert {"322.70", "291.00"} < shown
