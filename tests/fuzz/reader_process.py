"""A process of its own that checks one file after the other and tells how each ended.

Reads a path from each line of standard input and answers with a line of JSON: how it ended
(`used`, `said` or `fault`), the sentence or traceback, and the most memory held so far.
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

MOST_MEMORY_BYTES = 6_000_000_000  # of addresses: a bomb ends in MemoryError, not in swapping


def outcome(path: Path) -> tuple[str, str]:
    """How the check of one file ended, and in which words."""
    try:
        return "used", check_file(path)
    except PlannerKitError as error:
        return "said", str(error)
    except BaseException:  # whatever else escapes is what is being looked for
        return "fault", traceback.format_exc()


def main() -> None:
    """Answer every line of standard input."""
    resource.setrlimit(resource.RLIMIT_AS, (MOST_MEMORY_BYTES, MOST_MEMORY_BYTES))
    warnings.simplefilter("ignore")
    # Libraries print to standard output; the answers keep a channel of their own.
    answers = os.fdopen(os.dup(1), "w")
    os.dup2(2, 1)
    for line in sys.stdin:
        start_s = time.process_time()
        ended, words = outcome(Path(line.rstrip("\n")))
        peak_mb = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1000
        answer = {
            "ended": ended,
            "words": words,
            "cpu_s": time.process_time() - start_s,
            "peak_mb": peak_mb,
        }
        answers.write(json.dumps(answer) + "\n")
        answers.flush()


if __name__ == "__main__":
    main()
