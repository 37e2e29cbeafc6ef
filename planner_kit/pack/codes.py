"""Positions as squares that a phone's camera reads, with no signal needed."""

from __future__ import annotations

import io
from functools import lru_cache

import segno


def geo_uri(lat: float, lon: float) -> str:
    """A position as a link that phones open in their own map.

    Parameters
    ----------
    lat, lon : float
        WGS 84. [deg]

    Returns
    -------
    uri : str
        To about a metre.

    Raises
    ------
    ValueError
        If the position is not on the earth.

    References
    ----------
    .. [1] RFC 5870, "A Uniform Resource Identifier for Geographic Locations ('geo' URI)", 2010,
       section 3.
    """
    if not (-90 <= lat <= 90 and -180 <= lon <= 180):
        raise ValueError(f"{lat}, {lon} is no latitude and longitude")
    return f"geo:{lat:.5f},{lon:.5f}"


@lru_cache(maxsize=256)  # the same site stands on several sheets
def code_svg(words: str) -> str:
    """A QR code (ISO/IEC 18004) of some text as SVG, dark on white with its quiet zone."""
    drawing = io.BytesIO()
    segno.make(words, error="m", micro=False).save(
        drawing, kind="svg", border=4, xmldecl=False, light="#ffffff", dark="#1d1d1b"
    )
    return drawing.getvalue().decode("utf-8")
