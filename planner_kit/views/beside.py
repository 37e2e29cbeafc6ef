"""A process beside the kernel, so that a long search does not keep the keys waiting."""

from __future__ import annotations

import multiprocessing
import os
import signal
import threading
import traceback
from concurrent.futures import Future
from multiprocessing.reduction import ForkingPickler
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Callable
    from multiprocessing.connection import Connection

# How far the process stands back for those that a person waits for (the kernel, the browser).
_NICE = 19


class BesideError(RuntimeError):
    """The process beside the kernel has ended, and gives no answers any more."""


class WorkError(RuntimeError):
    """A piece of work failed in the process beside the kernel, which goes on with the next."""


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
            What the work gave back, or a `WorkError` or `BesideError`.
        """
        answer: Future[Any] = Future()
        threading.Thread(target=self._wait, args=(work, answer), daemon=True).start()
        return answer

    def _wait(self, work: Callable[[], Any], answer: Future[Any]) -> None:
        with self._one:
            if not answer.set_running_or_notify_cancel():
                return
            try:
                packed = ForkingPickler.dumps(work)
            except Exception:  # whatever does not let itself be packed
                answer.set_exception(WorkError(traceback.format_exc()))
                return
            try:
                self._line.send_bytes(packed)
                well, given = self._line.recv()
            except (EOFError, OSError):
                answer.set_exception(BesideError("The process beside the kernel has ended."))
                return
        if well:
            answer.set_result(given)
        else:
            answer.set_exception(WorkError(given))

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
            packed = line.recv_bytes()
        except (EOFError, OSError):
            return
        try:
            answer = ForkingPickler.dumps((True, ForkingPickler.loads(packed)()))
        except Exception:  # handed back: whoever asked sees what went wrong
            answer = ForkingPickler.dumps((False, traceback.format_exc()))
        try:
            line.send_bytes(answer)
        except OSError:
            return
