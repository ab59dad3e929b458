"""A pytest plugin that runs chosen tests in a given order, each within its time, until one fails.

It reads the file `$MUTATION_CHOSEN` (`{"tests": {id: seconds it may take}, "seconds": for all}`)
and writes `$MUTATION_OUTCOME`: `{"end": "passed", "failed", "late" or "enough", "tests": run,
"last": id}`.
"""

from __future__ import annotations

import json
import os
import signal
import time
from collections.abc import Generator
from pathlib import Path
from types import FrameType
from typing import Any

import pytest


class Chosen:
    """Tests to run; the rest is left out."""

    def __init__(self, tests: dict[str, float], seconds: float, outcome: Path) -> None:
        self._tests = tests
        self._seconds, self._until = seconds, 0.0
        self._outcome = outcome
        self._end, self._ran, self._last = "passed", 0, ""
        signal.signal(signal.SIGALRM, self._late)

    def _late(self, signum: int, frame: FrameType | None) -> None:
        """Nothing of this process is to be trusted any longer: a test hangs."""
        self._end = "late"
        self._write()
        os._exit(1)

    def _write(self) -> None:
        self._outcome.write_text(
            json.dumps({"end": self._end, "tests": self._ran, "last": self._last})
        )

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        order = {test: number for number, test in enumerate(self._tests)}
        items[:] = sorted(
            (item for item in items if item.nodeid in order), key=lambda item: order[item.nodeid]
        )

    def pytest_collection_finish(self) -> None:
        self._until = time.monotonic() + self._seconds

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, Any, Any]:
        self._last = item.nodeid
        signal.setitimer(signal.ITIMER_REAL, self._tests[item.nodeid])
        try:
            return (yield)
        finally:
            signal.setitimer(signal.ITIMER_REAL, 0)
            self._ran += 1
            if self._end == "passed" and time.monotonic() > self._until:
                self._end = "enough"
                item.session.shouldstop = "time is up"

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.failed:
            self._end = "failed"

    def pytest_sessionfinish(self) -> None:
        if self._ran:
            self._write()


def pytest_configure(config: pytest.Config) -> None:
    """Read what to run."""
    chosen = json.loads(Path(os.environ["MUTATION_CHOSEN"]).read_text())
    outcome = Path(os.environ["MUTATION_OUTCOME"])
    config.pluginmanager.register(Chosen(chosen["tests"], chosen["seconds"], outcome))
