"""The holding brake: fitted and used, and waited for."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.meaning import physics
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import codes
from vault.meaning.findings import digits, figure, seconds

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView


@rule
def brake(view: AxisView) -> Iterator[Complaint]:
    """A hanging load is held by the motor until the brake has closed."""
    if not view.is_vertical or view.has_brake is False:
        return
    if view.choice("brake_used") == 0:
        yield Complaint(
            "brake",
            "hazard",
            "The axis hangs, and the drive does not work its brake.",
            codes(view, "brake_used"),
        )
    record = view.axis.brake if view.axis is not None else None
    needed = record.apply_time.physical() if record is not None and record.apply_time else None
    given = view.si("brake_apply_delay")
    if needed is None or given is None or given >= float(needed.number()):
        return
    free = float(needed.number()) - given
    way = physics.drop(free)
    yield Complaint(
        "brake",
        "hazard",
        f"The brake closes in {seconds(float(needed.number()))}, the drive waits {seconds(given)}: "
        f"the load drops {digits(way * 1000)} mm.",
        codes(view, "brake_apply_delay"),
        (figure("drop while nothing holds", way, "g t^2 / 2", unit="m"),),
    )
