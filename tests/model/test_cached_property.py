"""A property that is worked out once, without a lock that all objects share."""

from __future__ import annotations

import re
from pathlib import Path
from threading import Barrier, Thread

from vault.model.cached_property import cached_property

ROOT = Path(__file__).parents[2]


class Counted:
    """An object whose value says how often it was worked out."""

    def __init__(self) -> None:
        self.times = 0

    @cached_property
    def value(self) -> int:
        """How often."""
        self.times += 1
        return self.times


def test_it_is_worked_out_once_for_each_object() -> None:
    one, other = Counted(), Counted()
    assert (one.value, one.value, other.value, one.times, other.times) == (1, 1, 1, 1, 1)
    assert Counted.value.__doc__ == "How often."


def test_what_fails_is_tried_again() -> None:
    class Failing:
        is_there = False

        @cached_property
        def value(self) -> str:
            if not self.is_there:
                raise LookupError
            return "there"

    one = Failing()
    for _ in range(2):
        try:
            assert one.value
        except LookupError:
            one.is_there = True
    assert one.value == "there"


def test_two_threads_work_out_their_own_at_the_same_time() -> None:
    both = Barrier(2, timeout=20)

    class Meeting:
        @cached_property
        def value(self) -> int:
            return both.wait()  # it comes back once the other thread is here too

    found: list[int] = []
    threads = [Thread(target=lambda: found.append(Meeting().value)) for _ in range(2)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert sorted(found) == [0, 1]


def test_nobody_uses_the_one_with_a_lock_for_all() -> None:
    own = re.compile(r"functools import [^\n]*\bcached_property\b|functools\.cached_property")
    found = [
        str(path.relative_to(ROOT))
        for package in ("vault", "webui", "example_machines")
        for path in (ROOT / package).rglob("*.py")
        if own.search(path.read_text("utf-8"))
    ]
    assert found == ["vault/model/cached_property.py"]
