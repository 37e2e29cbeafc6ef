from __future__ import annotations

import gc
import os
import subprocess
import sys
import threading
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import numpy as np
import pytest

from planner_kit.tow.one_thread import OneThread
from planner_kit.tow.search import Search

from .test_search import small_network


class Owner:
    pass


class Freed:
    """Notes the thread in which it is freed."""

    def __init__(self, told):
        self.told = told

    def __del__(self):
        self.told.append(threading.current_thread().name)


def test_everything_is_done_in_the_one_thread():
    thread = OneThread("workshop")
    with ThreadPoolExecutor(3) as pool:
        names = set(pool.map(lambda _: thread.do(lambda: threading.current_thread().name), "abcd"))
    assert names == {"workshop"}


def test_what_goes_wrong_is_raised_to_the_one_who_asked_and_the_thread_goes_on():
    thread = OneThread("workshop")
    with pytest.raises(KeyError, match="lost"):
        thread.do(lambda: {}["lost"])
    assert thread.do(lambda: 3) == 3


def test_a_shelf_is_emptied_in_the_thread_when_its_owner_goes_elsewhere():
    thread, told = OneThread("workshop"), []
    owner = Owner()
    thread.shelf(owner)["thing"] = Freed(told)
    held = [owner]
    del owner
    other = threading.Thread(target=held.clear, name="elsewhere")
    other.start()
    other.join()
    thread.do(lambda: None)
    assert told == ["workshop"]


def used_search():
    network = small_network()
    search = Search(network)
    search.customise("test", 1, np.ones(len(network.tail)))
    search.costs_to("test", [(0, 0.0)], [1, 2])
    search.path("test", [(0, 0.0)], [(2, 0.0)])
    return search


def test_a_search_may_be_freed_by_any_thread(monkeypatch):
    faults = []
    monkeypatch.setattr(sys, "unraisablehook", faults.append)
    held = [used_search()]
    other = threading.Thread(target=held.clear)
    other.start()
    other.join()
    gc.collect()
    used_search()  # waits for the thread to have freed the other
    assert faults == []


def test_searches_from_many_threads_at_once_agree():
    network = small_network()
    search = Search(network)
    nodes = list(range(network.states))

    def asked(factor):
        slot = f"slot {factor % 2}"
        search.customise(slot, factor % 2, np.full(len(network.tail), 1.0 + factor % 2))
        found = search.costs_to(slot, [(0, 0.0)], nodes)
        return (found / (1 + factor % 2)).tolist()

    with ThreadPoolExecutor(8) as pool:
        answers = list(pool.map(asked, range(64)))
    assert all(answer == answers[0] for answer in answers)


def test_a_program_that_ends_says_nothing_of_what_it_held():
    code = (
        "import numpy as np\n"
        "from tests.tow.test_one_thread import used_search\n"
        "kept = used_search()\n"
    )
    root = Path(__file__).parents[2]
    ended = subprocess.run(
        [sys.executable, "-c", code], cwd=root, capture_output=True, text=True, check=True
    )
    assert ended.stdout + ended.stderr == ""


@pytest.mark.skipif(not hasattr(os, "fork"), reason="this system cannot fork a program")
def test_a_forked_program_searches_anew():
    network = small_network()
    search = Search(network)

    def found():
        search.customise("test", 1, np.ones(len(network.tail)))
        return search.path("test", [(0, 0.0)], [(2, 0.5)]).cost_s

    before = found()
    child = os.fork()
    if child == 0:
        status = 1
        try:
            status = int(found() != before)
        finally:
            os._exit(status)
    assert os.waitstatus_to_exitcode(os.waitpid(child, 0)[1]) == 0
    assert found() == before
