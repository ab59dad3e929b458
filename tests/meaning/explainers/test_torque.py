"""Torque limits against worked forces; all axes and values are invented."""

from __future__ import annotations

from math import pi

import pytest
from scipy import constants

from tests.meaning.explainers.sides_of_travel import (
    LIFT,
    SCREW,
    SLIDE,
    TABLE,
    TURNS,
    Entry,
    told,
)

PERMILLE = "permille_rated_torque"
SET: dict[str, Entry] = {
    **SCREW,
    "motor_rated_torque": (3200, "mN*m"),
    "motor_rated_current": (3100, "mA"),
    "profile_acceleration": (2000, "mm/s^2"),
}
# Weight of 60 kg on a screw of 20 mm behind 2:1: m g L / (2 pi G).
HOLDING = 60 * constants.g * 0.020 / (2 * pi * 2)
STRONG = LIFT.replace("max_speed: 4500 r/min}", "max_speed: 4500 r/min, max_torque: 9.6 N*m}")


def limit(before: int, after: int, axis: str = LIFT, role: str = "max_torque", **more: Entry):  # type: ignore[no-untyped-def]
    return told(role, (before, PERMILLE), (after, PERMILLE), {**SET, **more}, axis)


def test_a_limit_is_told_as_torque_and_thrust() -> None:
    # 1500 permille of 3.2 N m: 4.8 N m; F = 2 pi eta G T / L = 2 pi 0.9 2 4.8 / 0.020.
    said = limit(1000, 1500, SLIDE)
    assert said.figure("limit", 4.8)
    assert said.figures["thrust"] == pytest.approx(2 * pi * 0.9 * 2 * 4.8 / 0.020)
    assert "4.8 N*m at the motor" in said.effect


def test_only_a_raised_limit_that_protects_is_a_hazard() -> None:
    assert limit(1000, 1500, SLIDE).consequence == "dynamics"
    protecting = f"{SLIDE}\nforce_protects: true\n"
    raised = limit(1000, 1500, protecting)
    assert raised.consequence == "hazard"
    assert "push harder against whatever, or whoever" in raised.effect
    assert limit(1500, 1000, protecting).consequence == "dynamics"
    lowered = limit(1500, 1000, SLIDE)
    assert lowered.consequence == "dynamics"
    assert "Less is left" in lowered.effect


@pytest.mark.parametrize(("permille", "held"), [(293, False), (294, True)])
def test_a_hanging_load_is_held_or_sinks(permille: int, held: bool) -> None:
    # 0.9365 N m are needed: 292.7 permille of 3.2 N m with no losses to help.
    assert pytest.approx(0.9365, abs=1e-4) == HOLDING
    said = limit(1000, permille - 1 if not held else permille)
    assert said.figures["torque to hold the load"] == pytest.approx(HOLDING)
    assert ("will sink" in said.effect) is not held
    assert said.consequence == ("dynamics" if held else "hazard")


def test_lifting_takes_weight_ramp_and_rotor() -> None:
    axis = LIFT.replace("max_speed: 4500 r/min}", "max_speed: 4500 r/min, inertia: 1.6 kg*cm^2}")
    load = 60 * (constants.g + 2.0) * 0.020 / (2 * pi * 2 * 0.9)
    rotor = 1.6e-4 * 2.0 * 2 * pi * 2 / 0.020
    said = limit(1500, 1000, axis)
    assert said.figures["torque to lift on the ramp"] == pytest.approx(load + rotor)
    assert "cannot keep to its ramp" not in said.effect
    weak = limit(1500, 400, axis)
    assert "cannot keep to its ramp" in weak.effect
    assert weak.consequence == "dynamics"


def test_a_turning_axis_is_told_its_torque_at_the_output() -> None:
    common: dict[str, Entry] = {**TURNS, "motor_rated_torque": (2000, "mN*m")}
    said = told("max_torque", (1000, PERMILLE), (2000, PERMILLE), common, TABLE)
    assert said.figure("torque at the output", 4.0 * 40)
    assert "160 N*m at the output" in said.effect


def test_a_current_limit_counts_as_torque_in_proportion() -> None:
    # 2000 permille of 3.1 A make 6.4 N m where rated current makes 3.2 N m.
    common = {**SET}
    said = told(
        "max_current", (1000, "permille_rated_current"), (2000, "permille_rated_current"),
        common, SLIDE,
    )  # fmt: skip
    assert "6.4 N*m at the motor" in said.effect


