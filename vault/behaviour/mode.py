"""Which objects act in the mode that the drive is run in (6060h, CiA 402-2; from memory)."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vault.behaviour.state import State

_VELOCITY = 2
_CYCLIC = (7, 8, 9, 10, 11)
_WITHOUT_POSITION = (2, 3, 4, 9, 10, 11)


def mode(state: State) -> int | None:
    """The number of the mode; None where the set does not say."""
    return state.choice("modes_of_operation")


def is_cyclic(state: State) -> bool:
    """Whether the controller gives set points: the drive's own profile does not act then."""
    return mode(state) in _CYCLIC


def makes_moves(state: State) -> bool:
    """Whether the set names a mode in which the drive makes its moves itself, without set points.

    Mode 0 is none: the controller may switch to any.
    """
    return bool(mode(state)) and not is_cyclic(state)


def holds_position(state: State) -> bool:
    """Whether the drive closes the position loop, or may."""
    return mode(state) not in _WITHOUT_POSITION and not is_frequency_drive(state)


def makes_profiles(state: State) -> bool:
    """Whether the drive makes its own speed profile, which 607Fh limits then."""
    return mode(state) in (1, 3, 6)


def is_frequency_drive(state: State) -> bool:
    """Whether speeds and ramps are those of the velocity mode, of the motor."""
    if state.value("modes_of_operation") is None:
        return state.value("max_frequency") is not None
    return mode(state) == _VELOCITY
