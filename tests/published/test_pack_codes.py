"""Positions for a phone: the link's form, and the squares read back by another program."""

from __future__ import annotations

import numpy as np
import pymupdf
import pytest
import zxingcpp

from planner_kit.pack.codes import code_svg, geo_uri


@pytest.mark.published(
    source="RFC 5870, A Uniform Resource Identifier for Geographic Locations, June 2010 (stored "
    "copy, read 2026-11-25): geo:, then latitude and longitude in WGS 84 with a comma between"
)
def test_position_is_a_geo_uri_with_latitude_first() -> None:
    assert geo_uri(13.4125, 103.8667) == "geo:13.41250,103.86670"
    scheme, _, place = geo_uri(-49.5, -14.75).partition(":")
    assert scheme == "geo"
    assert [float(part) for part in place.split(",")] == [-49.5, -14.75]


def test_position_off_the_earth_is_refused() -> None:
    with pytest.raises(ValueError, match="no latitude"):
        geo_uri(91, 0)


@pytest.mark.published(
    source="ISO/IEC 18004 QR codes as read by ZXing-C++, a reader other than the writer"
)
@pytest.mark.parametrize("words", ["geo:49.51601,-14.76600", "geo:-0.00001,179.99999"])
def test_another_program_reads_the_square(words: str) -> None:
    document = pymupdf.open(stream=code_svg(words).encode(), filetype="svg")
    picture = document[0].get_pixmap(matrix=pymupdf.Matrix(8, 8), alpha=False)
    pixels = np.frombuffer(picture.samples, np.uint8).reshape(picture.h, picture.w, picture.n)
    found = zxingcpp.read_barcodes(np.ascontiguousarray(pixels))
    assert [code.text for code in found] == [words]
