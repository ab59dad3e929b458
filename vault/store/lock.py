"""One writer at a time: an operating system's file lock beside the vault's derived state."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import FileLock, Timeout

from vault.model.errors import Unavailable

WAIT_SECONDS = 60.0


@contextmanager
def writing(state: Path, wait: float = WAIT_SECONDS) -> Iterator[None]:
    """Hold the vault's write lock; the system frees it when the process dies.

    Raises Unavailable when another process keeps it, or when the vault cannot be written.
    """
    lock = FileLock(state / "lock")
    try:
        state.mkdir(exist_ok=True)
        lock.acquire(timeout=wait)
    except Timeout as error:
        raise Unavailable(
            f"another process has been writing to the vault for {wait:g} s", hint="try again later"
        ) from error
    except (OSError, NotImplementedError) as error:  # the latter: no locks on this file system
        raise Unavailable(f"the vault cannot be written: {error}") from error
    try:
        yield
    finally:
        lock.release()
