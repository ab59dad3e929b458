"""What went wrong with some of many things, on stderr."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from contextlib import contextmanager

from vault.cli.terminal import echo
from vault.model.errors import VaultError


@contextmanager
def every_problem() -> Iterator[None]:
    """Show each of several things that are wrong with a file that somebody wrote, a line each."""
    try:
        yield
    except VaultError as error:
        for problem in error.problems if len(error.problems) > 1 else ():
            echo(f"line {problem.line}: {problem.text}: {problem.reason}", err=True)
        raise


def print_failures(failures: Sequence[VaultError]) -> int:
    """A line for each; returns the worst exit code, 0 where there is none."""
    for failure in failures:
        echo(f"axisvault: {failure}", err=True)
    return max((failure.exit_code for failure in failures), default=0)
