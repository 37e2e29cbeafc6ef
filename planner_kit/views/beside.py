"""A process beside the kernel, so that a long search does not keep the keys waiting."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import traceback
from concurrent.futures import Future
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable
    from multiprocessing.connection import Connection

# How far the process stands back for those that a person waits for (the kernel, the browser).
_NICE = 10


class BesideError(RuntimeError):
    """The process beside the kernel gave no answer: it has ended, or the work failed there."""


class Beside:
    """Does work in a process of its own, one piece after the other.

    Notes
    -----
    The process ends with `end`, with the interpreter, and by itself when its end of the line is
    the last one: when whoever started it was killed.
    """

    def __init__(self) -> None:
        spawn = multiprocessing.get_context("spawn")
        self._line, theirs = spawn.Pipe()
        self.process = spawn.Process(target=_serve, args=(theirs,), daemon=True)
        self.process.start()
        theirs.close()
        self._one = threading.Lock()

    def do(self, work: Callable[[], Any]) -> Future[Any]:
        """Have work done; nobody waits for it here.

        Parameters
        ----------
        work : callable
            Takes no arguments, and can be pickled: a `functools.partial` of a module's function.

        Returns
        -------
        answer : Future
            What the work gave back, or a `BesideError`.
        """
        answer: Future[Any] = Future()
        threading.Thread(target=self._wait, args=(work, answer), daemon=True).start()
        return answer

    def _wait(self, work: Callable[[], Any], answer: Future[Any]) -> None:
        with self._one:
            if not answer.set_running_or_notify_cancel():
                return
            try:
                self._line.send(work)
                well, given = self._line.recv()
            except (EOFError, OSError):
                answer.set_exception(BesideError("The process beside the kernel has ended."))
                return
        if well:
            answer.set_result(given)
        else:
            answer.set_exception(BesideError(given))

    def end(self) -> None:
        """End the process, whatever it does."""
        self.process.terminate()
        self.process.join()


_SHARED: list[Beside] = []


def shared() -> Beside:
    """The one process beside this kernel, started when it is first asked for or has ended."""
    if not _SHARED or not _SHARED[0].process.is_alive():
        _SHARED[:] = [Beside()]
    return _SHARED[0]


def _serve(line: Connection) -> None:
    """Work until nobody is at the other end of the line."""
    # An interrupt is sent to the whole group, and meant for the kernel.
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    if hasattr(os, "nice"):
        os.nice(_NICE)
    while True:
        try:
            work = line.recv()
        except (EOFError, OSError):
            return
        try:
            answer = True, work()
        except Exception:
            answer = False, traceback.format_exc()
        try:
            line.send(answer)
        except OSError:
            return
