"""Choosing a site, a tour and bookings: what the controls change, without a browser."""

import datetime as dt
import shutil

import pytest
import tomlkit

from planner_kit.errors import PlannerKitError
from planner_kit.sites.shortlist import CRITERIA
from planner_kit.trip.editing import set_booking
from planner_kit.views.bookings import show_bookings, take_confirmation
from planner_kit.views.gathered import show_gathered
from planner_kit.views.site_tables import metered_words
from planner_kit.views.sites import choose_site
from planner_kit.views.tour import TourChooser
from planner_kit.views.year import show_year

TRIP, ON = "trip_2027.toml", "2027-01-09"


@pytest.fixture(scope="module")
def own(demo, tmp_path_factory):
    """A copy of the demo that may be written to, whose main site is named by one who means harm."""
    folder = tmp_path_factory.mktemp("sites") / "island"
    shutil.copytree(demo, folder)
    path = folder / "sites.csv"
    text = path.read_text(encoding="utf-8")
    assert "Oxharrow Down" in text
    path.write_text(
        text.replace("Oxharrow Down", "<img src=x onerror=alert(1)>", 1), encoding="utf-8"
    )
    return folder


@pytest.fixture(scope="module")
def chooser(own):
    return choose_site(own, trip=TRIP, planned_on=ON)


def test_a_price_that_holds_a_meters_estimate_says_so(chooser):
    metered = chooser.facts[chooser.facts["metered"] > 0]
    assert metered["price"].isna().all()
    assert "for metered electricity is only a part of it" in chooser.table.value
    priced = metered_words(metered.assign(price=100.0))
    assert all("for metered electricity is in the price" in words for words in priced)


def test_candidates_that_are_out_are_crossed_in_the_table_as_on_the_map(chooser):
    out = (chooser.ranking["removed_by"] != "").sum()
    assert out
    assert chooser.table.value.count('<td class="n">×</td>') == out


def test_bookings_that_were_not_asked_for_have_no_row_of_money(own):
    shown = show_bookings(own, trip=TRIP, planned_on=ON).data
    every, cost, _off, _in_all = shown.split("<caption>")[1:]
    assert every.count("not asked") > 0
    assert cost.count("<tr>") - 1 == every.count("<tr>") - 1 - every.count("not asked")


def test_a_slider_changes_the_order_the_parts_and_the_signs(chooser):
    before = list(chooser.ranking.index)
    chooser.sliders["price"].value = 10
    chooser.sliders["drive"].value = 0
    assert list(chooser.ranking.index) != before
    score = chooser.chart.lengths[0].sum()
    assert score == pytest.approx(chooser.ranking["score"].iloc[0])
    first = str(chooser.ranking.index[0])
    assert chooser.numbers[first] == (1, False)
    assert ">1<" in chooser.signs[first].icon.html


def test_a_must_have_takes_sites_out_and_says_what_it_removed(chooser):
    chooser.musts["hookup"].value = True
    assert "What each must-have removes" in chooser.meeting.value
    assert "hookup" in chooser.ranking["removed_by"]["S12"]
    chooser.musts["hookup"].value = False
    assert chooser.ranking["removed_by"]["S12"] == ""


def test_whose_weights_sets_every_slider_once(chooser):
    chooser.whose.value = "Tobin"
    assert chooser.weights == chooser.sets["Tobin"]
    chooser.whose.value = "together"
    assert max(chooser.weights.values()) == 10
    assert "Where the family meets" in chooser.meeting.value


def test_names_of_people_s_files_are_escaped_everywhere(chooser):
    for shown in (chooser.table.value, chooser.first.value, chooser.meeting.value):
        assert "<img" not in shown
    assert "&lt;img" in chooser.table.value


def test_dates_follow_the_range_that_the_family_allows(chooser):
    chooser.choice.value = "S01"
    chooser.days.value = (-14, 0)
    assert "10 July 2027" in chooser.dates.value
    chooser.days.value = (0, 3)
    assert "10 July 2027" not in chooser.dates.value


def test_a_held_booking_is_not_lost_and_once_called_off_the_choice_is_written(own, chooser):
    path = own / TRIP
    comment = "# first Saturday of the school holidays"
    before = path.read_text(encoding="utf-8")
    chooser.choice.value = "S08"
    chooser.write.click()
    assert "call that booking off" in chooser.said.value
    assert path.read_text(encoding="utf-8") == before
    set_booking(path, 1, {"state": "called off"})
    chooser.write.click()
    text = path.read_text(encoding="utf-8")
    assert tomlkit.parse(text)["stays"][0]["site"] == "S08"
    assert comment in text


def test_every_criterion_has_a_slider_and_a_bar(chooser):
    assert set(chooser.sliders) == set(CRITERIA)
    assert len(set(chooser.chart.looks)) == len(CRITERIA)


@pytest.fixture(scope="module")
def tour(own, chooser):
    return TourChooser(own / TRIP, chooser.plan)


def test_a_tour_is_found_explained_and_written(own, tour):
    tour.nights.value, tour.least.value = 6, 2
    tour.must.value = ("S08", "S01")
    tour.find.click()
    assert tour.tour is not None
    assert set(tour.tour.stays["site_id"]) >= {"S08", "S01"}
    assert tour.tour.stays["nights"].sum() == 6
    assert "The best tour" in tour.found.value
    tour.write.click()
    stays = tomlkit.parse((own / TRIP).read_text(encoding="utf-8"))["stays"]
    assert [stay["site"] for stay in stays] == tour.tour.stays["site_id"].tolist()


def test_a_tour_that_cannot_be_is_told_and_not_written(tour):
    tour.tow.value = 15
    tour.find.click()
    assert tour.tour is None
    assert tour.write.disabled
    assert "No tour keeps to all limits" in tour.found.value


def test_matches_bookings_and_the_year_are_shown(demo):
    assert "Every match" in show_gathered(demo, trip=TRIP).data
    bookings = show_bookings(demo, trip=TRIP, planned_on=ON).data
    assert "MB-27-0093" in bookings
    assert "MB-26-0417" in bookings
    page = show_year(demo, planned_on=ON)
    assert "<svg" in page.children[0].value
    assert page.year.planned_on == dt.date(2027, 1, 9)


def test_without_a_confirmation_nothing_is_read_and_one_that_is_no_pdf_is_told(demo):
    assert "nothing is read" in take_confirmation(demo, trip=TRIP).value
    with pytest.raises(PlannerKitError, match="not a PDF"):
        take_confirmation(demo, trip=TRIP, pdf="sites.csv")
