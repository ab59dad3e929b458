"""Objects whose number is several things at once, taken apart: what is in them is what differs.

Fields of 1016h after CiA 301; 607Eh, 60FEh and 60C2h after CiA 402-2; all from memory.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf
from typing import TYPE_CHECKING

from vault.meaning.findings import digits

if TYPE_CHECKING:
    from vault.behaviour.state import State

_HEARTBEATS = 127
"""A node watches at most so many others (CiA 301, node numbers 1 to 127)."""
_HEARTBEAT = "consumer_heartbeat_time"
_POLARITY, _MASK = "polarity", "digital_outputs_mask"
_POSITION_BIT, _VELOCITY_BIT, _BRAKE_BIT = 0x80, 0x40, 0x01
_POSITION_MODES, _VELOCITY_MODES = (1, 6, 7, 8), (2, 3, 9)
"""Modes in which the position and the velocity bit of 607Eh act."""

_GUARD, _LIFE = "guard_time", "life_time_factor"
_PERIOD, _INDEX = "interpolation_time_period", "interpolation_time_index"
_RAMPS = ("vl_acceleration_delta", "vl_deceleration_delta", "vl_quick_stop_delta")


@dataclass(frozen=True, slots=True)
class Part:
    """What differs within an object, in words.

    `before` and `after` are sizes of one unit; None where it is no size: then it is there or not.
    """

    words: str
    before: float | None = None
    after: float | None = None


def differing(role: str, left: State, right: State) -> list[Part] | None:
    """What differs within the object of a role; None for an object that is one thing."""
    base = role.partition(".")[0]
    if base == _HEARTBEAT:
        return _heartbeats(role, left, right)
    if base == _POLARITY:
        return _polarity(left, right)
    if base == _MASK:
        return _mask(left, right)
    if role in (_GUARD, _LIFE):
        return _guarding(_guard_ms(left), _guard_ms(right))
    if role in (_PERIOD, _INDEX):
        text = "set points come every {} s instead of {} s"
        return _quantity(text, _interval(left), _interval(right))
    for name in _RAMPS:
        if role.startswith(name):
            text = "the ramp is {} r/min a second instead of {}"
            return _quantity(text, _ramp(name, left), _ramp(name, right))
    return None


def watched(state: State) -> dict[int, float]:
    """Nodes whose heartbeat is watched, and within how many ms: bits 16 to 22 and 0 to 15."""
    roles = (_HEARTBEAT, *(f"{_HEARTBEAT}.{n}" for n in range(2, _HEARTBEATS + 1)))
    found: dict[int, float] = {}
    for role in roles:
        entry = _node(state.raw(role))
        if entry is not None:
            found[entry[0]] = min(entry[1], found.get(entry[0], entry[1]))
    return found


def _node(raw: int | None) -> tuple[int, float] | None:
    """Node and time of an entry; None for one that is not used."""
    if raw is None or raw < 0:
        return None
    node, time = (raw >> 16) & 0x7F, raw & 0xFFFF
    return (node, float(time)) if node and time else None


def _heartbeats(role: str, left: State, right: State) -> list[Part]:
    """Of the nodes that an entry names on either side, those that are watched otherwise."""
    entries = [_node(state.raw(role)) for state in (left, right)]
    named = {entry[0] for entry in entries if entry is not None}
    one, other = watched(left), watched(right)
    found = []
    for node in sorted(named):
        before, after = one.get(node, inf), other.get(node, inf)
        if before == after:
            continue
        text = (
            f"node {node} is watched within {digits(after, 6)} ms instead of {digits(before, 6)} ms"
        )
        if before == inf:
            text = f"node {node} is watched within {digits(after, 6)} ms, and was not"
        elif after == inf:
            text = f"node {node} is not watched any more"
        found.append(Part(text, before, after))
    return found


def _polarity(left: State, right: State) -> list[Part]:
    """Bit 7 turns positions, bit 6 velocities; the others are reserved and turn nothing."""
    one, other = left.raw(_POLARITY), right.raw(_POLARITY)
    if one is None or other is None:
        return [Part("the polarity is stated on one side only")]
    mode = right.choice("modes_of_operation")
    found = []
    for bit, what, modes in (
        (_POSITION_BIT, "positions", _POSITION_MODES),
        (_VELOCITY_BIT, "velocities", _VELOCITY_MODES),
    ):
        if (one ^ other) & bit and (mode is None or mode in modes):
            found.append(Part(f"the sign of {what} is turned"))
    return found


def _mask(left: State, right: State) -> list[Part]:
    """Bit 0 of 60FEh lets the controller command the brake; the others work other outputs."""
    one, other = left.raw(_MASK), right.raw(_MASK)
    if one is None or other is None:
        return [Part("the mask is stated on one side only")]
    if not (one ^ other) & _BRAKE_BIT:
        return []
    lets = "may" if other & _BRAKE_BIT else "may not"
    return [Part(f"the controller {lets} command the brake (bit 0)")]


def _guard_ms(state: State) -> float | None:
    """How long guarding waits: guard time x factor; for ever where either is 0 (CiA 301)."""
    time, factor = state.value(_GUARD), state.number(_LIFE)
    if time is None or time.number is None or factor is None:
        return None
    return (time.number if time.size is None else time.size * 1000) * factor or inf


def _guarding(before: float | None, after: float | None) -> list[Part] | None:
    found = _quantity("guarding waits {} ms instead of {} ms", before, after)
    if found and before == inf and after is not None:
        return [replace(found[0], words=f"guarding waits {digits(after, 6)} ms, and was off")]
    if found and after == inf:
        return [replace(found[0], words="guarding is off")]
    return found


def _interval(state: State) -> float | None:
    """Interval of set points in s: period x 10^index."""
    period, index = state.number(_PERIOD), state.number(_INDEX)
    if period is None or index is None:
        return None
    power: float = 10.0 ** max(-12.0, min(12.0, index))
    return period * power


def _ramp(name: str, state: State) -> float | None:
    speed, time = state.number(f"{name}_speed"), state.number(f"{name}_time")
    return speed / time if speed is not None and time else None


def _quantity(text: str, before: float | None, after: float | None) -> list[Part] | None:
    """A composed quantity that differs; None where a part of it is missing."""
    if before is None or after is None:
        return None
    if before == after:
        return []
    return [Part(text.format(digits(after, 6), digits(before, 6)), before, after)]
