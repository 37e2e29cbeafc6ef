"""The first hour by its forms: what is typed and clicked stands in the files."""

from __future__ import annotations

import datetime as dt
import shutil
from pathlib import Path
from typing import Any

import pytest

from planner_kit.region import open_region
from planner_kit.trip import read_household
from planner_kit.trip.reading import read_trip
from planner_kit.trip_files import read_files
from planner_kit.views.first_trip import RecordButton, TripForm
from planner_kit.views.start import HouseholdForm, Plans, RegionChoice, first_plans


@pytest.fixture
def plans(tmp_path: Path) -> Plans:
    return first_plans(tmp_path / "plans")


@pytest.fixture
def with_region(plans: Plans, demo: Path) -> Plans:
    shutil.copytree(demo / "region", plans.folder / "region")
    return plans


def press(widget: Any, words: str) -> None:
    """Press the button that says this."""
    found = [one for one in _all(widget) if getattr(one, "description", "") == words]
    assert len(found) == 1
    found[0].click()


def _all(widget: Any) -> list[Any]:
    found = [widget]
    for child in getattr(widget, "children", ()):
        found += _all(child)
    return found


def fill(form: HouseholdForm) -> None:
    texts = {
        ("Home", ("name",)): "The Reed family",
        ("Home", ("home", "lat")): "49.514286",
        ("Home", ("home", "lon")): "-14.211916",
        ("Car", ("car", "name")): "estate",
        ("Car", ("car", "kerb_kg")): "1,735",
        ("Caravan", ("caravan", "name")): "caravan",
        ("Caravan", ("caravan", "mtplm_kg")): "1500",
    }
    for (part, keys), words in texts.items():
        form.parts[part].fields[keys].value = words
    form.people[0].fields[("name",)].value = "Ada"


def test_island_is_built_by_a_button_with_its_lists(plans: Plans) -> None:
    choice = RegionChoice(plans)
    assert "There is no region yet" in choice.told.value
    press(choice, "Use the invented island")
    assert open_region(plans.folder / "region").invented
    assert (plans.folder / "sites.csv").exists()
    assert 'role="status"' in choice.told.value
    assert "map data of a day that is not known." in choice.told.value


def test_extract_that_is_not_there_is_told_in_one_sentence(plans: Plans) -> None:
    choice = RegionChoice(plans)
    press(choice, "Build the region")
    assert "no file is named" in choice.told.value
    choice.extract.value = "<script>nowhere.osm.pbf"
    press(choice, "Build the region")
    assert 'role="alert"' in choice.told.value
    assert "<script" not in choice.told.value
    assert not (plans.folder / "region").exists()


def test_household_form_writes_what_is_typed(with_region: Plans) -> None:
    form = HouseholdForm(with_region)
    fill(form)
    press(form, "One more person")
    form.people[1].fields[("name",)].value = "Ben"
    form.people[1].fields[("born",)].value = dt.date(2016, 5, 1)
    form.dog.value = "Biscuit"
    press(form, "Save the household")
    household = read_household(with_region.folder / "household.toml")
    assert household.car.kerb_kg == 1735
    assert household.caravan.noseweight_limit_kg is None
    assert household.people[1].born == dt.date(2016, 5, 1)
    assert household.dogs[0].name == "Biscuit"
    assert "Saved: The Reed family" in form.told.value


def test_click_on_the_map_sets_home(with_region: Plans) -> None:
    form = HouseholdForm(with_region)
    fill(form)
    picker = form.home_map.children[1]
    picker.map._handle_leaflet_event(
        picker.map, {"event": "interaction", "type": "click", "coordinates": [49.4, -14.5]}, []
    )
    press(form, "Save the household")
    home = read_household(with_region.folder / "household.toml").home
    assert (home.lat, home.lon) == (49.4, -14.5)


