"""What the program says of a drawn axis, by the oracle's names: figures and what bounds them."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import dataclass
from decimal import Decimal
from math import isinf

from tests.oracle.cases import Case
from vault.behaviour.behave import Behaviour, behave
from vault.behaviour.facts import Bound
from vault.meaning.axis_view import AxisView
from vault.model import choices, roles
from vault.model.parameters import Parameter, ParameterSet
from vault.model.quantities import Measure
from vault.store.files.edited_files import kept_axis
from vault.store.files.parameters_text import parameters_text


@dataclass(frozen=True, slots=True)
class Said:
    """A figure of the program in SI; None for a way or time without end."""

    value: float | None
    bound: Bound
    hedge: str


def behaviour_of(case: Case) -> Behaviour:
    """Facts and margins that the program finds for an axis."""
    return behave(view_of(case).state)


def view_of(case: Case) -> AxisView:
    """An axis as the program reads it: a parameter set and an axis record."""
    parameters = [_object(code, raw) for code, raw in case.objects.items()]
    parameters += [_setting(role, text) for role, text in case.settings.items()]
    record = json.dumps({"schema": "axisvault/axis/1", **case.record}).encode()
    return AxisView(
        f"case {case.number}",
        parameters_text(ParameterSet(parameters)),
        axis_text=record,
        read_axis=lambda text: kept_axis(text, "axis.yaml"),
    )


def _object(code: str, raw: int) -> Parameter:
    role = roles.for_object(code)
    assert role is not None, code
    label = choices.label(role.choices, raw) if role.choices else None
    return Parameter(code, role.title, raw, raw, role.name, role.unit, label)


def _setting(name: str, text: str) -> Parameter:
    role = roles.find(name)
    assert role is not None, name
    measure = Measure.parse(text)
    value: int | Decimal = measure.value
    if value == value.to_integral_value():
        value = int(value)
    label = choices.label(role.choices, int(value)) if role.choices else None
    return Parameter(f"s/{name}", role.title, value, value, name, measure.unit, label)


_FACTS = {
    "travel_ratio": "travel ratio",
    "profile_speed": "profile speed",
    "worst_speed": "worst speed",
    "quick_stop_way": "way of a quick stop",
    "safe_stop_time": "time of a quick stop",
    "fault_stop_way": "way of a fault stop",
    "link_stop_way": "way when the link is lost",
    "trip_way": "way of a following error trip",
    "hold_torque": "torque to hold the load",
    "acceleration_up": "acceleration at the torque limit",
    "acceleration_down_braking": "deceleration at the torque limit",
    "lift_torque": "torque to lift the load",
    "descent_torque": "torque to brake a descent",
    "lag_profile": "lag at profile speed",
    "drop_rest": "drop from a stand",
    "drop_moving": "drop from the worst speed",
    "duty_rms_torque": "r.m.s. torque of the duty",
    "duty_peak_torque": "peak torque of the duty",
    "duty_resistor_power": "power that the duty gives back",
    "stop_energy_returned": "energy of a stop",
    "rest_voltage_high": "highest voltage at rest",
    "velocity_bandwidth": "bandwidth of the velocity loop",
    "phase_margin": "phase margin of the velocity loop",
    "inertia_ratio": "inertia ratio",
    "absolute_range": "absolute range",
    "motor_turn_way": "way of a motor turn",
    "travel_between_limits": "travel between the limits",
    "limit_room": "room behind the software limits",
    "runaway_share": "share of the room that a runaway takes",
    "time_out_way": "way in the following error time-out",
    "reference_move_time": "time of the reference move",
    "homing_overrun": "overrun of the homing switch",
    "homing_pulse_overrun": "overrun of the index pulse",
    "homing_searched": "way searched",
    "homing_torque": "torque while homing",
    "homing_thrust": "thrust while homing",
    "rated_thrust": "thrust at rated torque",
    "rated_speed_at_axis": "speed at rated motor speed",
    "falling_room": "room where the load falls",
}
"""Quantities of the oracle that are facts of the program."""


def _of_fact(quantity: str) -> Callable[[Behaviour], Said | None]:
    def said(found: Behaviour) -> Said | None:
        fact = found.facts.get(quantity)
        if fact is None or fact.value is None:
            return None
        return Said(None if isinf(fact.value) else fact.value, fact.bound, fact.hedge)

    return said


def _have(margin: str) -> Callable[[Behaviour], Said | None]:
    def said(found: Behaviour) -> Said | None:
        one = found.margins.get(margin)
        return None if one is None or one.have is None else Said(one.have, "exact", one.hedge)

    return said


def _need(margin: str) -> Callable[[Behaviour], Said | None]:
    def said(found: Behaviour) -> Said | None:
        one = found.margins.get(margin)
        return None if one is None or one.need is None else Said(one.need, "exact", one.hedge)

    return said


def _ratio(margin: str, times: float) -> Callable[[Behaviour], Said | None]:
    def said(found: Behaviour) -> Said | None:
        one = found.margins.get(margin)
        if one is None or one.ratio is None:
            return None
        return Said(one.ratio * times, one.bound, one.hedge)

    return said


SAYS: dict[str, Callable[[Behaviour], Said | None]] = {
    **{name: _of_fact(quantity) for name, quantity in _FACTS.items()},
    "brake_hold_ratio": _ratio("brake_hold", 1),
    "chopper_power_peak": _have("resistor_peak"),
    "counts_over_stroke": _need("counts"),
    "speed_torque_ratio": _ratio("speed_torque", 1),
    "loop_ratio": _ratio("loops_apart", 4),
}
"""How the program says what the oracle measures, by the oracle's name."""
