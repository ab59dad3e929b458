"""Which margins that moved are told without asking, in which order, and in which words."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

from vault.behaviour.facts import Kind, Margin
from vault.meaning.margin_moves import MarginMove
from vault.meaning.margin_news import (
    arranged,
    crosses,
    is_news,
    kind_of,
    more_text,
    move_text,
    news,
    ordered,
    shift,
    standing_after,
    worse_standing,
)

SOME = Margin("stop_room", "stop", "protects", 1.0, 1.0, "m", 1.0, "exact", "a against b")


def margin(ratio: float | None, kind: Kind = "protects") -> Margin:
    return replace(SOME, ratio=ratio, kind=kind, bound="unknown" if ratio is None else "exact")


def move(
    before: float | None, after: float | None, kind: Kind = "protects", name: str = "m"
) -> MarginMove:
    return MarginMove(name, margin(before, kind), margin(after, kind))


@pytest.mark.parametrize(
    ("before", "after", "told"),
    [
        (2.0, 1.9, True),
        (2.0, 1.99, False),
        (2.0, 2.01, False),
        (2.0, 2.03, True),
        (1.004, 0.996, True),  # less than 1 %, and across 1
        (0.996, 1.004, True),
        (0.0, 0.5, True),
        (0.5, 0.0, True),
        (inf, 2.0, True),
        (2.0, inf, True),
        (2.0, None, True),
        (None, 2.0, True),
    ],
)
def test_what_moved_little_is_told_on_request_unless_it_crossed_1(
    before: float | None, after: float | None, told: bool
) -> None:
    assert is_news(move(before, after)) is told


@pytest.mark.parametrize("sides", [(2.0, None), (None, 2.0)])
def test_what_can_be_told_on_one_side_alone_is_news_where_it_protects(
    sides: tuple[float | None, float | None],
) -> None:
    assert is_news(move(*sides))
    assert not is_news(move(*sides, "availability"))
    assert is_news(MarginMove("m", margin(2.0), None))


@pytest.mark.parametrize(
    ("before", "after", "found"),
    [
        (2.0, 1.0, 0.5),
        (0.0, 1.0, None),
        (-0.5, 1.0, None),
        (inf, 2.0, 0.0),
        (inf, inf, None),
        (2.0, inf, inf),
        (None, 1.0, None),
    ],
)
def test_the_shift_is_right_over_left_where_that_says_something(
    before: float | None, after: float | None, found: float | None
) -> None:
    assert shift(move(before, after)) == found


def test_what_crosses_1_and_protects_comes_first() -> None:
    found = ordered(
        [
            move(3.0, 4.0, name="holds"), move(5.0, 0.5, "availability", "runs less"),
            move(0.8, 0.7, name="short as before"), move(1.2, 0.9, name="falls short"),
            move(2.0, None, name="untold"),
        ]
    )  # fmt: skip
    names = [one.name for one in found]
    assert names == ["falls short", "short as before", "untold", "holds", "runs less"]
    assert [one.name for one in news([move(2.0, 2.001, name="little"), found[0]])] == [
        "falls short"
    ]


def test_of_what_is_as_serious_the_least_ratio_of_either_side_comes_first() -> None:
    found = ordered([move(3.0, 9.0, name="b"), move(9.0, 2.0, name="c"), move(4.0, 5.0, name="a")])
    assert [one.name for one in found] == ["c", "b", "a"]
    same = ordered([move(3.0, 9.0, name="z"), move(3.0, 8.0, name="y")])
    assert [one.name for one in same] == ["y", "z"]


def test_what_protects_on_one_side_protects() -> None:
    both = MarginMove("m", margin(2.0, "availability"), margin(1.0))
    assert kind_of(both) == "protects"
    assert kind_of(move(1.0, 2.0, "availability")) == "availability"
    assert crosses(move(1.0, 0.9))
    assert not crosses(move(1.0, 1.0 - 1e-12))


def test_a_move_says_what_is_and_what_was() -> None:
    assert move_text(move(1.31, 0.872)) == "0.872, was 1.31"
    assert move_text(MarginMove("m", margin(1.31), None)) == "no such margin, was 1.31"


def test_what_is_short_or_crossed_1_is_the_answer_and_what_merely_moved_comes_after() -> None:
    moves_ = [
        move(3.0, 4.0, name="holds"), move(1.2, 0.9, name="falls short"),
        move(2.0, None, name="untold"), move(2.0, 2.001, name="little"),
        move(0.8, 1.5, "availability", "mended"), move(0.5, 0.4, "availability", "short"),
    ]  # fmt: skip
    told = arranged(moves_, two_axes=False, everything=False)
    assert [one.name for one in told.first] == ["falls short", "untold", "mended", "short"]
    assert [one.name for one in told.then] == ["holds"]
    assert more_text(told, None) == "1 more margin differs: it hardly moved, or cannot be told"
    every = arranged(moves_, two_axes=False, everything=True)
    assert [one.name for one in every.then] == ["little", "holds"]


def test_of_two_axes_that_hold_their_margins_only_the_number_is_told() -> None:
    told = arranged([move(3.0, 4.0), move(2.0, 9.0)], two_axes=True, everything=False)
    assert (told.first, told.then) == ((), ())
    said = more_text(told, ("line-1", "line-2"))
    assert said == "2 margins differ: they hold on both axes, or cannot be told"


def test_of_two_axes_the_worse_side_counts_and_of_one_the_right_one() -> None:
    assert standing_after(move(0.5, 2.0)) == "holds"
    assert worse_standing(move(0.5, 2.0)) == worse_standing(move(2.0, 0.5)) == "short"
    assert standing_after(MarginMove("m", margin(2.0), None)) == "cannot be told"
