"""Long work and its progress bar."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click


@contextmanager
def progress(title: str) -> Iterator[Callable[[int, int], None]]:
    """A progress bar on stderr, only where that is a terminal; give it done and total."""
    if not sys.stderr.isatty():
        yield lambda done, total: None
        return
    with click.progressbar(length=0, label=title, file=sys.stderr) as bar:

        def update(done: int, total: int) -> None:
            bar.length = total
            bar.update(done - bar.pos)

        yield update
