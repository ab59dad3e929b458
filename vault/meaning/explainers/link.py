"""The controller link: interval, addresses, data sizes, supervision."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.meaning.explainers import Explanation, explains
from vault.meaning.findings import seconds

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change


@explains("update_interval", "task_period", "communication_cycle_period")
def interval(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Drive and controller must work in step (common practice, no source)."""
    interval, period = right.si("update_interval"), right.si("task_period")
    if interval is None or period is None:
        return Explanation("It must be the controller's task period.", "link")
    if abs(interval - period) <= 1e-9:
        return Explanation("Drive and controller work in step.", "link")
    return Explanation(
        f"The drive expects data every {seconds(interval)}, the controller's task runs every "
        f"{seconds(period)}: set points are doubled or lost, and the axis runs rough.",
        "link",
    )


@explains("node_address", "station_alias", "safety_address")
def address(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Addresses must be unique; a wrong one drives the wrong axis."""
    return Explanation(
        "The controller finds the drive by it: a wrong or doubled address is no axis, or the "
        "wrong one.",
        "link",
    )


@explains("process_data_in_size", "process_data_out_size", "bit_rate")
def layout(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Both ends must agree."""
    return Explanation(
        "The controller's configuration must say the same, or the link stays down.", "link"
    )


@explains(
    "fieldbus_timeout", "missed_update_limit", "guard_time", "life_time_factor",
    "consumer_heartbeat_time",
)  # fmt: skip
def supervision(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """How long the axis goes on when nobody talks to it."""
    size, before = change.right_physical, change.left_physical
    value = change.right.value if change.right is not None else None
    if value == 0:
        return Explanation("The drive no longer notices that its controller is gone.", "hazard")
    if size is None or before is None:
        return None
    longer = size.number() > before.number()
    text = f"A lost controller is noticed after {seconds(float(size.number()))}"
    return Explanation(f"{text}.", "hazard" if longer else "link")
