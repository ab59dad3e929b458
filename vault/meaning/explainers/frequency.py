"""Drives that are set in hertz and seconds: frequencies, ramp times, boost."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour import frequency
from vault.behaviour.frequency import HERTZ
from vault.behaviour.scale import transmission
from vault.behaviour.speed import most_motor_speed
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import chosen_in, of_kind
from vault.meaning.findings import (
    digits,
    finding,
    finding_in_revolutions,
    finding_in_turns,
    in_words,
    revolutions,
    seconds,
    turns_per_minute,
)

if TYPE_CHECKING:
    from vault.behaviour.facts import Figure
    from vault.behaviour.state import State
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

# Frequencies.
NO_HIGHEST = "Without it the set gives no highest frequency."
MOTOR_TURNS = "At {hertz} Hz the motor turns at about {turns} r/min{beyond}."
BEYOND_MAXIMUM = ", beyond its maximum of {turns} r/min"
FIELD_WEAKENED = (
    "That is above the rated {rated} Hz: the field is weakened, and about {share} % of the torque "
    "is left."
)
PUMP = "A pump or fan takes {power} times the power at that speed (flow {flow} times)."
RAISED_TO_IT = "A lower set point is raised to it."
OUT_OF_ORDER = "The lowest frequency is above the highest."
WEAKENED_UP_TO = (
    "From {rated} Hz up to the highest {highest} Hz the field is weakened and torque falls."
)

# Voltage.
VOLTS = "The motor gets {volts} V per hertz{instead}{effect}."
VOLTS_INSTEAD = " instead of {volts} V"
STRONGER = ": a stronger field, and more current, up to saturation"
WEAKER = ": a weaker field, and less torque"
MORE_BOOST = "More torque to start with, and more current and heat at low speed."
LESS_BOOST = "Less torque to start with: a stiff load may stay where it is."
MAY_SINK = "It hangs: the load may sink at low speed."
FOR_PUMPS = "It suits pumps and fans: at half speed a quarter of the torque is there."
FULL_TORQUE = "The full torque is there at all speeds up to the rated."

# Ramp times.
NO_RAMP = "With a ramp of nought the speed is changed as hard as the current limit lets it."
FROM_HIGHEST = "From {turns} r/min it takes {time}{instead} and {distance}."
UP_TO_HIGHEST = "Up to {turns} r/min it takes {time}{instead}."
IF_HIGHEST = "If the ramp is made for the highest speed, {turns} r/min, a stop takes {distance}."
INSTEAD = " instead of {time}"
TURNS = "{turns} revolutions of the motor"
NO_RESISTOR = "No braking resistor is used: a faster stop may trip on over-voltage."

_QUADRATIC = 1  # of `voltage_frequency_pattern`: torque with the square of the speed
_CLOSE = 1.0001
"""A speed is beyond another when it is more than rounding above it."""


@explains("max_frequency", "min_frequency")
def frequency_limit(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Speed at that frequency, torque above the rated one, power of a pump or fan."""
    upper = change.shown.role == "max_frequency"
    if change.right is None and upper:
        return Explanation(NO_HIGHEST, "hazard")
    size, before = of_kind(change.right_physical, HERTZ), of_kind(change.left_physical, HERTZ)
    if size is None:
        return None
    said: list[str] = []
    findings: list[Finding] = []
    power: list[str] = []
    if upper and before is not None and before.ratio > 0 and size.ratio != before.ratio:
        power = _pump(float(size.number() / before.number()), right, findings)
    beyond = _turns(float(size.number()), right.state, said, findings)
    said[1:1] = power  # what it takes comes before what torque is left
    raised = before is not None and size.number() > before.number()
    if not upper and size.ratio > 0:
        said.append(RAISED_TO_IT)
    if right.state.asked(frequency.frequencies_out_of_order):
        said.append(OUT_OF_ORDER)
        beyond = True
    worst = "hazard" if beyond or (raised and upper) else "dynamics"
    return Explanation(" ".join(said), worst, tuple(findings))


def _turns(hertz: float, state: State, said: list[str], findings: list[Finding]) -> bool:
    """Say motor speed and torque at a frequency; tells whether it is beyond the motor's speed."""
    field, most = frequency.field_speed(state, hertz), state.asked(most_motor_speed)
    beyond = field is not None and bool(most) and field.value > (most or 0.0) * _CLOSE
    if field is not None:
        findings.append(finding_in_turns("speed of the field", field))
        limit = BEYOND_MAXIMUM.format(turns=turns_per_minute(most)) if beyond and most else ""
        turns = turns_per_minute(field.value)
        said.append(MOTOR_TURNS.format(hertz=digits(hertz), turns=turns, beyond=limit))
    share, base = frequency.torque_share(state, hertz), state.asked(frequency.rated_frequency)
    if share is not None and base is not None:
        findings.append(finding("torque above rated frequency", share))
        left = digits(100 * share.value, 3)
        said.append(FIELD_WEAKENED.format(rated=digits(base), share=left))
    return beyond


