"""Views to try rules on. Axes, sets and records, here and in the tests of rules, are invented."""

from __future__ import annotations

import json
from collections.abc import Mapping
from decimal import Decimal
from typing import Any

from vault.meaning.axis_view import AxisView
from vault.meaning.checks import Complaint, check
from vault.meaning.consequences import CONSEQUENCES
from vault.model import choices, roles
from vault.model.axis import AxisRecord
from vault.model.export import Scalar
from vault.model.normalise import Definition
from vault.model.parameters import Parameter, ParameterSet
from vault.model.quantities import Measure
from vault.store.files.edited_files import kept_axis
from vault.store.files.parameters_text import parameters_text

Setting = Scalar | Parameter
Settings = Mapping[str, Setting]

MICROMETRE: Settings = {
    "si_unit_position": 0xFA010000,
    "si_unit_velocity": 0xFA010300,
    "si_unit_acceleration": 0xFA015700,
    "si_unit_jerk": 0xFA01A000,
}
# A screw of 16 mm behind a gear of 4:1, in 0.001 mm: 262,144 increments a millimetre.
CARRIAGE: Settings = {
    **MICROMETRE,
    "modes_of_operation": 8,
    "position_encoder_increments": 2**20,
    "gear_ratio_motor_revolutions": 4,
    "feed_constant_feed": 16_000,
}
SCREW: Mapping[str, Any] = {
    "mechanics": {"kind": "ball_screw", "lead": "16 mm", "gearbox": {"motor": 4, "output": 1},
                  "orientation": "horizontal"},
}  # fmt: skip
# A vertical screw of 20 mm behind a gear of 2:1 that carries 60 kg.
LIFT: Mapping[str, Any] = {
    "mechanics": {
        "kind": "ball_screw",
        "lead": "20 mm",
        "gearbox": {"motor": 2, "output": 1},
        "orientation": "vertical",
        "moving_mass": "60 kg",
        "efficiency": "0.9",
    },
}


def with_mechanics(record: Mapping[str, Any], **more: Any) -> dict[str, Any]:
    """The record with some entries of its mechanics set; None takes one out."""
    mechanics = {**record["mechanics"], **more}
    return {**record, "mechanics": {k: v for k, v in mechanics.items() if v is not None}}


def parameter(role: str, setting: Setting, **more: Any) -> Parameter:
    """A parameter of a role, its code `p/ROLE`.

    `300 mm/s` states a unit; a bare number is in the role's own, or a choice by the table.
    """
    if isinstance(setting, Parameter):
        return setting
    known = roles.find(role)
    assert known is not None, role
    value: Scalar = setting
    unit = known.unit
    if isinstance(setting, str) and known.data_type != "VISIBLE_STRING":
        measure = Measure.parse(setting)
        value, unit = measure.value, measure.unit
        if value == value.to_integral_value():
            value = int(value)
    label = None
    if known.choices is not None and isinstance(value, int):
        label = choices.label(known.choices, value)
    values = {"value": value, "raw": value, "unit": unit, "label": label, "name": known.title}
    return Parameter(code=f"p/{role}", role=role, **{**values, **more})


def recorded(record: Mapping[str, Any]) -> AxisRecord:
    """A record as one that lies in a vault is read: without what cannot be."""
    text = json.dumps({"schema": "axisvault/axis/1", **record}, default=str)
    return kept_axis(text.encode(), "axis.yaml")


def view_of(
    settings: Settings,
    record: Mapping[str, Any] | None = None,
    nameplate: Mapping[str, str] | None = None,
    definitions: Mapping[str, Definition] | None = None,
) -> AxisView:
    """A view on settings by role."""
    parameters = ParameterSet(parameter(role, setting) for role, setting in settings.items())
    return AxisView(
        "an invented axis",
        parameters_text(parameters),
        look_up=lambda: definitions or {},
        nameplate=nameplate,
        axis_text=None if record is None else b"invented",
        read_axis=lambda _: recorded(record or {}),
    )


def complaints(rule: str, view: AxisView) -> list[Complaint]:
    """What one rule says; every complaint says where to look and what it rests on."""
    found = [complaint for complaint in check(view) if complaint.rule == rule]
    for complaint in found:
        assert complaint.look_at and all(complaint.look_at)
        assert complaint.findings and all(f.quantity and f.basis for f in complaint.findings)
        assert complaint.consequence in CONSEQUENCES
        assert complaint.sentence.endswith((".", "?")) and "None" not in complaint.sentence
    return found


def the_complaint(rule: str, view: AxisView) -> Complaint:
    """The one complaint of a rule."""
    (found,) = complaints(rule, view)
    return found


def defined(role: str, **more: Any) -> dict[str, Definition]:
    """A family's definition of the parameter of a role."""
    code = f"p/{role}"
    known = roles.find(role)
    values: dict[str, Any] = {
        "code": code, "name": role, "role": role, "data_type": None, "scale": Decimal(1),
        "unit": known.unit if known else None, "choices": {},
    }  # fmt: skip
    return {code: Definition(**{**values, **more})}
