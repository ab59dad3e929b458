"""What a generated export holds: the truth that drafts are held against."""

from __future__ import annotations

from dataclasses import dataclass, field
from decimal import Decimal

Content = Decimal | str | None
"""A number, a text, or nothing where the export has no value."""


@dataclass(frozen=True, slots=True)
class TrueParameter:
    """One parameter: its values axis by axis, its unit as the export spells it, its role if any."""

    code: str
    name: str
    values: tuple[Content, ...]
    unit: str = ""
    section: str = ""
    low: Decimal | None = None
    high: Decimal | None = None
    default: Decimal | None = None
    access: str = "rw"
    role: str | None = None
    base: str = ""


@dataclass(frozen=True, slots=True)
class Style:
    """How an export is written; `columns` are ours, in the order in which they stand.

    `units` says where they stand: `column`, `value` or nowhere. `sections` and `axes` are told by
    a `column`, by a `heading`, or not at all.
    """

    container: str
    language: str = "en"
    decimal: str = "."
    thousands: str = ""
    units: str = "column"
    columns: tuple[str, ...] = ("code", "name", "value", "unit")
    sections: str = ""
    axes: str = ""
    title: bool = False
    plate: bool = False
    time_form: str = "%Y-%m-%d %H:%M"
    comments: bool = False
    footer: bool = False
    encoding: str = "utf-8"
    line_end: str = "\n"
    quotes: bool = False
    delimiter: str = ";"
    headings: int = 0
    archive: bool = False


@dataclass(frozen=True, slots=True)
class TrueExport:
    """An export with its truth: `channels` are the axes that it holds, none where it has one."""

    content: bytes
    file: str
    style: Style
    parameters: tuple[TrueParameter, ...]
    channels: tuple[int, ...] = ()
    plate: dict[str, str] = field(default_factory=dict)
