"""Have git check every object of the vault, while its caller does something else."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vault.store.git.repository import Repository

_TOLD = 5  # lines of what git finds
_CHECK = ("fsck", "--strict", "--no-dangling", "--no-progress")


@contextmanager
def checking_objects(repository: Repository) -> Iterator[Callable[[], str | None]]:
    """Start the check; what this gives waits for its end and says what is wrong, None if nothing.

    It ends with the block. Git and the caller each keep a core busy.
    """
    process = repository.git.start(*_CHECK)

    def complaint() -> str | None:
        process.communicate()
        if process.returncode == 0:
            return None
        # Once more: packs that somebody joined meanwhile are gone, and what is damaged stays so.
        again = repository.git.outcome(*_CHECK)
        if again.status == 0:
            return None
        lines = [line for line in (again.printed + again.complaint).splitlines() if line.strip()]
        return "; ".join(lines[:_TOLD]) or f"git fsck ended with {again.status}"

    with process:
        try:
            yield complaint
        finally:
            process.kill()  # where nobody waited for it
