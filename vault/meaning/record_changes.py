"""Changes of the axis record by rule: a hazard is what they do to a margin that protects.

A record is one atom: what is written down together describes one machine.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from vault.behaviour.behave import margins_of
from vault.meaning.classes import reason_of
from vault.meaning.judging import said
from vault.meaning.margin_moves import moves

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Surrounding
    from vault.meaning.classes import Reason

_RULED = ("mechanics.", "brake.", "motor.", "supply.")
_UNRULED = ("mechanics.kind", "mechanics.orientation", "brake.fitted")
"""What the axis is, and no number of it: its own sentence tells."""
_USUAL = {
    "mechanics": "dynamics", "brake": "electrical", "motor": "electrical", "supply": "electrical",
}  # fmt: skip


def by_rule(
    around: Iterable[Surrounding], left: AxisView, right: AxisView, *, two_axes: bool = False
) -> tuple[Surrounding, ...]:
    """Differences of the record with their class by rule, and what makes one a hazard."""
    rows = tuple(around)
    if not any(_is_ruled(row) for row in rows):
        return rows
    reasons = [] if two_axes else _reasons(left, right)
    return tuple(_judged(row, reasons, right) if _is_ruled(row) else row for row in rows)


def _is_ruled(row: Surrounding) -> bool:
    return row.path.startswith(_RULED) and not row.path.startswith(_UNRULED)


def _reasons(left: AxisView, right: AxisView) -> list[Reason]:
    """Margins that another record alone takes below what protects."""
    if right.axis is None:
        return []
    scaling = replace(left.scaling, travel=right.scaling.travel)
    with_it = left.state.substituted({}, scaling=scaling, record=right.axis)
    moved = moves(margins_of(left.state), margins_of(with_it))
    return [reason for move in moved if (reason := reason_of(move)) is not None]


def _judged(row: Surrounding, reasons: list[Reason], right: AxisView) -> Surrounding:
    for reason in reasons:
        if reason.margin is not None and row.path in reason.margin.rests_on:
            text = f"{row.explanation} {said(reason, right.state)}"
            return replace(row, consequence="hazard", explanation=text)
    if row.consequence != "hazard":
        return row
    return replace(row, consequence=_USUAL[row.path.partition(".")[0]])
