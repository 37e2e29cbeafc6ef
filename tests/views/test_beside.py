from __future__ import annotations

import asyncio
import os
import signal
import subprocess
import sys
import textwrap
import threading
import time
from concurrent.futures import Future
from functools import partial
from typing import Any

import psutil
import pytest

from planner_kit.views import beside
from planner_kit.views.beside import Beside, BesideError, WorkError
from planner_kit.views.resting import WhenAtRest
from tests.views.apart import run_apart

LONG_S = 60


@pytest.fixture
def helper() -> Any:
    one = Beside()
    yield one
    one.end()


def test_work_is_done_in_another_process(helper: Beside) -> None:
    answers = [helper.do(partial(pow, 2, n)) for n in range(5)]
    assert [one.result(LONG_S) for one in answers] == [1, 2, 4, 8, 16]
    assert helper.do(os.getpid).result(LONG_S) == helper.process.pid != os.getpid()


def test_work_that_fails_tells_why_and_the_next_is_done(helper: Beside) -> None:
    with pytest.raises(WorkError, match="ZeroDivisionError"):
        helper.do(partial(divmod, 1, 0)).result(LONG_S)
    assert helper.do(partial(abs, -1)).result(LONG_S) == 1


@pytest.mark.parametrize("work", [lambda: 1, threading.Lock], ids=["the work", "its answer"])
def test_what_cannot_be_packed_is_told_and_the_next_is_done(helper: Beside, work: Any) -> None:
    with pytest.raises(WorkError, match="pickle"):
        helper.do(work).result(LONG_S)
    assert helper.do(partial(abs, -1)).result(LONG_S) == 1


def test_process_that_dies_over_its_work_is_told(helper: Beside) -> None:
    answer = helper.do(partial(os._exit, 3))
    with pytest.raises(BesideError, match="has ended"):
        answer.result(LONG_S)
    with pytest.raises(BesideError, match="has ended"):
        helper.do(os.getpid).result(LONG_S)


def test_one_process_is_shared_and_another_follows_one_that_ended() -> None:
    first = beside.shared()
    assert beside.shared() is first
    first.end()
    assert not first.process.is_alive()
    second = beside.shared()
    assert second is not first
    second.end()


@pytest.mark.skipif(not hasattr(signal, "SIGKILL"), reason="needs signals of POSIX")
@pytest.mark.parametrize("how", ["ends", "is killed", "ends while work is done"])
def test_process_ends_with_whoever_started_it(how: str) -> None:
    script = textwrap.dedent(f"""
        import os, signal, time
        from functools import partial
        from planner_kit.views.beside import Beside
        if __name__ == "__main__":
            helper = Beside()
            print(helper.do(os.getpid).result({LONG_S}), flush=True)
            if {how == "ends while work is done"}:
                helper.do(partial(time.sleep, {LONG_S}))
                time.sleep(0.2)
            if {how == "is killed"}:
                os.kill(os.getpid(), signal.SIGKILL)
    """)
    ran = subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=LONG_S, check=False
    )
    number = int(ran.stdout)
    assert not _is_there(number), ran.stderr


def _is_there(number: int) -> bool:
    """Whether a process goes on; one that is only not yet reaped by the system does not."""
    for _ in range(200):
        try:
            if psutil.Process(number).status() == psutil.STATUS_ZOMBIE:
                return False
        except psutil.NoSuchProcess:
            return False
        time.sleep(0.05)
    return True


class ByHand:
    """A process beside that answers when the test says so."""

    def __init__(self) -> None:
        self.asked: list[tuple[Any, Future[Any]]] = []

    def do(self, work: Any) -> Future[Any]:
        answer: Future[Any] = Future()
        if not self.asked:
            answer.set_running_or_notify_cancel()  # the first is begun, the others wait
        self.asked.append((work, answer))
        return answer


class Wish:
    """What is wanted, and what came of it."""

    def __init__(self) -> None:
        self.wanted, self.taken, self.lost = 0, [], 0
        self.rest = WhenAtRest(
            lambda: partial(int, self.wanted), self.taken.append, self._lose, after_s=0.0
        )
        self.hand = ByHand()
        self.rest.beside = self.hand  # type: ignore[assignment]

    def _lose(self) -> None:
        self.lost += 1

    def want(self, what: int) -> None:
        self.wanted = what
        self.rest.ask()


async def _turns() -> None:
    for _ in range(10):
        await asyncio.sleep(0.001)


