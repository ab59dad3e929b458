"""The holding brake: what hangs must be held by somebody at every moment."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.hold import drop_within
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import of_kind
from vault.meaning.explainers.torque import holding_torque
from vault.meaning.findings import digits, figure, finding, in_words, seconds
from vault.model.choices import chosen
from vault.model.quantities import Physical, si_number

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

_NO, _YES = 0, 1


def brake_time(view: AxisView, role: str) -> float | None:
    """How long the fitted brake takes to close or open, in s; None where it is not recorded."""
    brake = view.axis.brake if view.axis is not None else None
    if brake is None:
        return None
    return si_number(brake.apply_time if role == "brake_apply_delay" else brake.release_time)


@explains("brake_used")
def used(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A brake that the drive ignores."""
    number = chosen(change.right)
    if number == _NO and right.has_brake is False:
        return Explanation("No brake is fitted, as far as the axis record says.", "electrical")
    if number == _NO and right.is_vertical:
        return Explanation(
            "The drive does not work the brake of an axis that hangs: with power off nothing "
            "holds the load, or the motor drives against a closed brake.",
            "hazard",
        )
    if number == _NO:
        return Explanation("The drive does not work the brake.", "electrical")
    if number != _YES:
        return None
    if right.has_brake is False:
        text = "The drive works a brake, but the axis record says that none is fitted"
        if right.is_vertical:
            return Explanation(f"{text}: with power off nothing holds the load.", "hazard")
        return Explanation(f"{text}.", "electrical")
    return Explanation("The drive works the brake.", "electrical")


@explains("brake_release_delay", "brake_apply_delay")
def delay(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Way that the load falls while neither brake nor motor holds it."""
    role = str(change.shown.role)
    size, before = (
        of_kind(side, ("time",)) for side in (change.right_physical, change.left_physical)
    )
    if size is None:
        return None
    given, needed = float(size.number()), brake_time(right, role)
    if needed is None:
        return _not_recorded(role, given, before, right)
    free = max(needed - given, 0.0)
    words = "close" if role == "brake_apply_delay" else "open"
    text = f"The brake takes {seconds(needed)} to {words}"
    if free == 0:
        return Explanation(f"{text}; the drive waits long enough.", "electrical")
    if role == "brake_release_delay":
        return Explanation(
            f"{text}: the axis starts against a brake that is still closed.", "dynamics"
        )
    if not right.is_vertical:
        return Explanation(f"{text}; the drive does not wait for it.", "electrical")
    said, findings = _fall(free, right)
    return Explanation(
        f"{text}: for {seconds(free)} nothing holds the load, {said}", "hazard", (findings,)
    )


def _fall(free: float, view: AxisView) -> tuple[str, Finding]:
    """How far the load goes while it is free, as if nothing slowed it."""
    way = drop_within(view.state, free)
    return f"which drops {in_words(way)}.", finding("drop while nothing holds", way)


def _not_recorded(role: str, given: float, before: Physical | None, view: AxisView) -> Explanation:
    text = "How long the brake itself takes is not recorded."
    shorter = float(before.number()) - given if before is not None else 0.0
    if role != "brake_apply_delay" or not view.is_vertical or shorter <= 0:
        return Explanation(text, "electrical" if shorter <= 0 else "dynamics")
    said, finding = _fall(shorter, view)
    return Explanation(
        f"{text} If all of it was needed, for {seconds(shorter)} nothing holds the load, {said}",
        "hazard",
        (finding,),
    )


@explains("brake_torque")
def torque(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Holding torque of the brake against the load."""
    size, needed = of_kind(change.right_physical, ("torque",)), holding_torque(right)
    if size is None or needed is None:
        return None
    holds = float(size.number())
    finding = figure("torque to hold the load", needed, "T = m g L / (2 pi G)", unit="N*m")
    text = f"The load needs {digits(needed)} N*m at the motor"
    if holds < needed:
        return Explanation(
            f"{text}: a brake of {digits(holds)} N*m does not hold it.", "hazard", (finding,)
        )
    text += f"; the brake holds {digits(holds / needed, 3)} times that."
    return Explanation(text, "electrical", (finding,))


@explains("brake_apply_speed")
def apply_speed(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A holding brake that closes on a turning motor."""
    size = of_kind(change.right_physical, ("angular_velocity",))
    if size is None:
        return None
    if size.ratio <= 0:
        return Explanation("The brake closes when the motor stands.", "electrical")
    turns = digits(float(size.number()) * 30 / pi)
    return Explanation(
        f"The brake closes on a motor that turns at up to {turns} r/min; a holding brake is worn "
        "by each such stop.",
        "electrical",
    )
