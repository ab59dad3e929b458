"""Unit codes of CiA 303-2, as objects 60A8h to 60ABh hold them.

Bit 31 to 24 the power of ten (two's complement), 23 to 16 the numerator, 15 to 8 the denominator.
Codes are from memory; those not listed here are not read.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from vault.model.quantities import Physical

# numerator: kind, SI unit, ratio, power of pi
_NUMERATORS = {
    0x01: ("length", "m", Fraction(1), 0),
    0x10: ("angle", "rad", Fraction(1), 0),
    0x41: ("angle", "rad", Fraction(1, 180), 1),
    0x42: ("angle", "rad", Fraction(1, 180 * 60), 1),
    0x43: ("angle", "rad", Fraction(1, 180 * 3600), 1),
    0xB4: ("angle", "rad", Fraction(2), 1),
}
_NAMES = {
    0x01: "m",
    0x10: "rad",
    0x41: "deg",
    0x42: "arcmin",
    0x43: "arcsec",
    0xB4: "rev",
    0x00: "",
    0xB5: "increments",
}
# denominator: seconds in it, and the power of the second
_DENOMINATORS = {
    0x00: (Fraction(1), 0),
    0x03: (Fraction(1), 1),
    0x47: (Fraction(60), 1),
    0x48: (Fraction(3600), 1),
    0x57: (Fraction(1), 2),
    0xA0: (Fraction(1), 3),
}
_DENOMINATOR_NAMES = {0x03: "/s", 0x47: "/min", 0x48: "/h", 0x57: "/s^2", 0xA0: "/s^3"}
MOTION = {
    "length": ("length", "velocity", "acceleration", "jerk"),
    "angle": ("angle", "angular_velocity", "angular_acceleration", "angular_jerk"),
}
"""Kinds of a way and of its rates: per second, per second squared, per second cubed."""

_PREFIXES = {0: "", -3: "m", -6: "u", -9: "n", -2: "c", 3: "k"}


@dataclass(frozen=True, slots=True)
class UnitCode:
    """A unit code that was read: its size in SI, and how people write it."""

    size: Physical
    text: str


def read_unit_code(code: int) -> UnitCode | None:
    """Read a unit code; None for a unit that is unknown, or that has no physical size."""
    power = (code >> 24) & 0xFF
    power = power - 0x100 if power >= 0x80 else power
    numerator, denominator = (code >> 16) & 0xFF, (code >> 8) & 0xFF
    if numerator not in _NUMERATORS or denominator not in _DENOMINATORS:
        return None
    kind, unit, ratio, pi_power = _NUMERATORS[numerator]
    seconds, order = _DENOMINATORS[denominator]
    suffix = "" if order == 0 else "/s" if order == 1 else f"/s^{order}"
    size = Physical(
        ratio * Fraction(10) ** power / seconds, pi_power, MOTION[kind][order], unit + suffix
    )
    return UnitCode(size, _text(power, numerator, denominator))


def _text(power: int, numerator: int, denominator: int) -> str:
    name, per = _NAMES[numerator], _DENOMINATOR_NAMES.get(denominator, "")
    if numerator == 0x01:
        for prefix_power in (power, power + 1, power + 2, power - 1, power - 2):
            if prefix_power in _PREFIXES:
                prefix = _PREFIXES[prefix_power]
                step = Fraction(10) ** (power - prefix_power)
                return _stepped(step, f"{prefix}{name}{per}")
    return _stepped(Fraction(10) ** power, f"{name}{per}")


def _stepped(step: Fraction, unit: str) -> str:
    if step == 1:
        return unit
    return f"{float(step):g} {unit}"
