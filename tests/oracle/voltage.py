"""Torque that a motor gives at a speed: by its curve, or by the voltage that it is fed."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from tests.oracle.cases import Case
from tests.oracle.drive import Drive
from tests.oracle.integrator import least
from tests.oracle.readings import column, first_known, from_record, from_settings
from tests.oracle.units import Flags, Vector, number

_LOW_MAINS = 0.9  # common practice, no source: mains may be a tenth below their nominal voltage


@dataclass(frozen=True, slots=True)
class Feed:
    """Motor and supply: rad/s (m/s), N*m (N), V*s/rad and V between lines, ohm and H of a phase.

    at_top: share of its torque that the motor has left at its highest speed. lost: share of the
    voltage that drops in the drive.
    """

    positive: Vector
    negative: Vector
    corner: Vector
    top: Vector
    most: Vector
    at_top: Vector
    constant: Vector
    voltage: Vector
    lost: Vector
    ohm: Vector
    henry: Vector
    pairs: Vector

    def of(self, owner: NDArray[np.int64]) -> Feed:
        """The feed of each of these columns."""
        return Feed(*(getattr(self, name)[owner] for name in Feed.__slots__))


def feeds(cases: Sequence[Case], drive: Drive) -> Feed:
    """What feeds each case."""
    return Feed(
        positive=drive.positive_limit,
        negative=drive.negative_limit,
        corner=from_record(cases, "motor", "corner_speed"),
        top=from_record(cases, "motor", "max_speed"),
        most=first_known(
            from_record(cases, "motor", "max_torque"),
            np.fmin(drive.positive_limit, drive.negative_limit),
        ),
        at_top=column(cases, lambda case: number(case.conventions.get("torque_at_top", 0.0))),
        constant=from_record(cases, "motor", "voltage_constant"),
        voltage=from_record(cases, "supply", "voltage") * _LOW_MAINS,
        lost=column(cases, lambda case: number(case.conventions.get("voltage_lost", 0.0))),
        ohm=from_settings(cases, "motor_winding_resistance") / 2,
        henry=from_settings(cases, "motor_winding_inductance") / 2,
        pairs=from_settings(cases, "motor_pole_pairs"),
    )


def reserve(feed: Feed, torque: Vector, speed: Vector, forward: Flags) -> Vector:
    """How many times this torque the motor gives at this speed of its own."""
    by_curve = feed.most * np.where(
        speed <= feed.corner,
        np.inf,
        1 - (1 - feed.at_top) * (speed - feed.corner) / (feed.top - feed.corner),
    )
    own = np.where(np.isnan(feed.corner), _by_voltage(feed, speed), by_curve)
    limit = np.where(forward, feed.positive, feed.negative)
    return np.where(np.isnan(own) | np.isnan(limit), np.nan, np.minimum(own, limit) / torque)


def _by_voltage(feed: Feed, speed: Vector) -> Vector:
    """The torque whose current still fits: the phasor sum of a phase against what it is given."""
    given = feed.voltage * (1 - feed.lost) / np.sqrt(3)
    reactance = 1j * feed.pairs * speed * feed.henry

    def too_much(current: Vector) -> Flags:
        phasor = feed.constant * speed / np.sqrt(3) + current * (feed.ohm + reactance)
        return np.abs(phasor) >= given

    current = least(too_much, np.full_like(speed, 1.0))
    known = ~np.isnan(feed.constant * feed.ohm * feed.henry * feed.pairs)
    torque = 3 * (feed.constant / np.sqrt(3)) * current  # three phases, each power / speed
    return np.where(known, torque, np.nan)
