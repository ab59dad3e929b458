"""Speeds, ramps, jerk and profile type: how long a move takes, and how far a stop."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from vault.meaning import physics
from vault.meaning.explainers import Explanation, explains
from vault.meaning.findings import digits, figure, length_or_angle, seconds, speed
from vault.model.quantities import Physical

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

SINE_SQUARED, JERK_LIMITED = 1, 3


def jerk_of(view: AxisView) -> float | None:
    """Jerk limit in force: only the jerk-limited profile has one."""
    if view.choice("motion_profile_type") != JERK_LIMITED:
        return None
    return view.si("profile_jerk") or None


def top_speed(view: AxisView) -> float | None:
    """Highest speed the set allows, m/s or rad/s."""
    return view.si("max_profile_velocity") or view.si("profile_velocity")


def stop_of(view: AxisView, role: str) -> tuple[float, float] | None:
    """Time and way to stop from the highest speed on the ramp of a role."""
    velocity, ramp = top_speed(view), view.si(role)
    if not velocity or not ramp:
        return None
    jerk = jerk_of(view)
    way = physics.stop_distance(velocity, ramp, jerk)
    return physics.ramp_time(velocity, ramp, jerk), round(way, 12)  # as `room_to_stop` is


def reference_move_time(view: AxisView) -> float | None:
    """Time of the reference move (half the stroke unless recorded), with profile values."""
    way, velocity = view.reference_move, view.si("profile_velocity")
    up, down = view.si("profile_acceleration"), view.si("profile_deceleration")
    if not way or not velocity or not up:
        return None
    return physics.move_time(
        way,
        velocity,
        up,
        down or up,
        jerk=jerk_of(view),
        sine_squared=view.choice("motion_profile_type") == SINE_SQUARED,
    )


def _like(view: AxisView) -> Physical | None:
    return view.physical("profile_velocity") or view.physical("max_profile_velocity")


def _move(left: AxisView, right: AxisView, findings: list[Finding]) -> str:
    before, after = reference_move_time(left), reference_move_time(right)
    like, way = _like(right), right.reference_move
    if after is None or like is None or way is None:
        return ""
    findings.append(
        figure("time of the reference move", after, "profile over half the stroke", unit="s")
    )
    text = f"The reference move of {length_or_angle(way, like)} takes {seconds(after)}"
    if before is not None and abs(before - after) > 1e-9:
        text += f" instead of {seconds(before)}"
    return f"{text}."


@explains(
    "profile_velocity",
    "max_profile_velocity",
    "homing_switch_search_speed",
    "homing_zero_search_speed",
    "jog_velocity",
    "max_motor_speed",
)
def speeds(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Motor speed against its ratings, and the reference move."""
    size, before = change.right_physical, change.left_physical
    if size is None:
        return None
    findings: list[Finding] = []
    said = []
    faster = before is not None and size.number() > before.number()
    motor = _motor_speed(right, size)
    consequence = "dynamics"
    if motor is not None:
        findings.append(figure("motor speed", motor, "v G / L", unit="r/min"))
        text = f"The motor turns at {digits(motor)} r/min"
        rated, highest = right.motor_speed("rated_speed"), right.motor_speed("max_speed")
        if highest is not None and motor > highest:
            text += f", beyond its maximum of {digits(highest)} r/min"
            consequence = "hazard"
        elif rated is not None and motor > rated:
            text += f", above its rated {digits(rated)} r/min"
        said.append(f"{text}.")
    role = change.shown.role
    if role == "profile_velocity" and (text := _move(left, right, findings)):
        said.append(text)
    if faster and role in ("max_profile_velocity", "max_motor_speed"):
        said.append("The axis may now run faster than before.")
        consequence = "hazard"
    if faster and str(role).startswith("homing"):
        said.append("It meets the switch faster and overruns it farther.")
    return Explanation(" ".join(said), consequence, tuple(findings)) if said else None


def _motor_speed(view: AxisView, size: Physical) -> float | None:
    """Motor speed in r/min at an axis speed, or at a motor speed."""
    travel = view.scaling.travel
    if size.kind == "velocity" and travel is not None and travel.per_turn.kind == "length":
        return 60 * physics.motor_speed(
            float(size.number()), float(travel.per_turn.number()), float(travel.gear)
        )
    if size.kind == "angular_velocity" and travel is not None:
        turns = float(size.number()) / (2 * pi)
        return 60 * turns * float(travel.gear)
    return None


@explains(
    "profile_acceleration",
    "profile_deceleration",
    "quick_stop_deceleration",
    "max_acceleration",
    "max_deceleration",
    "homing_acceleration",
    "profile_jerk",
)
def ramps(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Way and time of a stop against the room there is, and the reference move."""
    role = str(change.shown.role)
    findings: list[Finding] = []
    said: list[str] = []
    consequence = "dynamics"
    if role in ("profile_deceleration", "quick_stop_deceleration", "profile_jerk"):
        ramp = "profile_deceleration" if role == "profile_jerk" else role
        consequence = _stop(ramp, left, right, said, findings)
    if role in ("profile_acceleration", "profile_deceleration", "profile_jerk") and (
        text := _move(left, right, findings)
    ):
        said.append(text)
    return Explanation(" ".join(said), consequence, tuple(findings)) if said else None


def _stop(
    role: str, left: AxisView, right: AxisView, said: list[str], findings: list[Finding]
) -> str:
    before, after = stop_of(left, role), stop_of(right, role)
    like, velocity = _like(right), top_speed(right)
    if after is None or like is None or velocity is None:
        return "dynamics"
    basis = "v^2 / 2a" if jerk_of(right) is None else "v^2 / 2a + v a / 2j"
    findings += [
        figure("stopping distance", after[1], basis, like=like),
        figure("stopping time", after[0], "the same ramp", unit="s"),
    ]
    text = (
        f"From {speed(velocity, like)} a stop takes {seconds(after[0])} and "
        f"{length_or_angle(after[1], like)}"
    )
    if before is not None and before[1] != after[1]:
        text += f" instead of {length_or_angle(before[1], like)}"
    room = right.room_to_stop
    if room is not None and after[1] > room:
        said.append(
            f"{text}, but between software limit and hard stop there are only "
            f"{length_or_angle(room, like)}."
        )
        return "hazard"
    said.append(f"{text}.")
    longer = before is not None and after[1] > before[1]
    return "hazard" if longer and role == "quick_stop_deceleration" else "dynamics"


@explains("motion_profile_type")
def profile_type(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Time of the reference move before and after."""
    findings: list[Finding] = []
    text = _move(left, right, findings)
    return Explanation(text, "dynamics", tuple(findings)) if text else None
