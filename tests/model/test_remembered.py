"""Answers are worked out once, and a bounded number of them is kept."""

import pytest

from vault.model.remembered import Remembered


def test_an_answer_is_worked_out_once() -> None:
    asked: list[int] = []
    squares = Remembered[int, int](10)

    def square() -> int:
        asked.append(3)
        return 9

    assert [squares.of(3, square), squares.of(3, square)] == [9, 9]
    assert asked == [3]


def test_nothing_is_an_answer_too() -> None:
    found = Remembered[str, None](10)
    asked: list[str] = []
    for _ in range(2):
        assert found.of("x", lambda: asked.append("x")) is None
    assert asked == ["x"]


def test_one_goes_for_one_that_comes_and_the_others_stay() -> None:
    asked: list[int] = []
    kept = Remembered[int, int](3)

    def ask(number: int) -> int:
        return kept.of(number, lambda: asked.append(number) or -number)  # type: ignore[func-returns-value]

    assert [ask(number) for number in (1, 2, 3, 4)] == [-1, -2, -3, -4]
    assert len(kept) == 3
    asked.clear()
    assert ask(4) == -4
    assert asked == []
    assert [ask(number) for number in (1, 2, 3, 4)] == [-1, -2, -3, -4]
    assert len(kept) == 3
    assert 1 <= len(asked) <= 4


def test_more_than_are_kept_in_the_same_order_again_and_again_are_mostly_found() -> None:
    """With the oldest going each time, none of them would be."""
    asked: list[int] = []
    kept = Remembered[int, int](100)
    for number in [*range(110)] * 20:
        kept.of(number, lambda number=number: asked.append(number) or 0)  # type: ignore[misc]
    assert len(asked) < 110 * 20 / 2
    assert len(kept) == 100


def test_what_failed_is_asked_again() -> None:
    kept = Remembered[int, int](3)
    with pytest.raises(ZeroDivisionError):
        kept.of(0, lambda: 1 // 0)
    assert kept.of(0, lambda: 7) == 7
