"""What went wrong with some of many things, on stderr."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from vault.cli.terminal import echo

if TYPE_CHECKING:
    from vault.model.errors import VaultError


def print_failures(failures: Sequence[VaultError]) -> int:
    """A line for each; returns the worst exit code, 0 where there is none."""
    for failure in failures:
        echo(f"axisvault: {failure}", err=True)
    return max((failure.exit_code for failure in failures), default=0)
