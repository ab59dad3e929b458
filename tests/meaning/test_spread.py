"""Many axes side by side: what most have, and who is odd. Axes and values are invented.

The median is held against that of scipy, the rest against bare numbers.
"""

from __future__ import annotations

import random
from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.stats.mstats import mquantiles

from tests.meaning.drives import BARE, MM, UM, Drive, Machine, Number, drives, machines, view
from tests.sweeps import part_of
from vault.meaning.axis_view import AxisView
from vault.meaning.compare import compare
from vault.meaning.spread import Row, spread
from vault.model import roles
from vault.model.errors import Damaged
from vault.model.normalise import Definition
from vault.model.parameters import Parameter, ParameterSet, code_order
from vault.store.files.parameters_text import lines_text, parameters_text

WINDOW, SPEED, TORQUE, BACKLASH = "0x6065:00", "0x6081:00", "0x6072:00", "0x2000:01"
NAMELESS, PLAIN = "0x2000:04", "0x2000:05"


def rows_of(
    axes: Mapping[str, Drive], machine: Machine = BARE, wanted: str | None = None
) -> dict[str, Row]:
    found = spread({name: view(drive, machine) for name, drive in axes.items()}, wanted)
    assert len({row.key for row in found}) == len(found)
    return {row.key: row for row in found}


def row_of(code: str, *values: Number | int | None, machine: Machine = BARE, **how: Any) -> Row:
    """The row of a code on axes a, b, c … with these values; None where an axis lacks it."""
    axes = {}
    for name, value in zip("abcdefghij", values, strict=False):
        number = Number(value) if isinstance(value, int) else value
        axes[name] = Drive({} if number is None else {code: number}, **how)
    found = rows_of(axes, machine)
    return next(row for row in found.values() if code in {c.parameter.code for c in _cells(row)})


def _cells(row: Row) -> list[Any]:
    return list(row.cells.values())


# Majority.


def test_where_all_are_alike_nobody_is_odd() -> None:
    row = row_of(WINDOW, 500, 500, 500)
    assert (row.odd, row.is_same, row.basis) == ((), True, "majority")


def test_more_than_half_make_the_majority() -> None:
    row = row_of(TORQUE, 1500, 1500, 1800)
    assert (row.odd, row.basis, row.reference) == (("c",), "majority", "3.6 N*m")


def test_half_is_no_majority() -> None:
    row = row_of(PLAIN, 1, 1, 2, 2)
    assert (row.odd, row.basis, row.reference) == (("a", "b", "c", "d"), None, None)


def test_two_that_differ_have_nothing_to_go_by() -> None:
    row = row_of(WINDOW, 500, 1000)
    assert (row.odd, row.basis, row.reference) == (("a", "b"), None, None)


def test_who_lacks_a_parameter_is_odd() -> None:
    row = row_of(TORQUE, 1500, None, 1500)
    assert row.odd == ("b",)
    assert list(row.cells) == ["a", "c"]


def test_what_most_axes_lack_has_no_majority() -> None:
    row = row_of(PLAIN, None, None, 7)
    assert (row.odd, row.reference) == (("a", "b", "c"), None)


# Median.


@pytest.mark.parametrize(
    ("values", "odd"),
    [
        # Within 1 % of 1000, inclusive.
        ((1000, 990, 1010), ()),
        ((1000, 989, 1010), ("b",)),
        ((1000, 990, 1011), ("c",)),
        ((1000, 1001, 1002, 5000), ("d",)),
    ],
)
def test_sizes_that_scatter_are_held_against_the_median(
    values: tuple[int, ...], odd: tuple[str, ...]
) -> None:
    row = row_of(SPEED, *values)
    assert (row.odd, row.basis) == (odd, "median")


