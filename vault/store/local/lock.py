"""One at a time: the operating system's file locks, which it frees when their process dies."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from filelock import BaseFileLock, FileLock, Timeout

from vault.model.errors import Unavailable

WAIT_SECONDS = 60.0


class Lock:
    """A lock that is held: until it is released, by any thread, or the end of its block."""

    def __init__(self, held: BaseFileLock) -> None:
        self._held = held

    def release(self) -> None:
        """Let others have it."""
        self._held.release()

    def __enter__(self) -> Lock:
        return self

    def __exit__(self, *_: object) -> None:
        self.release()


def take_lock(file: Path, wait: float = 0.0) -> Lock | None:
    """Take the lock of a file, which is made; None where another one keeps it for so many seconds.

    Raises OSError where the file cannot be made, or its file system knows no locks.
    """
    file.parent.mkdir(exist_ok=True)
    lock = FileLock(file, thread_local=False)
    try:
        lock.acquire(timeout=wait)
    except Timeout:
        return None
    except NotImplementedError as error:
        raise OSError(errno.ENOLCK, str(error)) from error
    return Lock(lock)


@contextmanager
def holding(
    file: Path,
    wait: float,
    doing: str,
    *,
    failure: str = "the vault cannot be written",
    hint: str = "try again later",
) -> Iterator[None]:
    """Be the only one who does something, for the length of the block.

    Raises Unavailable when another process has been `doing` it all the while, and with `failure`
    where there can be no lock.
    """
    try:
        lock = take_lock(file, wait)
    except OSError as error:
        raise Unavailable(f"{failure}: {error}") from error
    if lock is None:
        raise Unavailable(f"another process has been {doing} for {wait:g} s", hint=hint)
    with lock:
        yield


@contextmanager
def writing(state: Path, wait: float = WAIT_SECONDS) -> Iterator[None]:
    """Be the only one who writes to a vault; `state` is the folder beside its repository.

    Raises Unavailable when another process keeps at it, or the vault cannot be written.
    """
    with holding(state / "lock", wait, "writing to the vault"):
        yield
