"""Friction: half of what torque differs by between both ways at the same even speed.

T = F sign(v) + b v + G at even speed: dry friction F, viscous b, pull of the load G. Only both ways
take the pull out, and only two speeds tell dry from viscous friction (mechanics textbooks).
"""

from __future__ import annotations

from dataclasses import dataclass
from math import sqrt

import numpy as np

from vault.behaviour.trace.filters import noise_of
from vault.behaviour.trace.measured import CannotBeTold, Measured, sure_enough
from vault.behaviour.trace.phases import Phases
from vault.behaviour.trace.signals import Signals
from vault.behaviour.trace.torque import torque_of

_APART = 1.3
"""The higher of two speeds is at least so many times the lower one."""


@dataclass(frozen=True, slots=True)
class Drag:
    """Torque at an even speed (of the axis, with its sign), and how unsure it is."""

    speed: float
    torque: float
    doubt: float


def drags(signals: Signals, phases: Phases) -> list[Drag]:
    """The torque of each stretch of even speed, once it has settled. Raises CannotBeTold."""
    torque = torque_of(signals)
    noise = noise_of(torque)
    found = []
    for one in phases.cruises:
        if signals.has_gap(one.begin, one.end):
            continue
        quarter = (one.end - one.begin) // 4
        third, last = (
            float(torque[one.begin + at * quarter : one.begin + (at + 1) * quarter].mean())
            for at in (2, 3)
        )
        doubt = noise / sqrt(2 * quarter) + abs(last - third) / 2
        found.append(Drag(one.speed, (third + last) / 2, doubt))
    return found


def friction(signals: Signals, phases: Phases, unit: str, per_radian: float) -> Measured:
    """Dry friction at the motor, with the viscous part. Raises CannotBeTold."""
    known = drags(signals, phases)
    ways = [[one for one in known if one.speed > 0], [one for one in known if one.speed < 0]]
    if not all(ways):
        raise CannotBeTold("only even speeds in both directions tell it from the pull of the load")
    spans = [
        max(abs(one.speed) for one in way) / min(abs(one.speed) for one in way) for way in ways
    ]
    if min(spans) < _APART:
        raise CannotBeTold(
            "only two speeds or more, each in both directions, tell dry friction from viscous"
        )
    top = max(abs(one.speed) for one in known)
    design = np.array([[np.sign(one.speed), one.speed / top, 1.0] for one in known])
    torques = np.array([one.torque for one in known])
    floor = 1e-9 * float(np.abs(torques).max())
    weights = np.array([1.0 / max(one.doubt, floor) for one in known])
    solved, *_ = np.linalg.lstsq(design * weights[:, None], torques * weights, rcond=None)
    rest = torques - design @ solved
    inverse = np.linalg.pinv(design * weights[:, None])
    stated = np.sqrt((inverse**2).sum(axis=1))
    spread = np.abs(np.linalg.pinv(design)) @ np.abs(rest)
    dry, viscous = (float(size) for size in solved[:2])
    doubts = 3.2 * stated + 1.3 * spread
    parts = {"at_speed": (dry + viscous, unit)}
    turning = top / per_radian
    if doubts[1] < 0.25 * abs(viscous):
        per = f"{unit}*s/rad" if unit == "N*m" else f"{unit}*s/m"
        parts["viscous"] = viscous / turning, per
    figure = Measured(
        dry, unit, float(doubts[0]), "half of what both directions differ by, at speed nought", top,
        parts,
    )  # fmt: skip
    if dry <= 0:
        raise CannotBeTold("the torque at even speed does not turn round with the direction")
    return sure_enough(figure, "it is hardly more than noise", 0.15)
