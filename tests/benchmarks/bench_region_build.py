"""Time and memory of building regions of growing size, up to 64 times an extract.

``python bench_region_build.py EXTRACT``; copies of the extract are laid beside each other, so that
the size grows and the kind of data stays. Times are by the clock and of the processors alone.
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
begin, used = time.perf_counter(), time.process_time()
region = build_region(Path(sys.argv[1]), [], Path(sys.argv[2]), progress=False)
seconds = time.perf_counter() - begin
busy = time.process_time() - used
peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
print(f"{len(region.roads)},{seconds:.2f},{busy:.2f},{before:.0f},{peak:.0f}")
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
    print(
        "copies,mb,roads,clock_s,processors_s,mb_before,mb_peak,mb_per_clock_s,mb_per_processor_s"
    )
    with tempfile.TemporaryDirectory() as home:
        for copies in (1, 4, 16, 64):
            path = Path(home) / f"x{copies}.osm.pbf"
            write_copies(extract, copies, path)
            mb = path.stat().st_size / 1e6
            told = subprocess.run(
                [sys.executable, "-c", _BUILD, str(path), str(Path(home) / f"r{copies}")],
                capture_output=True,
                text=True,
                check=True,
            ).stdout.strip()
            clock_s, busy_s = (float(part) for part in told.split(",")[1:3])
            print(f"{copies},{mb:.1f},{told},{mb / clock_s:.2f},{mb / busy_s:.2f}", flush=True)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
