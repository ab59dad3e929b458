"""Scale and units of a set against the machine. Unit codes by CiA 303-2, from memory."""

from __future__ import annotations

from fractions import Fraction

import pytest

from tests.meaning.checks.sets import (
    CARRIAGE,
    LIFT,
    MICROMETRE,
    SCREW,
    complaints,
    the_complaint,
    view_of,
    with_mechanics,
)

TABLE = {"mechanics": {"kind": "rotary_table", "gearbox": {"motor": 7, "output": 3}}}
MM, DEG, REV = 0xFD010000, 0x00410000, 0x00B40000
MM_S, DEG_S, R_MIN, MM_S2 = 0xFD010300, 0x00410300, 0x00B44700, 0xFD015700


def test_a_set_that_agrees_with_the_machine_moves_what_is_commanded() -> None:
    # 16,000 um of feed on a screw of 16 mm behind 4:1.
    assert not complaints("travel_scale", view_of(CARRIAGE, SCREW))


def test_another_gear_than_fitted_is_told_with_the_way_really_made() -> None:
    # 5:1 set, 4:1 fitted: 150 x 5 / 4 = 187.5 mm.
    found = the_complaint(
        "travel_scale", view_of({**CARRIAGE, "gear_ratio_motor_revolutions": 5}, SCREW)
    )
    assert "150 mm moves 187.5 mm" in found.sentence
    assert found.findings[0].value == "1.25"
    assert found.consequence == "travel"


@pytest.mark.parametrize(("lead", "count"), [("16.00001 mm", 0), ("16.0001 mm", 1)])
def test_a_lead_that_is_written_rounded_is_no_error(lead: str, count: int) -> None:
    # 0.00001 / 16 = 0.6e-6, less than a micrometre in a metre; 6e-6 is more.
    found = complaints("travel_scale", view_of(CARRIAGE, with_mechanics(SCREW, lead=lead)))
    assert len(found) == count


@pytest.mark.parametrize(("gear", "count"), [((7, 3), 0), ((2333333, 1000000), 1)])
def test_an_endless_table_takes_no_rounded_gear(gear: tuple[int, int], count: int) -> None:
    # 2.333333 for 7/3 loses 1.4e-7 of every turn, for ever.
    motor, output = gear
    settings = {
        **CARRIAGE,
        "si_unit_position": DEG,
        "gear_ratio_motor_revolutions": motor,
        "gear_ratio_shaft_revolutions": output,
        "feed_constant_feed": 360,
    }
    found = complaints("travel_scale", view_of(settings, TABLE))
    assert len(found) == count
    assert all("adds up turn by turn" in one.sentence for one in found)


def test_without_the_mechanics_nothing_is_said_about_the_scale() -> None:
    wrong = view_of({**CARRIAGE, "gear_ratio_motor_revolutions": 5}, {})
    assert not complaints("travel_scale", wrong)


@pytest.mark.parametrize(
    "role", ["gear_ratio_motor_revolutions", "feed_constant_feed", "position_encoder_increments"]
)
def test_a_factor_of_zero_is_told(role: str) -> None:
    assert not complaints("zero_factor", view_of(CARRIAGE))
    assert "is 0" in the_complaint("zero_factor", view_of({**CARRIAGE, role: 0})).sentence


def test_a_unit_of_position_that_is_no_way_is_told() -> None:
    assert not complaints("unit_of_position", view_of({"si_unit_position": MM}, SCREW))
    found = the_complaint("unit_of_position", view_of({"si_unit_position": MM_S}, SCREW))
    assert "neither a length nor an angle" in found.sentence


def test_an_angle_beside_a_feed_in_millimetres_is_told() -> None:
    settings = {"feed_constant_feed": "16 mm"}
    assert not complaints("unit_of_position", view_of({**settings, "si_unit_position": MM}))
    assert complaints("unit_of_position", view_of({**settings, "si_unit_position": DEG}))


def test_micrometres_beside_a_feed_in_millimetres_are_told() -> None:
    found = the_complaint(
        "unit_of_position", view_of({"feed_constant_feed": "16 mm", **MICROMETRE})
    )
    assert "µm" in found.sentence and "16 mm" in found.sentence


def test_a_length_on_an_axis_that_turns_is_told() -> None:
    assert not complaints("unit_of_position", view_of({"si_unit_position": DEG}, TABLE))
    found = the_complaint("unit_of_position", view_of({"si_unit_position": MM}, TABLE))
    assert "the axis turns" in found.sentence


@pytest.mark.parametrize(("feed", "count"), [(1, 0), (16, 1)])
def test_revolutions_of_the_shaft_are_a_unit_for_a_screw_if_one_turn_is_one(
    feed: int, count: int
) -> None:
    settings = {"si_unit_position": REV, "feed_constant_feed": feed}
    assert len(complaints("unit_of_position", view_of(settings, SCREW))) == count


@pytest.mark.parametrize("unit", [MM_S, R_MIN])
def test_a_speed_in_a_length_or_in_revolutions_of_the_motor_fits_millimetres(unit: int) -> None:
    settings = {"si_unit_position": MM, "si_unit_velocity": unit}
    assert not complaints("unit_of_rates", view_of(settings))


def test_degrees_a_second_do_not_fit_millimetres() -> None:
    settings = {"si_unit_position": MM, "si_unit_velocity": DEG_S}
    assert "deg/s" in the_complaint("unit_of_rates", view_of(settings)).sentence
    factor = {"velocity_factor_numerator": 4}
    assert not complaints("unit_of_rates", view_of({**settings, **factor}))


def test_a_unit_of_velocity_that_is_an_acceleration_is_told() -> None:
    assert not complaints("unit_of_rates", view_of(MICROMETRE))
    found = the_complaint("unit_of_rates", view_of({**MICROMETRE, "si_unit_velocity": MM_S2}))
    assert "no velocity" in found.sentence


def test_the_way_made_follows_from_increments_by_hand() -> None:
    # 150 mm of 16 mm feed behind 4:1 are 150/16 x 4 turns; a screw of 20 mm makes 187.5 mm of them.
    way = Fraction(150, 16) * 4 / 4 * 20
    record = with_mechanics(SCREW, lead="20 mm")
    found = the_complaint("travel_scale", view_of(CARRIAGE, record))
    assert f"moves {float(way):g} mm" in found.sentence


def test_a_lift_with_a_wrong_scale_is_a_hazard() -> None:
    # Feed of 16 mm on the lift's lead of 20 mm, gear of 4 on 2.
    assert the_complaint("travel_scale", view_of(CARRIAGE, LIFT)).consequence == "hazard"
