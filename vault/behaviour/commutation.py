"""Where the drive takes the rotor to be, and what a motor gives where it is wrong."""

from __future__ import annotations

from math import cos, pi

from vault.behaviour.facts import Figure


def apart(before: float, after: float) -> Figure:
    """How far two commutation angles (rad) lie apart, the shorter way round."""
    turn = (after - before) % (2 * pi)
    return Figure(min(turn, 2 * pi - turn), "rad", "the shorter way round")


def torque_share(error: float) -> Figure:
    """Torque per ampere that is left at an error (rad): its cosine (field-oriented control)."""
    return Figure(cos(error), "1", "cos of the difference")
