"""Taking one planned export in, if the vault does not have it: for trees and watched folders."""

from __future__ import annotations

from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from vault.jobs.intake.ingest import Ingested, Intake, Visit, own_time
from vault.jobs.state.read_export import file_bytes
from vault.model.errors import Unreadable
from vault.model.names import Address
from vault.store.clock import microseconds, now
from vault.store.files.snapshot_text import digest
from vault.store.index.rows import Snapshot
from vault.store.recorder import Recorder
from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class Planned:
    """One export to take in.

    `taken_at` is the file's own date where nothing else tells a time (`visit` then has none); an
    export that states its time goes by that.
    """

    path: Path
    address: Address
    visit: Visit
    family: str | None
    taken_at: datetime


def dated(path: Path, address: Address, who: Visit, family: str | None) -> Planned:
    """Plan an export; without a time of its own it goes by the file's date.

    Raises Unreadable where that date cannot be a snapshot's.
    """
    return Planned(path, address, who, family, who.taken_at or _file_time(path))


def _file_time(path: Path) -> datetime:
    try:
        seconds = int(path.stat().st_mtime)
    except OSError:  # whoever reads the file says it better
        return now()
    try:
        if seconds < 0:  # which git cannot record
            raise ValueError(seconds)
        return datetime.fromtimestamp(seconds).astimezone()
    except (ValueError, OverflowError, OSError) as error:
        raise Unreadable(
            "the file's date cannot be when the export was taken",
            file=str(path),
            hint="give the file a right date, or take it in by hand with --taken-at TIME",
        ) from error


def take_in(
    vault: Vault, intake: Intake, recorder: Recorder, row: Planned, content: bytes
) -> Ingested | None:
    """Record an export with this content; None where the vault has it already.

    That is: the same bytes, of the same axis, at the same moment.
    Raises Unreadable, WrongUsage or Refused for the file, Unavailable or Damaged for the vault.
    """
    export = digest(content)
    if row.visit.taken_at is not None and _is_there(vault, row, row.taken_at, export):
        return None
    read = intake.read(content, str(row.path), row.address, row.family, row.visit)
    taken_at = row.visit.taken_at or own_time(read) or row.taken_at
    if _is_there(vault, row, taken_at, export):
        return None
    return intake.record(recorder, read, row.address, replace(row.visit, taken_at=taken_at))


def stored_before(
    vault: Vault, path: Path, address: Address, who: Visit, family: str | None
) -> Snapshot | None:
    """The snapshot that taking an export in had made, where it was cut short after that.

    Raises as `ingest` does.
    """
    content = file_bytes(path)
    read = Intake(vault).read(content, str(path), address, family, who)
    taken_at = who.taken_at or own_time(read) or who.otherwise or now()
    return _there(vault, Planned(path, address, who, family, taken_at), taken_at, digest(content))


def _is_there(vault: Vault, row: Planned, taken_at: datetime, export: str) -> bool:
    return _there(vault, row, taken_at, export) is not None


def _there(vault: Vault, row: Planned, taken_at: datetime, export: str) -> Snapshot | None:
    return next(
        (
            found
            for found in vault.index.taken_at(row.address, microseconds(taken_at))
            if found.record.export_sha256 == export
            and row.visit.channel in (None, found.record.channel)
        ),
        None,
    )
