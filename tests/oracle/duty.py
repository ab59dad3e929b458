"""The duty of the axis record, run through once: torque of the motor, energy that comes back."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from tests.oracle.cases import Case
from tests.oracle.drive import Drive
from tests.oracle.machine import Machine
from tests.oracle.plant import Plant
from tests.oracle.readings import from_record
from tests.oracle.units import MISSING, Flags, Vector, number
from tests.oracle.voltage import feeds, reserve

_STEPS = 1000
_STRIDES = 100  # further steps, at constant speed or to reach the end


@dataclass(frozen=True, slots=True)
class _Moves:
    """All moves of all cases, one after the other; `owner` is the column of its case."""

    owner: NDArray[np.int64]
    last: Flags
    distance: Vector
    speed: Vector
    acceleration: Vector
    deceleration: Vector
    load: Vector
    wait: Vector


@dataclass(slots=True)
class _Run:
    """A move under way: m or rad, s, (N*m)^2*s, N*m, J; where the motor gives most power."""

    way: Vector
    speed: Vector
    time: Vector
    squares: Vector
    peak: Vector
    returned: Vector
    hard_torque: Vector
    hard_speed: Vector


def duties(cases: Sequence[Case], machine: Machine, drive: Drive) -> dict[str, Vector]:
    """R.m.s. and peak torque in N*m (N), mean power in W that comes back over the cycle."""
    moves = _moves(cases)
    plant = _of_moves(machine, moves)
    runs = _run(plant, moves)
    held = np.abs(plant.without_friction().torque(np.zeros_like(moves.speed)))
    listed = np.bincount(moves.owner, minlength=len(cases)) > 0
    cycle = np.where(listed, from_record(cases, "duty", "cycle"), MISSING)
    rest = np.maximum(cycle - _sum(moves, runs.time + moves.wait, len(cases)), 0.0)
    waiting = moves.wait + np.where(moves.last, rest[moves.owner], 0.0)
    squares = _sum(moves, runs.squares + held**2 * waiting, len(cases))
    peak = np.zeros(len(cases))
    np.maximum.at(peak, moves.owner, np.maximum(runs.peak, held))
    returned = _sum(moves, runs.returned, len(cases))
    feed = feeds(cases, drive).of(moves.owner)
    reserves = reserve(feed, runs.hard_torque, runs.hard_speed, moves.distance > 0)
    worst = np.full(len(cases), np.inf)
    np.minimum.at(worst, moves.owner, np.where(runs.hard_torque > 0, reserves, np.inf))
    return {
        "duty_rms_torque": np.sqrt(squares / cycle),
        "duty_peak_torque": np.where(listed, peak, MISSING),
        "duty_resistor_power": returned / cycle,
        "speed_torque_ratio": np.where(np.isinf(worst), MISSING, worst),
    }


def _sum(moves: _Moves, figures: Vector, count: int) -> Vector:
    return np.bincount(moves.owner, weights=figures, minlength=count).astype(np.float64)


def _moves(cases: Sequence[Case]) -> _Moves:
    rows = [
        (column, place == len(moves), move)
        for column, moves in _listed(cases)
        for place, move in enumerate(moves, 1)
    ]

    def figures(key: str, absent: str | None = None) -> Vector:
        return np.array([number(move.get(key, absent)) for _, _, move in rows], dtype=np.float64)

    return _Moves(
        owner=np.array([column for column, _, _ in rows], dtype=np.int64),
        last=np.array([is_last for _, is_last, _ in rows], dtype=np.bool_),
        distance=figures("distance"),
        speed=figures("speed"),
        acceleration=figures("acceleration"),
        deceleration=figures("deceleration"),
        load=figures("load", "0"),
        wait=figures("wait", "0"),
    )


def _listed(cases: Sequence[Case]) -> Iterator[tuple[int, list[dict[str, object]]]]:
    """The moves of each case that lists some, with its column."""
    for column, case in enumerate(cases):
        duty = case.record.get("duty")
        if isinstance(duty, dict) and duty.get("moves"):
            yield column, list(duty["moves"])


def _of_moves(machine: Machine, moves: _Moves) -> Plant:
    """The plant of each move, in its direction and with its load, which nothing balances."""
    plant, own = machine.plant, moves.owner
    pull = plant.pull[own] + machine.weight_per_mass[own] * moves.load
    return replace(
        plant,
        turns=plant.turns[own],
        rotor=plant.rotor[own],
        mass=plant.mass[own] + moves.load,
        pull=np.where(moves.distance < 0, -pull, pull),
        driving=plant.driving[own],
        driven=plant.driven[own],
    )


def _run(plant: Plant, moves: _Moves) -> _Run:
    """Run each move: speed up, go on, and slow down so that it ends at its distance."""
    length = np.abs(moves.distance)
    zero = np.zeros_like(length)
    ramps = 1 / moves.acceleration + 1 / moves.deceleration
    step = np.minimum(moves.speed, np.sqrt(2 * length / ramps)) * ramps / _STEPS
    run = _Run(zero, zero, zero, zero, zero, zero, zero, zero)
    moving = np.isfinite(step)
    for _ in range(_STEPS + _STRIDES):
        if not moving.any():
            break
        moving = _advance(plant, moves, run, length, step, moving)
    return run


def _advance(
    plant: Plant,
    moves: _Moves,
    run: _Run,
    length: Vector,
    step: Vector,
    moving: Flags,
) -> Flags:
    step = np.maximum(step, _stride(run, moves, length))
    speed = np.minimum(run.speed + moves.acceleration * step, moves.speed)
    speed = np.minimum(speed, _still_in_time(run, moves.deceleration, length, step))
    acceleration = (speed - run.speed) / step
    ends = speed <= 0
    acceleration = np.where(ends, -moves.deceleration, acceleration)
    taken = np.where(ends, run.speed / moves.deceleration, step)
    taken = np.where(moving, taken, 0.0)
    speed = np.maximum(speed, 0.0)
    way = (run.speed + speed) / 2 * taken
    torque = plant.torque(acceleration)
    run.way = run.way + way
    run.time = run.time + taken
    run.squares = run.squares + torque**2 * taken
    run.peak = np.maximum(run.peak, np.where(taken > 0, np.abs(torque), 0.0))
    turning = np.maximum(run.speed, speed) * plant.turns
    harder = moving & (torque * turning > run.hard_torque * run.hard_speed)
    run.hard_torque = np.where(harder, torque, run.hard_torque)
    run.hard_speed = np.where(harder, turning, run.hard_speed)
    run.returned = run.returned + np.maximum(-torque * plant.turns * way, 0.0)
    run.speed = np.where(moving, speed, run.speed)
    return moving & ~ends


def _stride(run: _Run, moves: _Moves, length: Vector) -> Vector:
    """A long step in s at constant speed, which ends before it is time to brake."""
    room = length - run.way - run.speed**2 / (2 * moves.deceleration)
    return np.where(run.speed == moves.speed, 0.9 * room / moves.speed, 0.0)


def _still_in_time(run: _Run, deceleration: Vector, length: Vector, step: Vector) -> Vector:
    """The highest speed after this step from which the move still ends at its distance."""
    room = length - run.way - run.speed * step / 2
    inside = np.maximum((deceleration * step) ** 2 / 4 + 2 * deceleration * room, 0.0)
    return np.sqrt(inside) - deceleration * step / 2
