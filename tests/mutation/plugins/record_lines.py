"""A pytest plugin that notes which test runs which line, how long it takes and if it passes.

What a fixture that several tests share does is noted under the fixture, and with each test the
fixtures it asks for: whichever test comes first would else look like the only one that runs it.
A test that reads the code of a module, by `inspect.getsource`, is noted with the module's file.
It writes into the folder `$MUTATION_RECORD`: `coverage.*` and `tests.*.json`, one of each for every
process that runs tests.
"""

from __future__ import annotations

import inspect
import json
import os
from collections.abc import Generator
from pathlib import Path
from typing import Any

import coverage
import pytest

_WORKER = os.environ.get("PYTEST_XDIST_WORKER", "alone")


class Recorder:
    """Switches the context of coverage with the tests."""

    def __init__(self, folder: Path, packages: list[str]) -> None:
        self._folder = folder
        self._contexts = [""]
        self._tests: dict[str, dict[str, Any]] = {}
        self._coverage = coverage.Coverage(
            data_file=str(folder / f"coverage.{_WORKER}"), source=packages, config_file=False
        )
        self._coverage.set_option("run:relative_files", True)
        self._coverage.start()
        self._read: set[str] = set()
        self._source = inspect.getsource
        inspect.getsource = self._noting_source

    def _noting_source(self, what: Any) -> str:
        if path := inspect.getsourcefile(what):
            self._read.add(os.path.relpath(path))
        return self._source(what)

    def _enter(self, context: str) -> None:
        self._contexts.append(context)
        self._coverage.switch_context(context)

    def _leave(self) -> None:
        self._contexts.pop()
        self._coverage.switch_context(self._contexts[-1])

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Generator[None, Any, Any]:
        fixtures = sorted(getattr(item, "fixturenames", []))
        self._tests[item.nodeid] = {"seconds": 0.0, "passed": True, "fixtures": fixtures}
        self._enter(item.nodeid)
        self._read.clear()
        try:
            return (yield)
        finally:
            self._tests[item.nodeid]["reads"] = sorted(self._read)
            self._leave()

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: pytest.FixtureDef[Any]) -> Generator[None, Any, Any]:
        if fixturedef.scope == "function":
            return (yield)
        self._enter(f"fixture:{fixturedef.argname}")
        try:
            return (yield)
        finally:
            self._leave()

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        noted = self._tests[report.nodeid]
        noted["passed"] = noted["passed"] and report.passed
        if report.when == "call":
            noted["seconds"] = report.duration

    def pytest_sessionfinish(self) -> None:
        self._coverage.stop()
        self._coverage.save()
        (self._folder / f"tests.{_WORKER}.json").write_text(json.dumps(self._tests))


def pytest_configure(config: pytest.Config) -> None:
    """Record in the processes that run tests, not in the one that only hands them out."""
    if _WORKER != "alone" or not config.getoption("numprocesses", None):
        packages = os.environ["MUTATION_PACKAGES"].split()
        config.pluginmanager.register(Recorder(Path(os.environ["MUTATION_RECORD"]), packages))
