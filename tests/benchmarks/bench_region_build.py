"""Time and memory of building regions of growing size: ``python bench_region_build.py EXTRACT``.

Copies of an extract are laid beside each other, so that the size grows and the kind of data stays.
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

import osmium

_SHIFT = 20_000_000_000
_BUILD = """
import resource, sys, time
from pathlib import Path
from planner_kit.region import build_region
before = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
begin = time.perf_counter()
region = build_region(Path(sys.argv[1]), [], Path(sys.argv[2]), progress=False)
seconds = time.perf_counter() - begin
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(f"{len(region.roads)},{seconds:.2f},{before:.0f},{peak:.0f}")
"""


def write_copies(extract: Path, copies: int, path: Path) -> None:
    """An extract that holds `copies` of another, each a degree further east."""
    with osmium.SimpleWriter(str(path), overwrite=True) as out:
        for kind in (osmium.osm.NODE, osmium.osm.WAY, osmium.osm.RELATION):
            for copy in range(copies):
                shift = copy * _SHIFT
                for thing in osmium.FileProcessor(str(extract), kind):
                    if thing.is_node():
                        place = (thing.location.lon + copy * 0.3, thing.location.lat)
                        out.add_node(thing.replace(id=thing.id + shift, location=place))
                    elif thing.is_way():
                        refs = [node.ref + shift for node in thing.nodes]
                        out.add_way(thing.replace(id=thing.id + shift, nodes=refs))
                    else:
                        members = [(m.type, m.ref + shift, m.role) for m in thing.members]
                        out.add_relation(thing.replace(id=thing.id + shift, members=members))


def main(extract: Path) -> None:
    """Print one line for each size."""
    print("copies,mb,roads,seconds,mb_before,mb_peak,mb_per_s")
    with tempfile.TemporaryDirectory() as home:
        for copies in (1, 4, 16, 32):
            path = Path(home) / f"x{copies}.osm.pbf"
            write_copies(extract, copies, path)
            mb = path.stat().st_size / 1e6
            told = subprocess.run(
                [sys.executable, "-c", _BUILD, str(path), str(Path(home) / f"r{copies}")],
                capture_output=True,
                text=True,
                check=True,
            ).stdout.strip()
            seconds = float(told.split(",")[1])
            print(f"{copies},{mb:.1f},{told},{mb / seconds:.2f}", flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
