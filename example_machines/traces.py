"""Recordings of moves of three axes, one of them before and after its belt wore: all invented.

A small simulation of its own: a position loop with feed forward around a PI velocity loop, friction
and a pull; written as three drives' tools might save it. `python -m example_machines.traces` writes
the files below `traces/`.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import copysign, tanh
from pathlib import Path
from random import Random

FOLDER = Path(__file__).parent / "traces"
MOVE = "there and back, fast and slow"
_STEP = 0.00025
_EVERY = 16
_REST = 0.35


@dataclass(frozen=True, slots=True)
class Recorded:
    """An axis as it is recorded. `way` is m for a radian of the motor, torque in N*m of it."""

    file: str
    machine: str
    axis: str
    way: float
    inertia: float
    dry: float
    viscous: float
    pull: float
    gain: float
    forward: float
    bandwidth: float
    speed: float
    rate: float
    distance: float
    rated: float
    style: str
    title: str = "as it was after commissioning"


PUSHER = Recorded(
    "kiln-loader-pusher.csv", "kiln-loader", "pusher", 0.25 / (2 * 3.141592653589793 * 10), 8.72e-4,
    0.31, 0.0012, 0.0, 27.5, 0.9, 135.0, 0.4, 1.5, 0.32, 2.4, "permille",
)  # fmt: skip
RECORDINGS = (
    Recorded(
        "glaze-line-1-lift.csv", "glaze-line-1", "lift", 0.02 / (2 * 3.141592653589793 * 2),
        3.12e-4, 0.22, 0.0004, 0.94, 30.0, 0.9, 150.0, 0.3, 1.2, 0.25, 3.2, "plain",
    ),
    Recorded(
        "glaze-line-1-spray-carriage.csv", "glaze-line-1", "spray-carriage",
        0.016 / (2 * 3.141592653589793 * 4), 6.89e-5, 0.085, 0.00012, 0.0, 42.0, 0.95, 235.0, 0.25,
        2.0, 0.22, 1.27, "german",
    ),
    PUSHER,
    replace(
        PUSHER, file="kiln-loader-pusher-worn.csv", dry=0.44, viscous=0.0014,
        title="two years later: the belt is worn and was tensioned to make up for it",
    ),
)  # fmt: skip


def _demand(own: Recorded) -> Iterator[float]:
    """The speed that is asked for, step by step: there and back, fast, then slow."""
    for speed in (own.speed, -own.speed, own.speed * 0.45, -own.speed * 0.45):
        ramp = abs(speed) / own.rate
        even = max(0.25, own.distance / abs(speed) - ramp) if abs(speed) == own.speed else 0.45
        for number in range(round((_REST + 2 * ramp + even) / _STEP)):
            time = number * _STEP - _REST / 2
            up, down = time / ramp, (2 * ramp + even - time) / ramp
            yield copysign(max(0.0, min(1.0, up, down)), speed) * abs(speed)
    for _ in range(round(_REST / _STEP)):
        yield 0.0


def samples(own: Recorded) -> Iterator[tuple[float, ...]]:
    """Time, demand, actual, speed, torque and following error, each few milliseconds."""
    chance = Random(own.file)
    demand = place = speed = held = 0.0
    moved = own.inertia / own.way
    for number, asked in enumerate(_demand(own)):
        off = own.gain * (demand - place) + own.forward * asked - speed
        torque = own.pull + moved * own.bandwidth * (off + held)
        if number % _EVERY == 0:
            trembling = chance.gauss(0, 0.004 * own.rated)
            yield (
                number * _STEP, demand, place + chance.gauss(0, 2e-7), speed, torque + trembling,
                demand - place,
            )  # fmt: skip
        drag = (
            own.pull + own.dry * tanh(speed / (0.004 * own.speed)) + own.viscous * speed / own.way
        )
        held += own.bandwidth / 5 * off * _STEP
        speed += (torque - drag) / moved * _STEP
        place += speed * _STEP
        demand += asked * _STEP


def table(own: Recorded) -> str:
    """A recording as text, in the style of its drive's tool."""
    rows = list(samples(own))
    lines = [f"# Invented recording: {own.machine}/{own.axis}, {own.title}", f"# Move: {MOVE}"]
    if own.style == "german":
        lines += ["Zeit;Lagesollwert;Lageistwert;Geschwindigkeit Ist;Drehmoment Ist;Schleppfehler"]
        lines += ["ms;mm;mm;mm/s;N*m;mm"]
        sizes = (1000, 1000, 1000, 1000, 1, 1000)
    else:
        torque = "N*m" if own.style == "plain" else "permille_rated_torque"
        lines += [
            "time [s],position demand [mm],position actual [mm],velocity actual [mm/s],"
            f"torque actual [{torque}],following error [mm]"
        ]
        sizes = (1, 1000, 1000, 1000, 1 if own.style == "plain" else 1000 / own.rated, 1000)
    digits = (3 if own.style != "german" else 0, 4, 4, 3, 4 if own.style != "permille" else 1, 5)
    for row in rows:
        cells = [f"{n * size:.{d}f}" for n, size, d in zip(row, sizes, digits, strict=True)]
        if own.style == "german":
            lines.append(";".join(cells).replace(".", ","))
        else:
            lines.append(",".join(cells))
    return "\n".join(lines) + "\n"


def main() -> None:
    """Write every recording."""
    FOLDER.mkdir(exist_ok=True)
    for own in RECORDINGS:
        (FOLDER / own.file).write_text(table(own), encoding="utf-8", newline="\n")


if __name__ == "__main__":
    main()
