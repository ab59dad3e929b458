"""Values of many axes on one line."""

from __future__ import annotations

import pytest

from tests.meaning.checks.sets import CARRIAGE, SCREW, Settings, view_of
from vault.meaning.spread import Row, spread
from vault.meaning.spread_strip import spread_strip


def row_of(role: str, *settings: Settings) -> Row:
    views = {f"m{n}/lift": view_of({**CARRIAGE, **one}, SCREW) for n, one in enumerate(settings)}
    (found,) = spread(views, role)
    return found


def test_axes_that_have_the_same_share_a_place() -> None:
    window = "following_error_window"
    row = row_of(window, {window: "2 mm"}, {window: 2000}, {window: "2 mm"}, {window: "20 mm"})
    strip = spread_strip(row)
    assert strip is not None
    assert [(place.axes, place.is_odd) for place in strip.places] == [
        (("m0/lift", "m1/lift", "m2/lift"), False),
        (("m3/lift",), True),
    ]
    assert [place.value for place in strip.places] == pytest.approx([2, 20])


def test_where_all_differ_none_is_the_odd_one() -> None:
    gain = "position_gain"
    strip = spread_strip(row_of(gain, {gain: "10 1/s"}, {gain: "30 1/s"}, {gain: "20 1/s"}))
    assert strip is not None
    assert [place.value for place in strip.places] == [10, 20, 30]
    assert not any(place.is_odd for place in strip.places)


@pytest.mark.parametrize(
    ("role", "values"),
    [
        ("position_gain", ("10 1/s", "20 1/s")),  # too few
        ("position_gain", ("10 1/s", "10 1/s", "10 1/s")),  # all the same
        ("modes_of_operation", (8, 8, 1)),  # no numbers
    ],
)
def test_some_rows_have_no_strip(role: str, values: tuple[str | int, ...]) -> None:
    assert spread_strip(row_of(role, *({role: value} for value in values))) is None