def test_middle_of_the_map_sets_home_for_the_keyboard(with_region: Plans) -> None:
    form = HouseholdForm(with_region)
    picker = form.home_map.children[1]
    picker.map.center = (49.45, -14.45)
    press(picker, "Take the middle of the map")
    assert form.parts["Home"].values()[("home", "lat")] == 49.45


def test_wrong_number_is_told_by_its_field_and_nothing_is_written(with_region: Plans) -> None:
    form = HouseholdForm(with_region)
    fill(form)
    form.parts["Car"].fields[("car", "gross_kg")].value = "heavy"
    press(form, "Save the household")
    assert "Gross mass (kg)" in form.told.value
    assert not (with_region.folder / "household.toml").exists()


def test_empty_form_names_what_is_missing(with_region: Plans) -> None:
    form = HouseholdForm(with_region)
    press(form, "Save the household")
    assert 'role="alert"' in form.told.value
    assert not (with_region.folder / "household.toml").exists()


def test_hand_written_household_is_shown_and_keeps_its_comments(
    with_region: Plans, demo: Path
) -> None:
    path = with_region.folder / "household.toml"
    shutil.copy(demo / "household.toml", path)
    before = path.read_text(encoding="utf-8")
    form = HouseholdForm(with_region)
    press(form, "Save the household")
    assert read_household(path) == read_household(demo / "household.toml")
    form.parts["Caravan"].fields[("caravan", "mtplm_kg")].value = "1550"
    press(form, "Save the household")
    after = path.read_text(encoding="utf-8")
    assert "# weighed with a gauge before last year's trip" in after
    assert after.count("#") >= before.count("#")
    assert read_household(path).caravan.mtplm_kg == 1550


def test_trip_form_waits_for_region_and_household(plans: Plans) -> None:
    form = TripForm(plans)
    press(form, "Add this stay")
    assert "Choose a site first" in form.told.value


def test_site_clicked_on_the_map_is_written_into_list_and_trip(
    with_region: Plans, demo: Path
) -> None:
    form = TripForm(with_region)
    for name in ("household.toml", "items.csv"):
        shutil.copy(demo / name, with_region.folder / name)
    with_region.tell()
    site = form.sites.iloc[0]
    picker = form.map_box.children[1]
    picker.map._handle_leaflet_event(
        picker.map,
        {"event": "interaction", "type": "click", "coordinates": [site["lat"], site["lon"]]},
        [],
    )
    form.nights.value = 3
    press(form, "Add this stay")
    form.form.fields[("name",)].value = "Été à la mer"
    form.form.fields[("start",)].value = dt.date(2027, 6, 4)
    form.party["Fenn"].value = False
    press(form, "Save the trip")
    trip = read_trip(with_region.folder / "trip.toml")
    assert trip.stays[0].site == site.name
    assert trip.nights == 3
    assert trip.id == "ete-a-la-mer"
    assert trip.party == ("Maren", "Tobin", "Isla")
    assert site.name in read_files(with_region.folder / "trip.toml").sites.index
    press(form, "Take the last stay out")
    form.site.value = None
    press(form, "Save the trip")
    assert "there is no stay" in form.told.value


def test_one_site_needs_no_more_than_to_be_chosen(with_region: Plans, demo: Path) -> None:
    shutil.copy(demo / "household.toml", with_region.folder / "household.toml")
    shutil.copy(demo / "items.csv", with_region.folder / "items.csv")
    form = TripForm(with_region)
    assert form.site.value is None
    assert "No site is chosen yet" in form.stays_told.value
    form.form.fields[("name",)].value = "First try"
    form.form.fields[("start",)].value = dt.date(2027, 6, 4)
    press(form, "Save the trip")
    assert "choose a site on the map or from the list" in form.told.value
    form.site.value, form.nights.value = str(form.sites.index[0]), 2
    assert "2 nights at" in form.stays_told.value
    press(form, "Save the trip")
    trip = read_trip(with_region.folder / "trip.toml")
    assert [(stay.site, stay.nights) for stay in trip.stays] == [(form.sites.index[0], 2)]


