"""Runs what waits on an event loop where no other loop can be in its way."""

from __future__ import annotations

import asyncio
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING, Any, TypeVar

if TYPE_CHECKING:
    from collections.abc import Coroutine

T = TypeVar("T")


def run_apart(work: Coroutine[Any, Any, T]) -> T:
    """Run a coroutine in a thread of its own: a browser test may have left a loop in this one."""
    with ThreadPoolExecutor(1) as pool:
        return pool.submit(asyncio.run, work).result()
