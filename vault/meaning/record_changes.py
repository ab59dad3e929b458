"""Changes of the axis record by rule, as those of the set: by what they do to what protects."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from vault.meaning.classes import hazard_over_time
from vault.meaning.explainers.meanings import lower_first
from vault.meaning.findings import digits
from vault.meaning.judging import ALONE, said
from vault.meaning.record_entries import key_of
from vault.meaning.substitution import Substitution, roles_apart

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Surrounding

OFF = "Every way is {ratio} times as long as it is commanded."
_RULED = ("mechanics.", "brake.", "motor.", "supply.")
_UNRULED = ("mechanics.kind", "mechanics.orientation", "brake.fitted")
"""What the axis is, and no number of it: its own sentence tells."""
_USUAL = {
    "mechanics": "dynamics", "brake": "electrical", "motor": "electrical", "supply": "electrical",
}  # fmt: skip


def by_rule(
    around: Iterable[Surrounding],
    left: AxisView,
    right: AxisView,
    changes: Iterable[Change] = (),
    *,
    two_axes: bool = False,
) -> tuple[Surrounding, ...]:
    """Differences of the record with their class by rule, and what makes one a hazard.

    `changes` of the set may make one thing with an entry: a gear that was changed in both.
    """
    rows = tuple(around)
    if not any(map(_is_ruled, rows)):
        return rows
    if two_axes or left.axis is None or right.axis is None:  # of two axes, it has its own row
        return tuple(_harmless(row) if _is_ruled(row) else row for row in rows)
    keys = dict.fromkeys(key_of(row.path) for row in rows)
    between = Substitution(left, right, roles_apart(changes), entries=keys)
    return tuple(_over_time(row, between) if _is_ruled(row) else row for row in rows)


def _is_ruled(row: Surrounding) -> bool:
    return row.path.startswith(_RULED) and not row.path.startswith(_UNRULED)


def _over_time(row: Surrounding, between: Substitution) -> Surrounding:
    """What one entry of the record does, with what makes one thing with it."""
    reason = hazard_over_time(key_of(row.path), between)
    if reason is None:
        return _harmless(row)
    why = said(reason, reason.state or between.right)
    if reason.why == "off":
        why = OFF.format(ratio=digits(reason.after or 0.0, 3))
    if reason.alone:
        why = ALONE.format(why=lower_first(why))
    return replace(row, consequence="hazard", explanation=f"{row.explanation} {why}")


def _harmless(row: Surrounding) -> Surrounding:
    if row.consequence != "hazard":
        return row
    return replace(row, consequence=_USUAL[row.path.partition(".")[0]])
