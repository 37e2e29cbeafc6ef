"""Small files that unpack into huge ones, or that never end, are refused or used cheaply."""

from __future__ import annotations

import io
import json
import struct
import zipfile
import zlib
from pathlib import Path

import numpy as np
import pytest
import rasterio
from rasterio.transform import from_origin

from tests.fuzz.conftest import ReaderProcess

ENTITIES = (
    '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY a "aaaaaaaaaa">'
    + "".join(f'<!ENTITY {chr(98 + n)} "{("&" + chr(97 + n) + ";") * 10}">' for n in range(9))
    + ']><gpx version="1.1" creator="x"><metadata><name>&j;</name></metadata></gpx>'
)
OUTSIDE = (
    '<?xml version="1.0"?><!DOCTYPE gpx [<!ENTITY x SYSTEM "file:///etc/passwd">]>'
    '<gpx version="1.1" creator="x"><metadata><name>&x;</name></metadata></gpx>'
)


def _zip(name: str, data: bytes) -> bytes:
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr(name, data)
    return out.getvalue()


def _lying_zip() -> bytes:
    """A zip that says its member has the size of a tile, and that unpacks to 300 MB."""
    whole = _zip("N49W015.hgt", bytes(300_000_000))
    true_size = struct.pack("<I", 300_000_000)
    return whole.replace(true_size, struct.pack("<I", 2 * 1201 * 1201))


def _pdf(stream: bytes, *, pages: int = 1, layers: int = 1) -> bytes:
    """A PDF whose pages share one content stream, packed as often as told."""
    for _ in range(layers):
        stream = zlib.compress(stream, 9)
    filters = b"/FlateDecode " * layers
    kids = b" ".join(b"%d 0 R" % (4 + n) for n in range(pages))
    objects = [
        b"<< /Type /Catalog /Pages 2 0 R >>",
        b"<< /Type /Pages /Kids [%s] /Count %d >>" % (kids, pages),
        b"<< /Length %d /Filter [%s] >>\nstream\n%s\nendstream" % (len(stream), filters, stream),
        *[b"<< /Type /Page /Parent 2 0 R /MediaBox [0 0 99 99] /Contents 3 0 R >>"] * pages,
    ]
    out, places = bytearray(b"%PDF-1.4\n"), []
    for number, body in enumerate(objects, 1):
        places.append(len(out))
        out += b"%d 0 obj\n%s\nendobj\n" % (number, body)
    start = len(out)
    out += b"xref\n0 %d\n0000000000 65535 f \n" % (len(objects) + 1)
    out += b"".join(b"%010d 00000 n \n" % place for place in places)
    out += b"trailer << /Size %d /Root 1 0 R >>\nstartxref\n%d\n%%%%EOF\n" % (
        len(objects) + 1,
        start,
    )
    return bytes(out)


def _circular_pdf() -> bytes:
    return (
        _pdf(b"")
        .replace(b"/Kids [4 0 R]", b"/Kids [2 0 R]")
        .replace(b"/Type /Pages", b"/Type /Pages /Parent 2 0 R")
    )


def _pbf_blob(raw_size: int, packed: bytes) -> bytes:
    """One OSMHeader blob that says how much it unpacks to."""

    def field(number: int, data: bytes) -> bytes:
        return bytes([number << 3 | 2]) + _varint(len(data)) + data

    blob = bytes([2 << 3]) + _varint(raw_size) + field(3, packed)
    head = field(1, b"OSMHeader") + bytes([3 << 3]) + _varint(len(blob))
    return struct.pack(">I", len(head)) + head + blob


def _varint(number: int) -> bytes:
    out = bytearray()
    while number > 127:
        out.append(number & 127 | 128)
        number >>= 7
    return bytes([*out, number])


