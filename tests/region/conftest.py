"""Small extracts and terrain made for one test."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np
import osmium
import pytest

if TYPE_CHECKING:
    from collections.abc import Callable
    from pathlib import Path


@pytest.fixture
def make_extract(tmp_path: Path) -> Callable[..., Path]:
    """Writes an extract of nodes {id: (lon, lat, tags)}, ways and relations."""

    def make(
        nodes: dict[int, tuple[Any, ...]],
        ways: dict[int, tuple[list[int], dict[str, str]]],
        relations: dict[int, tuple[list[tuple[str, int, str]], dict[str, str]]] | None = None,
        name: str = "made.osm.pbf",
    ) -> Path:
        path = tmp_path / name
        with osmium.SimpleWriter(str(path), overwrite=True) as out:
            for ref, (lon, lat, *tags) in sorted(nodes.items()):
                out.add_node(
                    osmium.osm.mutable.Node(
                        id=ref, location=(lon, lat), tags=tags[0] if tags else {}
                    )
                )
            for ref, (refs, tags) in sorted(ways.items()):
                out.add_way(osmium.osm.mutable.Way(id=ref, nodes=refs, tags=tags))
            for ref, (members, tags) in sorted((relations or {}).items()):
                out.add_relation(osmium.osm.mutable.Relation(id=ref, members=members, tags=tags))
        return path

    return make


@pytest.fixture
def make_hgt(tmp_path: Path) -> Callable[..., Path]:
    """Writes an SRTM tile of 1201 rows from a function of (lon, lat)."""

    def make(height: Callable[[Any, Any], Any], name: str = "N50E010.hgt") -> Path:
        south, west = int(name[1:3]), int(name[4:7])
        lon, lat = np.meshgrid(
            west + np.arange(1201) / 1200, south + np.arange(1200, -1, -1) / 1200
        )
        path = tmp_path / name
        path.write_bytes(np.round(height(lon, lat)).astype(">i2").tobytes())
        return path

    return make
