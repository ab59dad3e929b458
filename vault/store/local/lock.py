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
    with holding(state / "lock", wait, "writing to the vault"):
        yield


@contextmanager
def holding(file: Path, wait: float, doing: str) -> Iterator[None]:
    """Be the only one who does something to a vault, as `writing` is.

    Raises Unavailable when another process has been doing it all the while.
    """
    lock, state = FileLock(file), file.parent
    try:
        state.mkdir(exist_ok=True)
        lock.acquire(timeout=wait)
    except Timeout as error:
        raise Unavailable(
            f"another process has been {doing} for {wait:g} s", hint="try again later"
        ) from error
    except (OSError, NotImplementedError) as error:  # the latter: no locks on this file system
        raise Unavailable(f"the vault cannot be written: {error}") from error
    try:
        yield
    finally:
        lock.release()
