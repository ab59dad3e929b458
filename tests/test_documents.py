"""What holds answers against their documents notices what is not as declared."""

from __future__ import annotations

from typing import Any, Literal, NotRequired

import pytest
from typing_extensions import TypedDict

from tests.documents import Seen, problems


class Inner(TypedDict):
    """For the tests."""

    n: int


class Other(TypedDict):
    """For the tests."""

    m: str


class Outer(TypedDict):
    """For the tests."""

    text: str
    kind: Literal["a", "b"]
    inner: Inner | None
    either: Inner | Other
    many: list[Inner]
    by_name: dict[str, str]
    more: NotRequired[bool]


GOOD: dict[str, Any] = {
    "text": "x", "kind": "a", "inner": None, "either": {"m": "y"}, "many": [{"n": 1}],
    "by_name": {"a": "b"},
}  # fmt: skip


def test_an_answer_as_declared_has_no_problem() -> None:
    assert list(problems(GOOD, Outer, Seen())) == []
    assert list(problems({**GOOD, "more": True, "inner": {"n": 2}}, Outer, Seen())) == []


@pytest.mark.parametrize(
    ("change", "said"),
    [
        ({"text": 1}, ".text: 1 is no"),
        ({"kind": "c"}, ".kind: 'c' is none of"),
        ({"inner": {"n": True}}, ".inner.n: True is no"),
        ({"either": {"m": "y", "n": 1}}, "has no key"),
        ({"many": [{"n": 1}, {}]}, ".many[1]: Inner misses n"),
        ({"by_name": {"a": None}}, ".by_name['a']: None is no"),
        ({"more": "yes"}, ".more: 'yes' is no"),
        ({"extra": 1}, "Outer has no key extra"),
    ],
)
def test_what_is_not_as_declared_is_told_with_its_place(change: Any, said: str) -> None:
    (problem,) = problems({**GOOD, **change}, Outer, Seen())
    assert said in problem


def test_documents_and_keys_that_no_answer_had_are_told() -> None:
    seen = Seen()
    assert list(problems(GOOD, Outer, seen)) == []
    assert seen.missing([Outer]) == ["Outer.more"]
    assert list(problems({**GOOD, "many": [], "more": False}, Outer, seen := Seen())) == []
    assert seen.missing([Outer]) == ["Inner"]
