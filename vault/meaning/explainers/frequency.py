"""Drives that are set in hertz and seconds: frequencies, ramp times, boost.

Speed of the field n = 60 f / p with p pole pairs; slip is left out. Above the rated frequency the
voltage cannot rise with the frequency, so the torque falls about as rated over actual frequency
(common practice, no source).
"""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.scaling import TURN
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import chosen_in, of_kind, sized
from vault.meaning.explainers.ramps import motor_speed_at_axis
from vault.meaning.findings import digits, figure, length_or_angle, seconds
from vault.model.quantities import Physical

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

_HERTZ = ("frequency",)
_TIME = ("time",)
_MOTOR = ("angular_velocity",)
_QUADRATIC = 1  # of `voltage_frequency_pattern`: torque with the square of the speed
_DELTA_SPEED = {
    "vl_acceleration_delta_time": "vl_acceleration_delta_speed",
    "vl_deceleration_delta_time": "vl_deceleration_delta_speed",
    "vl_quick_stop_delta_time": "vl_quick_stop_delta_speed",
}
_DELTA_TIME = {speed: time for time, speed in _DELTA_SPEED.items()}


def field_speed(view: AxisView, frequency: float) -> float | None:
    """Speed of the field in r/min: 60 f / p; None where the pole pairs are not known."""
    pairs = view.number("motor_pole_pairs")
    return 60 * frequency / float(pairs) if pairs is not None and pairs > 0 else None