def test_the_value_nearest_to_the_median_is_shown_as_the_reference() -> None:
    """Of six the median lies between the two in the middle; it is nobody's value."""
    row = row_of(BACKLASH, 100, 998, 1000, 1006, 1008, 5000)
    assert row.basis == "median"
    assert row.reference == "1,000 mm"
    assert row.odd == ("a", "f")


@pytest.mark.parametrize("values", [(100, 1000, 1008, 5000), (1, 20, 300)])
def test_a_median_that_few_are_near_is_nothing_to_go_by(values: tuple[int, ...]) -> None:
    row = row_of(BACKLASH, *values)
    assert (row.reference, row.basis, len(row.odd)) == (None, None, len(values))


def test_a_median_over_fewer_than_half_of_the_axes_is_none() -> None:
    assert row_of(SPEED, 1000, 1001, 1002, None, None, None).basis is None
    assert row_of(SPEED, 1000, 1001, 1002, None, None).basis == "median"


def test_numbers_without_a_size_have_no_median() -> None:
    assert row_of(PLAIN, 1000, 1001, 1002).basis is None


def test_half_at_a_median_of_nought_are_no_majority() -> None:
    row = row_of(BACKLASH, 0, 1, -1, 0)
    assert row.basis is None


@given(st.lists(st.integers(1, 10**6), min_size=3, max_size=9))
def test_the_odd_ones_are_those_far_from_the_median_by_scipy(values: list[int]) -> None:
    row = row_of(BACKLASH, *values)
    if row.basis != "median":
        return
    (middle,) = mquantiles(values, [0.5], alphap=1, betap=1)
    for name, value in zip("abcdefghij", values, strict=False):
        gap = abs(value - middle) - middle / 100
        if abs(gap) > 1e-6:
            assert (name in row.odd) == (gap > 0)


# What is alike.


def test_axes_are_compared_by_size_whatever_they_write() -> None:
    """500 units of 1 mm, and 500,000 of 1 µm; the feed says so on both."""
    fine = Drive({WINDOW: Number(500_000)}, position=UM, feed=Fraction(16_000))
    coarse = Drive({WINDOW: Number(500)}, position=MM, feed=Fraction(16))
    row = rows_of({"a": coarse, "b": fine, "c": fine}, Machine())["following_error_window"]
    assert row.is_same
    assert {cell.text for cell in row.cells.values()} == {"500 mm"}


@pytest.mark.parametrize(("raw", "is_same"), [(5004, True), (5005, True), (5006, False)])
def test_half_a_raw_step_of_the_coarser_makes_no_difference(raw: int, is_same: bool) -> None:
    """50.0 in steps of 0.1 against 50.04 in steps of 0.01: 0.05 is half the coarser step."""
    coarse = Number(500, Decimal("0.1"))
    fine = Number(raw, Decimal("0.01"))
    assert row_of(BACKLASH, coarse, fine).is_same == is_same


def test_one_permille_is_another_torque_on_another_motor() -> None:
    small = Drive({TORQUE: Number(1500)}, torque=1270)
    large = Drive({TORQUE: Number(1500)}, torque=2400)
    row = rows_of({"a": small, "b": large, "c": large})["max_torque"]
    assert (row.odd, row.reference) == (("a",), "3.6 N*m")
    assert row.cells["a"].text == "1.905 N*m"


def test_the_size_on_the_machine_counts_and_not_the_one_believed() -> None:
    drive = Drive({WINDOW: Number(4000)})
    views = {
        "a": view(drive, Machine()),
        "b": view(drive, Machine()),
        "c": view(drive, Machine(bits=24)),
    }
    (row,) = spread(views, "following_error_window")
    assert row.odd == ("c",)
    assert row.cells["c"].text == "4,000 mm, really 250 mm"


def plain_view(*parameters: Parameter, volatile: str = "", identity: str = "") -> AxisView:
    definitions = {
        code: Definition(code, code, None, None, Decimal(1), None, {}, **more)
        for code, more in (
            (volatile, {"volatile": True}),
            (identity, {"group": "identity"}),
        )
        if code
    }
    return AxisView("x", parameters_text(ParameterSet(parameters)), None, lambda: definitions)


