"""How controller and drive share the work: who closes the position loop, which data they swap."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from vault.behaviour.mode import is_frequency_drive, mode

if TYPE_CHECKING:
    from vault.behaviour.state import State
    from vault.model.parameters import Parameter

IN_THE_DRIVE, IN_THE_CONTROLLER = 0, 1
_BY_POSITION = (1, 7, 8)
_BY_SPEED_OR_TORQUE = (2, 3, 4, 9, 10, 11)
_ASSIGNED = {"in": "0x1C13", "out": "0x1C12"}
_FIRST = {"in": "0x1A00", "out": "0x1600"}
_MOST_ENTRIES = 254


def position_loop(state: State) -> int | None:
    """Who must close the position loop by the drive's mode (6060h); None where it does not say.

    In positioning modes the drive does; told a speed or a torque it leaves that to the controller.
    """
    number = mode(state)
    if number in _BY_POSITION:
        return IN_THE_DRIVE
    if number in _BY_SPEED_OR_TORQUE or is_frequency_drive(state):
        return IN_THE_CONTROLLER
    return None


def goes_into(cycle: float, interval: float) -> bool:
    """Whether a bus cycle divides an interval of set points."""
    turns = interval / cycle
    return abs(turns - round(turns)) <= 1e-6 * turns


def mapped_bits(codes: Mapping[str, Parameter], way: str) -> int | None:
    """Bits of the data that the drive maps: `in` from the drive (1A00h), `out` to it (1600h).

    An entry is index, sub-index and bits (CiA 301, from memory). Of several mapping objects those
    that are assigned (1C12h, 1C13h; ETG.1000, from memory); without that the first alone, if it is
    the only one. None where that does not tell.
    """
    base = _FIRST[way]
    assigned = _entries(codes, _ASSIGNED[way])
    if assigned:
        sums = [_sum(codes, f"0x{number:04X}") for number in assigned]
        return None if None in sums else sum(bits for bits in sums if bits is not None)
    others = {code[:6] for code in codes if code[:5] == base[:5] and code[:6] != base}
    return None if others else _sum(codes, base)


def _sum(codes: Mapping[str, Parameter], index: str) -> int | None:
    entries = _entries(codes, index)
    return sum(entry & 0xFF for entry in entries) if entries else None


def _entries(codes: Mapping[str, Parameter], index: str) -> list[int]:
    """What an array of the dictionary lists, as far as its first entry says it goes."""
    count = codes.get(f"{index}:00")
    most = count.raw if count is not None and isinstance(count.raw, int) else _MOST_ENTRIES
    found = []
    for entry in range(1, min(most, _MOST_ENTRIES) + 1):
        one = codes.get(f"{index}:{entry:02X}")
        if one is None or not isinstance(one.raw, int):
            break
        found.append(one.raw)
    return found if count is None or len(found) == most else []
