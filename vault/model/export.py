"""What a format reader finds in an export, before any dictionary is applied."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from decimal import Decimal
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from vault.model.axis_pick import AxisPick

Scalar = int | Decimal | str
"""A parameter's content: integer, exact decimal, or text (octets as lower-case hex text)."""

Access = Literal["rw", "ro", "wo", "const"]
"""What may be done with an object from outside (CiA 301)."""

SELF_DESCRIBING = frozenset({"dcf", "xdc", "iec61131"})
"""Formats that say themselves what their parameters are."""


@dataclass(frozen=True, slots=True)
class Entry:
    """One parameter as one export writes it.

    `written` is a number or text exactly as the export holds it; whether it is the raw
    content of the drive or the scaled value is said by `Listing.holds`.
    `low`, `high`, `default` are in the same terms as `written`. `line` counts from 1. `text` is
    the spelling in the file where `written` does not keep it (a serial number `0012`). `is_count`
    marks what only says how many entries an object has: no setting of the drive. `is_default`
    marks a value that is the file's default, where the file states none of the drive. `role` and
    `group` are those that the format itself tells.
    """

    code: str
    written: Scalar
    line: int
    name: str = ""
    unit: str = ""
    data_type: str | None = None
    access: str | None = None
    low: Scalar | None = None
    high: Scalar | None = None
    default: Scalar | None = None
    text: str = ""
    is_count: bool = False
    is_default: bool = False
    role: str | None = None
    group: str | None = None


@dataclass(frozen=True, slots=True)
class SkippedLine:
    """A line that could not be understood, and why."""

    line: int
    text: str
    reason: str


@dataclass(frozen=True, slots=True)
class Listing:
    """The entries of one axis in one export, in the order of the file.

    `nameplate` maps our field names (`drive`, `serial`, `firmware`, …) to text.
    `channels` lists every channel the file holds, `channel` the one these entries are of.
    `taken_at` is RFC 3339 text where the export states its own time in a declared place;
    `head_time` is when the file's head says it was written, which may be the description's.
    `remarks` are lines in doubt by which nothing was left out. `ends` are the marks by which a
    whole file can be told from one that was cut off (`last line`, `lists`, a closing comment).
    `pick` is the rule by which they are of one axis, where the file holds others too.
    `outside` is what no such file ever says of an axis.
    """

    format: str
    entries: tuple[Entry, ...]
    nameplate: Mapping[str, str] = field(default_factory=dict)
    skipped: tuple[SkippedLine, ...] = ()
    holds: Literal["raw", "value"] = "raw"
    encoding: str = "utf-8"
    channel: int | None = None
    channels: tuple[int, ...] = ()
    taken_at: str | None = None
    head_time: str | None = None
    remarks: tuple[SkippedLine, ...] = ()
    ends: frozenset[str] = frozenset()
    pick: AxisPick | None = None
    outside: tuple[str, ...] = ()