def _huge_grid(folder: Path) -> bytes:
    """A GeoTIFF of 20,000 by 20,000 cells, all void, that takes a few kilobytes."""
    path = folder / "huge.tif"
    with rasterio.open(
        path, "w", driver="GTiff", width=20_000, height=20_000, count=1, dtype="int16",
        crs="EPSG:4326", transform=from_origin(-14.6, 49.6, 2e-5, 2e-5), nodata=-32768,
        SPARSE_OK="TRUE", tiled=True, compress="deflate",
    ) as out:  # fmt: skip
        out.write(np.zeros((16, 16), np.int16), 1, window=((0, 16), (0, 16)))
    return path.read_bytes()


BOMBS: dict[str, tuple[str, object]] = {
    "entities that unfold a billionfold": ("a.gpx", ENTITIES.encode()),
    "an entity from outside": ("b.gpx", OUTSIDE.encode()),
    "a deep tree": ("c.gpx", b"<gpx>" + b"<a>" * 200_000),
    "a zip of 400 MB": ("N49W015.hgt.zip", lambda: _zip("N49W015.hgt", bytes(400_000_000))),
    "a zip that lies about its size": ("N49W015.hgt.zip", _lying_zip),
    "a zip member with a path": ("N49W015.hgt.zip", lambda: _zip("../../N49W015.hgt", bytes(9))),
    "a PDF page of 400 MB": ("a.pdf", lambda: _pdf(bytes(400_000_000))),
    "a PDF page packed twice": ("b.pdf", lambda: _pdf(bytes(400_000_000), layers=2)),
    "a PDF of 5,000 pages": ("c.pdf", lambda: _pdf(b"BT (x) Tj ET " * 10_000, pages=5_000)),
    "a PDF whose pages are their own parent": ("d.pdf", _circular_pdf),
    "nested TOML": ("household.toml", b"a = " + b"[" * 100_000),
    "nested tables": ("trip.toml", b"stays = [" + b"{a = " * 50_000),
    "nested JSON": ("facts.json", b"[" * 500_000),
    "a long whole number": ("facts.json", b'{"schema": ' + b"9" * 500_000 + b"}"),
    "nested GeoJSON": ("a.geojson", b'{"features": ' + b"[" * 500_000),
    "a notebook of one long cell": (
        "a.ipynb",
        lambda: json.dumps({"cells": [{"source": "x" * 30_000_000}]}).encode(),
    ),
    "a list with one cell of 30 MB": ("a.csv", lambda: b"site_id,name\n1," + b"x" * 30_000_000),
    "a list with 100,000 columns": ("b.csv", lambda: b"site_id," + b"x," * 100_000 + b"\n"),
    "a list of 2 million empty rows": ("c.csv", lambda: b"site_id,name\n" + b",\n" * 2_000_000),
    "an extract that says it unpacks to 2 GB": (
        "a.osm.pbf", lambda: _pbf_blob(2_000_000_000, zlib.compress(bytes(1_000_000))),
    ),
    "an extract that unpacks to more than it says": (
        "b.osm.pbf", lambda: _pbf_blob(100, zlib.compress(bytes(300_000_000))),
    ),
}  # fmt: skip


@pytest.mark.parametrize("bomb", list(BOMBS))
def test_bomb_is_refused_or_used_cheaply(reader: ReaderProcess, tmp_path: Path, bomb: str) -> None:
    name, content = BOMBS[bomb]
    path = tmp_path / name
    path.write_bytes(content() if callable(content) else content)
    ended, words = reader.check(path)
    if ended == "said":
        assert str(path)[:60] in words
    assert [each.name for each in tmp_path.iterdir()] == [name]


EXTRACT = Path(__file__).resolve().parents[2] / "data" / "demo" / "sallowey.osm.pbf"


@pytest.mark.parametrize("name", ["huge.tif", "N49W015.hgt.zip"])
def test_terrain_far_larger_than_its_file_builds_no_huge_region(
    reader: ReaderProcess, tmp_path: Path, name: str
) -> None:
    tile = tmp_path / name
    tile.write_bytes(_huge_grid(tmp_path) if name == "huge.tif" else _lying_zip())
    ended, _ = reader.check(EXTRACT, tile, tmp_path / "region")
    assert ended == "used" or not (tmp_path / "region").exists()
