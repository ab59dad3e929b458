"""Grouping by size and text gives what holding every value to the first of every group gave."""

from __future__ import annotations

from collections.abc import Mapping
from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.meaning.alike import Cell, alike, groups_of
from vault.meaning.axis_view import AxisView
from vault.meaning.readings import Readings
from vault.meaning.sizing import Sizing
from vault.meaning.steps import step_size
from vault.model.choices import same_label
from vault.model.normalise import Definition
from vault.model.parameters import Parameter, ParameterSet
from vault.store.files.parameters_text import (
    parameter_line,
    parameters_text,
    read_but_numbers,
)

TURNS, WINDOW, SHARE = "gear_ratio_shaft_revolutions", "following_error_window", "velocity_gain"


def pair_by_pair(cells: Mapping[str, Cell]) -> list[list[str]]:
    """Groups by the definition: an axis joins the first group whose first axis it is like."""
    groups: list[list[str]] = []
    for axis, cell in cells.items():
        for group in groups:
            if plainly_alike(cells[group[0]], cell):
                group.append(axis)
                break
        else:
            groups.append([axis])
    return groups


def plainly_alike(one: Cell, other: Cell) -> bool:
    """By sizes and steps that each axis alone gives, all of them exact."""
    left, right = (cell.sizing.readings.of(cell.parameter).physical for cell in (one, other))
    steps = (
        step_size(cell.parameter, cell.sizing.view, cell.sizing.view.sizes) for cell in (one, other)
    )
    if left is not None and right is not None:
        same_kind = (left.unit, left.kind) == (right.unit, right.kind)
        return same_kind and abs(left.number() - right.number()) <= max(steps) / 2
    if one.parameter.label and other.parameter.label:
        return same_label(one.parameter.label, other.parameter.label, one.parameter.role)
    written = [(cell.sizing.written_unit, cell.parameter.value) for cell in (one, other)]
    return written[0] == written[1]


def cell_of(parameter: Parameter, scale: Decimal = Decimal(1)) -> Cell:
    """The cell of an axis that has nothing but this parameter, in a dictionary with that scale."""
    code = parameter.code
    known = {code: Definition(code, code, None, None, scale, parameter.unit, {})}
    view = AxisView("x", parameters_text(ParameterSet([parameter])), None, lambda: known)
    return as_cell(parameter, Sizing.of(view, Readings(view), parameter))


def as_cell(parameter: Parameter, sizing: Sizing) -> Cell:
    line = parameter_line(parameter)
    _, number, raw = read_but_numbers(line)
    return Cell(line, number, raw, sizing)


@st.composite
def cells(draw: st.DrawFn) -> Cell:
    """Of sizes that lie within a few steps of each other, in this unit and that, and of words."""
    role = draw(st.sampled_from((None, TURNS, WINDOW, SHARE)))
    label = draw(st.sampled_from((None, None, None, "on", "On", "off")))
    if draw(st.integers(0, 5)) == 0:
        word = draw(st.sampled_from("xy"))
        return cell_of(Parameter("a", "A", word, word, role, None, label))
    unit = draw(st.sampled_from((None, "m", "mm", "degC", "K", "rev", "deg", "user_position")))
    scale = draw(st.sampled_from([Decimal(text) for text in ("1", "0.5", "0.001", "0.0005")]))
    raw: int | Decimal = draw(st.integers(-6, 6) | st.sampled_from((10**9, 10**400, 10**90)))
    value = raw * scale * draw(st.sampled_from((1, 1, 1, 1000)))
    value += draw(st.sampled_from((Decimal(0), Decimal(0), Decimal("273.15"))))
    if draw(st.integers(0, 3)) == 0:
        raw = Decimal(value)  # a real of the drive
    whole = int(value) if value == int(value) else Decimal(value)
    return cell_of(Parameter("a", "A", whole, raw, role, unit, label), scale)


