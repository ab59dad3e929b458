"""Margins of many axes: who is short of 1, who is far from the median, and in which order."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import pytest

from vault.behaviour.facts import Kind, Margin
from vault.meaning.margin_spread import MarginRow, spread_margins
from vault.meaning.margin_text import title_of

SOME = Margin("stop_room", "stop", "protects", 1.0, 1.0, "m", 1.0, "exact", "a against b")


def row(*ratios: float | None, name: str = "stop_room", kind: Kind = "protects") -> MarginRow:
    """The row of axes a, b, c … that have these ratios."""
    axes = {
        chr(ord("a") + place): {name: replace(SOME, name=name, ratio=ratio, kind=kind)}
        for place, ratio in enumerate(ratios)
    }
    (found,) = spread_margins(axes)
    return found


@pytest.mark.parametrize(
    ("ratios", "short", "far"),
    [
        ((2.0, 2.0, 2.0), "", ""),
        ((2.0, 2.4, 1.7), "", ""),  # within a quarter of the median, 2
        ((2.0, 2.6, 2.0), "", "b"),
        ((2.0, 1.5, 2.0), "", "b"),
        ((2.0, 2.5, 2.0), "", ""),  # a quarter of the median is not beyond it
        ((0.8, 0.8, 1.5), "ab", "c"),
        ((0.9, 0.95, 1.0), "ab", ""),  # all alike, and two of them short all the same
        ((2.0, 0.9, 2.0), "b", "b"),
        ((2.0, 4.0, 8.0, 16.0), "", ""),  # none agree, so none is the odd one
        ((2.0, 2.0, 4.0, 8.0, 2.0), "", "cd"),
        ((40.0, 74.0, 74.0), "", ""),  # all have more than enough
        ((2.0, 8.0), "", ""),  # of two, none is the odd one
        ((2.0, None, 8.0), "", ""),
        ((inf, inf, 2.0), "", ""),
        ((0.0, 0.0, 2.0), "ab", ""),
        ((None, None), "", ""),
    ],
)
def test_odd_is_who_is_short_or_far_from_the_median(
    ratios: tuple[float | None, ...], short: str, far: str
) -> None:
    found = row(*ratios)
    assert ("".join(found.short), "".join(found.far)) == (short, far)
    assert set(found.odd) == {*short, *far}


def test_what_may_be_short_is_marked_as_what_is_short() -> None:
    margins = {axis: {"phase": replace(SOME, name="phase", ratio=1.5)} for axis in "ab"}
    margins["c"] = {"phase": replace(SOME, name="phase", ratio=1.5, bound="up_to")}
    (found,) = spread_margins(margins)
    assert (found.short, found.far) == (("c",), ())


def test_what_cannot_be_told_on_an_axis_is_not_odd_and_counted() -> None:
    found = row(2.0, None, 2.0, 2.0)
    assert (found.untold, found.odd, found.median) == (("b",), (), 2.0)
    assert row(None, None).median is None


def test_rows_with_odd_axes_come_first_and_of_these_what_protects() -> None:
    def of(name: str, kind: Kind, *ratios: float) -> dict[str, dict[str, Margin]]:
        return {
            f"axis-{place}": {name: replace(SOME, name=name, kind=kind, ratio=ratio)}
            for place, ratio in enumerate(ratios)
        }

    rows = [
        of("even", "protects", 2.0, 2.0, 2.0), of("runs less", "availability", 0.5, 2.0, 2.0),
        of("far", "protects", 2.0, 9.0, 2.0), of("short", "protects", 2.0, 2.0, 0.9),
    ]  # fmt: skip
    axes = {f"axis-{place}": {} for place in range(3)}
    by_axis = {axis: {k: v for one in rows for k, v in one[axis].items()} for axis in axes}
    found = [one.name for one in spread_margins(by_axis)]
    assert found == ["short", "far", "runs less", "even"]


@pytest.mark.parametrize(
    ("ratios", "far"),
    [
        ((4.0, 4.0, 40.0), ""), ((3.9, 3.9, 40.0), "c"), ((40.0, 40.0, 3.9), "c"),
        ((2.0, 2.51, 2.0), "b"), ((2.0, 1.59, 2.0), "b"), ((2.0, 1.61, 2.0), ""),
        ((2.0, 4.0), ""), ((2.0, 2.0, 4.0, 4.0), ""), ((-1.0, -1.0, 3.0), ""),
    ],
)  # fmt: skip
def test_far_is_a_quarter_off_where_that_is_not_ample(ratios: tuple[float, ...], far: str) -> None:
    assert "".join(row(*ratios).far) == far


def test_a_row_is_named_by_what_is_held_against_what() -> None:
    found = row(2.0, 0.9, 2.0)
    assert found.title == title_of("stop_room")
    assert found.odd == ("b",)
    assert found.kind == "protects"
    assert row(2.0, 2.0, kind="availability").kind == "availability"
