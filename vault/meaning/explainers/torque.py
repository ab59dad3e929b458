"""Torque and current limits: what force they leave, and whether a hanging load is still held."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour.force import (
    acceleration_torque,
    hold_torque,
    lift_torque,
    limits,
    torque_follows_current,
)
from vault.behaviour.scale import transmission
from vault.behaviour.travel import delivered, torque_of_current
from vault.meaning.amperes import taken_as_rms, which_ampere
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import of_kind, sized
from vault.meaning.findings import digits, figure
from vault.model.quantities import si_number, unlike_amperes

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

NO_LIMIT = "Without it the set gives no such limit."
LIMIT = "That is {torque} at the motor{at_axis}."
AT_AXIS = {"thrust": ", {force} of thrust", "output": ", {force} at the output"}
OTHER_LIMITS = "Other limits hold the motor to {torque}."
SINKS = "The load needs {held} to be held: it will sink."
HOLDS = "Holding the load takes {held} of it{lifting}."
LIFTING = ", lifting it {lifted}{ramp}"
RAMP = ": the axis cannot keep to its ramp"
PUSHES = "The axis can push harder against whatever, or whoever, is in its way."
LESS = "Less is left for acceleration; following errors may grow."
NOT_BY_CURRENT = (
    "The torque of this motor does not go with its current alone: what the limit leaves cannot be "
    "told, and it is not counted."
)
MOTOR_BEARS = "The motor bears {torque} at most."
DRIVE_GIVES = "The drive gives {current} at most."
RATING = "Every value in permille of it changes with it{times}."
TIMES = ": {times} times the {what}"
PLATE = {
    "unknown": "It must be the one on the motor's nameplate.",
    "same": "The motor's nameplate says {plate}, as set.",
    "other": "The motor's nameplate says {plate}, not what is set.",
}

ON_PLATE = "Against the motor's nameplate: {why}"

_CLOSE = Fraction(10_001, 10_000)
"""More than rounding."""


def thrust(view: AxisView, torque: float) -> float | None:
    """Thrust (N) at a motor torque; None on an axis that turns, or of a linear motor."""
    found = delivered(view.state, torque)
    return found.value if found is not None and found.unit == "N" else None


def output_torque(view: AxisView, torque: float) -> float | None:
    """Torque (N*m) at the output of a rotary axis; None without a gear, or linear."""
    found, travel = delivered(view.state, torque), view.scaling.travel
    if found is None or found.unit == "N" or travel is None or travel.gear == 1:
        return None
    return found.value


def holding_torque(view: AxisView) -> float | None:
    """Motor torque (N*m) that the hanging load needs at rest, without help of friction."""
    found = view.state.asked(hold_torque)
    return None if found is None else found.value


@explains("max_torque", "positive_torque_limit", "negative_torque_limit", "max_current")
def limit(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Torque, thrust, and whether the load can be held and lifted."""
    protects = right.state.record("force_protects") is True
    if change.right is None:
        worst = "hazard" if protects else "dynamics"
        return Explanation(NO_LIMIT, worst)
    before, after = change.left_physical, change.right_physical
    if after is None:
        return None
    torque = _torque(change, right)
    findings: list[Finding] = [figure("limit", after, "permille of the rating")]
    said: list[str] = []
    worst = "dynamics"
    if torque is not None:
        unit = _motor_unit(right)
        at_axis = _force(right, torque, findings)
        said.append(LIMIT.format(torque=f"{digits(torque)} {unit}", at_axis=at_axis))
        least = right.state.asked(limits)
        if least is not None and least.weaker < torque * (1 - 1e-9):
            said.append(OTHER_LIMITS.format(torque=f"{digits(least.weaker)} {unit}"))
        worst = _load(right, torque, said, findings)
        said += _beyond_motor(right, torque, change)
    elif after.kind == "current" and not torque_follows_current(right.state):
        said.append(NOT_BY_CURRENT)
    alike = before is not None and before.kind == after.kind
    if before is not None and alike and after.number() > before.number():
        if protects:
            said.append(PUSHES)
            worst = "hazard"
    elif before is not None and alike and worst != "hazard":
        said.append(LESS)
    if said and after.kind == "current":
        drive = sized(right, "drive_max_current", ("current",))
        said.append(taken_as_rms(after, right.scaling.rated_current, drive).strip())
    return Explanation(" ".join(filter(None, said)), worst, tuple(findings)) if said else None


