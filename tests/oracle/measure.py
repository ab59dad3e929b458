"""What each axis does, measured on the simulation: figures in SI by the name of their quantity."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tests.oracle.cases import Case
from tests.oracle.drive import drives
from tests.oracle.duty import duties
from tests.oracle.ends import ends
from tests.oracle.following import lags, scale
from tests.oracle.force import forces
from tests.oracle.hold import holds
from tests.oracle.homing import homings
from tests.oracle.loops import loops
from tests.oracle.machine import machines
from tests.oracle.moves import moves
from tests.oracle.position import positions
from tests.oracle.stops import Stops, stops
from tests.oracle.supply import supplies
from tests.oracle.units import Vector


def measure(cases: Sequence[Case]) -> list[dict[str, float | None]]:
    """Simulate each case and tell its figures: m or rad, s, N*m or N, J, W, V, 1/s, degrees.

    None where the case lacks what a figure needs, or where the axis never comes to a stand.
    """
    if not cases:
        return []
    with np.errstate(all="ignore"):
        columns = _measured(cases)
    names = list(columns)
    return [{name: _known(columns[name][number]) for name in names} for number in range(len(cases))]


def _measured(cases: Sequence[Case]) -> dict[str, Vector]:
    machine = machines(cases)
    drive = drives(cases, machine)
    stopped = stops(cases, machine, drive)
    return {
        **scale(cases, machine, drive),
        **_stop_figures(stopped),
        **forces(machine, drive),
        **lags(cases, machine, drive),
        **holds(cases, machine, drive),
        **duties(cases, machine, drive),
        **supplies(cases, stopped),
        **loops(cases, machine),
        **positions(cases, machine, drive),
        **homings(cases, machine, drive),
        **moves(cases, drive),
        **ends(cases, machine, drive, stopped.trip_way),
    }


def _stop_figures(stopped: Stops) -> dict[str, Vector]:
    return {
        "quick_stop_way": stopped.quick_way,
        "quick_stop_time": stopped.quick_time,
        "fault_stop_way": stopped.fault_way,
        "link_stop_way": stopped.link_way,
        "trip_way": stopped.trip_way,
        "safe_stop_time": stopped.quick_time_without_filter,
    }


def _known(figure: float) -> float | None:
    return float(figure) if np.isfinite(figure) else None
