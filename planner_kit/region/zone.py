"""The time zone of a place, from the table of zones that comes with the time zone database."""

from __future__ import annotations

import re
from functools import lru_cache
from importlib.resources import files

from pyproj import Geod

# ISO 6709 as the table writes it: degrees and minutes, and perhaps seconds.
_POSITION = re.compile(r"([+-]\d{2})(\d{2})(\d{2})?([+-]\d{3})(\d{2})(\d{2})?$")


def zone_near(lat: float, lon: float, country: str) -> str | None:
    """The IANA zone of a country whose principal place lies nearest to a position.

    Parameters
    ----------
    lat, lon : float
        WGS 84. [deg]
    country : str
        ISO 3166-1 alpha-2 code.

    Returns
    -------
    zone : str or None
        None when the country is not in the table.

    References
    ----------
    .. [1] IANA time zone database, table ``zone.tab``.
    """
    zones = [row for row in _zone_table() if row[0] == country]
    if not zones:
        return None
    geod = Geod(ellps="WGS84")
    return min(zones, key=lambda row: geod.inv(lon, lat, row[2], row[1])[2])[3]


@lru_cache
def _zone_table() -> tuple[tuple[str, float, float, str], ...]:
    """Rows of country, latitude, longitude and zone."""
    text = (files("tzdata") / "zoneinfo" / "zone.tab").read_text(encoding="utf-8")
    rows = []
    for line in text.splitlines():
        if not line.startswith("#"):
            country, position, zone = line.split("\t")[:3]
            found = _POSITION.match(position)
            if found:
                rows.append((country, _degrees(*found.groups()[:3]), _degrees(*found.groups()[3:]),
                             zone))  # fmt: skip
    return tuple(rows)


def _degrees(whole: str, minutes: str, seconds: str | None) -> float:
    part = int(minutes) / 60 + int(seconds or 0) / 3600
    return float(whole) + (-part if whole.startswith("-") else part)
