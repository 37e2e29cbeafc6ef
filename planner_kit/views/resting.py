"""Work that waits until a person has stopped moving a slider."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING, Any

from planner_kit.views.beside import BesideError, WorkError, shared

if TYPE_CHECKING:
    from collections.abc import Callable
    from concurrent.futures import Future

    from planner_kit.views.beside import Beside


class WhenAtRest:
    """Works something out once, a little after the last time it was asked for.

    Parameters
    ----------
    work : callable
        Gives the work as it is wanted now: a callable without arguments that can be pickled.
    take : callable
        Takes what the work gave back. An answer to an older wish never comes here.
    lost : callable
        Called, without arguments, when the process beside the kernel has ended; from then on the
        work is done in the kernel.
    after_s : float
        How long nothing may have been asked for. [s]

    Attributes
    ----------
    beside : Beside or None
        Where the work is done. Until there is one it is done in the kernel and at once, so that a
        notebook that is run with nobody there comes out the same each time.
    waiting : bool
        Whether what was asked for last is still to come.

    Notes
    -----
    Work that fails in the process is done again in the kernel, where the fault shows.

    It waits on the event loop that the asking came on; a kernel has several, each in a thread of
    its own, and a slider's messages may change from one to another. Where none runs, `settle` does
    what is waiting.
    """

    def __init__(
        self,
        work: Callable[[], Callable[[], Any]],
        take: Callable[[Any], None],
        lost: Callable[[], None],
        *,
        after_s: float,
    ) -> None:
        self._work, self._take, self._lost, self._after_s = work, take, lost, after_s
        self.beside: Beside | None = None
        self._had_one = False
        self.waiting = False
        self._wish = 0
        self._timer: asyncio.TimerHandle | None = None
        self._answer: Future[Any] | None = None

    def work_beside(self) -> None:
        """From now on work in the process beside the kernel, which is warmed up here.

        For a page that somebody looks at: a browser has shown it. Where that process has ended
        before, the work stays in the kernel.
        """
        if not self._had_one:
            self._had_one, self.beside = True, shared()
            self.beside.do(self._work())

    def ask(self) -> None:
        """Work it out when nothing has been asked for during the time."""
        self.forget()
        self.waiting = True
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:  # no kernel: `settle` is called by hand
            return
        self._had_one = self._had_one or self.beside is not None
        if not self._had_one:
            self.settle()
        else:
            self._timer = loop.call_later(self._after_s, self._begin, loop, self._wish)

    def forget(self) -> None:
        """Want nothing any more: what is under way is void."""
        self.waiting = False
        self._wish += 1
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None
        if self._answer is not None:
            self._answer.cancel()  # one that is not yet worked on never is
            self._answer = None

    def settle(self) -> None:
        """Do now, in the kernel, what is waiting, if anything is."""
        if self.waiting:
            self.forget()
            self._take(self._work()())

    def _begin(self, loop: asyncio.AbstractEventLoop, wish: int) -> None:
        if wish != self._wish:
            return
        if self.beside is None:
            self.settle()
            return
        self._answer = self.beside.do(self._work())
        self._answer.add_done_callback(
            lambda answer: loop.call_soon_threadsafe(self._come, answer, wish)
        )

    def _come(self, answer: Future[Any], wish: int) -> None:
        if answer.cancelled():
            return
        fault = answer.exception()
        if isinstance(fault, BesideError) and self.beside is not None:
            self.beside = None
            self._lost()
        if wish != self._wish:
            return
        if isinstance(fault, BesideError | WorkError):
            self.settle()
        else:
            self.forget()
            self._take(answer.result())