def test_invented_family_fills_the_fields_and_is_saved_by_hand(with_region: Plans) -> None:
    form = HouseholdForm(with_region)
    assert form.family.layout.display is None
    press(form, "Fill in the invented family")
    assert not form.path.exists()
    press(form, "Save the household")
    household = read_household(form.path)
    assert household.caravan.mtplm_kg == 1500
    assert len(household.people) == 4
    assert form.family.layout.display == "none"


def test_town_chosen_by_its_name_is_home(with_region: Plans) -> None:
    form = HouseholdForm(with_region)
    picker = form.home_map.children[1]
    picker.town.value = "Ellanby"
    places = with_region.region().places
    town = places[places["name"] == "Ellanby"].iloc[0]
    values = form.parts["Home"].values()
    assert values[("home", "lat")] == pytest.approx(town["lat"], abs=1e-6)
    assert values[("home", "lon")] == pytest.approx(town["lon"], abs=1e-6)
    assert picker.map.center == [town["lat"], town["lon"]]


def test_record_button_without_a_trip_says_what_to_do(plans: Plans) -> None:
    record = RecordButton(plans)
    record.start.click()
    assert "there is no trip yet" in record.told.value
    assert not record.start.disabled


def saved_trip(plans: Plans, demo: Path) -> TripForm:
    """A trip form after a first trip of one stay was saved."""
    shutil.copy(demo / "household.toml", plans.folder / "household.toml")
    shutil.copy(demo / "items.csv", plans.folder / "items.csv")
    form = TripForm(plans)
    form.form.fields[("name",)].value = "First try"
    form.form.fields[("start",)].value = dt.date(2027, 6, 4)
    form.site.value, form.nights.value = str(form.sites.index[0]), 2
    press(form, "Save the trip")
    return form


def test_fault_is_told_by_the_field_that_it_stands_in(with_region: Plans) -> None:
    form = HouseholdForm(with_region)
    press(form, "Save the household")
    assert "the field &#x27;Household&#x27; under &#x27;Home&#x27;: it is empty; fill it in." in (
        form.told.value
    )
    fill(form)
    form.people[0].fields[("name",)].value = " "
    form.tabs.selected_index = 0
    press(form, "Save the household")
    assert "the field &#x27;Name&#x27; under &#x27;People and dog&#x27;: it is empty" in (
        form.told.value
    )
    assert form.tabs.titles[form.tabs.selected_index] == "People and dog"
    form.people[0].fields[("name",)].value = "Ada"
    form.parts["Car"].fields[("car", "kerb_kg")].value = "-5"
    press(form, "Save the household")
    told = form.told.value
    assert "the field &#x27;Kerb mass (kg)&#x27; under &#x27;Car&#x27;: -5.0 will not do: " in told
    assert "it must be at least 0" in told


def test_slip_of_the_pen_is_told_as_the_household_is_saved(with_region: Plans) -> None:
    form = HouseholdForm(with_region)
    fill(form)
    form.parts["Car"].fields[("car", "kerb_kg")].value = "1.520"
    press(form, "Save the household")
    assert "Saved: The Reed family, 1 person, in" in form.told.value
    assert "kerb_kg is 1.52 kg, but tow cars weigh" in form.told.value


def test_numbers_are_read_as_the_place_chosen_writes_them(with_region: Plans) -> None:
    form = HouseholdForm(with_region)
    fill(form)
    form.parts["Figures"].fields[("units", "locale")].value = "de-DE"
    assert form.parts["Home"].fields[("home", "lat")].value == "49,514286"
    form.parts["Car"].fields[("car", "height_m")].value = "1,5"
    press(form, "One more person")
    press(form, "Take the last one out")
    press(form, "Save the household")
    household = read_household(with_region.folder / "household.toml")
    assert (household.home.lat, household.car.height_m) == (49.514286, 1.5)
    assert household.car.kerb_kg == 1735


