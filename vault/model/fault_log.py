"""Faults of an axis: when it tripped, with which code, and what people noted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class FaultEntry:
    """One trip. `code` as the drive shows it; `source` is the file that it was read from."""

    at: datetime
    code: str
    by: str
    note: str | None = None
    source: str | None = None

    @property
    def key(self) -> tuple[datetime, str]:
        """One drive trips once at a time with one code."""
        return self.at, self.code.casefold()
