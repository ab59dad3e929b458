"""Readings of one parameter as numbers of one unit: to draw them beside each other."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.meaning.reader import for_reader

if TYPE_CHECKING:
    from vault.meaning.readings import Reading
    from vault.model.quantities import Physical


@dataclass(frozen=True, slots=True)
class CommonUnit:
    """A unit, and how a reading becomes a number of it; None for one that has no such number."""

    unit: str
    number: Callable[[Reading], float | None]


def common_unit(readings: Sequence[Reading]) -> CommonUnit | None:
    """As drives hold them where readers see that too, else by size on the machine as built.

    None where there are none, for texts and choices, and for sizes of different kinds.
    """
    if not readings or any(_is_no_number(one) for one in readings):
        return None
    if all(one.text == one.own and one.really is None for one in readings):
        units = {one.parameter.unit for one in readings}
        if len(units) == 1:
            return _as_held(units.pop())
    sizes = [_size(one) for one in readings]
    first = sizes[0]
    if first is None or any(size is None or size.kind != first.kind for size in sizes):
        return None
    return _as_sized(first)


def _is_no_number(reading: Reading) -> bool:
    return isinstance(reading.parameter.value, str) or reading.parameter.label is not None


def _size(reading: Reading) -> Physical | None:
    return reading.physical or reading.stated


def _as_held(unit: str | None) -> CommonUnit:
    def number(reading: Reading) -> float | None:
        value = reading.parameter.value
        if isinstance(value, str) or reading.parameter.unit != unit:
            return None
        return float(value)

    return CommonUnit(unit or "", number)


def _as_sized(like: Physical) -> CommonUnit:
    def number(reading: Reading) -> float | None:
        size = _size(reading)
        return None if size is None or size.kind != like.kind else float(for_reader(size)[0])

    return CommonUnit(for_reader(like)[1], number)
