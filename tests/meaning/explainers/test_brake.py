"""Brake times against worked drops; all axes and values are invented."""

from __future__ import annotations

from decimal import Decimal
from math import pi, sin

import pytest
from scipy import constants

from tests.meaning.explainers.sides_of_travel import (
    LIFT,
    LIFT_LESS_BRAKE,
    SCREW,
    SLIDE,
    tell,
    told,
)

TIMED = LIFT.replace(
    "brake: {fitted: true}", "brake: {fitted: true, apply_time: 60 ms, release_time: 90 ms}"
)
LYING = TIMED.replace("orientation: vertical", "orientation: horizontal")
SLOPE = TIMED.replace("orientation: vertical", "orientation: inclined\n  inclination: 30 deg")
BALANCED = TIMED.replace("moving_mass:", 'counterbalance: "0.75"\n  moving_mass:')
NO, YES = (0, None, "No"), (1, None, "Yes")
APPLY, RELEASE = "brake_apply_delay", "brake_release_delay"


def test_what_hangs_drops_while_nothing_holds_it() -> None:
    # g t^2 / 2 with t = 60 ms: 17.65 mm.
    said = told(APPLY, (60, "ms"), (0, "ms"), axis=TIMED)
    assert said.consequence == "hazard"
    assert said.figures["drop while nothing holds"] == pytest.approx(constants.g * 0.06**2 / 2)
    assert "for 60 ms nothing holds the load, which drops 17.65 mm" in said.effect


@pytest.mark.parametrize(
    ("axis", "pull"),
    [(SLOPE, constants.g * sin(pi / 6)), (BALANCED, constants.g * 0.25)],
)
def test_a_slope_or_a_counterbalance_leaves_less_to_fall(axis: str, pull: float) -> None:
    said = told(APPLY, (60, "ms"), (20, "ms"), axis=axis)
    assert said.figures["drop while nothing holds"] == pytest.approx(pull * 0.04**2 / 2)


def test_a_drive_that_waits_long_enough_drops_nothing() -> None:
    said = told(APPLY, (20, "ms"), (60, "ms"), axis=TIMED)
    assert (said.consequence, said.figures) == ("electrical", {})
    assert "waits long enough" in said.effect


def test_nothing_falls_on_a_lying_axis() -> None:
    said = told(APPLY, (60, "ms"), (0, "ms"), axis=LYING)
    assert said.consequence == "electrical"
    assert "drops" not in said.effect


def test_a_brake_that_is_still_closed_is_driven_against() -> None:
    said = told(RELEASE, (90, "ms"), (40, "ms"), axis=TIMED)
    assert "against a brake that is still closed" in said.effect
    assert said.consequence == "dynamics"
    assert "long enough" in told(RELEASE, (40, "ms"), (90, "ms"), axis=TIMED).effect


def test_without_the_brakes_time_the_shortening_counts() -> None:
    said = told(APPLY, (80, "ms"), (20, "ms"), axis=LIFT)
    assert said.consequence == "hazard"
    assert said.figures["drop while nothing holds"] == pytest.approx(constants.g * 0.06**2 / 2)
    assert told(APPLY, (20, "ms"), (80, "ms"), axis=LIFT).consequence == "electrical"
    assert told(APPLY, (80, "ms"), (20, "ms"), axis=SLIDE).consequence != "hazard"
    assert tell(APPLY, (80, "ms"), None, axis=LIFT) is None


@pytest.mark.parametrize(
    ("axis", "after", "consequence"),
    [
        (LIFT, NO, "hazard"),
        (LIFT, YES, "electrical"),
        (SLIDE, NO, "electrical"),
        (LIFT_LESS_BRAKE, NO, "electrical"),
        (LIFT_LESS_BRAKE, YES, "hazard"),
    ],
)
def test_an_ignored_brake_is_a_hazard_where_something_hangs_on_it(
    axis: str, after: tuple[int, None, str], consequence: str
) -> None:
    before = YES if after == NO else NO
    assert told("brake_used", before, after, axis=axis).consequence == consequence


def test_a_maker_may_number_yes_and_no_as_he_likes() -> None:
    assert told("brake_used", (1, None, "Yes"), (2, None, "No")).consequence == "hazard"


def test_a_brake_is_held_against_the_load() -> None:
    # 60 g L / (2 pi G) = 0.9365 N m at the motor.
    weak = told("brake_torque", (4, "N*m"), (Decimal("0.9"), "N*m"), SCREW)
    assert weak.consequence == "hazard"
    assert "does not hold it" in weak.effect
    strong = told("brake_torque", (4, "N*m"), (3, "N*m"), SCREW)
    assert "holds 3.2 times that" in strong.effect
    assert tell("brake_torque", (4, "N*m"), (3, "N*m"), SCREW, SLIDE) is None


def test_a_holding_brake_that_closes_on_a_turning_motor_wears() -> None:
    said = told("brake_apply_speed", (10, "r/min"), (200, "r/min"))
    assert "up to 200 r/min" in said.effect
    assert "stands" in told("brake_apply_speed", (10, "r/min"), (0, "r/min")).effect
