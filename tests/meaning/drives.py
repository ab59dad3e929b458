"""Parameter sets and machines to compare, drawn or made by hand, all invented.

What a unit is worth is computed here apart from `vault.behaviour.scaling`, in bare fractions, by
the factor group of CiA 402-2 / IEC 61800-7-201 and the unit codes of CiA 303-2 (both from memory).
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from decimal import Decimal
from fractions import Fraction
from functools import lru_cache

from hypothesis import strategies as st

from tests.meaning.test_compare import by_deepdiff
from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Change, Comparison
from vault.meaning.compare import compare
from vault.model.normalise import Definition
from vault.model.parameters import Parameter, ParameterSet
from vault.store.files.edited_files import cached_axis
from vault.store.files.parameters_text import parameters_text

# Unit codes of CiA 303-2: m, or turns, in the unit.
MM, UM, REV, MILLIREV, DEG = 0xFD010000, 0xFA010000, 0x00B40000, 0xFDB40000, 0x00410000
MM_S, UM_S, MM_MIN, REV_S, R_MIN = 0xFD010300, 0xFA010300, 0xFD014700, 0x00B40300, 0x00B44700
MM_S2, UM_S2, REV_S2 = 0xFD015700, 0xFA015700, 0x00B45700
LENGTHS = {
    MM: Fraction(1, 10**3), UM: Fraction(1, 10**6), MM_S: Fraction(1, 10**3),
    UM_S: Fraction(1, 10**6), MM_MIN: Fraction(1, 60 * 10**3), MM_S2: Fraction(1, 10**3),
    UM_S2: Fraction(1, 10**6),
}  # fmt: skip
TURNS = {
    REV: Fraction(1), MILLIREV: Fraction(1, 1000), DEG: Fraction(1, 360), REV_S: Fraction(1),
    R_MIN: Fraction(1, 60), REV_S2: Fraction(1),
}  # fmt: skip
POSITIONS, VELOCITIES = (MM, UM, REV, MILLIREV, DEG), (MM_S, UM_S, MM_MIN, REV_S, R_MIN)
ACCELERATIONS = (MM_S2, UM_S2, REV_S2)
REAL_STEP = Fraction(1, 2**23)  # IEEE 754: 23 bits of fraction

# code, role, unit, highest raw content; scales are drawn
LIVE = ("0x6064:00", "0x6063:00", "0x6077:00")
NUMBERS: tuple[tuple[str, str | None, str | None, int], ...] = (
    ("0x6063:00", "position_actual_internal_value", "increments", 10**9),
    ("0x6064:00", "position_actual_value", "user_position", 10**7),
    ("0x6065:00", "following_error_window", "user_position", 10**4),
    ("0x6066:00", "following_error_time_out", "ms", 1000),
    ("0x607C:00", "home_offset", "user_position", 10**5),
    ("0x607D:01", "min_software_position_limit", "user_position", 50),
    ("0x607D:02", "max_software_position_limit", "user_position", 10**7),
    ("0x607F:00", "max_profile_velocity", "user_velocity", 10**6),
    ("0x6081:00", "profile_velocity", "user_velocity", 10**6),
    ("0x6083:00", "profile_acceleration", "user_acceleration", 10**6),
    ("0x6072:00", "max_torque", "permille_rated_torque", 3000),
    ("0x60E0:00", "positive_torque_limit", "permille_rated_torque", 3000),
    ("0x6077:00", "torque_actual_value", "permille_rated_torque", 3000),
    ("0x6073:00", "max_current", "permille_rated_current", 3000),
    ("0x2000:01", "backlash_compensation", "mm", 5000),
    ("0x2000:02", "jog_velocity", "r/min", 3000),
    ("0x2000:03", "heatsink_temperature_limit", "degC", 1200),
    ("0x2000:04", None, "increments", 10**6),
    ("0x2000:05", None, None, 100),
)
TEXTS, METHODS = ("", "lift", "Lift 2", "5"), {1: "Index pulse", 17: "Switch", 35: "Here"}
UNITS = {code: unit for code, _, unit, _ in NUMBERS}
SCALES = (Decimal(1), Decimal("0.1"), Decimal("0.001"))


@dataclass(frozen=True)
class Number:
    """Raw content and what one raw step is worth; a real number has no steps of its own."""

    raw: int | Decimal
    scale: Decimal = Decimal(1)

    @property
    def value(self) -> int | Decimal:
        return self.raw if self.scale == 1 else self.raw * self.scale

    @property
    def step(self) -> Fraction:
        if isinstance(self.raw, Decimal):
            return abs(Fraction(self.raw)) * REAL_STEP
        return Fraction(self.scale)


@dataclass(frozen=True)
class Drive:
    """A parameter set: counts per motor turn, gear, feed, unit codes, ratings, values by code."""

    values: dict[str, Number]
    counts: int | None = 2**20
    gear: Fraction = Fraction(4)
    feed: Fraction = Fraction(16)
    position: int | None = MM
    velocity: int | None = None
    acceleration: int | None = None
    torque: int = 2400
    current: int = 4000
    name: str = "lift"
    method: int = 1

    def parameters(self) -> list[Parameter]:
        def whole(code: str, role: str, value: int | None, unit: str | None = None) -> None:
            if value is not None:
                found.append(Parameter(code, role, value, value, role, unit))

        found = [
            Parameter("0x1008:00", "Name", self.name, self.name, "device_name"),
            Parameter(
                "0x6098:00", "Method", self.method, self.method, "homing_method", None,
                METHODS[self.method],
            ),
        ]  # fmt: skip
        whole("0x608F:01", "position_encoder_increments", self.counts, "increments")
        whole("0x608F:02", "position_encoder_motor_revolutions", self.counts and 1, "rev")
        whole("0x6091:01", "gear_ratio_motor_revolutions", self.gear.numerator, "rev")
        whole("0x6091:02", "gear_ratio_shaft_revolutions", self.gear.denominator, "rev")
        whole("0x6092:01", "feed_constant_feed", self.feed.numerator, "user_position")
        whole("0x6092:02", "feed_constant_shaft_revolutions", self.feed.denominator, "rev")
        whole("0x60A8:00", "si_unit_position", self.position)
        whole("0x60A9:00", "si_unit_velocity", self.velocity)
        whole("0x60AA:00", "si_unit_acceleration", self.acceleration)
        whole("0x6076:00", "motor_rated_torque", self.torque, "mN*m")
        whole("0x6075:00", "motor_rated_current", self.current, "mA")
        for code, role, unit, _ in NUMBERS:
            if (number := self.values.get(code)) is not None:
                found.append(Parameter(code, code, number.value, number.raw, role, unit))
        return found

    @property
    def text(self) -> bytes:
        return parameters_text(ParameterSet(self.parameters()))


@dataclass(frozen=True)
class Machine:
    """The axis as built: lead in mm, gearbox, encoder bits; `recorded` in an axis.yaml or not."""

    bits: int | None = 20
    lead: int = 16
    gear: Fraction = Fraction(4)
    recorded: bool = True

    @property
    def axis_text(self) -> bytes | None:
        if not self.recorded:
            return None
        return (
            "schema: axisvault/axis/1\n"
            f"mechanics: {{kind: ball_screw, lead: {self.lead} mm, "
            f"gearbox: {{motor: {self.gear.numerator}, output: {self.gear.denominator}}}}}\n"
        ).encode()


@lru_cache
def _definition(code: str, scale: Decimal) -> Definition:
    return Definition(code, code, None, None, scale, UNITS[code], {})


def view(drive: Drive, machine: Machine, text: bytes | None = None) -> AxisView:
    bits = {} if machine.bits is None else {"encoder_single_turn_bits": str(machine.bits)}
    return AxisView(
        "x",
        text or drive.text,
        "alder",
        lambda: {code: _definition(code, n.scale) for code, n in drive.values.items()},
        nameplate=bits,
        axis_text=machine.axis_text,
        read_axis=lambda content: cached_axis(content, "axis.yaml"),
    )


BARE = Machine(recorded=False)


def compared(
    left: Drive, right: Drive, machine: Machine = BARE, other: Machine | None = None
) -> Comparison:
    return compare(view(left, machine), view(right, other or machine))


def by_code(comparison: Comparison) -> dict[str, Change]:
    return {change.shown.code: change for change in comparison.changes}


def silent(left: Drive, right: Drive) -> set[str]:
    """Codes whose content differs, by DeepDiff."""
    return by_deepdiff(left.parameters(), right.parameters())


# What units are worth, apart from the code under test. In m of the machine as built where it is
# recorded, else in motor turns; torques in N*m, currents in A.


def encoder_error(drive: Drive, machine: Machine) -> Fraction:
    if drive.counts is None or machine.bits is None:
        return Fraction(1)
    return Fraction(drive.counts, 2**machine.bits)


def motor_turn(machine: Machine) -> Fraction:
    return Fraction(machine.lead, 1000) / machine.gear if machine.recorded else Fraction(1)


def unit_sizes(drive: Drive, machine: Machine) -> dict[str, Fraction | None]:
    """Size of one of each unit that depends on scaling; None where nothing tells it."""
    error, turn = encoder_error(drive, machine), motor_turn(machine)
    position = error * drive.gear / drive.feed * turn

    def rate(code: int | None) -> Fraction | None:
        if code is None:
            return position
        for table in (LENGTHS, TURNS):
            if code in table and drive.position in table:
                return position * table[code] / table[drive.position]
        if code in TURNS:  # beside a length these are turns of the motor
            return error * TURNS[code] * turn
        shaft = Fraction(machine.lead, 1000)
        nominal = TURNS[drive.position or REV] * shaft
        return position / nominal * LENGTHS[code] if machine.recorded else None

    counts = drive.counts if machine.bits is None else 2**machine.bits
    return {
        "user_position": position,
        "user_velocity": rate(drive.velocity),
        "user_acceleration": rate(drive.acceleration),
        "permille_rated_torque": Fraction(drive.torque, 10**6),
        "permille_rated_current": Fraction(drive.current, 10**6),
        "increments": Fraction(1, counts) if counts else None,  # of a motor turn
    }


def measured(drive: Drive, machine: Machine, code: str) -> tuple[Fraction, Fraction] | None:
    """Size of a value, and of its raw step."""
    size = unit_sizes(drive, machine).get(UNITS[code] or "")
    if size is None:
        return None
    number = drive.values[code]
    return Fraction(number.value) * size, number.step * size


@st.composite
def numbers(draw: st.DrawFn, most: int) -> Number:
    raw = draw(st.integers(0, most) | st.sampled_from((0, 1, 3, 500, most)))
    if draw(st.integers(0, 7)) == 0:
        return Number(Decimal(raw) / 8)
    return Number(raw, draw(st.sampled_from(SCALES)))


RESCALINGS = (Fraction(1000), Fraction(1, 1000), Fraction(16))
SPINDLES = st.sampled_from([Fraction(1), Fraction(4), Fraction(5, 2), Fraction(49, 9)])
FEEDS = st.sampled_from([Fraction(16), Fraction(16000), Fraction(1), Fraction(360), Fraction(5, 3)])
COUNTS = (2**17, 2**20, 2**23)


@st.composite
def drives(draw: st.DrawFn) -> Drive:
    position = draw(st.sampled_from((*POSITIONS, None)))
    # A rate of another kind than the position is known to be the motor's beside a length alone.
    lengthwise = position in LENGTHS
    velocities = VELOCITIES if lengthwise else (REV_S, R_MIN)
    accelerations = ACCELERATIONS if lengthwise else (REV_S2,)
    stated = position is not None
    values = {code: draw(numbers(most)) for code, _, _, most in NUMBERS if draw(st.booleans())}
    values["0x607D:02"] = Number(draw(st.integers(1000, 10**7)), draw(st.sampled_from(SCALES)))
    return Drive(
        values,
        counts=draw(st.sampled_from(COUNTS)),
        gear=draw(SPINDLES),
        feed=draw(FEEDS),
        position=position,
        velocity=draw(st.none() | st.sampled_from(velocities)) if stated else None,
        acceleration=draw(st.none() | st.sampled_from(accelerations)) if stated else None,
        torque=draw(st.sampled_from([1270, 2400, 3180])),
        current=draw(st.sampled_from([2600, 4000])),
        name=draw(st.sampled_from(TEXTS)),
        method=draw(st.sampled_from(list(METHODS))),
    )


machines = st.builds(
    Machine,
    bits=st.sampled_from([17, 20, 24]),
    lead=st.sampled_from([5, 16, 20]),
    gear=SPINDLES,
    recorded=st.booleans(),
)
unknowing = machines | st.builds(Machine, bits=st.none(), recorded=st.booleans())
SCALING = ("counts", "gear", "feed", "torque", "current", "name", "method")
UNIT_FIELDS = ("position", "velocity", "acceleration")


@st.composite
def pairs(draw: st.DrawFn) -> tuple[Drive, Drive]:
    """A set and another that shares part of it."""
    one, other = draw(drives()), draw(drives())
    fields = {f: getattr(other, f) for f in SCALING if draw(st.booleans())}
    if draw(st.booleans()):
        fields |= {f: getattr(other, f) for f in UNIT_FIELDS}
    values = dict(one.values)
    for code in sorted({*one.values, *other.values}):
        if draw(st.integers(0, 2)) == 0:
            values.pop(code, None)
            if code in other.values:
                values[code] = other.values[code]
    return one, replace(one, values=values, **fields)
