"""Plausibility of one state: what cannot be right, or will not go well.

A rule is a function that looks at a view and yields complaints; `@rule` registers it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.meaning import physics
from vault.meaning.changes import Finding
from vault.meaning.consequences import rank
from vault.meaning.explainers.following import steady_lag
from vault.meaning.explainers.ramps import stop_of, top_speed
from vault.meaning.explainers.torque import holding_torque
from vault.meaning.findings import digits, figure, length_or_angle, seconds, speed
from vault.meaning.sentences import number_text, unit_text

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.quantities import Physical


@dataclass(frozen=True, slots=True)
class Complaint:
    """One thing that is not plausible; `look_at` are the codes or places to look at."""

    rule: str
    consequence: str
    sentence: str
    look_at: tuple[str, ...]
    findings: tuple[Finding, ...] = ()


Rule = Callable[["AxisView"], Iterable[Complaint]]

RULES: dict[str, Rule] = {}

_LOW, _HIGH = "min_software_position_limit", "max_software_position_limit"


def rule(function: Rule) -> Rule:
    """Register a rule under its function's name."""
    RULES[function.__name__] = function
    return function


def check(view: AxisView) -> list[Complaint]:
    """Everything that is not plausible about a state, worst first."""
    found = [complaint for function in RULES.values() for complaint in function(view)]
    return sorted(found, key=lambda complaint: rank(complaint.consequence))


def _codes(view: AxisView, *roles: str) -> tuple[str, ...]:
    found = (view.find(role) for role in roles)
    return tuple(parameter.code for parameter in found if parameter is not None)


def _like(view: AxisView) -> Physical | None:
    for role in ("profile_velocity", "max_profile_velocity", _HIGH, "following_error_window"):
        if (size := view.physical(role)) is not None:
            return size
    return None


@rule
def travel_scale(view: AxisView) -> Iterator[Complaint]:
    """k = 1: a commanded way is the way made."""
    error = view.scaling.travel_error
    if error is None or abs(float(error) - 1) < 1e-9:
        return
    nominal = view.scaling.nominal_unit
    unit = "mm" if nominal is None or nominal.kind == "length" else "deg"
    yield Complaint(
        "travel_scale",
        "hazard" if view.is_vertical else "travel",
        f"Parameters and machine disagree: a commanded 150 {unit} moves "
        f"{digits(150 * float(error), 6)} {unit}.",
        _codes(
            view,
            "position_encoder_increments",
            "gear_ratio_motor_revolutions",
            "feed_constant_feed",
            "si_unit_position",
        ),
        (
            Finding(
                "travel error k",
                digits(float(error), 9),
                "1",
                "(R_set G_set / F_set) / (R_real G_real / L_real), over the stated unit",
            ),
        ),
    )


@rule
def software_limits(view: AxisView) -> Iterator[Complaint]:
    """In order, and inside the stroke."""
    low, high, like = view.si(_LOW), view.si(_HIGH), view.physical(_HIGH) or view.physical(_LOW)
    if low is None or high is None or like is None or low == high == 0:
        return
    codes = _codes(view, _LOW, _HIGH)
    if low >= high:
        yield Complaint(
            "software_limits",
            "hazard",
            f"The software limits are out of order: {length_or_angle(low, like)} to "
            f"{length_or_angle(high, like)}.",
            codes,
        )
        return
    stops = view.hard_stops
    if stops is None or view.mechanics is None:
        return
    for value, stop, beyond in ((low, stops[0], low < stops[0]), (high, stops[1], high > stops[1])):
        if beyond:
            yield Complaint(
                "software_limits",
                "hazard",
                f"The software limit at {length_or_angle(value, like)} lies beyond the hard stop "
                f"at {length_or_angle(stop, like)}.",
                codes,
                (figure("software limit", value, "the set", like=like),),
            )


