"""The recording of a move as a table has it: samples of named channels over time, each in its unit.

What is measured is no setting: the numbers are floating point here, and never in a parameter.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

CHANNELS: Mapping[str, str] = {
    "time": "time",
    "position_demand": "position demand",
    "position_actual": "position actual",
    "velocity_demand": "velocity demand",
    "velocity_actual": "velocity actual",
    "torque_demand": "torque demand",
    "torque_actual": "torque actual",
    "current_actual": "current actual",
    "following_error": "following error",
}
"""What a column of a trace may be, and how its heading is written in a file of our own."""

GAP = 5.0
"""A step so many times as long as the usual one is a gap, and no sample."""

FEWEST, MOST = 20, 200_000
"""How many samples a trace has."""


@dataclass(frozen=True, slots=True)
class Column:
    """The samples of one channel: as they stand in the file, in the unit that it states."""

    channel: str
    heading: str
    unit: str
    samples: tuple[float, ...]


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch without samples: the line behind it, and between which times (s) it lies."""

    line: int
    begin: float
    end: float


@dataclass(frozen=True, slots=True)
class Trace:
    """A trace as it was read. `times` are in s and rise; `not_used` are headings of no channel.

    `uneven` is whether the steps differ by more than a tenth beside the gaps.
    """

    file: str
    times: tuple[float, ...]
    columns: Mapping[str, Column]
    gaps: tuple[Gap, ...] = ()
    uneven: bool = False
    not_used: tuple[str, ...] = ()

    @property
    def duration(self) -> float:
        """From the first sample to the last, in s."""
        return self.times[-1] - self.times[0]
