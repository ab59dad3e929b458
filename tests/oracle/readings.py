"""Columns of figures read from cases: a number for each case, not a number where it has none."""

from __future__ import annotations

from collections.abc import Callable, Sequence

import numpy as np

from tests.oracle.cases import Case
from tests.oracle.units import MISSING, Flags, Vector, number


def column(cases: Sequence[Case], read: Callable[[Case], float]) -> Vector:
    """One figure of each case."""
    return np.array([read(case) for case in cases], dtype=np.float64)


def flags(cases: Sequence[Case], read: Callable[[Case], bool]) -> Flags:
    """One yes or no of each case."""
    return np.array([read(case) for case in cases], dtype=np.bool_)


def recorded(case: Case, part: str, key: str) -> object:
    """What the axis record says under `part: key:`; None where it is silent."""
    section = case.record.get(part)
    return section.get(key) if isinstance(section, dict) else None


def from_record(cases: Sequence[Case], part: str, key: str, absent: float = MISSING) -> Vector:
    """A quantity of the axis record in SI."""
    figures = column(cases, lambda case: number(recorded(case, part, key)))
    return np.where(np.isnan(figures), absent, figures)


def from_settings(cases: Sequence[Case], role: str, absent: float = MISSING) -> Vector:
    """A setting in SI, by the name of its role."""
    figures = column(cases, lambda case: number(case.settings.get(role)))
    return np.where(np.isnan(figures), absent, figures)


def from_objects(cases: Sequence[Case], address: str, absent: float = MISSING) -> Vector:
    """The raw number of an object, such as `0x6085:00`."""
    return column(cases, lambda case: float(case.objects.get(address, absent)))


def first_known(*columns: Vector) -> Vector:
    """The first figure of each case that is known."""
    figures = columns[0]
    for other in columns[1:]:
        figures = np.where(np.isnan(figures), other, figures)
    return figures