def test_answer_to_an_older_wish_is_void() -> None:
    async def moved() -> Wish:
        wish = Wish()
        wish.want(1)
        await _turns()
        for later in (2, 3):
            wish.want(later)
            await _turns()
        first, second, third = (answer for _, answer in wish.hand.asked)
        assert [work() for work, _ in wish.hand.asked] == [1, 2, 3]
        first.set_result("days for 1")
        await _turns()
        assert wish.taken == []
        assert second.cancelled()  # nobody wants it, and it is not begun
        third.set_result("days for 3")
        await _turns()
        return wish

    wish = run_apart(moved())
    assert wish.taken == ["days for 3"]
    assert not wish.rest.waiting


def test_process_that_ends_is_said_and_the_work_done_in_the_kernel() -> None:
    async def moved() -> Wish:
        wish = Wish()
        wish.want(1)
        await _turns()
        wish.hand.asked[0][1].set_exception(BesideError("gone"))
        await _turns()
        assert (wish.taken, wish.lost) == ([1], 1)
        wish.want(2)
        wish.want(3)  # nobody is asked any more, and a rest is waited for all the same
        assert wish.taken == [1]
        await _turns()
        assert wish.taken == [1, 3]
        return wish

    wish = run_apart(moved())
    assert (wish.lost, len(wish.hand.asked)) == (1, 1)


def test_work_that_fails_beside_is_done_in_the_kernel_and_the_process_kept() -> None:
    async def moved() -> Wish:
        wish = Wish()
        wish.want(1)
        await _turns()
        wish.hand.asked[0][1].set_exception(WorkError("it failed there"))
        await _turns()
        assert wish.taken == [1]
        wish.want(2)
        await _turns()
        return wish

    wish = run_apart(moved())
    assert wish.rest.beside is wish.hand
    assert (wish.lost, len(wish.hand.asked)) == (0, 2)


def test_process_that_ends_over_an_older_wish_leaves_the_newer_one_to_the_kernel() -> None:
    async def moved() -> Wish:
        wish = Wish()
        wish.want(1)
        await _turns()
        wish.want(2)
        await _turns()
        for _, answer in wish.hand.asked:
            answer.set_exception(BesideError("gone"))
        await _turns()
        return wish

    wish = run_apart(moved())
    assert (wish.taken, wish.lost) == ([2], 1)


def test_wishes_that_come_on_several_loops_are_all_heard() -> None:
    wish = Wish()
    loops = [asyncio.new_event_loop() for _ in range(2)]
    threads = [threading.Thread(target=loop.run_forever, daemon=True) for loop in loops]
    for thread in threads:
        thread.start()
    taken = threading.Event()
    wish.rest = WhenAtRest(
        lambda: partial(int, wish.wanted),
        lambda what: (wish.taken.append(what), taken.set()),
        wish._lose,
        after_s=0.0,
    )
    helper = Beside()
    wish.rest.beside = helper
    for turn in range(20):
        wish.wanted = turn
        asked = threading.Event()
        loops[turn % 2].call_soon_threadsafe(lambda done=asked: (wish.rest.ask(), done.set()))
        assert asked.wait(LONG_S)
    while wish.rest.waiting:
        assert taken.wait(LONG_S)
        taken.clear()
    for loop, thread in zip(loops, threads, strict=True):
        loop.call_soon_threadsafe(loop.stop)
        thread.join()
        loop.close()
    helper.end()
    assert wish.taken[-1] == 19
    assert wish.taken == sorted(wish.taken)


def test_work_that_is_called_off_before_it_begins_is_not_done(helper: Beside) -> None:
    with helper._one:  # as while other work is done
        waiting = [helper.do(partial(os._exit, 3)) for _ in range(3)]
        assert all(one.cancel() for one in waiting)
    assert helper.do(partial(abs, -1)).result(LONG_S) == 1


def test_settling_works_it_out_at_once_and_voids_what_is_under_way() -> None:
    async def moved() -> Wish:
        wish = Wish()
        wish.want(1)
        await _turns()
        wish.rest.settle()
        assert wish.taken == [1]
        wish.hand.asked[0][1].set_result("late")
        await _turns()
        return wish

    assert run_apart(moved()).taken == [1]


def test_with_nobody_there_it_is_worked_out_at_once() -> None:
    async def run() -> Wish:
        wish = Wish()
        wish.rest.beside = None
        wish.want(4)
        return wish

    assert run_apart(run()).taken == [4]
