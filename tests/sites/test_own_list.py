from __future__ import annotations

from pathlib import Path

import pytest

from planner_kit.errors import PlanFileError
from planner_kit.region import open_region
from planner_kit.sites import read_sites
from planner_kit.sites.gathering import map_sites
from planner_kit.sites.own_list import add_site


def test_site_of_the_map_is_written_once_into_a_new_list(demo: Path, tmp_path: Path) -> None:
    site = map_sites(open_region(demo / "region")).iloc[0]
    path = tmp_path / "sites.csv"
    site_id = add_site(path, site)
    add_site(path, site)
    sites = read_sites(path)
    assert list(sites.index) == [site_id]
    assert sites.loc[site_id, "lat"] == pytest.approx(site["lat"])
    assert sites.loc[site_id, "source"] == "OpenStreetMap"


def test_lines_of_a_hand_written_list_stay(demo: Path, tmp_path: Path) -> None:
    path = tmp_path / "sites.csv"
    before = (demo / "sites.csv").read_text(encoding="utf-8").rstrip("\n")
    path.write_text(before, encoding="utf-8")
    site = map_sites(open_region(demo / "region")).iloc[0].rename("new-site")
    site["name"] = 'A, "quoted"\nname'
    add_site(path, site)
    after = path.read_text(encoding="utf-8")
    assert after.startswith(before + "\n")
    assert read_sites(path).loc["new-site", "name"] == 'A, "quoted" name'


def test_list_of_points_is_left_to_its_owner(demo: Path, tmp_path: Path) -> None:
    path = tmp_path / "sites.geojson"
    path.write_text('{"type": "FeatureCollection", "features": []}')
    with pytest.raises(PlanFileError):
        add_site(path, map_sites(open_region(demo / "region")).iloc[0])