def test_change_by_hand_or_in_another_tab_is_not_written_over(with_region: Plans) -> None:
    form = HouseholdForm(with_region)
    fill(form)
    press(form, "Save the household")
    other = HouseholdForm(with_region)
    other.parts["Caravan"].fields[("caravan", "mtplm_kg")].value = "1400"
    press(other, "Save the household")
    path = with_region.folder / "household.toml"
    path.write_text(path.read_text().replace("kerb_kg = 1735.0", "kerb_kg = 1700.0  # weighed"))
    form.parts["Car"].fields[("car", "height_m")].value = "1.6"
    press(form, "Save the household")
    assert "kerb_kg = 1700.0  # weighed" in path.read_text()
    household = read_household(path)
    assert (household.car.height_m, household.caravan.mtplm_kg) == (1.6, 1400)
    assert form.parts["Car"].fields[("car", "kerb_kg")].value == "1700"


def test_file_taken_away_meanwhile_is_written_whole_again(with_region: Plans) -> None:
    form = HouseholdForm(with_region)
    fill(form)
    press(form, "Save the household")
    path = with_region.folder / "household.toml"
    before = read_household(path)
    path.unlink()
    press(form, "Save the household")
    assert read_household(path) == before


def test_file_spoilt_meanwhile_is_told_and_left(with_region: Plans, demo: Path) -> None:
    trip = saved_trip(with_region, demo)
    form = HouseholdForm(with_region)
    for path in (trip.path, form.path):
        path.write_text("name = ")
        press(form, "Save the household")
        assert "not valid TOML" in (trip if path == trip.path else form).told.value
        assert path.read_text() == "name = "


def test_single_stay_is_changed_in_the_fields_after_the_form_is_opened_again(
    with_region: Plans, demo: Path
) -> None:
    saved_trip(with_region, demo)
    form = TripForm(with_region)
    assert (form.site.value, form.nights.value) == (str(form.sites.index[0]), 2)
    form.nights.value = 5
    press(form, "Save the trip")
    assert read_trip(form.path).nights == 5


def test_trip_changed_by_hand_meanwhile_keeps_the_change(with_region: Plans, demo: Path) -> None:
    form = saved_trip(with_region, demo)
    text = form.path.read_text().replace("2027-06-04", "2027-06-11  # a Friday")
    form.path.write_text(text)
    form.nights.value = 3
    press(form, "Save the trip")
    assert "2027-06-11  # a Friday" in form.path.read_text()
    assert form.form.fields[("start",)].value == dt.date(2027, 6, 11)
    assert read_trip(form.path).nights == 3


def test_nobody_ticked_is_no_trip(with_region: Plans, demo: Path) -> None:
    form = saved_trip(with_region, demo)
    for box in form.party.values():
        box.value = False
    press(form, "Save the trip")
    assert "nobody comes along; tick who comes" in form.told.value


def test_day_that_is_past_is_told(with_region: Plans, demo: Path) -> None:
    form = saved_trip(with_region, demo)
    assert "is past" not in form.told.value
    form.form.fields[("start",)].value = dt.date(2020, 6, 4)
    press(form, "Save the trip")
    assert "4 June 2020 is past" in form.told.value


@pytest.mark.parametrize("state", ["asked", "booked"])
def test_booking_of_another_site_is_never_carried_over(
    with_region: Plans, demo: Path, state: str
) -> None:
    form = saved_trip(with_region, demo)
    text = form.path.read_text() + f'[stays.booking]\nstate = "{state}"\nprice = 80.0\n'
    form.path.write_text(text)
    form.site.value = str(form.sites.index[1])
    press(form, "Save the trip")
    if state == "booked":
        assert "call that booking off" in form.told.value
        assert form.path.read_text() == text
    else:
        stay = read_trip(form.path).stays[0]
        assert (stay.site, stay.booking.price) == (form.sites.index[1], None)
