"""Map data: an OpenStreetMap extract and terrain, built into a region folder and opened again."""

from planner_kit.region.build import build_region
from planner_kit.region.nearest import NearestRoad, mode_mask, nearest_road, projected_roads
from planner_kit.region.places import GROUP_OF, KINDS, LABELS, kinds_of_group
from planner_kit.region.projection import local_crs, to_local
from planner_kit.region.region import Region, open_region, read_region_table, validate_table
from planner_kit.region.telling import region_sentences
from planner_kit.region.terrain import Profile, Terrain, open_terrain

__all__ = [
    "GROUP_OF",
    "KINDS",
    "LABELS",
    "NearestRoad",
    "Profile",
    "Region",
    "Terrain",
    "build_region",
    "kinds_of_group",
    "local_crs",
    "mode_mask",
    "nearest_road",
    "open_region",
    "open_terrain",
    "projected_roads",
    "read_region_table",
    "region_sentences",
    "to_local",
    "validate_table",
]
