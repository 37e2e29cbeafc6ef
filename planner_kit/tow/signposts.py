"""Which signposts somebody reads who comes from one road and turns into another."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from collections.abc import Collection

    import pandas as pd
    from numpy.typing import NDArray

_ANY_WAY = 0


class Signposts:
    """The signposts of a region, by junction and the road they point to.

    Parameters
    ----------
    table : DataFrame
        The region's signposts.
    """

    def __init__(self, table: pd.DataFrame) -> None:
        self.roads = np.unique(table["to_road"].to_numpy(dtype=np.int64))
        self._at: dict[tuple[int, int], list[tuple[int, str, str]]] = {}
        for via, road, way, signs, number in zip(
            table["via_node"].tolist(),
            table["to_road"].tolist(),
            table["from_way"].tolist(),
            table["signs"].tolist(),
            table["exit_ref"].tolist(),
            strict=True,
        ):
            self._at.setdefault((via, road), []).append((way, signs, number))

    def towards(self, roads: NDArray[np.int64]) -> NDArray[np.int64]:
        """The places among some roads to which a signpost points anywhere."""
        if not len(self.roads):
            return self.roads
        at = np.minimum(np.searchsorted(self.roads, roads), len(self.roads) - 1)
        return np.flatnonzero(self.roads[at] == roads)

    def read(self, via: int, road: int, ways: Collection[int]) -> tuple[str, str]:
        """What is read at a junction on turning into a road, and the number of the exit.

        Parameters
        ----------
        via : int
            The junction.
        road : int
            The road that is turned into.
        ways : collection of int
            The OpenStreetMap ways from which one comes.

        Returns
        -------
        signs, exit_ref : str
            Empty where nothing is written for those who come from there.
        """
        told = [
            (signs, number)
            for way, signs, number in self._at.get((via, road), [])
            if way == _ANY_WAY or way in ways
        ]
        words = dict.fromkeys(word for signs, _ in told for word in signs.split("; ") if word)
        numbers = dict.fromkeys(number for _, number in told if number)
        return "; ".join(words), "/".join(numbers)