@explains("max_frequency", "min_frequency")
def frequency_limit(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Speed at that frequency, torque above the rated one, power of a pump or fan."""
    upper = change.shown.role == "max_frequency"
    if change.right is None and upper:
        return Explanation("Without it the set gives no highest frequency.", "hazard")
    size, before = of_kind(change.right_physical, _HERTZ), of_kind(change.left_physical, _HERTZ)
    if size is None:
        return None
    said: list[str] = []
    findings: list[Finding] = []
    beyond = _turns(size, right, said, findings)
    raised = before is not None and size.number() > before.number()
    if upper and before is not None and before.ratio > 0 and size.ratio != before.ratio:
        said += _pump(float(size.number() / before.number()), right, findings)
    if not upper and size.ratio > 0:
        said.append("A lower set point is raised to it.")
    if _out_of_order(right):
        said.append("The lowest frequency is above the highest.")
        beyond = True
    return Explanation(
        " ".join(said), "hazard" if beyond or (raised and upper) else "dynamics", tuple(findings)
    )


def _out_of_order(view: AxisView) -> bool:
    low, high = sized(view, "min_frequency", _HERTZ), sized(view, "max_frequency", _HERTZ)
    return low is not None and high is not None and low.number() > high.number()


def _turns(size: Physical, view: AxisView, said: list[str], findings: list[Finding]) -> bool:
    """Say motor speed and torque at a frequency; tells whether it is beyond the motor's speed."""
    hertz = float(size.number())
    motor = field_speed(view, hertz)
    beyond = False
    if motor is not None:
        findings.append(figure("speed of the field", motor, "n = 60 f / p", unit="r/min"))
        text = f"At {digits(hertz)} Hz the motor turns at about {digits(motor)} r/min"
        most = view.motor_speed("max_speed")
        if most and motor > most * 1.0001:
            text += f", beyond its maximum of {digits(most)} r/min"
            beyond = True
        said.append(f"{text}.")
    rated = sized(view, "rated_frequency", _HERTZ)
    if rated is not None and 0 < rated.number() < size.number():
        share = float(rated.number() / size.number())
        findings.append(figure("torque above rated frequency", share, "f_rated / f", unit="1"))
        said.append(
            f"That is above the rated {digits(float(rated.number()))} Hz: the field is weakened, "
            f"and about {digits(100 * share, 3)} % of the torque is left."
        )
    return beyond


def _pump(ratio: float, view: AxisView, findings: list[Finding]) -> list[str]:
    if chosen_in(view, "voltage_frequency_pattern") != _QUADRATIC:
        return []
    findings.append(figure("power of a pump or fan", ratio**3, "(n2 / n1)^3", unit="1"))
    return [
        f"A pump or fan takes {digits(ratio**3, 3)} times the power at that speed "
        f"(flow {digits(ratio, 3)} times)."
    ]


@explains("rated_frequency")
def rated(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Volts per hertz decide the motor's field."""
    size, before = of_kind(change.right_physical, _HERTZ), of_kind(change.left_physical, _HERTZ)
    if size is None or size.ratio <= 0:
        return None
    volts = sized(right, "motor_rated_voltage", ("voltage",))
    was = sized(left, "motor_rated_voltage", ("voltage",))
    said: list[str] = []
    findings: list[Finding] = []
    if volts is not None:
        each = float(volts.number() / size.number())
        findings.append(figure("volts per hertz", each, "U / f, rated", unit="V/Hz"))
        text = f"The motor gets {digits(each)} V per hertz"
        if before is not None and before.ratio > 0 and was is not None:
            other = float(was.number() / before.number())
            text += f" instead of {digits(other)} V" if other != each else ""
            if other < each:
                text += ": a stronger field, and more current, up to saturation"
            elif other > each:
                text += ": a weaker field, and less torque"
        said.append(f"{text}.")
    _limited(size, right, said)
    return Explanation(" ".join(said), "electrical", tuple(findings)) if said else None


def _limited(size: Physical, view: AxisView, said: list[str]) -> None:
    most = sized(view, "max_frequency", _HERTZ)
    if most is not None and most.number() > size.number():
        said.append(
            f"From {digits(float(size.number()))} Hz up to the highest "
            f"{digits(float(most.number()))} Hz the field is weakened and torque falls."
        )


@explains("boost_voltage")
def boost(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Voltage at low frequency: torque to start with, and heat."""
    size = of_kind(change.right_physical, ("voltage",))
    before = of_kind(change.left_physical, ("voltage",))
    if size is None or before is None or size.number() == before.number():
        return None
    if size.number() > before.number():
        return Explanation(
            "More torque to start with, and more current and heat at low speed.", "electrical"
        )
    text = "Less torque to start with: a stiff load may stay where it is."
    if right.is_vertical:
        return Explanation(f"{text} It hangs: the load may sink at low speed.", "hazard")
    return Explanation(text, "dynamics")


@explains("voltage_frequency_pattern")
def pattern(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Which load the voltage curve suits (common practice, no source)."""
    kind = chosen_in(right, "voltage_frequency_pattern")
    if kind == _QUADRATIC:
        text = "It suits pumps and fans: at half speed a quarter of the torque is there."
        if right.is_vertical:
            return Explanation(f"{text} It hangs: the load may sink at low speed.", "hazard")
        return Explanation(text, "dynamics")
    if kind == 0:
        return Explanation("The full torque is there at all speeds up to the rated.", "dynamics")
    return None


@explains(
    "acceleration_time",
    "deceleration_time",
    "vl_acceleration_delta_time",
    "vl_acceleration_delta_speed",
    "vl_deceleration_delta_time",
    "vl_deceleration_delta_speed",
    "vl_quick_stop_delta_time",
    "vl_quick_stop_delta_speed",
)
def ramp_time(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Time and revolutions from the highest speed to a stop, or up to it."""
    role = str(change.shown.role)
    role = _DELTA_TIME.get(role, role)
    stops = "acceleration" not in role.replace("deceleration", "")
    quick = role.startswith("vl_quick_stop")
    after, before = _time(right, role), _time(left, role)
    if after is None:
        return None
    if after == 0:
        return Explanation(
            "With a ramp of nought the speed is changed as hard as the current limit lets it.",
            "hazard" if stops else "dynamics",
        )
    findings = [figure("time of the ramp", after, "t v / dv, else the set", unit="s")]
    said = [_said(role, before, after, right, stops, findings)]
    shorter = before is not None and after < before
    longer = before is not None and after > before
    if stops and shorter and chosen_in(right, "braking_resistor_used") == 0:
        said.append("No braking resistor is used: a faster stop may trip on over-voltage.")
        return Explanation(" ".join(said), "electrical", tuple(findings))
    return Explanation(
        " ".join(said), "hazard" if quick and longer else "dynamics", tuple(findings)
    )


def _time(view: AxisView, role: str) -> float | None:
    """Seconds from the highest speed to a stop; where that speed is not known, the bare ramp."""
    size = sized(view, role, _TIME)
    if size is None:
        return None
    time, top = float(size.number()), _highest(view)
    delta = sized(view, _DELTA_SPEED.get(role, role), _MOTOR)
    if delta is None or delta.ratio <= 0 or top is None:
        return time
    return time * top / (float(delta.number()) * 30 / pi)


def _highest(view: AxisView) -> float | None:
    """Highest motor speed of the set in r/min."""
    size = sized(view, "vl_velocity_max_amount", _MOTOR)
    if size is not None and size.ratio > 0:
        return float(size.number()) * 30 / pi
    hertz = sized(view, "max_frequency", _HERTZ)
    return field_speed(view, float(hertz.number())) if hertz is not None else None


def _said(
    role: str,
    before: float | None,
    after: float,
    view: AxisView,
    stops: bool,
    findings: list[Finding],
) -> str:
    other = f" instead of {seconds(before)}" if before is not None and before != after else ""
    top = _highest(view)
    known = sized(view, _DELTA_SPEED.get(role, role), _MOTOR) is not None and top is not None
    if known and top is not None:
        text = f"{'From' if stops else 'Up to'} {digits(top)} r/min it takes "
        return text + seconds(after) + other + _way(top, after, view, stops, findings) + "."
    text = (
        f"A {'stop from' if stops else 'start up to'} the speed that the ramp is made for takes "
        f"{seconds(after)}{other}"
    )
    if top is None or not stops:
        return f"{text}."
    return (
        f"{text}. If that is the highest, {digits(top)} r/min, it takes"
        f"{_way(top, after, view, stops, findings).removeprefix(' and')}."
    )


def _way(top: float, time: float, view: AxisView, stops: bool, findings: list[Finding]) -> str:
    """Revolutions of the motor, or way of a linear axis, until it stands: n t / 2."""
    if not stops:
        return ""
    turns = top / 60 * time / 2
    findings.append(figure("revolutions to a stop", turns, "n t / 2", unit="rev"))
    size = motor_speed_at_axis(view, TURN)
    if size is None or size.kind != "velocity":
        return f" and {digits(turns)} revolutions of the motor"
    return f" and {length_or_angle(turns * float(size.number()), size)}"
