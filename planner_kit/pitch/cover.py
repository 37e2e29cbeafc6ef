"""Trees, buildings and sea on the ground, as far as the region's map shows them."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from typing import TYPE_CHECKING

import numpy as np
from rasterio.features import rasterize
from rasterio.transform import from_origin

from planner_kit.reference import constant

if TYPE_CHECKING:
    from numpy.typing import ArrayLike, NDArray

    from planner_kit.region import Region

OPEN, TREES, BUILDINGS, WATER, SEA = range(5)
_CLASS_OF = {"forest": TREES, "built_up": BUILDINGS, "water": WATER, "sea": SEA}
# Later classes are drawn over earlier ones.
_ORDER = ("built_up", "forest", "water", "sea")
_HEIGHTS = ("cover_open", "cover_trees", "cover_buildings", "cover_water", "cover_water")


@dataclass(frozen=True)
class Cover:
    """What stands on the ground, as a grid of classes in degrees, rows from north to south.

    Attributes
    ----------
    grid : ndarray of uint8, shape (rows, columns)
        0 open or not mapped, 1 trees, 2 buildings, 3 inland water, 4 sea.
    west_deg, north_deg : float
        Outer corner of the first cell. [deg]
    step_deg : float
        [deg]
    """

    grid: NDArray[np.uint8]
    west_deg: float
    north_deg: float
    step_deg: float

    def class_at(self, lon: ArrayLike, lat: ArrayLike) -> NDArray[np.uint8]:
        """The class at positions; open outside the grid."""
        x = np.floor((np.asarray(lon, dtype=np.float64) - self.west_deg) / self.step_deg)
        y = np.floor((self.north_deg - np.asarray(lat, dtype=np.float64)) / self.step_deg)
        rows, columns = self.grid.shape
        inside = (x >= 0) & (x < columns) & (y >= 0) & (y < rows)
        column = np.where(inside, x, 0).astype(np.intp)
        row = np.where(inside, y, 0).astype(np.intp)
        return np.where(inside, self.grid[row, column], np.uint8(OPEN))

    def heights_m(self, lon: ArrayLike, lat: ArrayLike) -> NDArray[np.float64]:
        """Representative height of what stands at positions, in m.

        References
        ----------
        .. [1] ITU-R P.1812-8, Annex 1, section 3.2: representative clutter heights.
        """
        return _class_heights_m()[self.class_at(lon, lat)]


def _class_heights_m() -> NDArray[np.float64]:
    return np.array([float(constant("signal_constants", name)) for name in _HEIGHTS])


@lru_cache(maxsize=4)
def cover_of(region: Region, step_deg: float = 1 / 1800) -> Cover | None:
    """The cover of a region; None when its map shows no areas.

    Parameters
    ----------
    region : Region
    step_deg : float
        Side of a cell; about 60 m from south to north by default. Coarser for wide regions, so
        that no side has more than 6000 cells. [deg]
    """
    west, south, east, north = region.bounds
    areas = region.areas
    kinds = areas["kind"].astype(str)
    areas, kinds = areas[kinds.isin(_ORDER)], kinds[kinds.isin(_ORDER)]
    if areas.empty:
        return None
    step = max(step_deg, (north - south) / 6000, (east - west) / 6000)
    shape = (int(np.ceil((north - south) / step)), int(np.ceil((east - west) / step)))
    shapes = [
        (outline, _CLASS_OF[kind])
        for kind in _ORDER
        for outline in areas.geometry[kinds == kind]
        if not outline.is_empty
    ]
    grid = rasterize(
        shapes, out_shape=shape, transform=from_origin(west, north, step, step),
        fill=OPEN, dtype="uint8",
    )  # fmt: skip
    return Cover(np.asarray(grid, dtype=np.uint8), west, north, step)
