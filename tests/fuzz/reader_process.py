"""A process of its own that reads one file after the other and tells how each ended.

Reads from each line of standard input a list in JSON: a path to check, or an extract, a tile and a
region folder to build. Answers with a line of JSON: how it ended (`used`, `said` or `fault`), the
sentence or traceback, the time it took, and the most memory held above what was held before.
"""

from __future__ import annotations

import json
import os
import resource
import sys
import time
import traceback
import warnings
from pathlib import Path

from planner_kit.checking import check_file
from planner_kit.errors import PlannerKitError
from planner_kit.region import build_region

MOST_MEMORY_BYTES = 6_000_000_000  # of addresses: a bomb ends in MemoryError, not in swapping


def outcome(paths: list[Path]) -> tuple[str, str]:
    """How the check of one file, or the build of a region, ended, and in which words."""
    try:
        if len(paths) == 1:
            return "used", check_file(paths[0])
        extract, *tiles, folder = paths
        build_region(extract, tiles, folder, country="GB", progress=False)
        return "used", "a region was built"
    except PlannerKitError as error:
        return "said", str(error)
    except BaseException:  # whatever else escapes is what is being looked for
        return "fault", traceback.format_exc()


def _status_mb(name: str) -> float:
    """A line of what Linux tells of this process's memory."""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith(f"{name}:"):
            return int(line.split()[1]) / 1000
    raise KeyError(name)


def _forget_peak() -> float:
    """Begin to count the peak anew, from the memory held now."""
    Path("/proc/self/clear_refs").write_text("5")
    return _status_mb("VmRSS")


def main() -> None:
    """Answer every line of standard input."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, MOST_MEMORY_BYTES))
    warnings.simplefilter("ignore")
    # Libraries print to standard output; the answers keep a channel of their own.
    answers = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)
    for line in sys.stdin:
        before_mb = _forget_peak()
        start_s = time.process_time()
        ended, words = outcome([Path(name) for name in json.loads(line)])
        answer = {
            "ended": ended,
            "words": words,
            "cpu_s": time.process_time() - start_s,
            "peak_mb": _status_mb("VmHWM") - before_mb,
        }
        answers.write(json.dumps(answer) + "\n")
        answers.flush()


if __name__ == "__main__":
    main()
