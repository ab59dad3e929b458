"""How the story of an axis is told: what was set at first, and visit by visit what changed."""

from __future__ import annotations

import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from datetime import datetime

Setting = int | str
"""Content of a parameter as its family's tool shows it: steps (alder, larch) or text (rowan)."""

Settings = dict[str, Setting]

# Invented people.
COMMISSIONER = "Ilse Brandvik <ilse.brandvik@tileworks.example>"
ENGINEER = "Tomas Quillfeather <tomas.quillfeather@tileworks.example>"
NIGHT_SHIFT = "Yara Okonjel <yara.okonjel@tileworks.example>"
MAINTENANCE = "Pavo Drostmaa <pavo.drostmaa@tileworks.example>"
ELECTRICIAN = "Henrike Solvang <henrike.solvang@tileworks.example>"


@dataclass(frozen=True, slots=True)
class Visit:
    """One visit to an axis. `taken_at` is RFC 3339.

    `changes` are parameters set since the last visit, `fitted` nameplate lines that changed,
    `live` live values that matter at this visit (a fault code).
    """

    taken_at: str
    occasion: str
    by: str
    note: str
    work_order: str = ""
    changes: Mapping[str, Setting] = field(default_factory=dict)
    fitted: Mapping[str, str] = field(default_factory=dict)
    live: Mapping[str, Setting] = field(default_factory=dict)

    @property
    def file_stem(self) -> str:
        """Name of the export file without its ending."""
        return f"{self.taken_at[:10]}-{self.occasion}"


@dataclass(frozen=True, slots=True)
class AxisStory:
    """An axis: what it was commissioned with, what is fitted, and every visit in order."""

    machine: str
    axis: str
    family: str
    commissioned: Mapping[str, Setting]
    visits: tuple[Visit, ...]
    fitted: Mapping[str, str] = field(default_factory=dict)
    channel: int | None = None

    def states(self) -> Iterator[State]:
        """The axis as each visit left or found it."""
        settings, fitted = dict(self.commissioned), dict(self.fitted)
        for number, visit in enumerate(self.visits):
            settings |= visit.changes
            fitted |= visit.fitted
            yield State(self, visit, number, dict(settings), dict(fitted))


@dataclass(frozen=True, slots=True)
class State:
    """An axis at one visit: all settings that differ from the family's defaults."""

    story: AxisStory
    visit: Visit
    number: int
    settings: Settings
    fitted: dict[str, str]

    @property
    def days(self) -> int:
        """Days since commissioning."""
        first = datetime.fromisoformat(self.story.visits[0].taken_at)
        return (datetime.fromisoformat(self.visit.taken_at) - first).days

    @property
    def hours(self) -> int:
        """Operating hours: about 14 a day, and some at the maker's test."""
        return 6 + 14 * self.days

    @property
    def power_cycles(self) -> int:
        """Power-ups: about one in three days."""
        return 4 + self.days // 3

    def wobble(self, what: str, low: int, high: int) -> int:
        """A live value between two ends: arbitrary, but the same at every run."""
        key = f"{self.story.machine}/{self.story.axis} {self.visit.taken_at} {what}"
        return low + zlib.crc32(key.encode()) % (high - low + 1)
