"""Grouping by size and text gives what holding every value to the first of every group gave."""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction

from hypothesis import given
from hypothesis import strategies as st

from vault.meaning.alike import Cell, alike, groups_of
from vault.meaning.readings import Reading
from vault.model.parameters import Parameter
from vault.model.quantities import Physical


def pair_by_pair(cells: Mapping[str, Cell]) -> list[list[str]]:
    """Groups by the definition: an axis joins the first group whose first axis it is like."""
    groups: list[list[str]] = []
    for axis, cell in cells.items():
        for group in groups:
            if alike(cells[group[0]], cell):
                group.append(axis)
                break
        else:
            groups.append([axis])
    return groups


def cell_of(text: str, size: int | None, step: int, unit: str, label: str | None) -> Cell:
    """A cell with this size in quarters of a unit; text and label stand for what is written."""
    parameter = Parameter("a", "A", text, text, None, None, label)
    physical = None if size is None else Physical(Fraction(size, 4), 0, unit, unit)
    return Cell(Reading(parameter, text, text, physical), Fraction(step))


CELLS = st.lists(
    st.builds(
        cell_of,
        st.sampled_from("xyz"),
        st.none() | st.integers(0, 12),
        st.integers(0, 3),
        st.sampled_from(("m", "rad")),
        st.none() | st.sampled_from(("on", "On", "off", "yes")),
    ),
    max_size=25,
)


@given(CELLS)
def test_no_value_lands_in_another_group_than_pair_by_pair(cells: list[Cell]) -> None:
    by_axis = {f"m{number}/lift": cell for number, cell in enumerate(cells)}
    assert groups_of(by_axis) == pair_by_pair(by_axis)


def test_a_count_without_a_unit_is_in_that_of_its_role() -> None:
    def turns(unit: str | None, value: int, role: str = "gear_ratio_shaft_revolutions") -> Cell:
        return Cell(Reading(Parameter("a", "A", value, value, role, unit), "", ""), Fraction(0))

    assert alike(turns(None, 1), turns("rev", 1))
    assert not alike(turns(None, 1), turns("rev", 2))
    assert not alike(turns(None, 1, "velocity_gain"), turns("rev", 1, "velocity_gain"))
    assert groups_of({"a": turns("rev", 1), "b": turns(None, 1)}) == [["a", "b"]]
