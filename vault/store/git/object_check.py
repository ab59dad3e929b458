"""Have git check every object of the vault, while its caller does something else."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vault.store.git.repository import Repository

_TOLD = 5  # lines of what git finds


@contextmanager
def checking_objects(repository: Repository) -> Iterator[Callable[[], str | None]]:
    """Start the check; what this gives waits for its end and says what is wrong, None if nothing.

    It ends with the block. Git and the caller each keep a core busy.
    """
    process = repository.git.start("fsck", "--strict", "--no-dangling", "--no-progress")

    def complaint() -> str | None:
        printed = b"".join(process.communicate()).decode("utf-8", "replace")
        if process.returncode == 0:
            return None
        lines = [line for line in printed.splitlines() if line.strip()]
        return "; ".join(lines[:_TOLD]) or f"git fsck ended with {process.returncode}"

    with process:
        try:
            yield complaint
        finally:
            process.kill()  # where nobody waited for it
