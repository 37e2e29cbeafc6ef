"""A reader process that outlives its cases, and how many cases there are."""

from __future__ import annotations

import json
import select
import subprocess
import sys
from pathlib import Path
from typing import TYPE_CHECKING

import pytest

if TYPE_CHECKING:
    from collections.abc import Iterator

MOST_SECONDS = 10  # of the processor, so that a busy machine fails no test
MOST_WAIT_S = 60
MOST_MB = 1_000
READER = Path(__file__).with_name("reader_process.py")


class ReaderProcess:
    """Asks a process how the check of a file ends, and watches its time and memory."""

    def __init__(self) -> None:
        self._process: subprocess.Popen[str] | None = None
        self.tried = 0

    def check(self, *paths: Path) -> tuple[str, str]:
        """How the check of a file ended (`used`, `said`), and the words.

        With more than one path: how the build of a region from an extract and tiles ended; the
        last path is its folder.

        Raises
        ------
        AssertionError
            If it took longer than `MOST_SECONDS`, held more than `MOST_MB`, died or ended in a
            traceback.
        """
        self.tried += 1
        process = self._running()
        assert process.stdin is not None
        assert process.stdout is not None
        path = paths[0]
        process.stdin.write(json.dumps([str(each) for each in paths]) + "\n")
        process.stdin.flush()
        ready, _, _ = select.select([process.stdout], [], [], MOST_WAIT_S)
        if not ready:
            self.stop()
            raise AssertionError(f"{path}: no answer within {MOST_WAIT_S} s")
        line = process.stdout.readline()
        if not line:
            code = process.wait()
            self.stop()
            raise AssertionError(f"{path}: the process died with {code}")
        answer = json.loads(line)
        assert answer["cpu_s"] <= MOST_SECONDS, f"{path}: {answer['cpu_s']:.1f} s"
        if answer["peak_mb"] > MOST_MB:
            self.stop()
            raise AssertionError(f"{path}: {answer['peak_mb']:.0f} MB held")
        assert answer["ended"] in {"used", "said"}, f"{path}\n{answer['words']}"
        return answer["ended"], answer["words"]

    def _running(self) -> subprocess.Popen[str]:
        if self._process is None or self._process.poll() is not None:
            self._process = subprocess.Popen(
                [sys.executable, str(READER)],
                stdin=subprocess.PIPE,
                stdout=subprocess.PIPE,
                stderr=subprocess.DEVNULL,
                text=True,
            )
        return self._process

    def stop(self) -> None:
        """End the process, if it runs."""
        if self._process is not None:
            self._process.kill()
            self._process.communicate()
            self._process = None


@pytest.fixture(scope="session")
def reader() -> Iterator[ReaderProcess]:
    process = ReaderProcess()
    yield process
    process.stop()
    print(f"\n{process.tried} damaged files were tried")
