"""The first hour from nothing to a record, by the buttons and fields of start_here."""

from __future__ import annotations

import datetime as dt
from pathlib import Path
from typing import Any

import pytest

from planner_kit.views.first_trip import RecordButton, TripForm
from planner_kit.views.start import HouseholdForm, RegionChoice, first_plans


def test_new_user_gets_from_nothing_to_a_record(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.chdir(tmp_path)
    plans = first_plans("my-plans")
    region, household = RegionChoice(plans), HouseholdForm(plans)
    trip, record = TripForm(plans), RecordButton(plans)
    region.take_island()
    household.parts["Home"].fields[("name",)].value = "The Reed family"
    household.set_home(49.514286, -14.211916)
    for keys, words in {("car", "name"): "estate", ("car", "height_m"): "1.5"}.items():
        household.parts["Car"].fields[keys].value = words
    household.parts["Caravan"].fields[("caravan", "name")].value = "caravan"
    household.people[0].fields[("name",)].value = "Ada"
    household.save()
    assert "Saved" in household.told.value
    site = trip.sites.loc["S01"]
    trip.pick_site(float(site["lat"]), float(site["lon"]))
    trip.nights.value = 2
    trip.add_stay()
    trip.form.fields[("name",)].value = "First try"
    trip.form.fields[("start",)].value = dt.date(2027, 6, 4)
    trip.save()
    assert "Saved" in trip.told.value
    told: list[str] = []
    record.told.observe(lambda change: told.append(change["new"]), names="value")
    record.start.click()
    folder = plans.folder / "records" / "2027-06-04_first-try"
    assert (folder / "pack.pdf").read_bytes().startswith(b"%PDF")
    assert (folder / "pack.html").exists()
    assert record.bar.value == record.bar.max > 5
    assert len(told) > 5
    assert "The record lies in" in record.told.value
    assert _links(record) == ["pack.pdf", "pack.html", "record.ipynb", "calendar.ics", "tow.gpx"]


def _links(record: Any) -> list[str]:
    """The names of the files that are linked below the button."""
    shown = [output["data"]["text/plain"] for output in record.links.outputs]
    return [Path(text.strip()).name for text in shown]
