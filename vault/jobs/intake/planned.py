"""An export of many that are to be taken in: where it lies, where it belongs, when it was taken."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from vault.jobs.intake.visit import Visit
from vault.model.errors import Unreadable
from vault.model.names import Address
from vault.store.clock import moment_of_second, now


@dataclass(frozen=True, slots=True)
class Planned:
    """One export to take in; `expected_time` is when it was taken, as far as is known unread."""

    path: Path
    address: Address
    visit: Visit
    expected_time: datetime


def plan_file(path: Path, address: Address, visit: Visit) -> Planned:
    """Plan an export; where neither anybody nor the export says a time, the file proposes one.

    Raises Unreadable where that date cannot be a snapshot's.
    """
    if visit.taken_at is not None:
        return Planned(path, address, visit, visit.taken_at)
    file_time = _file_time(path)
    return Planned(path, address, replace(visit, file_time=file_time, unsure="propose"), file_time)


def file_date(path: Path) -> datetime | None:
    """The date of a file; None where it has none that can be a snapshot's."""
    try:
        return _file_time(path)
    except Unreadable:
        return None


def _file_time(path: Path) -> datetime:
    try:
        seconds = int(path.stat().st_mtime)
    except OSError:  # whoever reads the file says it better
        return now()
    try:
        if seconds < 0:  # which git cannot record
            raise ValueError(seconds)
        return moment_of_second(seconds)
    except (ValueError, OverflowError, OSError) as error:
        raise Unreadable(
            "the file's date cannot be when the export was taken",
            file=str(path),
            hint="give the file a right date, or take it in by hand with --taken-at TIME",
        ) from error
