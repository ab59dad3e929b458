"""The holding brake: what hangs must be held by somebody at every moment."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.hold import drop_within
from vault.behaviour.speed import RPM
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import of_kind
from vault.meaning.explainers.torque import holding_torque
from vault.meaning.findings import digits, figure, finding, in_words, seconds
from vault.model.choices import chosen
from vault.model.quantities import Physical, si_number

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

NONE_FITTED = "No brake is fitted, as far as the axis record says."
NOT_WORKED = "The drive does not work the brake."
NOT_WORKED_HANGING = (
    "The drive does not work the brake of an axis that hangs: with power off nothing holds the "
    "load, or the motor drives against a closed brake."
)
WORKED = "The drive works the brake."
NONE_TO_WORK = "The drive works a brake, but the axis record says that none is fitted{unheld}."
UNHELD = ": with power off nothing holds the load"
TAKES = "The brake takes {time} to {move}{wait}."
WAIT = {
    "enough": "; the drive waits long enough",
    "closed": ": the axis starts against a brake that is still closed",
    "none": "; the drive does not wait for it",
    "falls": ": for {free} nothing holds the load, which drops {drop}",
}
NOT_RECORDED = "How long the brake itself takes is not recorded."
IF_NEEDED = "If all of it was needed, for {free} nothing holds the load, which drops {drop}."
NEEDS = "The load needs {needed} at the motor{brake}."
BRAKE = {
    "slips": ": a brake of {holds} does not hold it",
    "holds": "; the brake holds {times} times that",
}
STANDS = "The brake closes when the motor stands."
TURNS = (
    "The brake closes on a motor that turns at up to {speed}; a holding brake is worn by each such "
    "stop."
)

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
        return Explanation(NONE_FITTED, "electrical")
    if number == _NO and right.is_vertical:
        return Explanation(NOT_WORKED_HANGING, "hazard")
    if number == _NO:
        return Explanation(NOT_WORKED, "electrical")
    if number != _YES:
        return None
    if right.has_brake is not False:
        return Explanation(WORKED, "electrical")
    if right.is_vertical:
        return Explanation(NONE_TO_WORK.format(unheld=UNHELD), "hazard")
    return Explanation(NONE_TO_WORK.format(unheld=""), "electrical")


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
    free, applies = max(needed - given, 0.0), role == "brake_apply_delay"
    wait, worst = WAIT["enough"], "electrical"
    findings: tuple[Finding, ...] = ()
    if free > 0 and not applies:
        wait, worst = WAIT["closed"], "dynamics"
    elif free > 0 and not right.is_vertical:
        wait = WAIT["none"]
    elif free > 0:
        drop, finding = _fall(free, right)
        wait, worst = WAIT["falls"].format(free=seconds(free), drop=drop), "hazard"
        findings = (finding,)
    move = "close" if applies else "open"
    return Explanation(TAKES.format(time=seconds(needed), move=move, wait=wait), worst, findings)


def _fall(free: float, view: AxisView) -> tuple[str, Finding]:
    """How far the load goes while it is free, as if nothing slowed it."""
    way = drop_within(view.state, free)
    return in_words(way), finding("drop while nothing holds", way)


def _not_recorded(role: str, given: float, before: Physical | None, view: AxisView) -> Explanation:
    shorter = float(before.number()) - given if before is not None else 0.0
    if role != "brake_apply_delay" or not view.is_vertical or shorter <= 0:
        return Explanation(NOT_RECORDED, "electrical" if shorter <= 0 else "dynamics")
    drop, finding = _fall(shorter, view)
    text = IF_NEEDED.format(free=seconds(shorter), drop=drop)
    return Explanation(f"{NOT_RECORDED} {text}", "hazard", (finding,))


@explains("brake_torque")
def torque(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Holding torque of the brake against the load."""
    size, needed = of_kind(change.right_physical, ("torque",)), holding_torque(right)
    if size is None or needed is None:
        return None
    holds = float(size.number())
    finding = figure("torque to hold the load", needed, "T = m g L / (2 pi G)", unit="N*m")
    if holds < needed:
        brake, worst = BRAKE["slips"].format(holds=f"{digits(holds)} N*m"), "hazard"
    else:
        brake, worst = BRAKE["holds"].format(times=digits(holds / needed, 3)), "electrical"
    text = NEEDS.format(needed=f"{digits(needed)} N*m", brake=brake)
    return Explanation(text, worst, (finding,))


@explains("brake_apply_speed")
def apply_speed(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A holding brake that closes on a turning motor."""
    size = of_kind(change.right_physical, ("angular_velocity",))
    if size is None:
        return None
    if size.ratio <= 0:
        return Explanation(STANDS, "electrical")
    turns = f"{digits(float(size.number()) / RPM)} r/min"
    return Explanation(TURNS.format(speed=turns), "electrical")
