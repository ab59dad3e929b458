"""Home offset, homing method, absolute offset: where zero is."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.meaning.explainers import Explanation, explains
from vault.meaning.findings import figure, length_or_angle

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change


@explains("home_offset")
def offset(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Every position shifts by the difference."""
    before, after = change.left_physical, change.right_physical
    if before is None or after is None or before.kind != after.kind:
        return None
    gap = float((after - before).number())
    way = length_or_angle(abs(gap), after)
    text = f"After the next homing every position lies {way} away from where it was"
    consequence = "travel"
    if right.hard_stops is not None and right.is_vertical:
        consequence = "hazard"
        text += ", and the software limits with it"
    if after.ratio == 0:
        text += "; zero is also what a drive holds that was never set up"
    return Explanation(
        f"{text}.",
        consequence,
        (figure("shift of every position", gap, "right less left", like=after),),
    )


@explains("encoder_absolute_offset")
def absolute(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """The absolute reference moves at once, without homing."""
    return Explanation(
        "Every position shifts as soon as the drive reads its encoder again; "
        "reference the axis before it moves on its own.",
        "hazard" if right.is_vertical else "travel",
    )


@explains("homing_method")
def method(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """What the axis does differently at the next homing."""
    number = right.choice("homing_method")
    if number is None:
        return None
    if number in (35, 37):
        return Explanation(
            "At the next homing the axis does not move: it takes where it stands for home.",
            "travel",
        )
    before = left.choice("homing_method")
    turned = before is not None and _direction(before) * _direction(number) < 0
    if turned:
        return Explanation("At the next homing the axis starts the other way.", "hazard")
    return Explanation("At the next homing the axis looks for another mark.", "travel")


def _direction(method: int) -> int:
    """Way a homing method starts, as far as the standard says: -1, 1, or 0 for either."""
    negative = (1, 11, 12, 13, 14, 17, 27, 28, 29, 30, 33)
    positive = (2, 7, 8, 9, 10, 18, 23, 24, 25, 26, 34)
    return -1 if method in negative else 1 if method in positive else 0