@rule
def window_and_lag(view: AxisView) -> Iterator[Complaint]:
    """The window must be larger than the lag that the axis has anyway."""
    window = view.physical("following_error_window")
    found = steady_lag(view, "profile_velocity")
    if window is None or found is None:
        return
    velocity, gain, lag = found
    limit = float(window.number())
    codes = _codes(view, "following_error_window", "position_gain", "profile_velocity")
    findings = (figure("steady lag", lag, "(1 - f) v / Kv", like=window),)
    where = (
        f"At {speed(velocity, window)} and a gain of {digits(gain)} 1/s the axis lags "
        f"{length_or_angle(lag, window)}"
    )
    if lag > limit:
        yield Complaint(
            "window_and_lag",
            "dynamics",
            f"{where}, more than the window of {length_or_angle(limit, window)}: "
            "it trips as soon as it runs.",
            codes,
            findings,
        )
    elif limit > 20 * lag > 0 or (lag == 0 and view.stroke and limit > view.stroke / 10):
        yield Complaint(
            "window_and_lag",
            "hazard",
            f"{where}; the window of {length_or_angle(limit, window)} is more than twenty times "
            "that: a jam is noticed late.",
            codes,
            findings,
        )


@rule
def room_to_stop(view: AxisView) -> Iterator[Complaint]:
    """Room between software limit and hard stop for a quick stop from the highest speed."""
    for role in ("quick_stop_deceleration", "profile_deceleration"):
        found, room, like = stop_of(view, role), view.room_to_stop, _like(view)
        if found is None:
            continue
        velocity = top_speed(view)
        if room is None or like is None or velocity is None:
            return
        if found[1] > room >= 0:
            yield Complaint(
                "room_to_stop",
                "hazard",
                f"From {speed(velocity, like)} a stop takes {length_or_angle(found[1], like)}, but "
                f"there are only {length_or_angle(room, like)} to the hard stop.",
                _codes(view, role, "max_profile_velocity", _LOW, _HIGH),
                (figure("stopping distance", found[1], "v^2 / 2a + v a / 2j", like=like),),
            )
        return


@rule
def motor_speed(view: AxisView) -> Iterator[Complaint]:
    """The highest speed against what the motor may turn."""
    velocity, travel, most = top_speed(view), view.scaling.travel, view.motor_speed("max_speed")
    if velocity is None or travel is None or most is None:
        return
    turns = 60 * physics.motor_speed(velocity, float(travel.per_turn.number()), float(travel.gear))
    if turns > most * 1.0001:
        yield Complaint(
            "motor_speed",
            "hazard",
            f"At its highest speed the axis turns the motor at {digits(turns)} r/min; "
            f"it may turn {digits(most)} r/min.",
            _codes(view, "max_profile_velocity", "profile_velocity"),
            (figure("motor speed", turns, "v G / L", unit="r/min"),),
        )


@rule
def torque_limit(view: AxisView) -> Iterator[Complaint]:
    """The limit against the motor's maximum, and against the load that hangs."""
    motor = view.axis.motor if view.axis is not None else None
    size = motor.max_torque.physical() if motor is not None and motor.max_torque else None
    needed = holding_torque(view)
    for role in ("max_torque", "positive_torque_limit", "negative_torque_limit"):
        torque = view.si(role)
        if torque is None:
            continue
        if size is not None and torque > float(size.number()) * 1.0001:
            yield Complaint(
                "torque_limit",
                "electrical",
                f"The limit of {digits(torque)} N*m is more than the motor's "
                f"{digits(float(size.number()))} N*m.",
                _codes(view, role),
                (figure("torque limit", torque, "permille of the rating", unit="N*m"),),
            )
        if needed is not None and role != "negative_torque_limit" and torque < needed:
            yield Complaint(
                "torque_limit",
                "hazard",
                f"The limit of {digits(torque)} N*m cannot hold the load, which needs "
                f"{digits(needed)} N*m.",
                _codes(view, role),
                (figure("torque to hold the load", needed, "m g L / (2 pi G)", unit="N*m"),),
            )


@rule
def absolute_range(view: AxisView) -> Iterator[Complaint]:
    """An absolute encoder must count over the whole stroke."""
    encoder = view.axis.encoder if view.axis is not None else None
    bits = encoder.multi_turn_bits if encoder is not None else None
    travel, stroke = view.scaling.travel, view.stroke
    if not bits or travel is None or stroke is None:
        return
    way = physics.multi_turn_range(bits, float(travel.per_turn.number()), float(travel.gear))
    if way < stroke:
        yield Complaint(
            "absolute_range",
            "travel",
            f"The encoder knows its place over {length_or_angle(way, travel.per_turn)} only; the "
            f"stroke is {length_or_angle(stroke, travel.per_turn)}.",
            ("axis.yaml: encoder",),
            (figure("absolute range", way, "2^bits L / G", like=travel.per_turn),),
        )


