"""Heights above sea level from a region's terrain."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import numpy as np
import rasterio

from planner_kit.errors import PlanFileError
from planner_kit.region.projection import WGS84

if TYPE_CHECKING:
    from pathlib import Path

    from numpy.typing import ArrayLike, NDArray

VOID = -32768


@dataclass(frozen=True)
class Profile:
    """Heights along the shortest line between two positions.

    Attributes
    ----------
    distance_m : ndarray of float, shape (n,)
        From the first position. [m]
    height_m : ndarray of float, shape (n,)
        NaN where the terrain is not known. [m]
    lon, lat : ndarray of float, shape (n,)
        WGS 84. [deg]
    """

    distance_m: NDArray[np.float64]
    height_m: NDArray[np.float64]
    lon: NDArray[np.float64]
    lat: NDArray[np.float64]


def _between(
    place: NDArray[np.float64], count: int
) -> tuple[tuple[NDArray[np.int64], ...], tuple[NDArray[np.float64], ...], NDArray[np.bool_]]:
    """The two cells around each place along one side of a grid, their weights, and which are in."""
    # A hair of tolerance: positions on the last row or column are inside.
    inside = (place >= -1e-6) & (place <= count - 1 + 1e-6)
    held = np.clip(np.where(inside, place, 0.0), 0.0, count - 1)
    first = np.minimum(held.astype(np.int64), max(count - 2, 0))
    share = held - first
    return (first, np.minimum(first + 1, count - 1)), (1 - share, share), inside


@dataclass(frozen=True)
class Terrain:
    """A grid of heights in degrees of WGS 84, rows from north to south.

    Attributes
    ----------
    grid : ndarray, shape (rows, columns)
        Heights; `void` marks a cell that is not known. [m]
    west_deg, north_deg : float
        Position of the centre of the first cell. [deg]
    step_lon_deg, step_lat_deg : float
        Distance between the centres of cells, both positive. [deg]
    void : float
        The value of an unknown cell; NaN cells are unknown too.
    """

    grid: NDArray[Any]
    west_deg: float
    north_deg: float
    step_lon_deg: float
    step_lat_deg: float
    void: float = float(VOID)

    def heights_m(self, lon: ArrayLike, lat: ArrayLike) -> NDArray[np.float64]:
        """Heights at positions, bilinear between the centres of four cells.

        Parameters
        ----------
        lon, lat : array_like of float
            WGS 84; broadcast against each other. [deg]

        Returns
        -------
        height_m : ndarray of float
            NaN outside the grid and wherever a cell that counts is unknown. [m]
        """
        lon_deg, lat_deg = np.broadcast_arrays(
            np.asarray(lon, dtype=np.float64), np.asarray(lat, dtype=np.float64)
        )
        rows, columns = self.grid.shape
        column, along, inside_x = _between((lon_deg - self.west_deg) / self.step_lon_deg, columns)
        row, down, inside_y = _between((self.north_deg - lat_deg) / self.step_lat_deg, rows)
        height = np.zeros(lon_deg.shape)
        for which_row, weight_y in zip(row, down, strict=True):
            for which_column, weight_x in zip(column, along, strict=True):
                cell = self.grid[which_row, which_column].astype(np.float64)
                weight = weight_x * weight_y
                cell = np.where(cell == self.void, np.nan, cell)
                height += np.where(weight > 1e-9, cell * weight, 0.0)
        return np.where(inside_x & inside_y, height, np.nan)

    def heights_of_picture_m(self, lon: ArrayLike, lat: ArrayLike) -> NDArray[np.float64]:
        """Heights at every crossing of meridians and parallels, as `heights_m` gives them.

        Parameters
        ----------
        lon : array_like of float, shape (columns,)
            Meridians, WGS 84. [deg]
        lat : array_like of float, shape (rows,)
            Parallels. [deg]

        Returns
        -------
        height_m : ndarray of float, shape (rows, columns)
            NaN outside the grid and wherever a cell that counts is unknown. [m]

        Notes
        -----
        Place and weight of a cell are found once for a row and once for a column, so that a
        picture of hills takes a fraction of the time.
        """
        rows, columns = self.grid.shape
        column, along, inside_x = _between(
            (np.asarray(lon, dtype=np.float64) - self.west_deg) / self.step_lon_deg, columns
        )
        row, down, inside_y = _between(
            (self.north_deg - np.asarray(lat, dtype=np.float64)) / self.step_lat_deg, rows
        )
        height = np.zeros((len(row[0]), len(column[0])))
        for which_row, weight_y in zip(row, down, strict=True):
            for which_column, weight_x in zip(column, along, strict=True):
                cell = self.grid[np.ix_(which_row, which_column)].astype(np.float64)
                cell[cell == self.void] = np.nan
                weight = weight_y[:, None] * weight_x
                height += np.where(weight > 1e-9, cell * weight, 0.0)
        height[~(inside_y[:, None] & inside_x)] = np.nan
        return height

    def profile(
        self, lon1: float, lat1: float, lon2: float, lat2: float, *, step_m: float = 50.0
    ) -> Profile:
        """Heights along the geodesic between two positions, both ends included.

        Parameters
        ----------
        lon1, lat1, lon2, lat2 : float
            The two ends. [deg]
        step_m : float
            The spacing wanted; the spacing used divides the distance and is not wider. [m]

        Returns
        -------
        profile : Profile
            At least two points.

        Raises
        ------
        ValueError
            If `step_m` is not above 0.
        """
        if not step_m > 0:
            raise ValueError(f"step_m is {step_m}; it must be above 0")
        azimuth, _, total = WGS84.inv(lon1, lat1, lon2, lat2)
        n = max(int(np.ceil(total / step_m)), 1) + 1
        distance = np.linspace(0.0, total, n)
        lon, lat, _ = WGS84.fwd(np.full(n, lon1), np.full(n, lat1), np.full(n, azimuth), distance)
        lon, lat = np.asarray(lon), np.asarray(lat)
        lon[-1], lat[-1] = lon2, lat2
        return Profile(distance, self.heights_m(lon, lat), lon, lat)


def open_terrain(path: Path) -> Terrain:
    """The terrain of a region folder.

    Parameters
    ----------
    path : Path
        A GeoTIFF in EPSG:4326 with one band, north up.

    Raises
    ------
    PlanFileError
        If it cannot be read or is not such a grid.
    """
    try:
        with rasterio.open(path) as source:
            if source.crs is None or source.crs.to_epsg() != 4326 or source.transform.e >= 0:
                raise PlanFileError(
                    "it is not a north-up grid in EPSG:4326",
                    str(path),
                    "build the region again from its terrain tiles",
                )
            transform, nodata = source.transform, source.nodata
            grid = source.read(1)
    except rasterio.errors.RasterioError as error:
        raise PlanFileError(
            "it cannot be read as a terrain grid", str(path), "build the region again"
        ) from error
    return Terrain(
        grid=grid,
        west_deg=transform.c + transform.a / 2,
        north_deg=transform.f + transform.e / 2,
        step_lon_deg=transform.a,
        step_lat_deg=-transform.e,
        void=float(VOID if nodata is None else nodata),
    )
