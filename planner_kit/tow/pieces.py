"""Long arrays worked through in pieces that fit into a processor's cache, on all its cores."""

from __future__ import annotations

import os
from concurrent.futures import ThreadPoolExecutor
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Callable

# Elements at a time.
_PIECE = 32_768
_POOL = ThreadPoolExecutor(max_workers=min(4, os.cpu_count() or 1), thread_name_prefix="pieces")


def in_pieces(count: int, work: Callable[[slice], None]) -> None:
    """Work through the pieces of arrays of one length.

    Parameters
    ----------
    count : int
        Length of the arrays.
    work : callable
        Called with the slice of each piece; it must write to that piece alone.
    """
    pieces = [slice(at, min(at + _PIECE, count)) for at in range(0, count, _PIECE)]
    if len(pieces) < 3:
        for piece in pieces:
            work(piece)
    else:
        list(_POOL.map(work, pieces))
