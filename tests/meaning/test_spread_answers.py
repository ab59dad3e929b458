"""What a spread says first. Axes and values are invented."""

from __future__ import annotations

import pytest

from tests.meaning.checks.sets import CARRIAGE, SCREW, Settings, view_of
from tests.meaning.test_spread import plain_view
from vault.meaning.axis_view import AxisView
from vault.meaning.compare import compare
from vault.meaning.consequences import rank
from vault.meaning.spread import spread
from vault.meaning.spread_answers import Answer, answers
from vault.model.parameters import Parameter

WINDOW, GAIN = "following_error_window", "position_gain"
USUAL: Settings = {WINDOW: "4 mm", GAIN: "30 1/s", "software_position_limits_used": 1}


def lifts(*settings: Settings) -> dict[str, AxisView]:
    return {
        f"m{n}/lift": view_of({**CARRIAGE, **USUAL, **one}, SCREW) for n, one in enumerate(settings)
    }


def told(views: dict[str, AxisView], wanted: str | None = None) -> tuple[Answer, ...]:
    return answers(spread(views, wanted), views)


def test_the_odd_one_its_value_and_what_the_others_have_are_one_sentence() -> None:
    views = lifts({}, {WINDOW: "8 mm"}, {}, {})
    (answer,) = told(views, WINDOW)
    name, usual = answer.row.name, answer.row.reference
    assert answer.sentence == f"m1/lift: {name} 8 mm, the other 3: {usual}"
    assert (answer.axes, answer.others) == (("m1/lift",), 3)


def test_axes_that_are_odd_alike_are_told_together_and_others_apart() -> None:
    same, other = {WINDOW: "8 mm"}, {WINDOW: "9 mm"}
    found = told(lifts(same, {}, {}, {}, same, other, {}), WINDOW)
    assert [(one.axes, one.value) for one in found] == [
        (("m5/lift",), "9 mm"), (("m0/lift", "m4/lift"), "8 mm"),
    ]  # fmt: skip
    assert "4 others: " in found[0].sentence


def test_of_many_odd_axes_three_are_named_and_the_rest_counted() -> None:
    (answer,) = told(lifts(*[{WINDOW: "8 mm"}] * 5, *[{}] * 6), WINDOW)
    assert answer.sentence.startswith("m0/lift, m1/lift, m2/lift and 2 more: ")


def test_values_that_scatter_are_counted_and_not_told_one_by_one() -> None:
    odd: list[Settings] = [{WINDOW: f"{n} mm"} for n in range(21, 28)]
    (answer,) = told(lifts(*odd, *[{}] * 8), WINDOW)
    assert (answer.value, len(answer.axes)) == ("7 other values", 7)


def test_very_many_values_are_counted_as_they_are_told() -> None:
    """101 values in one unit; a hundred and one are told where half of them are in another."""
    views = {
        f"m{n}/lift": plain_view(Parameter("a", "A", n if n < 101 else 500, 1, None, unit))
        for n, unit in enumerate([*["mm"] * 101, *["mm"] * 102])
    }
    (answer,) = told(views)
    assert (answer.value, len(answer.axes)) == ("101 other values", 101)


def test_very_many_values_on_axes_that_are_scaled_in_two_ways_are_counted_by_their_sizes() -> None:
    """1 to 60 of 0.001 mm, and 1 to 60 of 0.01 mm: six of them are among the former."""

    def lift(number: int, unit_code: int, feed: int) -> AxisView:
        window = Parameter("p/w", "Window", number, number, WINDOW, "user_position")
        scaled = {"si_unit_position": unit_code, "feed_constant_feed": feed}
        return view_of({**CARRIAGE, **scaled, WINDOW: window}, SCREW)

    views = {f"m{n}/lift": lift(n, 0xFA010000, 16_000) for n in range(1, 61)}
    views |= {f"m{n}/belt": lift(n, 0xFB010000, 1_600) for n in range(1, 61)}
    usual = {f"m{n}/door": lift(5_000, 0xFA010000, 16_000) for n in range(130)}
    (answer,) = told({**views, **usual}, WINDOW)
    assert (answer.value, len(answer.axes)) == ("114 other values", 120)


def test_classes_are_those_of_a_comparison_with_a_usual_axis_and_the_worst_comes_first() -> None:
    views = lifts({}, {WINDOW: "2 m", GAIN: "90 1/s", "software_position_limits_used": 0}, {})
    found = told(views)
    classes = [one.consequence for one in found]
    assert len(found) > 2
    assert classes == sorted(classes, key=rank)
    changes = compare(views["m0/lift"], views["m1/lift"], sides=("a", "b")).news
    assert {one.row.key: one.consequence for one in found} == {
        str(change.shown.role): change.consequence for change in changes
    }


def test_who_lacks_a_parameter_is_told_so() -> None:
    one, own = Parameter("a/1", "Special", 1, 1), Parameter("a/2", "Else", 2, 2)
    views = {"a": plain_view(one, own), "b": plain_view(own), "c": plain_view(one, own)}
    (answer,) = told(views)
    assert (answer.sentence, answer.value) == ("b: no Special, the other 2: 1", None)


@pytest.mark.parametrize("gains", [("10 1/s", "10 1/s"), ("10 1/s", "30 1/s"), (1, 2, 3, 4)])
def test_where_most_agree_on_nothing_or_all_agree_nobody_is_odd(
    gains: tuple[str | int, ...],
) -> None:
    values = [{GAIN: gain if isinstance(gain, str) else f"{gain} 1/s"} for gain in gains]
    assert told(lifts(*values), GAIN) == ()