def test_more_than_the_motor_bears_is_said() -> None:
    assert "bears 9.6 N*m at most" in limit(2000, 3100, STRONG).effect
    assert "bears" not in limit(2000, 3000, STRONG).effect


def test_more_current_than_the_drive_gives_is_said() -> None:
    common: dict[str, Entry] = {**SET, "drive_max_current": (6, "A")}
    said = told(
        "max_current", (1000, "permille_rated_current"), (2000, "permille_rated_current"),
        common, SLIDE,
    )  # fmt: skip
    assert "The drive gives 6 A at most." in said.effect


def test_a_limit_that_is_gone_is_a_hazard_where_it_protects() -> None:
    protecting = f"{SLIDE}\nforce_protects: true\n"
    gone = told("max_torque", (1000, PERMILLE), None, SET, protecting)
    assert gone.consequence == "hazard"
    assert told("max_torque", (1000, PERMILLE), None, SET).consequence == "dynamics"


def test_the_same_permille_of_another_rating_is_another_torque() -> None:
    said = told("motor_rated_torque", (2400, "mN*m"), (3200, "mN*m"), SCREW)
    assert "1.333 times the torque" in said.effect
    assert "nameplate says 3.2 N*m, as set" in said.effect
    wrong = told("motor_rated_torque", (3200, "mN*m"), (2400, "mN*m"), SCREW)
    assert "not what is set" in wrong.effect
    assert (
        "must be the one" in told("motor_rated_torque", (3, "N*m"), (4, "N*m"), None, TABLE).effect
    )


@pytest.mark.parametrize(
    ("role", "unit", "plate"),
    [("motor_rated_torque", "N*m", "rated_torque"), ("motor_rated_current", "A", "rated_current")],
)
@pytest.mark.parametrize(
    ("stated", "says"),
    [("1", "as set"), ("1.009", "as set"), ("0.9", "not what is set"), (None, "must be the one")],
)
def test_a_rating_is_held_against_the_plate_within_a_hundredth(
    role: str, unit: str, plate: str, stated: str | None, says: str
) -> None:
    rated = "" if stated is None else f"{plate}: {stated} {unit}"
    axis = f"schema: axisvault/axis/1\nmotor: {{{rated}}}\n"
    said = told(role, (2, unit), (1, unit), None, axis)
    assert says in said.effect
    assert "0.5 times the" in said.effect
    assert said.consequence == "electrical"


def test_a_rating_in_amperes_of_another_kind_is_not_held_against_the_plate() -> None:
    axis = "schema: axisvault/axis/1\nmotor: {rated_current: 5 A_rms}\n"
    said = told("motor_rated_current", (4, "A"), (5, "A"), None, axis)
    assert "if r.m.s." in said.effect
    assert "as set" not in said.effect
    assert said.consequence == "electrical"


def test_a_rating_that_was_nought_or_not_there_has_no_ratio() -> None:
    for before in ((0, "N*m"), None):
        said = told("motor_rated_torque", before, (5, "N*m"), None, TABLE)
        assert "times" not in said.effect


def test_other_limits_that_are_lower_decide() -> None:
    # 1000 permille of 3.2 N m.
    said = limit(1500, 2000, SLIDE, positive_torque_limit=(1000, PERMILLE),
                 negative_torque_limit=(1000, PERMILLE))  # fmt: skip
    assert "Other limits hold the motor to 3.2 N*m" in said.effect
    assert "Other limits" not in limit(1500, 2000, SLIDE).effect


def test_a_limit_that_protects_and_is_no_higher_pushes_no_harder() -> None:
    assert "push harder" not in limit(1500, 1500, f"{SLIDE}\nforce_protects: true\n").effect


def test_without_a_gear_the_torque_at_the_output_is_that_of_the_motor() -> None:
    for motor, told_apart in ((1, False), (2, True)):
        axis = TABLE.replace("motor: 40", f"motor: {motor}")
        common: dict[str, Entry] = {
            **TURNS, "motor_rated_torque": (2000, "mN*m"),
            "gear_ratio_motor_revolutions": (motor, "rev"),
        }  # fmt: skip
        said = told("max_torque", (1000, PERMILLE), (2000, PERMILLE), common, axis)
        assert ("at the output" in said.effect) is told_apart
        assert ("torque at the output" in said.figures) is told_apart
