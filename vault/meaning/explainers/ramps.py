"""Ramps, jerk and profile type: how far a stop goes, and how long a move takes."""

from __future__ import annotations

from fractions import Fraction
from math import isinf
from typing import TYPE_CHECKING, NamedTuple

from vault.behaviour import formulas
from vault.behaviour.force import hold_torque, limit_rate, limits
from vault.behaviour.mode import is_cyclic
from vault.behaviour.no_limit import is_all_ones
from vault.behaviour.speed import worst_speed
from vault.behaviour.stop import limit_braking, quick_ramp_stop, slow_ramp_stop
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import JERK, RAMP, SPEED, chosen_in, of_kind, sized
from vault.meaning.explainers.rooms import shortage
from vault.meaning.findings import figure, is_linear, length_or_angle, seconds, speed
from vault.meaning.sentences import size_text
from vault.model.quantities import Physical

if TYPE_CHECKING:
    from vault.behaviour.stop import Stop
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

LINEAR_RAMP, SINE_SQUARED, JERK_LIMITED = 0, 1, 3
_RAMP_WORDS = {
    LINEAR_RAMP: "linear",
    SINE_SQUARED: "sine-squared",
    JERK_LIMITED: "jerk-limited",
}
_ROUNDING = 1e-9
"""A way in m or rad that is nothing but rounding."""

_LOW, _HIGH = "min_software_position_limit", "max_software_position_limit"
_STOPS = {"profile_deceleration": "a stop", "quick_stop_deceleration": "a quick stop"}


def jerk_of(view: AxisView) -> float | None:
    """Jerk limit in force: only the jerk-limited profile has one."""
    if chosen_in(view, "motion_profile_type") != JERK_LIMITED:
        return None
    size = sized(view, "profile_jerk", JERK)
    return float(size.number()) if size is not None and size.ratio > 0 else None


def axis_speed(view: AxisView, size: Physical) -> Physical:
    """A speed as the axis makes it; r/min on a linear axis are the motor's (see `scaling`)."""
    travel = view.scaling.travel
    if size.kind != "angular_velocity" or travel is None or travel.per_turn.kind != "length":
        return size
    return motor_speed_at_axis(view, size) or size


def motor_speed_at_axis(view: AxisView, size: Physical) -> Physical | None:
    """Speed of the axis at an angular speed of the motor: w / (2 pi) x L / G."""
    travel = view.scaling.travel
    if travel is None:
        return None
    step = travel.per_turn
    kind, unit = ("velocity", "m/s") if step.kind == "length" else ("angular_velocity", "rad/s")
    ratio = size.ratio / 2 * step.ratio / travel.gear
    return Physical(ratio, size.pi_power - 1 + step.pi_power, kind, unit)


def fastest(view: AxisView) -> Physical | None:
    """Highest speed that a command may have; None where the set gives none, or nought."""
    for role in ("max_profile_velocity", "profile_velocity"):
        size, parameter = sized(view, role, SPEED), view.find(role)
        is_none = parameter is not None and is_all_ones(parameter.raw)
        if size is not None and size.ratio > 0 and not is_none:
            return axis_speed(view, size)
    return None


def top(view: AxisView) -> Physical | None:
    """Highest speed that a stop may begin at, as behaviour has it; else that of a command."""
    worst = view.state.asked(worst_speed)
    if worst is None or worst.value <= 0:
        return fastest(view)
    kind = "velocity" if worst.unit == "m/s" else "angular_velocity"
    return Physical(Fraction(worst.value), 0, kind, worst.unit)


def top_speed(view: AxisView) -> float | None:
    """Highest speed the set allows, m/s or rad/s."""
    size = top(view)
    return None if size is None else float(size.number())


def stop_of(view: AxisView, role: str) -> tuple[float, float] | None:
    """Time and way to stop from the worst speed on the ramp of a role, as behaviour has it.

    None where it is not known, or where the axis does not come to a stand.
    """
    stop = _stop_on(view, role)
    return None if stop is None else (stop.time, round(stop.reach, 12))  # as rooms are


def stop_basis(view: AxisView, role: str = "quick_stop_deceleration") -> str:
    """Formula of the stopping distance."""
    stop = _stop_on(view, role)
    return "" if stop is None else stop.basis


def _stop_on(view: AxisView, role: str) -> Stop | None:
    ramps = {"quick_stop_deceleration": quick_ramp_stop, "profile_deceleration": slow_ramp_stop}
    stop = view.state.asked(ramps[role])
    return None if stop is None or isinf(stop.reach) else stop


class ReferenceMove(NamedTuple):
    """The reference move (half the stroke unless recorded) with profile values, all in SI.

    `like` is the speed, which says which kind of axis it is.
    """

    way: float
    speed: float
    rise: float
    fall: float
    jerk: float | None
    sine_squared: bool
    like: Physical