def choice(raw: int, label: str) -> Parameter:
    return Parameter("m/1", "Method", raw, raw, "homing_method", None, label)


def test_a_choice_is_the_same_under_another_number_if_it_means_the_same() -> None:
    views = {
        "a": plain_view(choice(1, "Index pulse")),
        "b": plain_view(choice(7, "index pulse")),
        "c": plain_view(choice(1, "Switch")),
    }
    (row,) = spread(views)
    assert row.odd == ("c",)


def test_equal_numbers_of_unlike_units_are_not_alike() -> None:
    one = Parameter("t/1", "Time", 5, 5, "following_error_time_out", "ms")
    views = {"a": plain_view(one), "b": plain_view(one), "c": plain_view(replace(one, unit="s"))}
    (row,) = spread(views)
    assert (row.odd, row.reference) == (("c",), "5 ms")


def test_a_size_in_another_unit_of_its_kind_is_alike() -> None:
    one = Parameter("t/1", "Time", 5000, 5000, "following_error_time_out", "ms")
    views = {"a": plain_view(one), "b": plain_view(replace(one, value=5, raw=5, unit="s"))}
    (row,) = spread(views)
    assert row.is_same


# Rows.


def test_families_meet_by_role_and_else_by_code() -> None:
    mine = Parameter("p/7", "Window", 5, 5, "following_error_window", "mm")
    theirs = Parameter("0x6065:00", "Lag", 5, 5, "following_error_window", "mm")
    own = Parameter("p/8", "Special", 1, 1)
    views = {"a": plain_view(mine, own), "b": plain_view(theirs)}
    rows = {row.key: row for row in spread(views)}
    assert rows.keys() == {"following_error_window", "p/8"}
    assert rows["following_error_window"].is_same
    assert {c.parameter.code for c in rows["following_error_window"].cells.values()} == {
        "p/7",
        "0x6065:00",
    }
    assert (rows["p/8"].odd, rows["p/8"].group) == (("a", "b"), "device")


def test_an_axis_whose_family_knows_no_such_parameter_takes_no_part() -> None:
    own, other = Parameter("p/8", "Special", 1, 1), Parameter("q/1", "Else", 5, 5)
    views = {
        "a": plain_view(own, identity="p/8x"),
        "b": plain_view(replace(own, value=2, raw=2), identity="p/8x"),
        "c": plain_view(replace(own, value=2, raw=2), identity="p/8x"),
        "d": plain_view(other, identity="q/1x"),
        "e": plain_view(other, volatile="p/8"),
    }
    rows = {row.key: row for row in spread(views)}
    assert rows["p/8"].axes == ("a", "b", "c", "e")
    assert rows["p/8"].odd == ("a", "b", "c", "e")  # two of four are no majority
    assert (rows["q/1"].axes, rows["q/1"].odd) == (("d", "e"), ())


def test_live_values_and_what_no_two_share_are_left_out() -> None:
    def axis(number: int) -> AxisView:
        return plain_view(
            Parameter("a", "Serial", str(number), str(number), "serial_number"),
            Parameter("b", "Actual position", number, number, "position_actual_value", "mm"),
            Parameter("c", "Hours", number, number),
            Parameter("d", "Label", str(number), str(number)),
            Parameter("e", "Setting", number, number),
            volatile="c",
            identity="d",
        )

    assert [row.key for row in spread({"a": axis(1), "b": axis(2)})] == ["e"]


def test_rows_stand_by_group_and_code() -> None:
    machine = Machine()
    axes = {"a": Drive(dict.fromkeys((WINDOW, SPEED, TORQUE, BACKLASH, PLAIN), Number(5)))}
    rows = spread({name: view(drive, machine) for name, drive in axes.items()})
    order = [name for name, _ in roles.GROUPS]
    keys = [(order.index(row.group), code_order(_cells(row)[0].parameter.code)) for row in rows]
    assert keys == sorted(keys)
    assert {row.group for row in rows} >= {"units", "limits", "motion", "torque", "device"}