def _motor_unit(view: AxisView) -> str:
    """N*m, or N of a linear motor, which is the axis itself."""
    gears = view.state.asked(transmission)
    return "N*m" if gears is None else gears.motor_unit


def _torque(change: Change, view: AxisView) -> float | None:
    size = change.right_physical
    if size is None:
        return None
    if size.kind == "torque":
        return float(size.number())
    if size.kind != "current":
        return None
    return torque_of_current(view.state, float(size.number()))


def _force(view: AxisView, torque: float, findings: list[Finding]) -> str:
    force, output = thrust(view, torque), output_torque(view, torque)
    if force is not None:
        findings.append(figure("thrust", force, "F = 2 pi eta G T / L", unit="N"))
        return AT_AXIS["thrust"].format(force=f"{digits(force)} N")
    if output is not None:
        findings.append(figure("torque at the output", output, "eta G T", unit="N*m"))
        return AT_AXIS["output"].format(force=f"{digits(output)} N*m")
    return ""


def _load(view: AxisView, torque: float, said: list[str], findings: list[Finding]) -> str:
    """Say whether a hanging load is held and lifted; gives the class."""
    held, unit = view.state.asked(hold_torque), _motor_unit(view)
    if held is None:
        return "dynamics"
    findings.append(figure("torque to hold the load", held.value, held.basis, unit=unit))
    needed = f"{digits(held.value)} {unit}"
    if torque < held.value:
        said.append(SINKS.format(held=needed))
        return "hazard"
    lifting = ""
    lifted = view.state.asked(acceleration_torque) or view.state.asked(lift_torque)
    if lifted is not None:
        basis = lifted.basis
        findings.append(figure("torque to lift on the ramp", lifted.value, basis, unit=unit))
        ramp = RAMP if torque < lifted.value else ""
        lifting = LIFTING.format(lifted=f"{digits(lifted.value)} {unit}", ramp=ramp)
    said.append(HOLDS.format(held=needed, lifting=lifting))
    return "dynamics"


def _beyond_motor(view: AxisView, torque: float, change: Change) -> list[str]:
    """What the motor or the drive cannot give, or bear."""
    motor = view.axis.motor if view.axis is not None else None
    most = si_number(motor.max_torque) if motor else None
    if most is not None and torque > most * float(_CLOSE):
        return [MOTOR_BEARS.format(torque=f"{digits(most)} N*m")]
    size = of_kind(change.right_physical, ("current",))
    drive = sized(view, "drive_max_current", ("current",))
    if size is not None and drive is not None and size.number() > drive.number() * _CLOSE:
        return [DRIVE_GIVES.format(current=f"{digits(float(drive.number()))} A")]
    return []


@explains("motor_rated_torque", "motor_rated_current")
def rating(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A rating scales every value that is given in permille of it."""
    kind = "torque" if change.shown.role == "motor_rated_torque" else "current"
    before, after = (
        of_kind(side, (kind,)) for side in (change.left_physical, change.right_physical)
    )
    times = ""
    alike = before is not None and after is not None and not unlike_amperes(before.unit, after.unit)
    if alike and before is not None and after is not None and before.ratio:
        ratio = digits(float(after.number() / before.number()))
        times = TIMES.format(times=ratio, what=kind)
    motor = right.axis.motor if right.axis is not None else None
    plate = getattr(motor, f"rated_{kind}") if motor is not None else None
    stated, verdict = si_number(plate), "unknown"
    if after is not None and stated is not None:
        fits = abs(float(after.number()) / stated - 1) < 0.01 if stated else False
        verdict = "same" if fits else "other"
    unclear = which_ampere(after, plate.physical() if plate is not None else None)[0]
    if unclear:
        return Explanation(
            f"{RATING.format(times=times)} {ON_PLATE.format(why=unclear)}", "electrical"
        )
    text = f"{RATING.format(times=times)} {PLATE[verdict].format(plate=plate)}"
    return Explanation(text, "electrical")
