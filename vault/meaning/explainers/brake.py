"""The holding brake: what hangs must be held by somebody at every moment."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.meaning import physics
from vault.meaning.explainers import Explanation, explains
from vault.meaning.findings import digits, figure, seconds

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change


@explains("brake_used")
def used(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A brake that the drive ignores."""
    if right.choice("brake_used") == 0:
        if right.is_vertical:
            return Explanation(
                "The drive does not work the brake of an axis that hangs: with power off nothing "
                "holds the load, or the motor drives against a closed brake.",
                "hazard",
            )
        return Explanation("The drive does not work the brake.", "electrical")
    return Explanation("The drive works the brake.", "electrical")


@explains("brake_release_delay", "brake_apply_delay")
def delay(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Way that the load falls while neither brake nor motor holds it."""
    role = str(change.shown.role)
    size = change.right_physical
    brake = right.axis.brake if right.axis is not None else None
    time = (
        (brake.apply_time if role == "brake_apply_delay" else brake.release_time) if brake else None
    )
    needed = float(time.physical().number()) if time and time.physical() else None  # type: ignore[union-attr]
    if size is None:
        return None
    given = float(size.number())
    if needed is None:
        return Explanation("How long the brake itself takes is not recorded.", None)
    free = max(needed - given, 0.0)
    words = "close" if role == "brake_apply_delay" else "open"
    text = f"The brake takes {seconds(needed)} to {words}"
    if free == 0:
        return Explanation(f"{text}; the drive waits long enough.", "electrical")
    if not right.is_vertical:
        return Explanation(f"{text}; the drive does not wait for it.", "electrical")
    if role == "brake_release_delay":
        return Explanation(
            f"{text}: the axis starts against a brake that is still closed.", "dynamics"
        )
    way = physics.drop(free)
    return Explanation(
        f"{text}: for {seconds(free)} nothing holds the load, which drops {digits(way * 1000)} mm.",
        "hazard",
        (figure("drop while nothing holds", way, "s = g t^2 / 2", unit="m"),),
    )
