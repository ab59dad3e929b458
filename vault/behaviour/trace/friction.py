"""Friction: half of what torque differs by between both ways at the same even speed.

T = F sign(v) + b v + G at even speed: dry friction F, viscous b, pull of the load G. Only both ways
take the pull out, and only two speeds tell dry from viscous friction (mechanics textbooks).
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from math import sqrt

import numpy as np

from vault.behaviour.trace.filters import hidden_by, noise_of
from vault.behaviour.trace.measured import CannotBeTold, Measured, sure_enough
from vault.behaviour.trace.phases import Phases
from vault.behaviour.trace.signals import Signals
from vault.behaviour.trace.torque import torque_of

_CHECKED = 3
"""Speeds of a direction that tell whether friction grows as straight as it is taken to."""
_DIES = 0.7
"""Share that is left of a change from part to part, at most, for its end to be told."""
_APART = 1.3
"""The higher of two speeds is at least so many times the lower one."""


@dataclass(frozen=True, slots=True)
class Drag:
    """Torque at an even speed (of the axis, with its sign), and how unsure it is.

    `grain` is what the steps it is recorded in may hide of it: that no mean takes out.
    """

    speed: float
    torque: float
    doubt: float
    grain: float


def drags(signals: Signals, phases: Phases) -> list[Drag]:
    """The torque of each stretch of even speed, once it has settled. Raises CannotBeTold."""
    torque = torque_of(signals)
    noise = noise_of(torque)
    grain = hidden_by(signals.torque_step, noise)
    found = []
    for one in phases.cruises:
        if signals.has_gap(one.begin, one.end):
            continue
        quarter = (one.end - one.begin) // 4
        parts = [
            float(torque[one.begin + at * quarter : one.begin + (at + 1) * quarter].mean())
            for at in (1, 2, 3)
        ]
        sem = noise / sqrt(2 * quarter)
        left = _left_to_go(parts, 3 * sem + grain)
        if left is not None:
            found.append(Drag(one.speed, (parts[1] + parts[2]) / 2, sem + left, grain))
    return found


def _left_to_go(parts: Sequence[float], unseen: float) -> float | None:
    """How far the mean of the last two of three equal parts lies from what they run towards.

    What dies away goes by equal shares in equal times; None where it has hardly begun to.
    """
    first, second = parts[1] - parts[0], parts[2] - parts[1]
    if abs(second) <= unseen:
        return abs(second) / 2
    if abs(second) > _DIES * abs(first):
        return None
    share = abs(second / first)
    return abs(second) * (0.5 + share / (1 - share))


def _speeds(way: Sequence[Drag]) -> int:
    """How many speeds of one direction lie apart."""
    found = 0
    last = 0.0
    for speed in sorted(abs(one.speed) for one in way):
        if speed >= _APART * last:
            found, last = found + 1, speed
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
    grain = np.abs(np.linalg.pinv(design)) @ np.array([one.grain for one in known])
    doubts = 3.2 * stated + 1.3 * spread + grain
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
    figure = sure_enough(figure, "it is hardly more than noise", 0.15)
    if max(_speeds(way) for way in ways) >= _CHECKED:
        return figure
    # Two speeds have a straight line through them whatever friction does below the slower one.
    unchecked = abs(viscous) * min(abs(one.speed) for one in known) / top
    return replace(figure, uncertainty=figure.uncertainty + unchecked)
