"""Energies against worked numbers; all axes and values are invented."""

from __future__ import annotations

from math import pi, sqrt

import pytest
from scipy import constants

from tests.meaning.explainers.sides_of_travel import (
    LIFT,
    RAMPS,
    SLIDE,
    TABLE,
    TURNS,
    Entry,
    tell,
    told,
)

_SUPPLY = """
supply:
  phases: 3
  voltage: 400 V
  dc_link_capacitance: 470 uF
  dc_link_trip: 820 V
  resistor: 100 ohm
  resistor_power: 100 W
  resistor_energy: 1000 J
"""
HANGING, LYING = LIFT + _SUPPLY, SLIDE + _SUPPLY
ROTOR = LYING.replace("max_speed: 4500 r/min}", "max_speed: 4500 r/min, inertia: 1.6 kg*cm^2}")
NO, YES = (0, None, "No"), (1, None, "Yes")
USED = "braking_resistor_used"
LINK = 470e-6 * (820**2 - (sqrt(2) * 400) ** 2) / 2


def test_a_stop_gives_back_the_energy_of_mass_and_rotor() -> None:
    # 60 kg at 0.4 m/s, and a rotor of 1.6e-4 kg m^2 at 0.4 / 0.020 x 2 rev/s.
    said = told(USED, YES, NO, RAMPS, ROTOR)
    turning = 1.6e-4 * (2 * pi * 0.4 / 0.020 * 2) ** 2 / 2
    assert said.figures["energy of a stop"] == pytest.approx(60 * 0.4**2 / 2 + turning)
    assert said.figures["energy the DC link takes"] == pytest.approx(LINK)


def test_what_the_link_takes_needs_no_resistor() -> None:
    # 9.9 J against 82.8 J.
    said = told(USED, YES, NO, RAMPS, ROTOR)
    assert said.effect.endswith("The DC link takes that without the resistor.")
    assert said.consequence == "electrical"


def test_a_descent_gives_back_more_than_the_link_takes() -> None:
    # m g h = 60 g x 0.650 = 382 J, at m g v = 235 W: losses help and are not counted on.
    said = told(USED, YES, NO, RAMPS, HANGING)
    assert said.figures["energy of a descent"] == pytest.approx(60 * constants.g * 0.65)
    assert said.figures["power of a descent"] == pytest.approx(60 * constants.g * 0.4)
    assert "trips on over-voltage" in said.effect
    assert "until the brake closes the load falls" in said.effect
    assert said.consequence == "hazard"
    assert told(USED, NO, YES, RAMPS, HANGING).consequence == "electrical"


def test_a_table_gives_back_the_energy_of_what_it_turns() -> None:
    axis = TABLE.replace("motor: {", "motor: {inertia: 2 kg*cm^2, ").replace(
        "reference_move: 90 deg", "reference_move: 90 deg\n  load_inertia: 5 kg*m^2"
    )
    common: dict[str, Entry] = {**TURNS, "max_motor_speed": (1200, "r/min")}
    said = told(USED, YES, NO, common, axis)
    # 5 kg m^2 at pi rad/s, and 2e-4 kg m^2 at forty times that.
    assert said.figures["energy of a stop"] == pytest.approx(
        5 * pi**2 / 2 + 2e-4 * (40 * pi) ** 2 / 2
    )


def test_without_masses_only_the_trip_is_told() -> None:
    said = told(USED, YES, NO, axis=TABLE)
    assert said.effect == (
        "Without the resistor the drive trips on over-voltage and the axis coasts."
    )
    assert said.figures == {}


@pytest.mark.parametrize(
    ("ohms", "words"),
    [
        (100, "as set"),
        (150, "less than set: it may overheat unnoticed"),  # the drive reckons U^2 / 150
        (50, "more than set"),
    ],
)
def test_a_resistor_is_held_against_the_one_that_is_fitted(ohms: int, words: str) -> None:
    said = told("braking_resistor_resistance", (80, "ohm"), (ohms, "ohm"), RAMPS, HANGING)
    assert f"Fitted is 100 ohm, {words}" in said.effect
    assert said.figure("as fitted", 100)


def test_the_power_of_the_resistor_is_told_beside_that_of_a_descent() -> None:
    said = told("braking_resistor_power", (100, "W"), (300, "W"), RAMPS, HANGING)
    assert "Fitted is 100 W, less than set" in said.effect
    assert "gives back up to 235.4 W" in said.effect


def test_a_resistor_that_is_not_used_has_no_data_that_matter() -> None:
    common: dict[str, Entry] = {**RAMPS, USED: NO}
    assert "no effect" in told("braking_resistor_energy", (1, "J"), (2, "J"), common, LYING).effect


@pytest.mark.parametrize(
    ("volts", "words", "consequence"),
    [
        (770, "rests at 622.3 V.", "electrical"),  # 1.1 x sqrt(2) x 400 V
        (620, "and burn", "electrical"),
        (820, "before the resistor is switched on", "hazard"),  # at the trip itself
        (830, "before the resistor is switched on", "hazard"),
    ],
)
def test_the_resistor_is_switched_on_between_mains_and_trip(
    volts: int, words: str, consequence: str
) -> None:
    said = told("braking_resistor_threshold", (760, "V"), (volts, "V"), RAMPS, HANGING)
    assert words in said.effect
    assert said.consequence == consequence


@pytest.mark.parametrize(
    ("number", "label", "fed", "words"),
    [
        (1, "Single-phase", 3, "does not notice a phase that is missing"),
        (3, "Three-phase", 1, "trips on a missing phase"),
        (3, "Three-phase", 3, "as set"),
        (7, "Three-phase", 1, "trips on a missing phase"),  # the label decides, not the number
    ],
)
def test_the_phases_are_held_against_the_feed(
    number: int, label: str, fed: int, words: str
) -> None:
    axis = LYING.replace("phases: 3", f"phases: {fed}")
    said = told("supply_phases", (2, None, "DC supply"), (number, None, label), axis=axis)
    assert words in said.effect
    assert said.consequence == "electrical"


def test_phases_without_a_record_tell_both_ways() -> None:
    said = told("supply_phases", (3, None, "Three-phase"), (1, None, "Single-phase"), axis=SLIDE)
    assert "On a three-phase feed" in said.effect
    assert tell("supply_phases", 1, 2, axis=SLIDE) is None
