"""The one thing that is left to do for an axis, where it is not set up yet."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vault.jobs.records.edit import AxisSummary


@dataclass(frozen=True, slots=True)
class NextStep:
    """What to do: in words, where in the viewer, and by which command."""

    words: str
    address: str
    command: str


def next_step(
    summary: AxisSummary, *, is_approved: bool, untried: str | None = None
) -> NextStep | None:
    """A record that says how it is built, an export, an approved state, in this order.

    `untried`: the site wants a trial of what is approved, and this is why there is none.
    """
    axis, record = str(summary.address), summary.record
    if summary.retired is not None:
        return None
    if summary.address.is_controller:
        return None if is_approved else _approval(axis)
    if record is None or (record.mechanics is None and record.motor is None):
        words = "enter its record, what no export holds"
        return NextStep(words, f"/axis/{axis}/record", f"axisvault axis template {axis} --out FILE")
    if summary.latest is None:
        command = f"axisvault ingest EXPORT --to {axis}"
        return NextStep("take in its first export", f"/take-in?axis={axis}", command)
    if is_approved:
        return None
    return _approval(axis) if untried is None else _trial(axis)


def _trial(axis: str) -> NextStep:
    command = f"axisvault trial template {axis} --out FILE"
    return NextStep("try it at the machine, as this site wants it", f"/axis/{axis}/trial", command)


def _approval(axis: str) -> NextStep:
    command = f"axisvault golden approve {axis} --reason TEXT"
    return NextStep("approve its latest state", f"/axis/{axis}/golden", command)
