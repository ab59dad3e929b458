"""The units that a reader wants to see: the drive's own, SI, or inch."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import contextmanager
from contextvars import ContextVar
from fractions import Fraction

from vault.model.quantities import Physical, rounded_decimal
from vault.model.unit_table import UNITS

SYSTEMS = ("drive", "si", "inch")

_TURNING = {
    "angle": "deg",
    "angular_velocity": "r/min",
    "angular_acceleration": "rad/s^2",
    "angular_jerk": "rad/s^3",
}
_TABLES = {
    "drive": {
        "length": "mm",
        "velocity": "mm/s",
        "acceleration": "mm/s^2",
        "jerk": "mm/s^3",
        **_TURNING,
    },
    "si": {
        "length": "m",
        "velocity": "m/s",
        "acceleration": "m/s^2",
        "jerk": "m/s^3",
        "angle": "rad",
        "angular_velocity": "rad/s",
        "angular_acceleration": "rad/s^2",
        "angular_jerk": "rad/s^3",
    },
    "inch": {
        "length": "in",
        "velocity": "in/s",
        "acceleration": "in/s^2",
        "jerk": "in/s^3",
        **_TURNING,
    },
}
_SYSTEM: ContextVar[str] = ContextVar("reader's units", default="drive")


@contextmanager
def reading_in(system: str) -> Iterator[None]:
    """Write sentences in a system of units for as long as the block runs."""
    token = _SYSTEM.set(system)
    try:
        yield
    finally:
        _SYSTEM.reset(token)


def system() -> str:
    """The system that the reader chose."""
    return _SYSTEM.get()


def unit_for(kind: str) -> str | None:
    """The reader's unit for a kind of quantity; None where there is no other than SI."""
    return _TABLES[system()].get(kind)


def in_unit(size: Physical, unit: str) -> Fraction:
    """The number of a size in a unit of its kind."""
    found = UNITS[unit]
    return size / Physical(found.ratio, found.pi_power, found.kind, unit) - found.offset


def for_reader(size: Physical) -> tuple[Fraction, str]:
    """Number and unit of a size as the reader wants it."""
    unit = unit_for(size.kind)
    if unit is None or UNITS[unit].kind != size.kind:
        return rational(size), size.unit
    return in_unit(size, unit), unit


def rational(size: Physical) -> Fraction:
    """The number of a size in SI."""
    return Fraction(rounded_decimal(size.number(), 30))
