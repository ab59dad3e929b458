"""A scale in the reader's unit, for pictures: SI numbers become numbers of that unit."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from vault.meaning.findings import digits
from vault.meaning.reader import unit_for
from vault.model.unit_table import SI_UNIT, UNITS


@dataclass(frozen=True, slots=True)
class ReaderScale:
    """A unit and its size in SI."""

    unit: str
    size: float

    def number(self, si: float) -> float:
        """An SI number in this unit."""
        return si / self.size

    def text(self, si: float) -> str:
        """An SI number in this unit, for people."""
        return f"{digits(self.number(si))} {self.unit}"


def reader_scale(kind: str) -> ReaderScale:
    """The scale for a kind of quantity, as the reader wants it."""
    unit = unit_for(kind) or SI_UNIT[kind]
    found = UNITS[unit]
    return ReaderScale(unit, float(found.ratio) * pi**found.pi_power)


def way_scale(unit: str) -> ReaderScale:
    """The scale for ways of an axis that moves in m, or in rad."""
    return reader_scale("length" if unit == "m" else "angle")


def speed_scale(unit: str) -> ReaderScale:
    """The scale for speeds of an axis that moves in m, or in rad."""
    return reader_scale("velocity" if unit == "m" else "angular_velocity")
