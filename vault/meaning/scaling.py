"""How a parameter set turns numbers into motion, and how the machine as built does.

CiA 402-2 / IEC 61800-7-201, factor group: increments = user position x R x G / F, with R increments
per motor revolution, G motor per shaft revolutions, F user units per shaft revolution.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from decimal import Decimal
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.meaning.si_units import UnitCode, read_unit_code
from vault.model.quantities import Measure, Physical, physical

if TYPE_CHECKING:
    from vault.model.axis import AxisRecord, Mechanics
    from vault.model.parameters import Parameter

TRAVEL_ROLES = (
    "position_encoder_increments",
    "position_encoder_motor_revolutions",
    "encoder_single_turn_bits",
    "gear_ratio_motor_revolutions",
    "gear_ratio_shaft_revolutions",
    "feed_constant_feed",
    "feed_constant_shaft_revolutions",
)
UNIT_ROLES = ("si_unit_position", "si_unit_velocity", "si_unit_acceleration", "si_unit_jerk")
RATING_ROLES = ("motor_rated_torque", "motor_rated_current")
SCALING_ROLES = (*TRAVEL_ROLES, *UNIT_ROLES, *RATING_ROLES)
"""Roles whose values decide what other values mean."""

TURN = Physical(Fraction(2), 1, "angle", "rad")
"""One revolution."""


@dataclass(frozen=True, slots=True)
class Travel:
    """Motion of the machine as built: `per_turn` of the driving shaft, `gear` motor turns each."""

    per_turn: Physical
    gear: Fraction


@dataclass(frozen=True, slots=True)
class Scaling:
    """What scales the values of one state. None where it is not known.

    `encoder` is R as the drive counts, `encoder_fitted` as the hardware gives; `gear` is G, `feed`
    is F. `unit`, `velocity_unit`, … are the sizes that a user unit is said to have.
    """

    encoder: Fraction | None = None
    encoder_fitted: Fraction | None = None
    gear: Fraction | None = None
    feed: Fraction | None = None
    unit: UnitCode | None = None
    velocity_unit: UnitCode | None = None
    acceleration_unit: UnitCode | None = None
    jerk_unit: UnitCode | None = None
    travel: Travel | None = None
    rated_torque: Physical | None = None
    rated_current: Physical | None = None

    @property
    def encoder_ratio(self) -> Fraction:
        """R as counted over R as fitted: 1 unless the drive counts another encoder."""
        if self.encoder is None or self.encoder_fitted is None:
            return Fraction(1)
        return self.encoder / self.encoder_fitted

    @property
    def motor_turns(self) -> Fraction | None:
        """Motor revolutions really made for one user unit."""
        if self.feed is None:
            return None
        return self.encoder_ratio * (self.gear or 1) / self.feed

    @property
    def actual_unit(self) -> Physical | None:
        """Length or angle really moved for one user unit (design page: actual length).

        (R_set G_set / F_set) / (R_real G_real / L_real).
        """
        if self.motor_turns is None or self.travel is None:
            return None
        step = self.travel.per_turn
        return Physical(
            step.ratio * self.motor_turns / self.travel.gear, step.pi_power, step.kind, step.unit
        )

    @property
    def nominal_unit(self) -> Physical | None:
        """Length or angle that one user unit is said to be.

        Revolutions of a shaft that drives a linear axis count as the length they move.
        """
        if self.unit is None:
            return None
        size = self.unit.size
        if self.travel is None or size.kind == self.travel.per_turn.kind:
            return size
        if size.kind != "angle":
            return size
        turns = size.ratio / 2 if size.pi_power == 1 else None
        if turns is None:
            return size
        step = self.travel.per_turn
        return Physical(step.ratio * turns, step.pi_power, step.kind, step.unit)

    @property
    def travel_error(self) -> Fraction | None:
        """k: actual over nominal; 1 when parameters and machine agree, None if not known."""
        actual, nominal = self.actual_unit, self.nominal_unit
        if actual is None or nominal is None:
            return None
        if actual.kind != nominal.kind or actual.pi_power != nominal.pi_power:
            return None
        return actual.ratio / nominal.ratio


def scaling(
    find: Callable[[str], Parameter | None],
    nameplate: Mapping[str, str],
    axis: AxisRecord | None,
) -> Scaling:
    """Scaling of a state: `find` gives the parameter of a role, `axis` the machine as built."""

    def number(role: str) -> Fraction | None:
        parameter = find(role)
        if parameter is None or isinstance(parameter.value, str):
            return None
        return Fraction(parameter.value)

    feed, unit = _feed(find)
    encoder = _quotient(
        number("position_encoder_increments"), number("position_encoder_motor_revolutions")
    )
    bits = number("encoder_single_turn_bits")
    if encoder is None and bits is not None:
        encoder = _power_of_two(bits)
    fitted = _nameplate_bits(nameplate)
    if fitted is None and axis is not None and axis.encoder is not None:
        fitted = axis.encoder.single_turn_bits
    motor = axis.motor if axis is not None else None
    return Scaling(
        encoder=encoder,
        encoder_fitted=None if fitted is None else _power_of_two(Fraction(fitted)),
        gear=_quotient(
            number("gear_ratio_motor_revolutions"), number("gear_ratio_shaft_revolutions")
        ),
        feed=feed,
        unit=_unit_code(find("si_unit_position")) or unit,
        velocity_unit=_unit_code(find("si_unit_velocity")),
        acceleration_unit=_unit_code(find("si_unit_acceleration")),
        jerk_unit=_unit_code(find("si_unit_jerk")),
        travel=travel_of(axis.mechanics) if axis is not None and axis.mechanics else None,
        rated_torque=_rating(find("motor_rated_torque"), motor.rated_torque if motor else None),
        rated_current=_rating(find("motor_rated_current"), motor.rated_current if motor else None),
    )


def travel_of(mechanics: Mechanics) -> Travel | None:
    """Motion per turn of the driving shaft; None where the record does not give it."""
    lengths: dict[str, Measure | None] = {
        "ball_screw": mechanics.lead,
        "belt": mechanics.pulley_circumference,
        "rack": mechanics.pinion_circumference,
        "linear_motor": mechanics.pole_pitch,
    }
    if mechanics.kind in ("rotary_table", "rotary"):
        per_turn: Physical | None = TURN
    else:
        length = lengths[mechanics.kind]
        per_turn = length.physical() if length is not None else None
    if per_turn is None:
        return None
    box = mechanics.gearbox
    return Travel(per_turn, Fraction(box.motor, box.output) if box else Fraction(1))


def _feed(find: Callable[[str], Parameter | None]) -> tuple[Fraction | None, UnitCode | None]:
    """F, and the size of a user unit where the feed is written in a real unit."""
    feed = find("feed_constant_feed")
    if feed is None or isinstance(feed.value, str) or not feed.value:
        return None, None
    turns = find("feed_constant_shaft_revolutions")
    divisor = Fraction(1)
    if turns is not None and not isinstance(turns.value, str) and turns.value:
        divisor = Fraction(turns.value)
    size = physical(1, feed.unit)
    unit = None
    if size is not None and size.kind in ("length", "angle") and feed.unit is not None:
        unit = UnitCode(size, feed.unit)
    return Fraction(feed.value) / divisor, unit


def _quotient(over: Fraction | None, under: Fraction | None) -> Fraction | None:
    if not over or under == 0:
        return None
    return over / (1 if under is None else under)


def _power_of_two(bits: Fraction) -> Fraction | None:
    return Fraction(2 ** int(bits)) if bits.denominator == 1 and 0 < bits <= 64 else None


def _nameplate_bits(nameplate: Mapping[str, str]) -> int | None:
    text = nameplate.get("encoder_single_turn_bits", "").strip()
    return int(text) if text.isdecimal() else None


def _unit_code(parameter: Parameter | None) -> UnitCode | None:
    if parameter is None:
        return None
    if isinstance(parameter.raw, int):
        return read_unit_code(parameter.raw & 0xFFFFFFFF)
    return None


def _rating(parameter: Parameter | None, nameplate: Measure | None) -> Physical | None:
    if parameter is not None and not isinstance(parameter.value, str) and parameter.value:
        found = physical(parameter.value, parameter.unit)
        if found is not None:
            return found
    return nameplate.physical() if nameplate is not None else None


@dataclass(frozen=True, slots=True)
class Sizes:
    """Size of every unit that depends on the axis, and what values in real units count for.

    `basis` says what sizes rest on: `real` the machine as built, `nominal` the unit that is
    stated, `motor` motor revolutions (comparable between two sets of one machine).
    """

    basis: str
    units: Mapping[str, Physical]
    explicit: Physical | Fraction

    def physical(self, value: Decimal | int, unit: str | None, kind: str | None) -> Physical | None:
        """The value in SI; `kind` is the kind of its role. None where it cannot be told."""
        if unit is None:
            return None
        if (size := self.units.get(unit)) is not None:
            return Physical(Fraction(value) * size.ratio, size.pi_power, size.kind, size.unit)
        found = physical(value, unit)
        if found is None or kind not in ("position", "velocity", "acceleration", "jerk"):
            return found
        return self._through_scale(found)

    def _through_scale(self, stated: Physical) -> Physical:
        """A length or speed in a real unit is what the drive believes: the scale applies to it."""
        if isinstance(self.explicit, Fraction):
            return Physical(stated.ratio * self.explicit, stated.pi_power, stated.kind, stated.unit)
        return Physical(
            stated.ratio * self.explicit.ratio,
            stated.pi_power + self.explicit.pi_power,
            f"motor {stated.kind}",
            stated.unit,
        )


def own_sizes(own: Scaling) -> Sizes:
    """Sizes as far as one state alone tells them."""
    if own.actual_unit is not None:
        return _sizes(own, "real", own.actual_unit)
    return nominal_sizes(own)


def nominal_sizes(own: Scaling) -> Sizes:
    """Sizes as the set states them, whatever the machine does."""
    return _sizes(own, "nominal", own.nominal_unit)


def common_sizes(left: Scaling, right: Scaling) -> tuple[Sizes, Sizes]:
    """Sizes of two states on one basis, so that their values can be compared."""
    if left.actual_unit is not None and right.actual_unit is not None:
        if left.actual_unit.kind == right.actual_unit.kind:
            return own_sizes(left), own_sizes(right)
    elif left.motor_turns is not None and right.motor_turns is not None:
        sides = (_sizes(side, "motor", _turned(side)) for side in (left, right))
        return next(sides), next(sides)
    return nominal_sizes(left), nominal_sizes(right)


def _turned(own: Scaling) -> Physical | None:
    turns = own.motor_turns
    return None if turns is None else Physical(TURN.ratio * turns, 1, "angle", "rad")


_RATES = (
    ("user_velocity", "velocity_unit", "/s", ("velocity", "angular_velocity")),
    ("user_acceleration", "acceleration_unit", "/s^2", ("acceleration", "angular_acceleration")),
    ("user_jerk", "jerk_unit", "/s^3", ("jerk", "angular_jerk")),
)


def _sizes(own: Scaling, basis: str, position: Physical | None) -> Sizes:
    units: dict[str, Physical] = {}
    nominal = own.nominal_unit
    if position is not None:
        units["user_position"] = position
    for name, attribute, suffix, kinds in _RATES:
        stated: UnitCode | None = getattr(own, attribute)
        size = _rate(own, position, stated, suffix, kinds)
        if size is not None:
            units[name] = size
    fitted = own.encoder_fitted or own.encoder
    if fitted is not None:
        units["increments"] = Physical(TURN.ratio / fitted, 1, "angle", "rad")
        units["increments/s"] = Physical(TURN.ratio / fitted, 1, "angular_velocity", "rad/s")
    units |= _ratings("torque", own.rated_torque) | _ratings("current", own.rated_current)
    explicit: Physical | Fraction = Fraction(1)
    if basis == "real" and own.travel_error is not None:
        explicit = own.travel_error
    elif basis == "motor" and nominal is not None and position is not None:
        explicit = Physical(
            position.ratio / nominal.ratio, position.pi_power - nominal.pi_power, "", ""
        )
    return Sizes(basis, units, explicit)


def _rate(
    own: Scaling,
    position: Physical | None,
    stated: UnitCode | None,
    suffix: str,
    kinds: tuple[str, str],
) -> Physical | None:
    """Size of a user velocity, acceleration or jerk: its own unit object, else per second."""
    nominal = own.unit.size if own.unit is not None else None
    if stated is None:
        if position is None:
            return None
        kind = kinds[0] if position.kind == "length" else kinds[1]
        return Physical(position.ratio, position.pi_power, kind, position.unit + suffix)
    if position is None or nominal is None:
        return stated.size
    base = "length" if stated.size.kind == kinds[0] else "angle"
    if base != nominal.kind:
        # Revolutions per minute beside millimetres: only the encoder stands between them.
        return Physical(
            stated.size.ratio * own.encoder_ratio,
            stated.size.pi_power,
            stated.size.kind,
            stated.size.unit,
        )
    kind = kinds[0] if position.kind == "length" else kinds[1]
    return Physical(
        position.ratio * stated.size.ratio / nominal.ratio,
        position.pi_power + stated.size.pi_power - nominal.pi_power,
        kind,
        position.unit + suffix,
    )


def _ratings(name: str, rating: Physical | None) -> dict[str, Physical]:
    if rating is None:
        return {}
    return {
        f"{share}_rated_{name}": Physical(
            rating.ratio / parts, rating.pi_power, rating.kind, rating.unit
        )
        for share, parts in (("permille", 1000), ("percent", 100))
    }
