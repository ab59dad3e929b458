"""One writer at a time, through a lock that the operating system frees."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from threading import Thread

import pytest

from vault.model.errors import Unavailable
from vault.store.local.lock import holding, take_lock, writing

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


def test_a_lock_that_another_has_is_none(tmp_path: Path) -> None:
    first = take_lock(tmp_path / "lock")
    assert first is not None
    assert take_lock(tmp_path / "lock", wait=0.1) is None
    first.release()
    again = take_lock(tmp_path / "lock")
    assert again is not None
    again.release()


def test_a_lock_can_be_released_by_another_thread(tmp_path: Path) -> None:
    lock = take_lock(tmp_path / "lock")
    assert lock is not None
    thread = Thread(target=lock.release)
    thread.start()
    thread.join()
    again = take_lock(tmp_path / "lock")
    assert again is not None
    again.release()


def test_a_block_that_fails_lets_go_of_its_lock(tmp_path: Path) -> None:
    lock = take_lock(tmp_path / "lock")
    assert lock is not None
    with pytest.raises(KeyError), lock:
        raise KeyError
    again = take_lock(tmp_path / "lock")
    assert again is not None
    again.release()


def test_a_file_system_without_locks_is_an_error_of_the_system(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def none(*_: object, **__: object) -> None:
        raise NotImplementedError("FileSystem does not appear to support flock")

    monkeypatch.setattr("filelock.FileLock.acquire", none)
    with pytest.raises(OSError, match="support flock"):
        take_lock(tmp_path / "lock")
    with (
        pytest.raises(Unavailable, match=r"alerts cannot be raised: .* support flock"),
        holding(tmp_path / "lock", 0, "raising alerts", failure="alerts cannot be raised"),
    ):
        pytest.fail("no lock is there")


def test_who_gives_up_says_what_the_other_has_been_doing_and_what_to_do(tmp_path: Path) -> None:
    lock = take_lock(tmp_path / "lock")
    assert lock is not None
    with (
        lock,
        pytest.raises(Unavailable, match=r"another process has been counting for 0\.1 s") as raised,
        holding(tmp_path / "lock", 0.1, "counting", hint="count later"),
    ):
        pytest.fail("two at once")
    assert raised.value.hint == "count later"


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
