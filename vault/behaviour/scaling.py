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

from vault.behaviour.si_units import MOTION, UnitCode, read_unit_code
from vault.model.quantities import Measure, Physical, physical
from vault.model.unit_table import SI_UNIT

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

_PLACES = {kind: (base, order) for base, all_ in MOTION.items() for order, kind in enumerate(all_)}
_RATES = ("user_velocity", "user_acceleration", "user_jerk")

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
        return step * (self.motor_turns / self.travel.gear)

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
        return self.travel.per_turn * turns

    @property
    def travel_error(self) -> Fraction | None:
        """k: actual over nominal; 1 when parameters and machine agree, None if not known."""
        actual, nominal = self.actual_unit, self.nominal_unit
        if actual is None or nominal is None:
            return None
        if actual.kind != nominal.kind or actual.pi_power != nominal.pi_power:
            return None
        return actual / nominal


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
        unit=_unit_code(find("si_unit_position"), 0) or unit,
        velocity_unit=_unit_code(find("si_unit_velocity"), 1),
        acceleration_unit=_unit_code(find("si_unit_acceleration"), 2),
        jerk_unit=_unit_code(find("si_unit_jerk"), 3),
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
    return int(text) if text.isdecimal() and len(text) <= 3 else None


def _unit_code(parameter: Parameter | None, order: int) -> UnitCode | None:
    """The unit that a parameter states; None for one of another order (a way is no speed)."""
    if parameter is None or not isinstance(parameter.raw, int):
        return None
    found = read_unit_code(parameter.raw & 0xFFFFFFFF)
    return found if found is not None and _PLACES[found.size.kind][1] == order else None


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
    stated, `motor` motor revolutions (comparable between two sets of one machine). `scales` gives
    what a metre or a radian that a value in a real unit states really is.
    """

    basis: str
    units: Mapping[str, Physical]
    scales: Mapping[str, Physical]

    def physical(self, value: Decimal | int, unit: str | None, kind: str | None) -> Physical | None:
        """The value in SI; `kind` is the kind of its role. None where it cannot be told."""
        if unit is None:
            return None
        if (size := self.units.get(unit)) is not None:
            return size * value
        found = physical(value, unit)
        if found is None or kind not in ("position", "velocity", "acceleration", "jerk"):
            return found
        # A length or speed in a real unit is what the drive believes: the scale applies to it.
        return _scaled(found, self.scales)


def own_sizes(own: Scaling) -> Sizes:
    """Sizes as far as one state alone tells them."""
    if own.actual_unit is None:
        return nominal_sizes(own)
    return _sizes(own, "real", own.actual_unit, _counted(own) | _believed(own))


def nominal_sizes(own: Scaling) -> Sizes:
    """Sizes as the set states them, whatever the machine does."""
    return _sizes(own, "nominal", own.nominal_unit, {})


def common_sizes(left: Scaling, right: Scaling) -> tuple[Sizes, Sizes]:
    """Sizes of two states on one basis, so that their values can be compared.

    What only one of the two states about its units counts for neither.
    """
    one, other = left.actual_unit, right.actual_unit
    stated = left.unit is not None and right.unit is not None
    if one is not None and other is not None and one.kind == other.kind:
        known = stated and left.travel_error is not None and right.travel_error is not None
        basis = "real"
        scales = [
            _counted(own) | _by_transmission(own) | (_believed(own) if known else {})
            for own in (left, right)
        ]
    elif (one is None or other is None) and left.motor_turns and right.motor_turns:
        basis = "motor"
        one, other = (TURN * turns for turns in (left.motor_turns, right.motor_turns))
        scales = [_counted(left), _counted(right)]
        if left.unit and right.unit and left.unit.size.kind == right.unit.size.kind:
            scales[0][left.unit.size.kind] = _quotient_of(one, left.unit.size)
            scales[1][right.unit.size.kind] = _quotient_of(other, right.unit.size)
    else:
        basis = "nominal"
        scales = [_counted(left), _counted(right)]
        one = left.nominal_unit and _scaled(left.nominal_unit, scales[0])
        other = right.nominal_unit and _scaled(right.nominal_unit, scales[1])
    return (
        _sizes(left, basis, one, scales[0], stated=stated),
        _sizes(right, basis, other, scales[1], stated=stated),
    )


def _counted(own: Scaling) -> dict[str, Physical]:
    """Scales as far as the encoder goes: what is counted by another one is off by their ratio.

    An angle beside an axis that states lengths is one of the motor.
    """
    return {kind: Physical(own.encoder_ratio, 0, kind, "") for kind in MOTION}


def _believed(own: Scaling) -> dict[str, Physical]:
    """Scale of values in the unit that the axis moves in: k, where it is known."""
    if own.travel is None or own.travel_error is None:
        return {}
    kind = own.travel.per_turn.kind
    return {kind: Physical(own.travel_error, 0, kind, "")}


def _by_transmission(own: Scaling) -> dict[str, Physical]:
    """Scale of a turn of the motor: the way it moves a linear axis."""
    if own.travel is None or own.travel.per_turn.kind != "length":
        return {}
    step = own.travel.per_turn
    per_turn = step.ratio * own.encoder_ratio / own.travel.gear
    return {"angle": Physical(per_turn / TURN.ratio, step.pi_power - 1, "length", "")}


def _quotient_of(size: Physical, per: Physical) -> Physical:
    return Physical(size.ratio / per.ratio, size.pi_power - per.pi_power, size.kind, "")


def _scaled(stated: Physical, scales: Mapping[str, Physical]) -> Physical:
    """What a stated way or rate really is; a scale gives the kind of it."""
    base, order = _PLACES.get(stated.kind, ("", 0))
    if (scale := scales.get(base)) is None:
        return stated
    ratio, pi_power = stated.ratio * scale.ratio, stated.pi_power + scale.pi_power
    return rated(Physical(ratio, pi_power, scale.kind, ""), order)


def rated(way: Physical, order: int) -> Physical:
    """A way as a way per second, per second squared, … (order 1, 2, …)."""
    kind = MOTION[way.kind][order]
    return Physical(way.ratio, way.pi_power, kind, SI_UNIT[kind])


def _sizes(
    own: Scaling,
    basis: str,
    position: Physical | None,
    scales: Mapping[str, Physical],
    *,
    stated: bool = True,
) -> Sizes:
    units: dict[str, Physical] = {}
    if position is not None:
        units["user_position"] = position
    nominal = own.unit.size if own.unit is not None and stated else None
    rates = (own.velocity_unit, own.acceleration_unit, own.jerk_unit)
    for order, (name, unit) in enumerate(zip(_RATES, rates, strict=True), start=1):
        if unit is not None and position and nominal and _PLACES[unit.size.kind][0] == nominal.kind:
            through = {nominal.kind: _quotient_of(position, nominal)}
            units[name] = _scaled(unit.size, through)
        elif unit is not None:
            # Revolutions per minute beside millimetres: only the encoder stands between them.
            units[name] = _scaled(unit.size, scales)
        elif position is not None:
            units[name] = rated(position, order)
    fitted = own.encoder_fitted or own.encoder
    if fitted is not None:
        step = Physical(TURN.ratio / fitted, 1, "angle", "rad")
        for order, suffix in enumerate(("", "/s", "/s^2")):
            units[f"increments{suffix}"] = rated(step, order)
    units |= _ratings("torque", own.rated_torque) | _ratings("current", own.rated_current)
    return Sizes(basis, units, scales)


def _ratings(name: str, rating: Physical | None) -> dict[str, Physical]:
    if rating is None:
        return {}
    return {
        f"{share}_rated_{name}": rating * Fraction(1, parts)
        for share, parts in (("permille", 1000), ("percent", 100))
    }
