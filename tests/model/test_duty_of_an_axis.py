"""A duty is of its axis: what it measures in, and what it must say. All invented."""

from __future__ import annotations

from typing import Any

import pytest

from vault.model.errors import Unreadable
from vault.store.files import yaml_text
from vault.store.files.edited_files import kept_axis, read_axis

SCREW = {"kind": "ball_screw", "lead": "20 mm"}
TABLE = {"kind": "rotary_table"}
LINEAR = {"kind": "linear_motor", "pole_pitch": "30 mm"}


def record(mechanics: dict[str, Any], **duty: Any) -> bytes:
    """An axis.yaml with a duty."""
    whole = {"schema": "axisvault/axis/1", "mechanics": mechanics, "duty": duty}
    return yaml_text.mapping_text(whole)


def moves(**first: str) -> dict[str, Any]:
    """A duty of one move and its way back."""
    return {"cycle": "4 s", "moves": [first, {"distance": first["distance"]}]}


def test_what_was_measured_needs_no_cycle() -> None:
    assert read_axis(record(SCREW, rms_force="200 N"), "axis.yaml").duty is not None


def test_moves_need_their_cycle() -> None:
    text = record(SCREW, moves=[{"distance": "300 mm"}])
    with pytest.raises(Unreadable, match=r"duty\.cycle: moves need the cycle"):
        read_axis(text, "axis.yaml")


@pytest.mark.parametrize(
    ("mechanics", "duty", "key", "reason"),
    [
        (SCREW, moves(distance="300 deg"), "0.distance", "is an angle; needed here: length"),
        (TABLE, moves(distance="300 mm"), "0.distance", "is a length; needed here: angle"),
        (SCREW, moves(distance="9 mm", speed="9 r/min"), "0.speed", "needed here: velocity"),
        (SCREW, moves(distance="9 mm", deceleration="9 deg/s^2"), "0.deceleration",
         "needed here: acceleration"),
        (TABLE, moves(distance="9 deg", load="9 kg"), "0.load", "its inertia is needed"),
        (TABLE, {"rms_force": "200 N"}, "duty.rms_force", "is a force; needed here: torque"),
        (LINEAR, {"rms_force": "2 N*m"}, "duty.rms_force", "is a torque; needed here: force"),
    ],
)  # fmt: skip
def test_a_quantity_that_the_axis_does_not_have_is_refused(
    mechanics: dict[str, Any], duty: dict[str, Any], key: str, reason: str
) -> None:
    with pytest.raises(Unreadable) as caught:
        read_axis(record(mechanics, **duty), "axis.yaml")
    key = f"duty.moves.{key}" if key[0] == "0" else key
    assert caught.value.message.startswith(f"{key}: ")
    assert reason in caught.value.message


def test_a_vault_that_has_such_a_duty_opens_without_it() -> None:
    """A duty without one of its moves would be another one."""
    text = record(SCREW, cycle="4 s", moves=[{"distance": "300 mm"}, {"distance": "300 deg"}])
    kept = kept_axis(text, "axis.yaml")
    assert kept.duty is None
    assert [line.text for line in kept.unknown] == ["duty"]


def test_a_record_that_does_not_say_how_its_axis_lies_opens_as_before() -> None:
    kept = kept_axis(b"schema: axisvault/axis/1\nmechanics: {kind: belt}\n", "axis.yaml")
    assert kept.mechanics is not None
    assert (kept.mechanics.orientation, kept.unknown) == (None, ())
