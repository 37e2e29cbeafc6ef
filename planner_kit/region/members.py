"""Where the members of OpenStreetMap relations lie in the tables of a region."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Iterable, Iterator

    import pandas as pd
    from numpy.typing import NDArray

Stretch = tuple[int, int, int, int, bool, bool]


def stretches_of(roads: pd.DataFrame, ways: Iterable[int]) -> Iterator[Stretch]:
    """The stretches of some ways, in the order of the table.

    Parameters
    ----------
    roads : DataFrame
        The roads table of a region.
    ways : iterable of int
        OpenStreetMap ids.

    Yields
    ------
    stretch : tuple
        Its row, its way, its first and last node, and whether a car may go ahead and back.
    """
    wanted = np.fromiter(ways, np.int64)
    rows = np.flatnonzero(np.isin(roads["osm_way_id"].to_numpy(), wanted))
    picked = roads.iloc[rows]
    told = ("osm_way_id", "from_node", "to_node", "car_forward", "car_backward")
    yield from zip(rows.tolist(), *(picked[column].tolist() for column in told), strict=True)


def node_rows_of(osm_node_id: NDArray[np.int64], nodes: Iterable[int]) -> dict[int, int]:
    """The row of each of some OpenStreetMap nodes; those that the region has not are left out."""
    rows = np.flatnonzero(np.isin(osm_node_id, np.fromiter(nodes, np.int64)))
    return dict(zip(osm_node_id[rows].tolist(), rows.tolist(), strict=True))
