"""The motor's temperature, and the limit that protects its winding."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import of_kind
from vault.meaning.findings import digits
from vault.meaning.sentences import value_text

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change

GONE = "Without it the set does not stop a motor that gets too hot."
ZERO = (
    "Whether 0 stops the motor at once, or nothing stops one that gets too hot, the drive's manual "
    "must tell."
)
ON = "The drive stops a motor that gets hotter than {limit}."
HOTTER = (
    "The motor may get {kelvin} K hotter before the drive stops it: its winding must bear {limit}."
)
SOONER = "The drive stops the motor {kelvin} K sooner."


@explains("motor_temperature_limit")
def limit(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """How hot the winding may get; 0 may be none (common practice, no source)."""
    after, before = (
        of_kind(size, ("temperature",)) for size in (change.right_physical, change.left_physical)
    )
    if change.right is None:
        return Explanation(GONE, "hazard")
    if change.right.value == 0:
        return Explanation(ZERO, "hazard")
    if after is None:
        return None
    text = value_text(change.right)
    if change.left is None or before is None or change.left.value == 0:
        return Explanation(ON.format(limit=text), "electrical")
    hotter = float((after - before).number())
    template = HOTTER if hotter > 0 else SOONER
    parts = {"kelvin": digits(abs(hotter)), "limit": text}
    return Explanation(template.format(**parts), "electrical")
