"""The countries whose roads a tow really uses."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

if TYPE_CHECKING:
    from planner_kit.region import Region
    from planner_kit.tow.leg import TowReport

_UNKNOWN = "unknown"


def countries_crossed(tow: TowReport, region: Region) -> tuple[str, ...]:
    """The countries of the roads that are towed on, in the order in which they are reached.

    Parameters
    ----------
    tow : TowReport
    region : Region
        Its roads' column ``country`` says where each stretch lies.

    Returns
    -------
    countries : tuple of str
        ISO 3166-1 alpha-2 codes, each once; the region's countries where there is no leg.
        ``unknown`` comes last, where a tow begins or ends on roads whose country is not known.

    Notes
    -----
    Stretches of no known country between two known ones lie in one of the two, which are both
    named; they add nothing.
    """
    if not tow.legs:
        return region.countries
    found: list[str] = []
    lost = False
    for leg in tow.legs:
        codes = region.roads["country"].iloc[leg.route.road_id].astype(object).to_numpy()
        codes = np.array([str(code) if isinstance(code, str) else _UNKNOWN for code in codes])
        known = codes != _UNKNOWN
        lost = lost or not len(codes) or not (known[0] and known[-1])
        found += list(dict.fromkeys(codes[known].tolist()))
    return (*dict.fromkeys(found), *([_UNKNOWN] if lost else []))
