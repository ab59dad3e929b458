"""How much of a long test is run: all of it by `pytest --whole`, else a part, the same each time.

A test that repeats something asks `part_of`; one of very many cases is marked `sweep(n)`: of a run
of the whole suite each nth of its cases is kept. Cases that somebody names on the command line run.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from typing import Any, TypeVar
from zlib import crc32

import pytest
from hypothesis import HealthCheck, settings

# What any set may look like is tried on so many; a test that needs more says so itself.
# A busy machine is no reason to fail: how long drawing or running one takes is not looked at.
for _name, _count in (("part", 20), ("whole", 50)):
    settings.register_profile(
        _name, max_examples=_count, deadline=None, suppress_health_check=[HealthCheck.too_slow]
    )

T = TypeVar("T")
_WHOLE = pytest.StashKey[bool]()
_is_whole = [False]


def part_of(count: int, share: int = 4) -> int:
    """How often to do what the whole test does so many times: a quarter, or another share."""
    return count if _is_whole[0] else max(1, count // share)


def some_of(cases: Sequence[T], share: int = 3) -> Sequence[T]:
    """Every third of the cases, or another share, from the first on; all in the whole run."""
    return cases if _is_whole[0] else cases[::share]


def pytest_addoption(parser: pytest.Parser) -> None:
    """Declare the option."""
    parser.addoption("--whole", action="store_true", help="run long tests to their whole length")


def pytest_configure(config: pytest.Config) -> None:
    """Note what was asked for, here and in the processes that share the work."""
    _is_whole[0] = config.getoption("--whole")
    settings.load_profile("whole" if _is_whole[0] else "part")
    config.addinivalue_line("markers", "sweep(n): of a run of all tests each nth case is kept")
    given = getattr(config, "workerinput", None)
    named = config.args_source is not pytest.Config.ArgsSource.TESTPATHS
    config.stash[_WHOLE] = _is_whole[0] or (given["whole"] if given is not None else named)


@pytest.hookimpl(optionalhook=True)
def pytest_configure_node(node: Any) -> None:
    """Hand on whether cases are left out: a process that shares the work cannot tell."""
    node.workerinput["whole"] = node.config.stash[_WHOLE]


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Leave cases of sweeps out, always the same ones; the first of each test stays."""
    if config.stash[_WHOLE]:
        return
    seen: Counter[str] = Counter()
    kept, left_out = list[pytest.Item](), list[pytest.Item]()
    for item in items:
        mark = item.get_closest_marker("sweep")
        name = item.nodeid.partition("[")[0]
        is_kept = mark is None or not seen[name] or crc32(item.nodeid.encode()) % mark.args[0] == 0
        seen[name] += 1
        (kept if is_kept else left_out).append(item)
    if left_out:
        config.hook.pytest_deselected(items=left_out)
        items[:] = kept
