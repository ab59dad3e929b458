"""What a restore sheet is made of: sections with sentences to read, tick or fill in, and tables."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal

TICK = "☐"
"""A cell that is drawn as a box to tick."""
SIGN_OFF = "sign_off"
"""Name of the section in which somebody answers for the restore."""

Kind = Literal["text", "tick", "blank", "warning"]


@dataclass(frozen=True, slots=True)
class SheetLine:
    """A sentence: to read, to tick, to fill in (`blank`), or a warning."""

    text: str
    kind: Kind = "text"


@dataclass(frozen=True, slots=True)
class SheetSection:
    """A step: `heads` and `rows` are a table, empty where there is none."""

    name: str
    title: str
    lines: tuple[SheetLine, ...]
    heads: tuple[str, ...] = ()
    rows: tuple[tuple[str, ...], ...] = ()
