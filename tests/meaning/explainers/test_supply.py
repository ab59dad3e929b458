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
from vault.model import choices

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


@pytest.mark.parametrize(
    ("number", "fed", "says"),
    [
        (1, 3, "does not notice a phase that is missing"),
        (3, 1, "trips on a missing phase"),
        (1, 1, "feeds one phase, as set"),
        (3, 3, "feeds three phases, as set"),
        (1, None, "does not notice a missing phase so"),
        (3, None, "On a single-phase feed"),
        (2, 1, "one phase, not direct voltage"),
        (2, 3, "three phases, not direct voltage"),
    ],
)
def test_the_phases_that_are_set_are_held_against_the_feed(
    number: int, fed: int | None, says: str
) -> None:
    axis = LIFT if fed is None else LIFT + f"\nsupply: {{phases: {fed}}}\n"
    entries = [(n, None, choices.label("supply_phases", n)) for n in (number, 7)]
    said = told("supply_phases", None, entries[0], None, axis)
    assert says in said.effect
    assert said.consequence == "electrical"
    assert tell("supply_phases", *entries, None, axis) is None


@pytest.mark.parametrize(
    ("volts", "says"),
    [(400, "as set"), (396, "as set"), (404, "as set"), (395, "by another voltage"),
     (480, "by another voltage")],
)  # fmt: skip
def test_the_mains_that_are_set_are_held_against_the_feed_within_a_hundredth(
    volts: int, says: str
) -> None:
    said = told("supply_voltage", (230, "V"), (volts, "V"), None, HANGING)
    assert f"feeds 400 V{', as set' if says == 'as set' else ': the drive watches'}" in said.effect
    assert says in said.effect
    assert said.consequence == "electrical"


@pytest.mark.parametrize(
    ("role", "unit", "right", "less", "more"),
    [
        ("braking_resistor_resistance", "ohm", 100, 102, 98),
        ("braking_resistor_power", "W", 101, 102, 98),
        ("braking_resistor_energy", "J", 1010, 1020, 980),
    ],
)
def test_what_is_set_of_a_resistor_is_told_beside_its_own_data(
    role: str, unit: str, right: int, less: int, more: int
) -> None:
    for number, says in ((right, "as set"), (less, "less than set"), (more, "more than set")):
        said = told(role, (1, unit), (number, unit), None, LYING)
        assert says in said.effect
        assert said.figures["as fitted"] in (100, 1000)
        assert said.consequence == "electrical"
    unknown = told(role, (1, unit), (right, unit), None, SLIDE)
    assert "may overheat unnoticed" in unknown.effect
    assert unknown.figures == {}
    unused = told(role, (1, unit), (right, unit), {USED: NO}, LYING)
    assert "it has no effect" in unused.effect


def test_an_undervoltage_trip_is_held_against_low_mains() -> None:
    # sqrt(2) x 400 V, less a tenth: 509.1 V (IEC 60038 allows 10 % less, from memory).
    role = "undervoltage_threshold"
    rest = told(role, (1, "V"), (300, "V"), None, LYING).figures["lowest voltage at rest"]
    assert rest == pytest.approx(0.9 * sqrt(2) * 400, rel=0.01)
    assert "trips while" not in told(role, (1, "V"), (int(rest), "V"), None, LYING).effect
    assert "trips while" in told(role, (1, "V"), (int(rest) + 1, "V"), None, LYING).effect
    assert tell(role, (1, "V"), (0, "V"), None, LYING) is None
    assert tell(role, (1, "V"), (300, "V"), None, SLIDE) is None


def test_a_resistor_that_is_switched_on_at_the_trip_never_helps() -> None:
    role = "braking_resistor_threshold"
    for volts, hanging, lying in ((820, "hazard", "electrical"), (819, "electrical", "electrical")):
        assert told(role, (700, "V"), (volts, "V"), None, HANGING).consequence == hanging
        assert told(role, (700, "V"), (volts, "V"), None, LYING).consequence == lying
    assert "trips at 820 V" in told(role, (700, "V"), (820, "V"), None, LYING).effect
    high = told(role, (700, "V"), (800, "V"), None, LYING).figures["DC link at high mains"]
    assert high == pytest.approx(1.1 * sqrt(2) * 400, rel=0.01)
    assert "and burn" in told(role, (700, "V"), (int(high), "V"), None, LYING).effect
    assert "and burn" not in told(role, (700, "V"), (int(high) + 1, "V"), None, LYING).effect
    assert tell(role, (700, "V"), (800, "V"), None, SLIDE) is None


def test_a_trip_of_the_dc_link_is_told_with_what_a_stop_gives_back() -> None:
    # 60 kg from 0.4 m/s: 4.8 J.
    role = "dc_link_overvoltage_threshold"
    said = told(role, (800, "V"), (810, "V"), RAMPS, ROTOR)
    assert said.figures["energy of a stop"] > 4.8
    assert said.consequence == "electrical"
    assert "resistor" not in said.effect
    assert tell(role, (800, "V"), (810, "V"), axis=None) is None


def test_mains_that_nobody_recorded_are_told_by_the_dc_link_at_rest() -> None:
    said = told("supply_voltage", (230, "V"), (400, "V"), None, SLIDE)
    assert said.figures["highest voltage at rest"] == pytest.approx(1.1 * sqrt(2) * 400, rel=0.01)
    assert said.figures["lowest voltage at rest"] == pytest.approx(0.9 * sqrt(2) * 400, rel=0.01)
    assert tell("supply_voltage", (230, "V"), (400, "mm"), None, SLIDE) is None


def test_a_descent_alone_is_a_whole_sentence() -> None:
    # 60 kg x 9.80665 x 0.65 m = 382.5 J.
    said = told("dc_link_overvoltage_threshold", (800, "V"), (810, "V"), None, LIFT)
    assert said.effect.startswith("Lowering the load over the stroke gives back 382.5 J")
    assert said.figures["energy of a descent"] == pytest.approx(60 * constants.g * 0.65)