@rule
def brake(view: AxisView) -> Iterator[Complaint]:
    """A hanging load is held by the motor until the brake has closed."""
    if not view.is_vertical or view.has_brake is False:
        return
    if view.choice("brake_used") == 0:
        yield Complaint(
            "brake",
            "hazard",
            "The axis hangs, and the drive does not work its brake.",
            _codes(view, "brake_used"),
        )
    record = view.axis.brake if view.axis is not None else None
    needed = record.apply_time.physical() if record is not None and record.apply_time else None
    given = view.si("brake_apply_delay")
    if needed is None or given is None or given >= float(needed.number()):
        return
    free = float(needed.number()) - given
    way = physics.drop(free)
    yield Complaint(
        "brake",
        "hazard",
        f"The brake closes in {seconds(float(needed.number()))}, the drive waits {seconds(given)}: "
        f"the load drops {digits(way * 1000)} mm.",
        _codes(view, "brake_apply_delay"),
        (figure("drop while nothing holds", way, "g t^2 / 2", unit="m"),),
    )


_NEEDED_INPUTS = {
    "negative over-travel": (1, 11, 12, 13, 14, 17),
    "positive over-travel": (2, 7, 8, 9, 10, 18),
    "homing switch": (*range(3, 15), *range(19, 31)),
}


@rule
def homing_inputs(view: AxisView) -> Iterator[Complaint]:
    """A homing method needs the switch that it looks for."""
    method = view.choice("homing_method")
    if method is None or view.find("digital_input_function") is None:
        return
    roles = ["digital_input_function", *(f"digital_input_function.{n}" for n in range(1, 33))]
    inputs = [view.find(name) for name in roles]
    assigned = {(p.label or "").casefold() for p in inputs if p is not None}
    for function, methods in _NEEDED_INPUTS.items():
        if method in methods and not any(function in label for label in assigned):
            if function != "homing switch" and method > 2 and method not in (17, 18):
                continue  # these only turn round at the limit switch
            yield Complaint(
                "homing_inputs",
                "travel",
                f"Homing method {method} looks for the {function} input, and no input has it.",
                _codes(view, "homing_method"),
            )


@rule
def overtravel_inputs(view: AxisView) -> Iterator[Complaint]:
    """One end with an over-travel input and the other without is an end that was forgotten."""
    roles = ["digital_input_function", *(f"digital_input_function.{n}" for n in range(1, 33))]
    inputs = [view.find(name) for name in roles]
    assigned = {(p.label or "").casefold() for p in inputs if p is not None}
    ends = {
        end: any(f"{end} over-travel" in a for a in assigned) for end in ("positive", "negative")
    }
    if ends["positive"] != ends["negative"]:
        missing = next(end for end, there in ends.items() if not there)
        yield Complaint(
            "overtravel_inputs",
            "hazard",
            f"No input has the {missing} over-travel function, though the other end has one.",
            _codes(view, *roles),
        )


@rule
def update_interval(view: AxisView) -> Iterator[Complaint]:
    """Drive and controller must work in step (common practice, no source)."""
    interval, period = view.si("update_interval"), view.si("task_period")
    stated = view.axis.controller_link.get("task_period") if view.axis is not None else None
    if period is None and stated is not None:
        from vault.model.quantities import Measure

        try:
            size = Measure.parse(str(stated)).physical()
        except ValueError:
            return
        period = float(size.number()) if size is not None and size.kind == "time" else None
    if interval is None or period is None or abs(interval - period) <= 1e-9:
        return
    yield Complaint(
        "update_interval",
        "link",
        f"The drive expects data every {seconds(interval)}, the controller's task runs every "
        f"{seconds(period)}.",
        (*_codes(view, "update_interval", "task_period"), "axis.yaml: controller_link"),
    )


@rule
def own_range(view: AxisView) -> Iterator[Complaint]:
    """Values outside the range that the family, or the export itself, gives."""
    for parameter in view.parameters.values():
        definition = view.definitions.get(parameter.code)
        value = parameter.value
        if definition is None or isinstance(value, str) or parameter.unit != definition.unit:
            continue
        low, high = definition.low, definition.high
        if definition.volatile or (
            (low is None or value >= low) and (high is None or value <= high)
        ):
            continue
        limits = " to ".join("any" if x is None else number_text(x) for x in (low, high))
        yield Complaint(
            "own_range",
            "record",
            f"{parameter.name}: {view.shown(parameter)} lies outside its own range, "
            f"{limits}{unit_text(definition.unit)}.",
            (parameter.code,),
        )
