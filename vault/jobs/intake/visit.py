"""What a person says of an export: who brings it, when it was taken, why, and how to read it."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from typing import TYPE_CHECKING, Literal

from vault.model.errors import WrongUsage
from vault.model.snapshots import checked_occasion, checked_person
from vault.model.typed_text import text_or_none, whole_number
from vault.model.visible_text import one_line, several_lines
from vault.store.clock import parse_time

if TYPE_CHECKING:
    from vault.jobs.intake.as_left import AsLeft

DEFAULT_OCCASION = "routine"

_NODE_ID = re.compile(r"(0[xX])?[0-9a-fA-F]{1,3}")


@dataclass(frozen=True, slots=True)
class Visit:
    """What is said of an export.

    `family` and `channel` name its family and its axis where the file alone does not tell them,
    `partial` takes it although lines must be left out, `override_reason` says why it is right where
    a guard objects. `restores` is the restore plan that it checks, `moved` the measured move then,
    `as_left` what it is to prove as the outcome of a restore. `node_id` is what values refer to.

    Where neither anybody (`taken_at`) nor the export says when it was taken, `time_choice` picks
    the file's own proposal or now, `file_time` is the file's date, and `unsure` says what is done
    where the proposals are old: `ask` the person, `propose` them, or take `now`. `begun_at` is the
    moment that counts as now where taking in goes on that was cut short.
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
    as_left: AsLeft | None = None
    node_id: int | None = None
    time_choice: Literal["file", "now"] | None = None
    file_time: datetime | None = None
    begun_at: datetime | None = None
    unsure: Literal["ask", "propose", "now"] = "ask"


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
    node_id: str | None = None,
) -> Visit:
    """Check what a person typed; `taken_at` may be `file` or `now`.

    Raises WrongUsage naming what is wrong.
    """
    moment = text_or_none(taken_at)
    choice = _time_choice(moment)
    return Visit(
        by=checked_person(by),
        occasion=checked_occasion(text_or_none(occasion) or DEFAULT_OCCASION),
        taken_at=parse_time(moment) if moment and choice is None else None,
        work_order=one_line(several_lines(work_order)) or None,
        note=several_lines(note) or None,
        family=text_or_none(family),
        channel=whole_number(channel, "channel"),
        partial=partial,
        override_reason=one_line(several_lines(override_reason)) or None,
        node_id=parse_node_id(node_id),
        time_choice=choice,
    )


def _time_choice(text: str | None) -> Literal["file", "now"] | None:
    return "file" if text == "file" else "now" if text == "now" else None


def parse_node_id(text: str | None) -> int | None:
    """Read a node id, 1 to 127 (CiA 301, from memory). Raises WrongUsage."""
    typed = text_or_none(text)
    if typed is None:
        return None
    match = _NODE_ID.fullmatch(typed)
    is_hex = match is not None and match[1] is not None
    node_id = int(typed, 16) if is_hex else int(typed) if typed.isdecimal() and match else 0
    if not 1 <= node_id <= 127:
        raise WrongUsage(f"{typed[:20]!r} is no node id", hint="a number from 1 to 127")
    return node_id
