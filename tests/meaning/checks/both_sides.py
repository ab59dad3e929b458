"""Drive and controller of one axis, to try the cross-checks on. Sets and machines are invented."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from tests.meaning.checks.sets import MICROMETRE, SCREW, Setting, Settings, parameter, view_of
from vault.meaning.axis_view import AxisView
from vault.meaning.checks import Complaint, cross_check
from vault.meaning.consequences import CONSEQUENCES
from vault.meaning.controller_side import with_controller
from vault.model.parameters import Parameter, ParameterSet
from vault.store.files.parameters_text import parameters_text

# A screw of 16 mm behind a gear of 4:1; the drive's unit is 0.001 mm.
DRIVE: Settings = {
    **MICROMETRE,
    "modes_of_operation": 8,
    "position_encoder_increments": 2**20,
    "gear_ratio_motor_revolutions": 4,
    "feed_constant_feed": 16_000,
}
RECORD: Mapping[str, Any] = SCREW
# 16,000 counts for 16 mm: a count is 0.001 mm, as the drive's unit.
SCALED: Settings = {"controller_counts": 16_000, "controller_counts_per": "16 mm"}
# A table on a gear of 7:3 of its motor, in 0.001 deg: 360,000 units a turn.
TABLE: Mapping[str, Any] = {
    "mechanics": {"kind": "rotary_table", "gearbox": {"motor": 7, "output": 3}}
}
TURNS: Settings = {
    "modes_of_operation": 8,
    "si_unit_position": 0xFD410000,
    "si_unit_velocity": 0xFD410300,
    "si_unit_acceleration": 0xFD415700,
    "position_encoder_increments": 2**20,
    "gear_ratio_motor_revolutions": 7,
    "gear_ratio_shaft_revolutions": 3,
    "feed_constant_feed": 360_000,
}
TURNED: Settings = {"controller_counts": 360_000, "controller_counts_per": "360 deg"}


def called(role: str, setting: Setting) -> Parameter:
    """A value of the controller: `Main.` and its role are its place in the program."""
    found = parameter(role, setting)
    return Parameter(
        f"Main.{role}", found.name, found.value, found.raw, found.role, found.unit, found.label
    )


def both(
    drive: Settings,
    controller: Settings | None,
    record: Mapping[str, Any] | None = RECORD,
) -> AxisView:
    """The drive's state with the controller's beside it, where there is one."""
    own = view_of(drive, record)
    if controller is None:
        return own
    known = [called(role, setting) for role, setting in controller.items()]
    return with_controller(own, AxisView("the controller", parameters_text(ParameterSet(known))))


def across(rule: str, view: AxisView) -> list[Complaint]:
    """What one rule says; every complaint says where to look, and what it rests on."""
    found = [one for one in cross_check(view) if one.rule == rule]
    for one in found:
        assert one.look_at and all(one.look_at)
        assert one.findings and all(f.quantity and f.basis for f in one.findings)
        assert one.consequence in CONSEQUENCES
        assert one.sentence.endswith(".") and "None" not in one.sentence
    return found


def the_one(rule: str, view: AxisView) -> Complaint:
    """The one complaint of a rule."""
    (found,) = across(rule, view)
    return found
