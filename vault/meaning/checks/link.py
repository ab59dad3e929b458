"""Drive and controller: in step."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import codes
from vault.meaning.findings import seconds

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView


@rule
def update_interval(view: AxisView) -> Iterator[Complaint]:
    """Drive and controller must work in step (common practice, no source)."""
    interval, period = view.si("update_interval"), view.si("task_period")
    stated = view.axis.controller_link.get("task_period") if view.axis is not None else None
    if period is None and stated is not None:
        from vault.model.quantities import Measure

        try:
            size = Measure.parse(str(stated)).physical()
        except ValueError:
            return
        period = float(size.number()) if size is not None and size.kind == "time" else None
    if interval is None or period is None or abs(interval - period) <= 1e-9:
        return
    yield Complaint(
        "update_interval",
        "link",
        f"The drive expects data every {seconds(interval)}, the controller's task runs every "
        f"{seconds(period)}.",
        (*codes(view, "update_interval", "task_period"), "axis.yaml: controller_link"),
    )
