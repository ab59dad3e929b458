"""One parameter for a reader: units against pint, sizes against bare fractions. Values invented.

pint is the registry of units; a revolution, a permille of a rating and user units are computed here
apart from the code under test.
"""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal
from fractions import Fraction
from math import isclose, pi

import pint
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.meaning.drives import (
    BARE,
    Drive,
    Machine,
    Number,
    drives,
    machines,
    measured,
    unit_sizes,
    view,
)
from tests.sweeps import part_of
from vault.behaviour.scaling import SCALING_ROLES
from vault.meaning.reader import SYSTEMS, reading_in
from vault.meaning.readings import Reading, Readings

PINT = pint.UnitRegistry()
WINDOW, SPEED, RAMP, TORQUE = "0x6065:00", "0x6081:00", "0x6083:00", "0x6072:00"
BACKLASH, JOG, HEAT, COUNTS = "0x2000:01", "0x2000:02", "0x2000:03", "0x2000:04"


def read(drive: Drive, machine: Machine = BARE) -> dict[str, Reading]:
    seen = view(drive, machine)
    readings = Readings(seen)
    return {parameter.code: readings.of(parameter) for parameter in drive.parameters()}


def one(code: str, raw: int, machine: Machine = BARE, units: str = "drive", **how: int) -> Reading:
    with reading_in(units):
        return read(Drive({code: Number(raw)}, **how), machine)[code]


def number_in(text: str) -> tuple[float, str]:
    number, _, unit = text.partition(" ")
    return float(number.replace(",", "")), unit


# What a reader asked for, by pint: the size in m, m/s, … and the unit it is to be told in.
WANTED: dict[str, dict[str, str]] = {
    WINDOW: {"drive": "mm", "si": "m", "inch": "in"},
    SPEED: {"drive": "mm/s", "si": "m/s", "inch": "in/s"},
    RAMP: {"drive": "mm/s^2", "si": "m/s^2", "inch": "in/s^2"},
}
IN_SI = {WINDOW: "m", SPEED: "m/s", RAMP: "m/s^2"}


@pytest.mark.parametrize("units", SYSTEMS)
@pytest.mark.parametrize("code", WANTED)
def test_user_units_are_told_as_pint_converts_them(code: str, units: str) -> None:
    """Units of position, velocity, acceleration are mm, mm/s, mm/s^2 on a true machine."""
    number, unit = number_in(one(code, 4321, Machine(), units).text)
    assert unit == WANTED[code][units]
    expected = PINT.Quantity(4.321, IN_SI[code]).to(unit).magnitude
    assert isclose(number, expected, rel_tol=1e-4)  # five digits are told


@pytest.mark.parametrize(
    ("code", "raw", "units", "own", "text"),
    [
        (BACKLASH, 254, "drive", "254 mm", "254 mm"),
        (BACKLASH, 254, "inch", "254 mm", "10 in"),  # an inch is 25.4 mm, exactly
        (BACKLASH, 254, "si", "254 mm", "0.254 m"),
        (JOG, 1500, "drive", "1,500 r/min", "1,500 r/min"),
        (JOG, 1500, "inch", "1,500 r/min", "1,500 r/min"),  # what turns has no inches
        (JOG, 1500, "si", "1,500 r/min", "157.08 rad/s"),  # 1500 x 2 pi / 60
        (HEAT, 85, "si", "85 °C", "85 °C"),  # nobody wants kelvin
        (HEAT, 85, "inch", "85 °C", "85 °C"),
    ],
)
def test_a_unit_of_the_drives_own_is_told_in_the_readers(
    code: str, raw: int, units: str, own: str, text: str
) -> None:
    reading = one(code, raw, units=units)
    assert (reading.own, reading.text) == (own, text)
    assert reading.meaning == ("" if own == text else text)


@given(
    st.integers(1, 5000),
    st.sampled_from(SYSTEMS),
    st.sampled_from([(BACKLASH, "mm"), (JOG, "revolution/minute")]),
)
def test_sizes_in_si_are_those_of_pint(raw: int, units: str, which: tuple[str, str]) -> None:
    code, unit = which
    size = one(code, raw, units=units).physical
    assert size is not None
    expected = PINT.Quantity(raw, unit).to_base_units().magnitude
    assert isclose(float(size.number()), expected, rel_tol=1e-12)


@pytest.mark.parametrize(("rating", "text"), [(2400, "3.6 N*m"), (1270, "1.905 N*m")])
def test_permille_of_a_rating_is_what_it_is_on_this_motor(rating: int, text: str) -> None:
    """1500 permille of 2.4 N*m, and of 1.27 N*m."""
    reading = one(TORQUE, 1500, torque=rating)
    assert (reading.own, reading.text) == ("1,500 permille of rated torque", text)
    assert reading.told == reading.meaning == text


def test_permille_of_rated_current_is_told_in_ampere() -> None:
    assert one("0x6073:00", 2000, current=2600).text == "5.2 A"


def test_an_increment_without_a_place_on_the_load_is_told_as_the_drive_has_it() -> None:
    reading = one(COUNTS, 2**20, counts=2**20)
    assert reading.text == reading.own == "1,048,576 increments"


# What the set believes, and what is so.

# 2^20 counted of 2^24 increments of a turn: a sixteenth.
WRONG_ENCODER = Machine(bits=24)


