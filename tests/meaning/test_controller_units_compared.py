"""A program that names another user unit means other ways by the same numbers. Sets are invented.

An inch is 25.4 mm (international yard and pound agreement of 1959, from memory).
"""

from __future__ import annotations

from collections.abc import Sequence

import pytest

from tests.meaning.checks.both_sides import RECORD
from tests.meaning.checks.sets import Settings, view_of
from vault.meaning.axis_view import AxisView
from vault.meaning.compare import compare
from vault.meaning.spread import spread
from vault.model.parameters import Parameter

PLACE = "controller_move_position"
MODULO = Parameter("p/modulo", "Modulo", 1000, 1000, "controller_modulo", "increments")


def program(counts: int, per: str, **more: int | str | Parameter) -> AxisView:
    own: Settings = {"controller_counts": counts, "controller_counts_per": per, **more}
    return view_of(own, RECORD)


@pytest.mark.parametrize("order", [(0, 1, 2), (1, 2, 0), (2, 0, 1)])
def test_a_spread_reads_each_program_in_the_unit_that_it_names(order: Sequence[int]) -> None:
    ways = ("25.4 mm", "1 in", "1 in")
    views = {f"lift{n}": program(25_400, ways[n], **{PLACE: 100}) for n in order}
    (row,) = spread(views, PLACE)
    assert row.odd == ("lift0",)
    assert (row.cells["lift0"].text, row.reference) == ("100 mm", "2,540 mm")
    both = {name: views[name] for name in ("lift1", "lift2")}
    assert spread(both, PLACE)[0].is_same


@pytest.mark.parametrize(
    ("before", "after", "ratio", "said"),
    [
        ("25.4 mm", "1 in", 25.4, "but meant as 2,540 mm now and 100 mm before"),
        ("1 in", "25.4 mm", 1 / 25.4, "but meant as 100 mm now and 2,540 mm before"),
    ],
)
def test_a_number_without_a_unit_shifts_where_the_program_names_another(
    before: str, after: str, ratio: float, said: str
) -> None:
    compared = compare(
        program(25_400, before, **{PLACE: 100}), program(25_400, after, **{PLACE: 100})
    )
    shifted = [change for change in compared.changes if change.kind == "shifted"]
    assert [change.shown.role for change in shifted] == [PLACE]
    assert shifted[0].consequence == "travel"
    assert float(shifted[0].ratio or 0) == pytest.approx(ratio)
    assert "still 100 user units in the program" in shifted[0].explanation
    assert said in shifted[0].explanation
    cause = compared.causes[0]
    assert (cause.name, cause.code, cause.affects) == (
        "controller_unit", "p/controller_counts_per", (f"p/{PLACE}",),
    )  # fmt: skip


def test_of_two_programs_each_is_told_with_its_own_unit() -> None:
    left, right = (program(25_400, per, **{PLACE: 100}) for per in ("25.4 mm", "1 in"))
    compared = compare(left, right, sides=("lift", "twin"))
    (shifted,) = (change for change in compared.changes if change.kind == "shifted")
    assert "100 user units in both programs, meant as 100 mm on lift and 2,540 mm on twin" in (
        shifted.explanation
    )
    assert "is mm on lift and in on twin" in compared.causes[0].explanation


def test_what_counts_increments_shifts_with_the_counts_and_what_is_in_the_unit_does_not() -> None:
    left, right = (program(n, "16 mm", **{PLACE: 100, "modulo": MODULO}) for n in (16_000, 20_000))
    compared = compare(left, right)
    (shifted,) = (change for change in compared.changes if change.kind == "shifted")
    assert shifted.shown.code == "p/modulo"
    assert float(shifted.ratio or 0) == pytest.approx(0.8)  # 16,000 / 20,000
    (cause,) = compared.causes
    assert cause.name == "controller_counts"
    assert "from 16,000 increments for 16 mm to 20,000 increments for 16 mm" in cause.explanation


@pytest.mark.parametrize(
    ("place", "per"),
    [("100 mm", "1 in"), (0, "1 in"), (100, "25.4 mm")],
)
def test_a_number_that_says_its_unit_or_is_nought_stands(place: int | str, per: str) -> None:
    left, right = (program(25_400, one, **{PLACE: place}) for one in ("25.4 mm", per))
    assert not [change for change in compare(left, right).changes if change.kind == "shifted"]
