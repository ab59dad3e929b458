"""Torque and current limits: what force they leave, and whether a hanging load is still held."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour.force import (
    acceleration_torque,
    hold_torque,
    lift_torque,
    limits,
)
from vault.behaviour.scale import transmission
from vault.behaviour.travel import delivered, torque_of_current
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import of_kind, sized
from vault.meaning.findings import digits, figure
from vault.model.quantities import si_number

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

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
        return Explanation("Without it the set gives no such limit.", worst)
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
        said.append(f"That is {digits(torque)} {unit} at the motor{at_axis}.")
        least = right.state.asked(limits)
        if least is not None and least.weaker < torque * (1 - 1e-9):
            said.append(f"Other limits hold the motor to {digits(least.weaker)} {unit}.")
        worst = _load(right, torque, said, findings)
        said += _beyond_motor(right, torque, change)
    alike = before is not None and before.kind == after.kind
    if before is not None and alike and after.number() > before.number():
        if protects:
            said.append("The axis can push harder against whatever, or whoever, is in its way.")
            worst = "hazard"
    elif before is not None and alike and worst != "hazard":
        said.append("Less is left for acceleration; following errors may grow.")
    return Explanation(" ".join(said), worst, tuple(findings)) if said else None


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
        return f", {digits(force)} N of thrust"
    if output is not None:
        findings.append(figure("torque at the output", output, "eta G T", unit="N*m"))
        return f", {digits(output)} N*m at the output"
    return ""


def _load(view: AxisView, torque: float, said: list[str], findings: list[Finding]) -> str:
    """Say whether a hanging load is held and lifted; gives the class."""
    held, unit = view.state.asked(hold_torque), _motor_unit(view)
    if held is None:
        return "dynamics"
    findings.append(figure("torque to hold the load", held.value, held.basis, unit=unit))
    if torque < held.value:
        said.append(f"The load needs {digits(held.value)} {unit} to be held: it will sink.")
        return "hazard"
    text = f"Holding the load takes {digits(held.value)} {unit} of it"
    lifted = view.state.asked(acceleration_torque) or view.state.asked(lift_torque)
    if lifted is None:
        said.append(f"{text}.")
        return "dynamics"
    findings.append(figure("torque to lift on the ramp", lifted.value, lifted.basis, unit=unit))
    text += f", lifting it {digits(lifted.value)} {unit}"
    short = torque < lifted.value
    said.append(f"{text}: the axis cannot keep to its ramp." if short else f"{text}.")
    return "dynamics"


def _beyond_motor(view: AxisView, torque: float, change: Change) -> list[str]:
    """What the motor or the drive cannot give, or bear."""
    motor = view.axis.motor if view.axis is not None else None
    most = si_number(motor.max_torque) if motor else None
    if most is not None and torque > most * float(_CLOSE):
        return [f"The motor bears {digits(most)} N*m at most."]
    size = of_kind(change.right_physical, ("current",))
    drive = sized(view, "drive_max_current", ("current",))
    if size is not None and drive is not None and size.number() > drive.number() * _CLOSE:
        return [f"The drive gives {digits(float(drive.number()))} A at most."]
    return []


@explains("motor_rated_torque", "motor_rated_current")
def rating(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A rating scales every value that is given in permille of it."""
    kind = "torque" if change.shown.role == "motor_rated_torque" else "current"
    before, after = (
        of_kind(side, (kind,)) for side in (change.left_physical, change.right_physical)
    )
    text = "Every value in permille of it changes with it"
    if before is not None and after is not None and before.ratio:
        text += f": {digits(float(after.number() / before.number()))} times the {kind}"
    motor = right.axis.motor if right.axis is not None else None
    plate = getattr(motor, f"rated_{kind}") if motor is not None else None
    stated = si_number(plate)
    if after is None or stated is None:
        return Explanation(f"{text}. It must be the one on the motor's nameplate.", "electrical")
    fits = abs(float(after.number()) / stated - 1) < 0.01 if stated else False
    verdict = "as set" if fits else "not what is set"
    return Explanation(f"{text}. The motor's nameplate says {plate}, {verdict}.", "electrical")