@pytest.mark.parametrize("code", [WINDOW, SPEED, RAMP])
def test_both_sizes_are_told_where_the_set_is_wrong_about_the_encoder(code: str) -> None:
    reading = one(code, 4000, WRONG_ENCODER)
    assert reading.stated is not None
    assert reading.physical is not None
    assert reading.physical.number() == reading.stated.number() / 16
    unit = WANTED[code]["drive"]
    assert reading.told == f"4,000 {unit}, really 250 {unit}"
    assert reading.meaning == reading.told


def test_what_is_really_so_is_told_in_the_readers_unit() -> None:
    reading = one(WINDOW, 4064, WRONG_ENCODER, "inch")
    assert reading.told == "160 in, really 10 in"


def test_what_does_not_depend_on_the_encoder_is_not_called_wrong() -> None:
    there = read(Drive({HEAT: Number(85), TORQUE: Number(1500)}), WRONG_ENCODER)
    assert there[HEAT].really is None
    assert there[TORQUE].really is None


def test_a_length_in_mm_comes_from_the_encoder_too() -> None:
    assert one(BACKLASH, 2, WRONG_ENCODER).told == "2 mm, really 0.125 mm"


def test_nought_is_nought_however_wrong_the_set_is() -> None:
    reading = one(WINDOW, 0, WRONG_ENCODER)
    assert (reading.really, reading.told) == (None, "0 mm")


def test_a_millionth_is_no_error() -> None:
    """The lead is an axis's own; a gear ratio rounded to seven digits is not worth a word."""
    near = Drive({WINDOW: Number(4000)}, gear=Fraction(40_000_001, 10_000_000))
    far = Drive({WINDOW: Number(4000)}, gear=Fraction(4_000_008, 1_000_000))
    assert read(near, Machine())[WINDOW].really is None
    assert read(far, Machine())[WINDOW].really is not None


@settings(max_examples=part_of(60, 2))
@given(drives(), machines.filter(lambda machine: machine.recorded))
def test_really_is_told_exactly_where_the_size_differs(drive: Drive, machine: Machine) -> None:
    there = read(drive, machine)
    for code in {WINDOW, "0x607D:02"} & drive.values.keys():
        size = measured(drive, machine, code)
        assert size is not None
        reading = there[code]
        assert reading.physical is not None
        assert reading.physical.number() == size[0]
        unit = unit_sizes(drive, machine)["user_position"]
        assert unit is not None
        stated = reading.stated
        if stated is None or stated.kind != reading.physical.kind or not size[0]:
            assert reading.really is None
            continue
        error = Fraction(reading.physical.number()) / Fraction(stated.number()) - 1
        assert (reading.really is not None) == (abs(error) > Fraction(1, 10**6))


# Rows that scale the others.


def test_what_scales_the_others_is_no_angle_and_never_wrong() -> None:
    drive = Drive({}, gear=Fraction(4), counts=2**20)
    readings = [
        reading
        for reading in read(drive, WRONG_ENCODER).values()
        if reading.parameter.role in SCALING_ROLES
    ]
    texts = {reading.parameter.role: reading.text for reading in readings}
    assert texts["position_encoder_increments"] == "1,048,576 increments"
    assert texts["position_encoder_motor_revolutions"] == "1 rev"
    assert texts["gear_ratio_motor_revolutions"] == "4 rev"
    assert all(reading.really is None for reading in readings)
    assert all(r.physical is None or r.physical.kind != "angle" for r in readings)


def test_a_feed_in_user_units_is_what_it_is_said_to_be() -> None:
    feed = read(Drive({}, feed=Fraction(16)), WRONG_ENCODER)["0x6092:01"]
    assert (feed.own, feed.text) == ("16 user units", "16 mm")


@pytest.mark.parametrize(
    ("code", "text"),
    [
        # SI prefix -6 or -3, metre; a revolution: CiA 303-2, from memory.
        (0xFA010000, "0xFA010000 (µm)"),
        (0xFD010000, "0xFD010000 (mm)"),
        (0x00B40000, "0x00B40000 (rev)"),
        (0x00FE0000, "0x00FE0000"),  # no unit of that table
    ],
)
def test_a_unit_code_is_told_as_drives_show_it_and_as_the_unit(code: int, text: str) -> None:
    drive = Drive({}, position=code)
    reading = read(drive)["0x60A8:00"]
    assert (reading.own, reading.text, reading.meaning) == (text, text, "")


def test_texts_and_choices_are_never_sizes() -> None:
    there = read(Drive({}, name="5", method=17), Machine())
    assert (there["0x1008:00"].own, there["0x1008:00"].physical) == ('"5"', None)
    assert (there["0x6098:00"].text, there["0x6098:00"].physical) == ("Switch (17)", None)


@given(drives(), machines, st.sampled_from(SYSTEMS))
def test_own_text_and_sizes_do_not_depend_on_the_reader(
    drive: Drive, machine: Machine, units: str
) -> None:
    def facts() -> list[object]:
        return [(r.own, r.physical, r.stated) for r in read(drive, machine).values()]

    plain = facts()
    with reading_in(units):
        assert facts() == plain


def test_a_turn_in_degrees_radians_and_turns() -> None:
    """A position counted in turns of an unknown machine: a quarter, as 250 thousandths."""
    drive = Drive({WINDOW: Number(250, Decimal("0.001"))}, position=0x00B40000, feed=Fraction(1))
    told: dict[str, Callable[[float], bool]] = {
        "drive": lambda n: n == 90,
        "si": lambda n: isclose(n, pi / 2, rel_tol=1e-4),
        "inch": lambda n: n == 90,
    }
    for units, is_right in told.items():
        with reading_in(units):
            number, unit = number_in(read(drive)[WINDOW].text)
        assert unit == ("rad" if units == "si" else "deg")
        assert is_right(number)