def reference_move(view: AxisView) -> ReferenceMove | None:
    """The reference move as the set's highest speed and ramps allow.

    None where the profile type is the maker's own, or nothing of the standard's with a formula.
    """
    way, velocity = view.reference_move, sized(view, "profile_velocity", SPEED)
    up, down = sized(view, "profile_acceleration", RAMP), sized(view, "profile_deceleration", RAMP)
    kind = chosen_in(view, "motion_profile_type")
    unknown = view.find("motion_profile_type") is not None and kind not in _RAMP_WORDS
    if not way or velocity is None or up is None or unknown:
        return None
    like = axis_speed(view, velocity)
    speed, rise = float(like.number()), float(up.number())
    most = sized(view, "max_profile_velocity", SPEED)
    if most is not None and most.ratio > 0:
        speed = min(speed, float(axis_speed(view, most).number()))
    fall = float(down.number()) if down is not None and down.kind == up.kind else 0.0
    if speed <= 0 or rise <= 0 or fall < 0 or is_linear(like) != is_linear(up):
        return None
    rise, fall = (
        _allowed(view, role, rate, up.kind)
        for role, rate in (("max_acceleration", rise), ("max_deceleration", fall or rise))
    )
    return ReferenceMove(way, speed, rise, fall, jerk_of(view), kind == SINE_SQUARED, like)


def _allowed(view: AxisView, role: str, rate: float, kind: str) -> float:
    """A ramp cut to the highest one of a set, m/s^2 or rad/s^2 (60C5h, 60C6h: from memory)."""
    most = sized(view, role, (kind,))
    return rate if most is None or most.ratio <= 0 else min(rate, float(most.number()))


def reference_move_time(view: AxisView) -> float | None:
    """Time of the reference move in s; None where there is none."""
    move = reference_move(view)
    if move is None:
        return None
    return formulas.move_time(
        move.way, move.speed, move.rise, move.fall, jerk=move.jerk, sine_squared=move.sine_squared
    )


def move_sentence(
    left: AxisView, right: AxisView, findings: list[Finding], *, named: bool = False
) -> str:
    """Time of the reference move on the right, beside the left; `named` with the kind of ramp."""
    if is_cyclic(right.state):
        return ""  # the controller makes the moves
    before, after = reference_move_time(left), reference_move_time(right)
    velocity, way = sized(right, "profile_velocity", SPEED), right.reference_move
    if after is None or velocity is None or way is None:
        return ""
    like = axis_speed(right, velocity)
    findings.append(
        figure("time of the reference move", after, "profile over the reference move", unit="s")
    )
    text = f"The reference move of {length_or_angle(way, like)} takes {seconds(after)}"
    text += _on(right) if named else ""
    if before is not None and seconds(before) != seconds(after):
        text += f" instead of {seconds(before)}" + (_on(left) if named else "")
    return f"{text}."


def _on(view: AxisView) -> str:
    kind = chosen_in(view, "motion_profile_type")
    return f" on {_RAMP_WORDS[kind]} ramps" if kind in _RAMP_WORDS else ""


