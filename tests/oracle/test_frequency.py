"""What the program says of drives that are set in hertz, against a field that is turned."""

from __future__ import annotations

import json
import math

import pytest

from tests.oracle.frequency import Drive, draw_drives, pole_pairs_by_plate, show
from tests.oracle.program import _setting
from vault.behaviour.behave import behave
from vault.behaviour.facts import Fact
from vault.meaning.axis_view import AxisView
from vault.model.parameters import ParameterSet
from vault.store.files.edited_files import kept_axis
from vault.store.files.parameters_text import parameters_text

QUANTITIES = (
    "speed of the field", "torque above rated frequency", "volts per hertz", "highest motor speed",
    "time of the deceleration ramp", "revolutions to a stop", "pole pairs",
)  # fmt: skip


def facts(drive: Drive) -> dict[str, Fact]:
    """What the program finds for a drive."""
    turns = 60 / (2 * math.pi)
    settings = {
        "modes_of_operation": "2",
        "motor_pole_pairs": str(drive.pairs),
        "rated_frequency": f"{drive.rated} Hz",
        "max_frequency": f"{drive.highest} Hz",
        "motor_rated_voltage": f"{drive.volts} V",
        "vl_deceleration_delta_speed": f"{drive.ramp_speed * turns:.0f} r/min",
        "vl_deceleration_delta_time": f"{drive.ramp_time} s",
    }
    record = {
        "schema": "axisvault/axis/1",
        "mechanics": {"kind": "rotary"},
        "motor": {"rated_speed": f"{drive.rated_speed * turns:.0f} r/min"},
    }
    view = AxisView(
        "a drive",
        parameters_text(ParameterSet(_setting(role, text) for role, text in settings.items())),
        axis_text=json.dumps(record).encode(),
        read_axis=lambda text: kept_axis(text, "axis.yaml"),
    )
    found = behave(view.state).facts
    return {name: found[name] for name in QUANTITIES}


@pytest.mark.parametrize("drive", draw_drives(1, 60), ids=lambda drive: f"{drive.highest} Hz")
def test_a_frequency_drive_does_what_is_said_of_it(drive: Drive) -> None:
    said, shown = facts(drive), show(drive)
    assert said["speed of the field"].value == pytest.approx(shown.field)
    assert said["highest motor speed"].value == pytest.approx(shown.field)
    assert said["torque above rated frequency"].value == pytest.approx(shown.share)
    assert said["volts per hertz"].value == pytest.approx(shown.volts_per_hertz)
    assert said["time of the deceleration ramp"].value == pytest.approx(shown.time, rel=1e-3)
    assert said["revolutions to a stop"].value == pytest.approx(shown.turned, rel=1e-3)
    assert said["pole pairs"].value == pole_pairs_by_plate(drive)
