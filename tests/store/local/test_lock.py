"""One writer at a time, through a lock that the operating system frees."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import pytest

from vault.model.errors import Unavailable
from vault.store.local.lock import writing

ROOT = Path(__file__).parents[3]
HOLDER = """
import sys
from pathlib import Path
from vault.store.local.lock import writing
with writing(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""


@contextmanager
def holder(state: Path) -> Iterator[subprocess.Popen[bytes]]:
    """Another process that holds the lock until its input is closed."""
    process = subprocess.Popen(
        [sys.executable, "-c", HOLDER, str(state)],
        stdin=subprocess.PIPE,
        stdout=subprocess.PIPE,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
    )
    assert process.stdin is not None
    assert process.stdout is not None
    with process:
        assert process.stdout.readline() == b"held\n"
        yield process
        process.stdin.close()


def test_a_second_writer_waits_and_then_gives_up(tmp_path: Path) -> None:
    with (
        holder(tmp_path),
        pytest.raises(Unavailable, match=r"for 0\.2 s"),
        writing(tmp_path, wait=0.2),
    ):
        pytest.fail("two writers at once")
    with writing(tmp_path, wait=0.2):
        pass


def test_a_killed_writer_holds_up_nobody(tmp_path: Path) -> None:
    with holder(tmp_path) as process:
        process.send_signal(signal.SIGKILL)
        process.wait()
        with writing(tmp_path, wait=5):
            pass


def test_an_error_while_writing_is_not_taken_for_one_of_the_lock(tmp_path: Path) -> None:
    for error in (PermissionError("of the body"), TimeoutError("of the body"), KeyError("body")):
        with pytest.raises(type(error), match="body"), writing(tmp_path):
            raise error
    with writing(tmp_path, wait=0.2):
        pass


def test_a_place_that_cannot_hold_a_lock_is_said_to_be_not_writable(tmp_path: Path) -> None:
    (tmp_path / "file").touch()
    for place in (tmp_path / "file", tmp_path / "no/such/folder"):
        with pytest.raises(Unavailable, match="cannot be written"), writing(place):
            pytest.fail("no lock is there")
