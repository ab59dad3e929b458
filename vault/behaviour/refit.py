"""Another encoder or motor on the same set: what its numbers come to then."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour.facts import Figure

if TYPE_CHECKING:
    from vault.model.quantities import Physical


def counting_ratio(counted: Fraction, bits: int) -> Figure:
    """Way really made for a command, where an encoder of so many bits a turn is fitted."""
    return Figure(float(counted / 2**bits), "1", "R_set / 2^bits")


def rating_ratio(before: Physical, after: Physical) -> float:
    """What a value in permille of a rating comes to on another rating, times what it was."""
    return float(after.number() / before.number())


def same_size(value: Fraction, before: Physical, after: Physical) -> Fraction:
    """The number that is the same torque or current on another rating."""
    return value * before.number() / after.number()
