"""Reading sites and seasons, and the sentence for each fault."""

import pytest

from planner_kit.errors import PlanFileError
from planner_kit.sites import candidate_sites, read_seasons, read_sites, season_gaps


def test_a_site_list_is_indexed_by_site_id(kit, tmp_path):
    sites = read_sites(kit.write_sites(tmp_path / "sites.csv"))
    assert sites.index.name == "site_id"
    assert sites.loc["gull-field", "price_high"] == 33.33
    assert sites.loc["gull-field", "osm_ref"] == ""


def test_no_list_gives_an_empty_frame_with_the_columns():
    assert read_sites(None).empty
    assert "price_low" in read_sites(None).columns
    assert list(read_seasons(None).columns) == ["site_id", "season", "start", "end", "row"]


def test_prices_without_a_currency_name_row_and_column(kit, tmp_path):
    path = kit.write_sites(tmp_path / "s.csv", {}, {"site_id": "b", "currency": None})
    with pytest.raises(PlanFileError, match="row 3, column currency"):
        read_sites(path)


def test_a_rating_above_its_scale_is_refused(kit, tmp_path):
    path = kit.write_sites(tmp_path / "s.csv", {"rating": "8"})
    with pytest.raises(PlanFileError, match=r"8 is above the row's rating_scale 5.*"):
        read_sites(path)


def test_overlapping_seasons_name_both_rows(kit, tmp_path):
    path = kit.write_seasons(
        tmp_path / "seasons.csv",
        "gull-field,high,2027-07-01,2027-08-31",
        "",
        "gull-field,mid,2027-06-01,2027-07-01",
    )
    with pytest.raises(PlanFileError) as error:
        read_seasons(path)
    assert "row 2, column start" in str(error.value)
    assert "that of row 4" in str(error.value)


def test_touching_seasons_of_one_site_and_equal_dates_of_two_are_read(kit, tmp_path):
    path = kit.write_seasons(
        tmp_path / "seasons.csv",
        "a,mid,2027-06-01,2027-06-30",
        "a,high,2027-07-01,2027-08-31",
        "b,high,2027-06-01,2027-08-31",
    )
    seasons = read_seasons(path)
    assert len(seasons) == 3
    assert season_gaps(seasons) == ()


def test_a_season_that_ends_before_it_starts_is_refused(kit, tmp_path):
    path = kit.write_seasons(tmp_path / "s.csv", "a,mid,2027-06-30,2027-06-01")
    with pytest.raises(PlanFileError, match="row 2, column end"):
        read_seasons(path)


def test_a_gap_is_told_with_its_nights_and_rows(kit, tmp_path):
    path = kit.write_seasons(
        tmp_path / "s.csv", "a,mid,2027-06-01,2027-06-30", "a,high,2027-07-03,2027-08-31"
    )
    (sentence,) = season_gaps(read_seasons(path))
    assert "from 2027-07-01 to 2027-07-02" in sentence
    assert "rows 2 and 3" in sentence


def test_an_unknown_site_of_a_trip_names_the_nearest(kit):
    inputs = kit.inputs_with(candidates=["gul-field"])
    with pytest.raises(PlanFileError, match=r"candidates: .*did you mean 'gull-field'"):
        candidate_sites(inputs, kit.site_frame())


def test_watts_in_the_column_of_amperes_are_told(kit, tmp_path):
    path = tmp_path / "sites.csv"
    path.write_text("site_id,name,lat,lon,hookup_a\nS1,One,49.5,-14.5,3680\n")
    with pytest.raises(PlanFileError, match=r"row 2.*hookup_a.*3680 is outside.*write amperes"):
        read_sites(path)
