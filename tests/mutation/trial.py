"""Tries mutants one after the other, several at a time, each in a copy of the checkout."""

from __future__ import annotations

import contextlib
import json
import os
import signal
import subprocess
import sys
import tempfile
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor, as_completed
from dataclasses import dataclass
from pathlib import Path
from queue import SimpleQueue
from typing import Literal

from tests.mutation import checkout
from tests.mutation.mutants import Mutant
from tests.mutation.recording import Recording

# What a test may take: so much more than when it was recorded, since other work may be going on.
_PATIENCE, _AT_LEAST = 10.0, 60.0  # times, seconds
_START = 60.0  # seconds that pytest may take to collect

End = Literal["killed", "hung", "survived"]


@dataclass(frozen=True)
class Result:
    """How the tests took a mutant. One that makes a test hang is as good as killed."""

    mutant: Mutant
    end: End
    tests: int  # that go through the place
    run: int  # of them, until one failed or the time was up


@dataclass(frozen=True)
class _Answer:
    end: str  # as run_chosen writes it; "broken" where pytest did not come to running tests
    run: int = 0
    last: str = "pytest"  # the test that ran last
    output: str = ""


def try_all(
    root: Path,
    mutants: list[Mutant],
    recording: Recording,
    *,
    workers: int,
    seconds: float,
    told: Callable[[Result], None],
) -> bool:
    """Try every mutant, and tell each result as it comes.

    `seconds` is how long the tests of one mutant may go on without one that fails. False where it
    was interrupted.

    Raises:
        RuntimeError: tests fail although nothing is changed.
    """
    with tempfile.TemporaryDirectory(prefix="mutation-") as folder:
        copies: SimpleQueue[Path] = SimpleQueue()
        for number in range(workers):
            checkout.copy_to(root, Path(folder, str(number)))
            copies.put(Path(folder, str(number)))
        running: set[int] = set()

        def one(mutant: Mutant) -> Result:
            tests = recording.tests_for(mutant)
            copy = copies.get()
            try:
                with _changed(copy, mutant):
                    answer = _run(copy, tests, recording, seconds, running)
            finally:
                copies.put(copy)
            return Result(mutant, _end(answer), len(tests), answer.run)

        _check_unchanged(Path(folder, "0"), mutants, recording)
        with ThreadPoolExecutor(workers) as pool:
            try:
                for done in as_completed([pool.submit(one, mutant) for mutant in mutants]):
                    told(done.result())
            except KeyboardInterrupt:
                pool.shutdown(wait=False, cancel_futures=True)
                for process in running.copy():
                    _kill(process)
                return False
    return True


def _end(answer: _Answer) -> End:
    if answer.end in ("passed", "enough"):
        return "survived"
    return "hung" if answer.end == "late" else "killed"


def _check_unchanged(copy: Path, mutants: list[Mutant], recording: Recording) -> None:
    """Run some of the tests in a copy as it is: whatever fails there would look like a kill."""
    first = {test for mutant in mutants for test in recording.tests_for(mutant)[:1]}
    answer = _run(copy, sorted(first), recording, 600.0, set())
    if answer.end != "passed":
        raise RuntimeError(f"nothing is changed, yet {answer.last} {answer.end}:\n{answer.output}")


@contextlib.contextmanager
def _changed(copy: Path, mutant: Mutant) -> Iterator[None]:
    """The file as changed, with a time of its own: Python tells old bytecode by size and time."""
    path = copy / mutant.path
    code, times = path.read_bytes(), path.stat()
    path.write_text(mutant.code, "utf-8")
    try:
        yield
    finally:
        path.write_bytes(code)
        os.utime(path, ns=(times.st_atime_ns, times.st_mtime_ns))


def _run(
    copy: Path, tests: list[str], recording: Recording, seconds: float, running: set[int]
) -> _Answer:
    if not tests:
        return _Answer("passed")
    # A browser that was killed may write there still.
    with tempfile.TemporaryDirectory(prefix="mutation-", ignore_cleanup_errors=True) as folder:
        chosen, outcome = Path(folder, "chosen.json"), Path(folder, "outcome.json")
        limits = {test: _AT_LEAST + _PATIENCE * recording.seconds[test] for test in tests}
        chosen.write_text(json.dumps({"tests": limits, "seconds": seconds}))
        around = checkout.environment(
            MUTATION_CHOSEN=str(chosen), MUTATION_OUTCOME=str(outcome), TMPDIR=folder
        )
        paths = sorted({test.split("::")[0] for test in tests})
        with Path(folder, "log").open("w+b") as log:
            process = subprocess.Popen(
                [sys.executable, "-m", "pytest", "-xq", "-p", "run_chosen", *paths],
                cwd=copy,
                env=around,
                stdin=subprocess.DEVNULL,
                stdout=log,
                stderr=log,
                start_new_session=True,
            )
            running.add(process.pid)
            try:
                process.wait(_START + seconds + max(limits.values()))
            except subprocess.TimeoutExpired:
                return _Answer("late")
            finally:
                _kill(process.pid)
                process.wait()
                running.discard(process.pid)
            log.seek(0)
            output = log.read().decode(errors="replace")
        if not outcome.exists():
            return _Answer("broken", output=output)
        answer = json.loads(outcome.read_text())
        return _Answer(answer["end"], answer["tests"], answer["last"], output)


def _kill(group: int) -> None:
    """End a run of pytest and whatever its tests have started."""
    with contextlib.suppress(ProcessLookupError):
        os.killpg(group, signal.SIGKILL)
