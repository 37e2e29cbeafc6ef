"""A thread of its own for objects that must be made, used and freed by one and the same thread."""

from __future__ import annotations

import atexit
import os
import threading
import weakref
from concurrent.futures import Future
from itertools import count
from queue import SimpleQueue
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from collections.abc import Callable

T = TypeVar("T")
# So long the end of the program waits for objects to be freed. [s]
_LEAVE_S = 5.0


class OneThread:
    """Does what it is given, one thing after the other, in one thread.

    Parameters
    ----------
    name : str
        Of the thread.
    """

    def __init__(self, name: str) -> None:
        # Freeing an object may ask for something while the same thread is asking for something
        # else, and only this kind of queue bears that.
        self._asked: SimpleQueue[Callable[[], object]] = SimpleQueue()
        self._shelves: dict[int, dict[Any, Any]] = {}
        self._numbers = count()
        self._process = os.getpid()
        threading.Thread(target=self._serve, name=name, daemon=True).start()
        atexit.register(self._leave)

    def do(self, work: Callable[[], T], *, within_s: float | None = None) -> T:
        """Do something there; wait for what it returns or raises.

        Parameters
        ----------
        work : callable
            It must not call `do` itself.
        within_s : float, optional
            How long to wait. [s]

        Raises
        ------
        TimeoutError
            If it takes longer than that.
        RuntimeError
            If the program was forked: a copy of it has no copy of the thread.
        """
        if os.getpid() != self._process:
            raise RuntimeError("a forked process has no thread for this; spawn processes instead")
        return self._ask(work).result(within_s)

    def shelf(self, owner: object) -> dict[Any, Any]:
        """A dict for objects of the thread, which it empties when their owner is gone.

        Parameters
        ----------
        owner : object
            None of the objects may refer to it.
        """
        number = next(self._numbers)
        shelf: dict[Any, Any] = {}
        self._shelves[number] = shelf
        gone = weakref.finalize(owner, self._ask, lambda: self._shelves.pop(number).clear())
        # At the end of the program all shelves are emptied together.
        gone.atexit = False
        return shelf

    def _ask(self, work: Callable[[], T]) -> Future[T]:
        answer: Future[T] = Future()

        def answered() -> None:
            try:
                answer.set_result(work())
            except BaseException as fault:
                answer.set_exception(fault)

        self._asked.put(answered)
        return answer

    def _serve(self) -> None:
        while True:
            self._asked.get()()

    def _leave(self) -> None:
        """Free what is left, as the thread ends with the program."""

        def clear() -> None:
            for shelf in self._shelves.values():
                shelf.clear()

        if os.getpid() == self._process:
            self.do(clear, within_s=_LEAVE_S)