@explains("profile_deceleration", "quick_stop_deceleration", "max_deceleration")
def stopping_ramp(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Way and time of a stop against the room there is."""
    role = str(change.shown.role)
    size = of_kind(change.right_physical, RAMP)
    if size is None:
        return None
    if size.ratio <= 0:
        return _nought(role)
    findings: list[Finding] = []
    said: list[str] = []
    ramps = tuple(_STOPS) if role == "max_deceleration" else (role,)
    worst = _stops(ramps, left, right, said, findings)
    said += _beyond_torque(size, right, findings, braking=True)
    if role == "profile_deceleration" and (text := move_sentence(left, right, findings)):
        said.append(text)
    return Explanation(" ".join(said), worst, tuple(findings)) if said else None


@explains("profile_acceleration", "max_acceleration")
def starting_ramp(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Time of the reference move, and what the torque limit leaves of the ramp."""
    role = str(change.shown.role)
    size = of_kind(change.right_physical, RAMP)
    if size is None:
        return None
    if size.ratio <= 0:
        return _nought(role)
    findings: list[Finding] = []
    said = _beyond_torque(size, right, findings, braking=False)
    if role == "profile_acceleration" and (text := move_sentence(left, right, findings)):
        said.append(text)
    profile = sized(right, "profile_acceleration", (size.kind,))
    if role == "max_acceleration" and profile is not None and profile.number() > size.number():
        said.append(f"The profile's {size_text(profile)} are cut to it.")
    return Explanation(" ".join(said), "dynamics", tuple(findings)) if said else None


def _nought(role: str) -> Explanation:
    stops = role in ("profile_deceleration", "quick_stop_deceleration")
    return Explanation(
        "What a drive does with a ramp of nought, an abrupt stop or none, its manual must tell."
        if stops
        else "What a drive does with nought here, no limit or no motion, its manual must tell.",
        "hazard" if stops else "dynamics",
    )


@explains("profile_jerk")
def jerk(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A lower jerk makes moves softer, and stops longer."""
    size = of_kind(change.right_physical, JERK)
    if size is None or change.shown.role != "profile_jerk":
        return None
    kind = chosen_in(right, "motion_profile_type")
    if kind in (LINEAR_RAMP, SINE_SQUARED):
        return Explanation(
            f"It has no effect: the profile has {_RAMP_WORDS[kind]} ramps.", "dynamics"
        )
    if kind != JERK_LIMITED:
        return None
    findings: list[Finding] = []
    said: list[str] = []
    if size.ratio <= 0:
        said.append("The ramps are counted here without rounding.")
    worst = _stops(tuple(_STOPS), left, right, said, findings)
    if text := move_sentence(left, right, findings):
        said.append(text)
    return Explanation(" ".join(said), worst, tuple(findings)) if said else None


@explains("motion_profile_type")
def profile_type(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Time of the reference move and way of a stop, before and after."""
    kind = chosen_in(right, "motion_profile_type")
    if kind is not None and kind < 0:
        return Explanation("That ramp is the maker's own: see the drive's manual.", "dynamics")
    if kind not in _RAMP_WORDS:
        return None
    findings: list[Finding] = []
    said: list[str] = []
    if kind == JERK_LIMITED and jerk_of(right) is None:
        said.append("No jerk is set for it: the ramps are counted here without rounding.")
    if text := move_sentence(left, right, findings, named=True):
        said.append(text)
    worst = _stops(tuple(_STOPS), left, right, said, findings)
    if not said:
        return Explanation(f"Speed changes on {_RAMP_WORDS[kind]} ramps.", "dynamics")
    return Explanation(" ".join(said), worst, tuple(findings))


def _stops(
    ramps: tuple[str, ...],
    left: AxisView,
    right: AxisView,
    said: list[str],
    findings: list[Finding],
) -> str:
    """Say how far stops go; of several ramps only those that differ. Gives the class."""
    worst = "dynamics"
    for ramp in ramps:
        before, after = stop_of(left, ramp), stop_of(right, ramp)
        if after is None or (len(ramps) > 1 and before == after):
            continue
        text, consequence = _stop(ramp, before, after, right, findings)
        said.append(text)
        worst = "hazard" if consequence == "hazard" else worst
    return worst


def _stop(
    ramp: str,
    before: tuple[float, float] | None,
    after: tuple[float, float],
    view: AxisView,
    findings: list[Finding],
) -> tuple[str, str]:
    velocity = top(view)
    if velocity is None:
        return "", "dynamics"
    findings += [
        figure(f"way of {_STOPS[ramp]}", after[1], stop_basis(view), like=velocity),
        figure(f"time of {_STOPS[ramp]}", after[0], "the same ramp", unit="s"),
    ]
    text = (
        f"From {speed(float(velocity.number()), velocity)} {_STOPS[ramp]} takes "
        f"{seconds(after[0])} and {length_or_angle(after[1], velocity)}"
    )
    if before is not None and before[1] != after[1]:
        text += f" instead of {length_or_angle(before[1], velocity)}"
    longer = before is not None and after[1] > before[1]
    short = shortage(view, after[1], velocity)
    if short:  # a shorter stop is no new hazard even where it still does not fit
        return f"{text}, {short}.", "hazard" if longer or before is None else "dynamics"
    quick = ramp == "quick_stop_deceleration"
    return f"{text}.", "hazard" if longer and quick else "dynamics"


def _beyond_torque(
    ramp: Physical, view: AxisView, findings: list[Finding], *, braking: bool
) -> list[str]:
    held, least = view.state.asked(hold_torque), view.state.asked(limits)
    if held is not None and least is not None and least.weaker < held.value:
        return ["The torque limit cannot even hold the load."]
    most = view.state.asked(limit_braking if braking else limit_rate)
    if most is None or not most.unit.startswith("m") or ramp.kind != "acceleration":
        return []
    if float(ramp.number()) <= most.value * (1 + 1e-9):
        return []
    name = "deceleration" if braking else "acceleration"
    findings.append(figure(f"{name} at the torque limit", most.value, most.basis, unit=most.unit))
    size = size_text(Physical(Fraction(f"{most.value:.4g}"), 0, "acceleration", "m/s^2"))
    return [f"The torque limit gives only about {size}: the axis does not keep to this ramp."]