@pytest.mark.parametrize("wanted", ["following_error_window", WINDOW])
def test_one_row_alone_can_be_asked_for(wanted: str) -> None:
    drive = Drive({WINDOW: Number(5), SPEED: Number(7)})
    assert list(rows_of({"a": drive, "b": drive}, BARE, wanted)) == ["following_error_window"]


def test_what_nobody_has_gives_no_row() -> None:
    assert rows_of({"a": Drive({}), "b": Drive({})}, BARE, "brake_release_delay") == {}


@settings(max_examples=part_of(30, 2), deadline=None)
@given(st.lists(drives(), min_size=2, max_size=5), machines, st.randoms(use_true_random=False))
def test_neither_order_nor_copies_change_who_is_odd(
    sets: list[Drive], machine: Machine, chance: random.Random
) -> None:
    axes = dict(zip("abcde", sets, strict=False))
    names = list(axes)
    chance.shuffle(names)
    plain, mixed = rows_of(axes, machine), rows_of({name: axes[name] for name in names}, machine)
    assert plain.keys() == mixed.keys()
    for key, row in plain.items():
        assert row.cells.keys() == mixed[key].cells.keys()
        if row.basis == "majority" and mixed[key].basis == "majority":
            # Likeness within half a step is not transitive; who is measured first may tip it.
            steps = {cell.step for cell in row.cells.values()}
            if len(steps) == 1:
                assert set(row.odd) == set(mixed[key].odd), key


@settings(max_examples=part_of(30, 2), deadline=None)
@given(drives(), st.integers(2, 6), machines)
def test_copies_of_one_axis_never_differ(drive: Drive, count: int, machine: Machine) -> None:
    rows = rows_of({f"m{n}": drive for n in range(count)}, machine)
    assert all(row.is_same for row in rows.values())


@settings(max_examples=part_of(40, 2), deadline=None)
@given(drives(), drives(), machines.filter(lambda machine: machine.recorded))
def test_two_axes_differ_where_a_comparison_says_so(
    one: Drive, other: Drive, machine: Machine
) -> None:
    """Against the comparison of two sides, for what has a size in one unit on both.

    What only one of two sets states of its units counts for neither where they are compared; each
    axis of a spread is read by all that its own set states.
    """
    for stated in ("position", "velocity", "acceleration"):
        if None in (getattr(one, stated), getattr(other, stated)):
            one, other = replace(one, **{stated: None}), replace(other, **{stated: None})
    rows = rows_of({"a": one, "b": other}, machine)
    compared = compare(view(one, machine), view(other, machine))
    changed = {change.shown.code: change for change in compared.changes}
    for row in rows.values():
        sizes = [c.reading.physical for c in row.cells.values() if c.reading.physical is not None]
        if len(sizes) != 2 or sizes[0].unit != sizes[1].unit or row.group == "units":
            continue
        change = changed.get(_cells(row)[0].parameter.code)
        differs = change is not None and change.kind != "restated"
        if change is not None and change.kind == "shifted":
            continue  # a number that stays counts as shifted even within half a step
        assert row.is_same == (not differs), row.key


def test_a_number_too_long_to_be_read_is_damage_on_a_later_axis_too() -> None:
    """Its lines are those of an axis that was read, but for their numbers."""
    known: dict[str, Definition] = {}

    def lift(number: str) -> AxisView:
        line = f"  a: {{name: A, value: {number}, raw: 1}}"
        return AxisView("x", lines_text([line]), None, lambda: known)

    with pytest.raises(Damaged, match="line 3"):
        spread({"a": lift("5"), "b": lift("9" * 5000)})
