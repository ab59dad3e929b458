"""Pausing Python's collector of cycles while very many values are made that are all kept.

It would walk through them again and again, and find nothing: a tenth or more of the time.
"""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from threading import Lock

_LOCK = Lock()
_pauses = 0


@contextmanager
def collector_paused() -> Iterator[None]:
    """Let no cycle be collected within; it goes on when the last block of any thread is over.

    Where somebody has turned it off altogether, it stays off.
    """
    global _pauses
    with _LOCK:
        if is_ours := _pauses > 0 or gc.isenabled():
            _pauses += 1
            gc.disable()
    try:
        yield
    finally:
        if is_ours:
            with _LOCK:
                _pauses -= 1
                if is_last := not _pauses:
                    gc.enable()
            if not is_last:  # blocks of threads may overlap for ever
                gc.collect(0)
