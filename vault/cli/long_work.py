"""Long work: a progress bar, and fewer pauses of Python."""

from __future__ import annotations

import gc
import sys
from collections.abc import Callable, Iterator
from contextlib import contextmanager

import click

_SELDOM = 100_000  # new objects between two collections, where Python has 700


@contextmanager
def rare_collections() -> Iterator[None]:
    """Look seldom for objects that hold each other: for long work that makes hardly any.

    Python would go through everything that is remembered, over and over.
    """
    before = gc.get_threshold()
    gc.set_threshold(_SELDOM, *before[1:])
    try:
        yield
    finally:
        gc.set_threshold(*before)


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
