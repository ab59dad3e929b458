"""What holds for all axes: nothing changed does nothing, sides mirror, units do not matter."""

from __future__ import annotations

from math import isclose
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.behaviour.axes import AXES, axis
from tests.oracle.cases import draw
from tests.oracle.program import view_of as view_of_case
from tests.sweeps import part_of
from vault.behaviour.behave import margins_of
from vault.meaning.compare import compare
from vault.meaning.margin_moves import moves
from vault.meaning.reader import SYSTEMS, reading_in
from vault.meaning.substitution import Substitution

NAMES = st.sampled_from(sorted(AXES))
_NUMBERS: dict[str, tuple[str, float, float]] = {
    "following_error_window": ("mm", 1, 60),
    "following_error_time_out": ("ms", 1, 200),
    "quick_stop_deceleration": ("mm/s^2", 800, 9000),
    "max_motor_speed": ("r/min", 500, 4000),
    "fieldbus_timeout": ("ms", 1, 100),
    "digital_input_filter_time": ("ms", 1, 60),
    "brake_apply_delay": ("ms", 5, 90),
    "position_gain": ("1/s", 10, 60),
    "max_software_position_limit": ("mm", 500, 640),
}


@st.composite
def settings_of_a_lift(draw_one: st.DrawFn) -> dict[str, str]:
    """Some of a lift's numbers, drawn."""
    names = st.sampled_from(sorted(_NUMBERS))
    roles = draw_one(st.lists(names, min_size=1, max_size=4, unique=True))
    found = {}
    for role in roles:
        unit, low, high = _NUMBERS[role]
        found[role] = f"{draw_one(st.integers(int(low), int(high)))} {unit}"
    return found


@given(NAMES)
@settings(max_examples=10, deadline=None)
def test_two_equal_states_have_no_effect(name: str) -> None:
    found = compare(axis(name), axis(name))
    assert not found.changes
    assert not found.margins
    assert not found.surroundings


@given(settings_of_a_lift(), settings_of_a_lift())
@settings(max_examples=part_of(60, 2), deadline=None)
def test_swapped_sides_mirror(before: dict[str, str], after: dict[str, str]) -> None:
    there = compare(axis("lift", **before), axis("lift", **after)).margins
    back = compare(axis("lift", **after), axis("lift", **before)).margins
    assert {m.name: (m.before, m.after) for m in there} == {
        m.name: (m.after, m.before) for m in back
    }


@given(settings_of_a_lift(), settings_of_a_lift())
@settings(max_examples=part_of(60, 2), deadline=None)
def test_of_two_axes_it_does_not_matter_which_comes_first(
    before: dict[str, str], after: dict[str, str]
) -> None:
    one, other = axis("lift", **before), axis("lift", **after)
    there = compare(one, other, sides=("a", "b")).changes
    back = compare(other, one, sides=("b", "a")).changes
    hazards = [{c.shown.role for c in side if c.consequence == "hazard"} for side in (there, back)]
    assert hazards[0] == hazards[1]


@given(settings_of_a_lift())
@settings(max_examples=part_of(30, 2), deadline=None)
def test_the_reader_s_units_never_matter(after: dict[str, str]) -> None:
    found = []
    for system in SYSTEMS:
        with reading_in(system):
            compared = compare(axis("lift"), axis("lift", **after))
        found.append([(c.shown.role, c.consequence) for c in compared.changes])
    assert found[0] == found[1] == found[2]


@pytest.mark.parametrize(
    ("one", "other"),
    [
        ({"brake_apply_delay": "30 ms"}, {"quick_stop_deceleration": "2500 mm/s^2"}),
        ({"position_gain": "40 1/s"}, {"fieldbus_timeout": "9 ms"}),
        ({"undervoltage_threshold": "420 V"}, {"max_software_position_limit": "610 mm"}),
    ],
)
def test_effects_that_are_independent_add_up(one: dict[str, str], other: dict[str, str]) -> None:
    start = axis("lift")
    both = axis("lift", **one, **other)
    between = Substitution(start, both, [*one, *other])
    singly = [m.name for role in (*one, *other) for m in between.of(role).put_in]
    assert sorted(singly) == sorted(m.name for m in between.total)
    for role in (*one, *other):  # what one does does not depend on whether the other is there
        effect = between.of(role)
        assert [(m.name, m.before, m.after) for m in effect.put_in] == [
            (m.name, m.before, m.after) for m in effect.taken_out
        ]


@given(settings_of_a_lift(), settings_of_a_lift())
@settings(max_examples=part_of(100, 2), deadline=None)
def test_a_total_that_crosses_the_edge_always_has_a_row(
    before: dict[str, str], after: dict[str, str]
) -> None:
    found = compare(axis("lift", **before), axis("lift", **after))
    crossed = [
        m.name for m in found.margins
        if m.before and m.after and m.after.kind == "protects"
        and m.before.ratio is not None and m.after.ratio is not None
        and m.before.ratio >= 1 > m.after.ratio
    ]  # fmt: skip
    told = any(c.consequence == "hazard" for c in found.news)
    assert not crossed or told or found.surroundings


@pytest.mark.parametrize("number", range(0, 60, 7))
def test_what_is_kept_of_a_substituted_state_is_what_a_fresh_one_says(number: int) -> None:
    """Answers that a substitution leaves standing, against a state that never was another."""
    case = draw(3, number + 1)[number]
    view = view_of_case(case)
    margins_of(view.state)
    for role in ("quick_stop_deceleration", "max_motor_speed", "position_gain", "max_torque"):
        value = view.state.value(role)
        if value is None or value.size is None:
            continue
        other: Any = type(value)(value.size * 1.3, value.kind, value.number, None, None)
        kept = margins_of(view.state.substituted({role: other}))
        fresh = margins_of(view_of_case(case).state.substituted({role: other}))
        assert not moves(kept, fresh)
        for name, margin in kept.items():
            ratio = fresh[name].ratio
            assert (margin.ratio is None) == (ratio is None)
            assert margin.ratio is None or ratio is None or isclose(margin.ratio, ratio)
