"""Work that waits until a person has stopped moving a slider."""

from __future__ import annotations

import asyncio
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable


class WhenAtRest:
    """Does something once, a little after the last time it was asked for.

    Parameters
    ----------
    do : callable
        What to do; it takes no arguments.
    after_s : float
        How long nothing may have been asked for. [s]

    Notes
    -----
    It waits on the kernel's own event loop. Where none runs, `settle` does what is waiting.
    """

    def __init__(self, do: Callable[[], None], *, after_s: float) -> None:
        self._do, self._after_s = do, after_s
        self._timer: asyncio.TimerHandle | None = None
        self.waiting = False

    def ask(self) -> None:
        """Do it when nothing has been asked for during the time."""
        self.waiting = True
        if self._timer is not None:
            self._timer.cancel()
            self._timer = None
        try:
            loop = asyncio.get_running_loop()
        except RuntimeError:  # no kernel: `settle` is called by hand
            return
        self._timer = loop.call_later(self._after_s, self.settle)

    def settle(self) -> None:
        """Do now what is waiting, if anything is."""
        if self.waiting:
            self.waiting = False
            self._do()
