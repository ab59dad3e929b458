"""Units of the oracle: quantities written as text, and the unit codes that a drive states."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]
Flags = NDArray[np.bool_]

MISSING = math.nan
GRAVITY = 9.80665  # m/s^2, standard acceleration of free fall (CGPM 1901)
ALL_ONES = 0xFFFFFFFF

_TURN = 2 * math.pi
_DEGREE = math.pi / 180

# Sizes in SI; the SI prefixes and non-SI units of the SI Brochure, 9th edition, tables 7 and 8.
_SIZES: dict[str, float] = {
    "": 1.0,
    "%": 1e-2,
    "m": 1.0,
    "mm": 1e-3,
    "um": 1e-6,
    "rad": 1.0,
    "deg": _DEGREE,
    "rev": _TURN,
    "s": 1.0,
    "ms": 1e-3,
    "us": 1e-6,
    "kg": 1.0,
    "kg*m^2": 1.0,
    "kg*cm^2": 1e-4,
    "N": 1.0,
    "N*m": 1.0,
    "V": 1.0,
    "Hz": 1.0,
    "V*s/rad": 1.0,
    "H": 1.0,
    "mH": 1e-3,
    "A": 1.0,
    "F": 1.0,
    "uF": 1e-6,
    "ohm": 1.0,
    "W": 1.0,
    "J": 1.0,
    "m/s": 1.0,
    "mm/s": 1e-3,
    "rad/s": 1.0,
    "deg/s": _DEGREE,
    "r/min": _TURN / 60,
    "m/s^2": 1.0,
    "mm/s^2": 1e-3,
    "rad/s^2": 1.0,
    "deg/s^2": _DEGREE,
    "1/s": 1.0,
    "N*m*s/rad": 1.0,
    "N*s/m": 1.0,
}

# CiA 303-2, from memory: bits 31-24 hold the power of ten in two's complement, 23-16 the unit
# above the line, 15-8 the one below it.
_METRE, _DEGREES, _TURNS = 0x01, 0x41, 0xB4
_ABOVE: dict[int, float] = {_METRE: 1.0, _DEGREES: _DEGREE, _TURNS: _TURN}
_BELOW: dict[int, float] = {0x00: 1.0, 0x03: 1.0, 0x47: 60.0, 0x57: 1.0}

POSITION_CODES: dict[str, int] = {
    "mm": 0xFD010000,
    "um": 0xFA010000,
    "0.1 um": 0xF9010000,
    "deg": 0x00410000,
    "0.001 deg": 0xFD410000,
    "rev": 0x00B40000,
}
VELOCITY_CODES: dict[str, int] = {
    "mm/s": 0xFD010300,
    "m/s": 0x00010300,
    "deg/s": 0x00410300,
    "r/min": 0x00B44700,
}
ACCELERATION_CODES: dict[str, int] = {
    "mm/s^2": 0xFD015700,
    "m/s^2": 0x00015700,
    "deg/s^2": 0x00415700,
}


def si(text: str) -> float:
    """Read a quantity such as `12.5 mm`; its figure in SI (m, rad, s, kg, N, V, A ...)."""
    number, _, unit = text.strip().partition(" ")
    return float(number) * _SIZES[unit.strip()]


def number(value: object) -> float:
    """Read a quantity of a record or a setting in SI; not a number where there is none."""
    return MISSING if value is None else si(str(value))


def stated_size(code: int) -> float:
    """The size in SI of the unit that 60A8h, 60A9h or 60AAh states (m, rad, and per s, s^2)."""
    power = (code >> 24 ^ 0x80) - 0x80
    return 10.0**power * _ABOVE[code >> 16 & 0xFF] / _BELOW[code >> 8 & 0xFF]


def in_turns_of_motor(code: int, position_code: int) -> bool:
    """Tell whether a velocity counts turns of the motor while positions are lengths."""
    return code >> 16 & 0xFF == _TURNS and position_code >> 16 & 0xFF == _METRE
