"""What a person says of an export: who brings it, when it was taken, why, and how to read it."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime

from vault.model.snapshots import checked_occasion, checked_person
from vault.model.typed_text import text_or_none, whole_number
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
    occasion: str | None = None,
    taken_at: str | None = None,
    work_order: str | None = None,
    note: str | None = None,
    *,
    family: str | None = None,
    channel: str | None = None,
    partial: bool = False,
    override_reason: str | None = None,
) -> Visit:
    """Check what a person typed. Raises WrongUsage naming what is wrong."""
    moment = text_or_none(taken_at)
    return Visit(
        by=checked_person(by),
        occasion=checked_occasion(text_or_none(occasion) or DEFAULT_OCCASION),
        taken_at=parse_time(moment) if moment else None,
        work_order=one_line(several_lines(work_order)) or None,
        note=several_lines(note) or None,
        family=text_or_none(family),
        channel=whole_number(channel, "channel"),
        partial=partial,
        override_reason=one_line(several_lines(override_reason)) or None,
    )
