"""Changes of the axis record by rule: a hazard is what they do to a margin that protects.

Each entry is put into the left state alone, and taken out of the right one.
"""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from vault.behaviour.behave import margins_of
from vault.behaviour.scaling import travel_of
from vault.meaning.classes import reason_of
from vault.meaning.judging import said
from vault.meaning.margin_moves import moves
from vault.meaning.record_entries import key_of, with_entries

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.behaviour.state import State
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Surrounding
    from vault.model.axis import AxisRecord

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
    if two_axes:
        return tuple(_harmless(row) if _is_ruled(row) else row for row in rows)  # has its own row
    return tuple(_over_time(row, left, right) if _is_ruled(row) else row for row in rows)


def _is_ruled(row: Surrounding) -> bool:
    return row.path.startswith(_RULED) and not row.path.startswith(_UNRULED)


def _over_time(row: Surrounding, left: AxisView, right: AxisView) -> Surrounding:
    """What one entry of the record does alone, to the left state and to the last."""
    if left.axis is None or right.axis is None:
        return _harmless(row)
    pairs = (
        (left.state, _written(left.state, left.axis, right.axis, row.path)),
        (_written(right.state, right.axis, left.axis, row.path), right.state),
    )
    for before, after in reversed(pairs):
        for move in moves(margins_of(before), margins_of(after)):
            if (reason := reason_of(move, left.policy)) is not None:
                text = f"{row.explanation} {said(reason, after)}"
                return replace(row, consequence="hazard", explanation=text)
    return _harmless(row)


def _written(state: State, own: AxisRecord, other: AxisRecord, path: str) -> State:
    """A state whose record has one entry as another record has it."""
    changed = with_entries(own, other, [key_of(path)])
    travel = travel_of(changed.mechanics) if changed.mechanics is not None else None
    return state.substituted({}, scaling=replace(state.scaling, travel=travel), record=changed)


def _harmless(row: Surrounding) -> Surrounding:
    if row.consequence != "hazard":
        return row
    return replace(row, consequence=_USUAL[row.path.partition(".")[0]])
