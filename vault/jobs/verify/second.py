"""A second process that checks half of the axes, where there are two processors.

What it does not get done, for whatever reason, is left to the first one.
"""

from __future__ import annotations

import os
import pickle
import sys
from collections.abc import Callable, Iterable, Iterator
from contextlib import contextmanager, suppress
from itertools import chain
from pathlib import Path
from subprocess import DEVNULL, PIPE, Popen
from threading import Thread
from typing import IO, TYPE_CHECKING, Any

from vault.jobs.verify.axes import Axes, AxisFound, Places
from vault.jobs.verify.snapshot import Reading
from vault.model.names import Address
from vault.store.vault import Vault

if TYPE_CHECKING:
    from collections.abc import Mapping

_LEAST = 5000  # snapshots, from where it pays to start a process: some seconds of work
_PROGRAM = (
    "import sys; sys.path.append(sys.argv[1]);from vault.jobs.verify.second import answer; answer()"
)
Found = dict[Address, AxisFound]


@contextmanager
def second(
    vault: Vault, places: Places, axis_of: Mapping[str, Address], seen: Callable[[int], None]
) -> Iterator[tuple[set[Address], Callable[[], Found]]]:
    """Have half of the axes checked meanwhile: those axes, and what gives what was found.

    `seen` hears of snapshots as they are done, in another thread.
    """
    axes = set(list(places)[len(places) // 2 :]) if _pays(vault, places) else set()
    process = _started() if axes else None
    if process is None:
        yield set(), dict
        return
    questions = (
        (axis, places[axis], {place.commit: axis_of[place.commit] for place in places[axis]})
        for axis in places
        if axis in axes
    )
    found: Found = {}
    asked = chain([(str(vault.repository.path), vault.tip)], questions)
    thread = Thread(target=_ask, args=(process, asked, found, seen), daemon=True)
    thread.start()

    def wait() -> Found:
        thread.join()
        return found

    try:
        yield axes, wait
    finally:
        process.kill()  # where nobody waited for it
        thread.join()
        for pipe in (process.stdin, process.stdout):
            if pipe is not None:
                with suppress(OSError):
                    pipe.close()
        process.wait()


def _pays(vault: Vault, places: Places) -> bool:
    alone = _processors() < 2 or vault.index.is_damaged
    return not alone and sum(map(len, places.values())) >= _LEAST


def _processors() -> int:
    """How many this process may use."""
    if sys.platform == "linux":
        return len(os.sched_getaffinity(0))
    return os.cpu_count() or 1


def _started() -> Popen[bytes] | None:
    command = [sys.executable, "-P", "-c", _PROGRAM, str(Path(__file__).parents[2])]
    try:
        return Popen(command, stdin=PIPE, stdout=PIPE, stderr=DEVNULL)
    except OSError:
        return None


def _ask(
    process: Popen[bytes], asked: Iterable[Any], found: Found, seen: Callable[[int], None]
) -> None:
    assert process.stdin is not None and process.stdout is not None
    with suppress(Exception):  # what is missing then is missed by who asked
        for one in asked:  # each by itself: pickle remembers all of what it writes at once
            pickle.dump(one, process.stdin)
        process.stdin.close()
        while True:
            address, answered = pickle.load(process.stdout)  # our own program's
            found[address] = answered
            seen(answered.snapshots)


def answer() -> None:
    """Check the axes that are asked for on stdin; what was found goes to stdout, axis by axis."""
    _answer(sys.stdin.buffer, sys.stdout.buffer)


def _answer(asked: IO[bytes], told: IO[bytes]) -> None:
    path, tip = pickle.load(asked)
    questions = list(_read(asked))  # all of them first: whoever asks does not listen before
    with Vault.open(Path(path)) as vault:
        vault.tip = tip
        with Reading(vault) as reading:
            axes = Axes(vault, reading, is_partial=False)
            for address, places, axis_of in questions:
                pickle.dump((address, axes.check(address, places, axis_of)), told)
                told.flush()


def _read(asked: IO[bytes]) -> Iterator[Any]:
    with suppress(EOFError):
        while True:
            yield pickle.load(asked)