@given(st.lists(cells(), max_size=14))
def test_no_value_lands_in_another_group_than_pair_by_pair(drawn: list[Cell]) -> None:
    by_axis = {f"m{number}/lift": cell for number, cell in enumerate(drawn)}
    assert groups_of(by_axis) == pair_by_pair(by_axis)


@given(
    st.lists(st.integers(0, 40), min_size=1, max_size=12), st.sampled_from(("mm", "degC", "r/min"))
)
def test_no_value_of_axes_scaled_alike_does_either(raws: list[int], unit: str) -> None:
    """Sizes of one step apart, half of one, and less, as values with a remainder are."""
    first = cell_of(Parameter("a", "A", 1, 100, None, unit), Decimal("0.01"))
    by_axis = {}
    for number, raw in enumerate(raws):
        value = Decimal(raw) * Decimal("0.0025")
        parameter = Parameter("a", "A", value, 0 if raw % 2 else raw // 4, None, unit)
        by_axis[f"m{number}/lift"] = as_cell(parameter, first.sizing)
    assert groups_of(by_axis) == pair_by_pair(by_axis)


@given(cells())
def test_a_cell_is_what_its_axis_reads(cell: Cell) -> None:
    reading = cell.sizing.readings.of(cell.parameter)
    assert cell.reading == reading
    assert (cell.text, cell.size) == (reading.told, reading.physical)
    assert (cell.size is None) == (cell.sizing.kind is None)


@given(cells().filter(lambda cell: cell.size is not None))
def test_a_size_is_where_it_is_looked_for(cell: Cell) -> None:
    near, half_step, slack = cell.whereabouts
    assert cell.size is not None
    if slack < float("inf"):
        assert abs(Fraction(near) - cell.size.number()) <= Fraction(slack)
        assert abs(Fraction(half_step) - cell.step / 2) <= Fraction(slack)


@given(cells(), cells())
def test_values_are_written_alike_where_they_are_equal_in_one_unit(one: Cell, other: Cell) -> None:
    units = one.sizing.written_unit, other.sizing.written_unit
    is_equal = units[0] == units[1] and one.parameter.value == other.parameter.value
    assert (one.written == other.written) == is_equal


@pytest.mark.parametrize(
    ("one", "other"),
    [(2, Decimal("2.0")), (Decimal("0.0000001"),) * 2, (Decimal("1.0") * 10**30, 10**30)],
)
def test_numbers_are_equal_where_the_drive_wrote_one_of_them_as_a_text(
    one: int | Decimal, other: int | Decimal
) -> None:
    for raws in ((1, "1h"), ("1h", 1), ("1h", "1h")):
        left, right = (
            cell_of(Parameter("a", "A", value, raw))
            for value, raw in zip((one, other), raws, strict=True)
        )
        assert left.written == right.written
        assert alike(left, right)


def test_a_text_is_no_number_that_reads_like_it() -> None:
    text, number = (Parameter("a", "A", value, value) for value in ("16", 16))
    assert cell_of(text).written != cell_of(number).written


@pytest.mark.parametrize("number", [10**400, 10**150, Decimal(f"{'1' * 120}.5")])
def test_sizes_beyond_what_a_float_holds_are_told_apart(number: int | Decimal) -> None:
    def length(value: int | Decimal) -> Cell:
        return cell_of(Parameter("a", "A", value, 0, None, "mm"))

    by_axis = {"a": length(number), "b": length(number), "c": length(2 * number)}
    assert groups_of(by_axis) == [["a", "b"], ["c"]]


def test_a_count_without_a_unit_is_in_that_of_its_role() -> None:
    def turns(unit: str | None, value: int, role: str = TURNS) -> Cell:
        return cell_of(Parameter("a", "A", value, value, role, unit))

    assert alike(turns(None, 1), turns("rev", 1))
    assert not alike(turns(None, 1), turns("rev", 2))
    assert not alike(turns(None, 1, SHARE), turns("rev", 1, SHARE))
    assert groups_of({"a": turns("rev", 1), "b": turns(None, 1)}) == [["a", "b"]]
