"""Where the axis may go: 607Dh and the hard stops as places on the machine."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from tests.oracle.cases import Case
from tests.oracle.drive import Drive, worst_speed
from tests.oracle.machine import Machine
from tests.oracle.readings import from_objects, from_record
from tests.oracle.units import MISSING, Vector


def ends(
    cases: Sequence[Case], machine: Machine, drive: Drive, trip_way: Vector
) -> dict[str, Vector]:
    """Ways in m or rad; what a runaway takes of the lesser room, as a share."""
    low, high = (
        from_objects(cases, address) * drive.way_per_unit for address in ("0x607D:01", "0x607D:02")
    )
    stops = [from_record(cases, "mechanics", f"hard_stop_{end}") for end in ("low", "high")]
    room = np.minimum(low - stops[0], stops[1] - high)
    room = np.where(low < high, room, MISSING)
    return {
        "travel_between_limits": high - low,
        "limit_room": room,
        "runaway_share": np.where(room > 0, trip_way / room, MISSING),
        "time_out_way": worst_speed(drive, machine) * drive.window_time,
    }
