"""What a person says of an export: who brings it, when it was taken, why, and how to read it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from vault.model.snapshots import checked_occasion, checked_person
from vault.model.visible_text import one_line, several_lines
from vault.store.clock import parse_time

DEFAULT_OCCASION = "routine"


@dataclass(frozen=True, slots=True)
class Visit:
    """What is said of an export.

    `family` and `channel` name its family and its axis where the file alone does not tell them,
    `partial` takes it although lines must be left out, `override_reason` says why it is right where
    a guard objects. `restores` is the restore plan that it checks, `moved` the measured move then.
    `fallback_time` is when it was taken where neither anybody nor the export says so; else now.
    """

    by: str
    occasion: str = DEFAULT_OCCASION
    taken_at: datetime | None = None
    work_order: str | None = None
    note: str | None = None
    family: str | None = None
    channel: int | None = None
    partial: bool = False
    override_reason: str | None = None
    restores: str | None = None
    moved: str | None = None
    fallback_time: datetime | None = None


def parse_visit(
    by: str,
    occasion: str = DEFAULT_OCCASION,
    taken_at: str | None = None,
    work_order: str | None = None,
    note: str | None = None,
    *,
    family: str | None = None,
    channel: int | None = None,
    partial: bool = False,
    override_reason: str | None = None,
) -> Visit:
    """Check what a person typed. Raises WrongUsage naming what is wrong."""
    return Visit(
        by=checked_person(by),
        occasion=checked_occasion(occasion),
        taken_at=parse_time(taken_at) if taken_at else None,
        work_order=one_line(several_lines(work_order)) or None,
        note=several_lines(note) or None,
        family=family,
        channel=channel,
        partial=partial,
        override_reason=one_line(several_lines(override_reason)) or None,
    )