def _pump(ratio: float, view: AxisView, findings: list[Finding]) -> list[str]:
    if chosen_in(view, "voltage_frequency_pattern") != _QUADRATIC:
        return []
    power = frequency.pump_power(ratio)
    findings.append(finding("power of a pump or fan", power))
    return [PUMP.format(power=digits(power.value, 3), flow=digits(ratio, 3))]


@explains("rated_frequency", "motor_rated_voltage")
def rated(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Volts per hertz decide the motor's field."""
    state = right.state
    size = state.asked(frequency.rated_frequency)
    if of_kind(change.right_physical, (*HERTZ, "voltage")) is None or size is None:
        return None
    said: list[str] = []
    findings: list[Finding] = []
    volts = state.asked(frequency.volts_per_hertz)
    before = left.state.asked(frequency.volts_per_hertz)
    if volts is not None:
        findings.append(finding("volts per hertz", volts))
        instead, effect = "", ""
        if before is not None and before.value != volts.value:
            instead = VOLTS_INSTEAD.format(volts=digits(before.value))
            effect = STRONGER if before.value < volts.value else WEAKER
        text = VOLTS.format(volts=digits(volts.value), instead=instead, effect=effect)
        said.append(text)
    highest = state.asked(frequency.highest_frequency)
    of_frequency = change.shown.role == "rated_frequency"
    if of_frequency and highest is not None and highest > size:
        said.append(WEAKENED_UP_TO.format(rated=digits(size), highest=digits(highest)))
    return Explanation(" ".join(said), "electrical", tuple(findings)) if said else None


@explains("boost_voltage")
def boost(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Voltage at low frequency: torque to start with, and heat."""
    size = of_kind(change.right_physical, ("voltage",))
    before = of_kind(change.left_physical, ("voltage",))
    if size is None or before is None or size.number() == before.number():
        return None
    if size.number() > before.number():
        return Explanation(MORE_BOOST, "electrical")
    if right.is_vertical:
        return Explanation(f"{LESS_BOOST} {MAY_SINK}", "hazard")
    return Explanation(LESS_BOOST, "dynamics")


@explains("voltage_frequency_pattern")
def pattern(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Which load the voltage curve suits (common practice, no source)."""
    kind = chosen_in(right, "voltage_frequency_pattern")
    if kind == _QUADRATIC:
        if right.is_vertical:
            return Explanation(f"{FOR_PUMPS} {MAY_SINK}", "hazard")
        return Explanation(FOR_PUMPS, "dynamics")
    return Explanation(FULL_TORQUE, "dynamics") if kind == 0 else None


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
    role = frequency.DELTA_TIME.get(role, role)
    stops = "acceleration" not in role.replace("deceleration", "")
    before, after = (frequency.ramp_time(view.state, role) for view in (left, right))
    if after is None:
        return None
    if after.value == 0:
        return Explanation(NO_RAMP, "hazard" if stops else "dynamics")
    findings = [finding("time of the ramp", after)]
    told = _said(role, before, after, right.state, stops, findings)
    said = [told] if told else []
    shorter = before is not None and after.value < before.value
    longer = before is not None and after.value > before.value
    if stops and shorter and chosen_in(right, "braking_resistor_used") == 0:
        said.append(NO_RESISTOR)
        return Explanation(" ".join(said), "electrical", tuple(findings))
    quick = role.startswith("vl_quick_stop")
    return Explanation(
        " ".join(said), "hazard" if quick and longer else "dynamics", tuple(findings)
    )


def _said(
    role: str,
    before: Figure | None,
    after: Figure,
    state: State,
    stops: bool,
    findings: list[Finding],
) -> str:
    instead, top = "", state.asked(frequency.top_motor_speed)
    if before is not None and before.value != after.value:
        instead = INSTEAD.format(time=seconds(before.value))
    parts = {"time": seconds(after.value), "instead": instead, "turns": "", "distance": ""}
    if top is not None:
        parts["turns"] = turns_per_minute(top.value)
        parts["distance"] = _distance(after.value, state, findings) if stops else ""
    if frequency.has_ramp_speed(state, role):
        return (FROM_HIGHEST if stops else UP_TO_HIGHEST).format(**parts)
    return IF_HIGHEST.format(**parts) if stops and top is not None else ""


def _distance(time: float, state: State, findings: list[Finding]) -> str:
    """Revolutions of the motor, or way of a linear axis, until it stands."""
    turned = frequency.turns_to_stop(state, time)
    findings.append(finding_in_revolutions("revolutions to a stop", turned))
    gears = state.asked(transmission)
    if gears is None or not gears.is_linear:
        return TURNS.format(turns=digits(revolutions(turned.value)))
    return in_words(frequency.way_to_stop(state, time))
