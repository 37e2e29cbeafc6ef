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
        Of the thread, which begins with the first thing to do.

    Notes
    -----
    A forked program begins anew, with a thread of its own and empty shelves.
    """

    def __init__(self, name: str) -> None:
        self.name = name
        self._shelves: dict[int, dict[Any, Any]] = {}
        self._numbers = count()
        self._out_of_reach: list[dict[Any, Any]] = []
        self._begin()
        atexit.register(self._leave)
        if hasattr(os, "register_at_fork"):
            os.register_at_fork(after_in_child=self._begin)

    def _begin(self) -> None:
        self._starting = threading.Lock()
        self._thread: threading.Thread | None = None
        # Freeing an object may ask for something while the same thread is asking for something
        # else, and only this kind of queue bears that.
        self._asked: SimpleQueue[Callable[[], object]] = SimpleQueue()
        for shelf in self._shelves.values():
            # The thread that could free these did not come along.
            self._out_of_reach.append(dict(shelf))
            shelf.clear()

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
        """
        with self._starting:
            if self._thread is None:
                self._thread = threading.Thread(target=self._serve, name=self.name, daemon=True)
                self._thread.start()
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

        if self._thread is not None:
            self.do(clear, within_s=_LEAVE_S)
