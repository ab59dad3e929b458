"""Taking many exports in, from a folder with or without a manifest."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from functools import lru_cache
from pathlib import Path

from vault.jobs.alerts.raise_alerts import alert
from vault.jobs.intake.ingest import Intake, visit
from vault.jobs.intake.take_in import Planned, dated, take_in
from vault.jobs.state.read_export import file_bytes
from vault.model.errors import Unavailable, Unreadable, VaultError, WrongUsage
from vault.model.names import Address
from vault.store.clock import microseconds
from vault.store.git import packing
from vault.store.recorder import Recorder, recording
from vault.store.vault import Vault

MANIFEST_COLUMNS = (
    "file", "machine", "axis", "family", "taken_at", "occasion", "by", "work_order", "note",
    "channel",
)  # fmt: skip
# Written in portions: a process that dies loses at most one, and memory stays flat.
_PORTION = 500
_HOUSEKEEPING_FROM = 200
_DATED = re.compile(r"\d{4}-\d{2}-\d{2}")


@dataclass(slots=True)
class TreeIngested:
    """What became of a tree of exports."""

    taken: int = 0
    already_there: int = 0
    unchanged: int = 0
    axes: set[Address] = field(default_factory=set)
    failures: list[VaultError] = field(default_factory=list)
    warnings: list[str] = field(default_factory=list)


_address = lru_cache(maxsize=1 << 12)(Address.parse)  # many rows share one
Progress = Callable[[int, int], None]


def ingest_tree(
    vault: Vault,
    folder: Path,
    by: str,
    manifest: Path | None = None,
    progress: Progress = lambda done, total: None,
) -> TreeIngested:
    """Take in every export that the manifest names, or that lies in `machine/axis/`.

    Exports are recorded in the order they were taken. One that cannot be taken in is reported and
    does not hold up the others; one that the vault has already is left out.
    """
    if not folder.is_dir():
        raise Unreadable("there is no such folder", file=str(folder))
    if manifest is None and (folder / "manifest.csv").is_file():
        manifest = folder / "manifest.csv"
    outcome = TreeIngested()
    rows = _manifest(manifest, by, outcome) if manifest else _folders(folder, by, outcome)
    planned = sorted(rows, key=lambda row: microseconds(row.taken_at))
    done = 0
    progress(0, len(planned))
    with vault.writing():
        intake = Intake(vault)
        for portion in _portions(planned):
            with recording(vault) as recorder:
                for row in portion:
                    _take(vault, intake, recorder, row, outcome)
                    done += 1
                    progress(done, len(planned))
        if outcome.taken >= _HOUSEKEEPING_FROM:
            _pack(vault, outcome)
    outcome.warnings += alert(vault, outcome.axes)
    return outcome


def _pack(vault: Vault, outcome: TreeIngested) -> None:
    try:
        packing.housekeeping(vault.repository)
    except VaultError as error:  # everything is in; the vault is only larger than need be
        outcome.warnings.append(f"the vault could not be packed: {error}")


def _portions(planned: list[Planned]) -> Iterator[list[Planned]]:
    for start in range(0, len(planned), _PORTION):
        yield planned[start : start + _PORTION]


def _take(
    vault: Vault, intake: Intake, recorder: Recorder, row: Planned, outcome: TreeIngested
) -> None:
    try:
        found = take_in(vault, intake, recorder, row, file_bytes(row.path))
    except Unavailable:  # the vault's fault, not the file's
        raise
    except VaultError as error:
        outcome.failures.append(error)
        return
    if found is None:
        outcome.already_there += 1
        return
    outcome.taken += 1
    outcome.unchanged += found.unchanged
    outcome.axes.add(row.address)
    outcome.warnings += [f"{row.path}: {warning}" for warning in found.warnings]


def _manifest(manifest: Path, by: str, outcome: TreeIngested) -> Iterator[Planned]:
    file = str(manifest)
    try:
        text = manifest.read_bytes().decode("utf-8-sig")
    except OSError as error:
        reason = f"the manifest cannot be read: {error.strerror}"
        raise Unreadable(reason, file=file) from error
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise Unreadable("the manifest is not UTF-8 text", file=file, line=line) from error
    reader = csv.DictReader(io.StringIO(text, newline=""), strict=True)
    try:
        columns = reader.fieldnames or ()
        if missing := [c for c in ("file", "machine", "axis") if c not in columns]:
            raise Unreadable(
                f"the manifest has no column {missing[0]!r}",
                file=file,
                line=1,
                hint=f"its columns are {', '.join(MANIFEST_COLUMNS)}",
            )
        if unknown := [c for c in columns if c not in MANIFEST_COLUMNS]:
            raise Unreadable(f"unknown column {unknown[0]!r}", file=file, line=1)
        for row in reader:
            try:
                yield _planned(manifest, row, by)
            except VaultError as error:
                line = reader.line_num
                named = type(error)(error.message, file=file, line=line, hint=error.hint)
                outcome.failures.append(named)
    except csv.Error as error:
        line = reader.line_num + 1  # after the last good row
        raise Unreadable(f"no valid CSV: {error}", file=file, line=line) from error


def _planned(manifest: Path, row: dict[str, str | None], by: str) -> Planned:
    def cell(column: str) -> str | None:
        return (row.get(column) or "").strip() or None

    if row.get(None) or None in row.values():  # type: ignore[call-overload]
        raise Unreadable("the row has not as many columns as the first line")
    name = cell("file")
    if name is None:
        raise Unreadable("the row names no file")
    path = manifest.parent / name
    channel = cell("channel")
    if channel is not None and not channel.isdecimal():
        raise WrongUsage(f"{channel!r} is no channel number")
    who = visit(
        cell("by") or by,
        cell("occasion") or "routine",
        cell("taken_at"),
        cell("work_order"),
        cell("note"),
        channel=int(channel) if channel else None,
    )
    address = _address(f"{cell('machine') or ''}/{cell('axis') or ''}")
    return dated(path, address, who, cell("family"))


def _folders(folder: Path, by: str, outcome: TreeIngested) -> Iterator[Planned]:
    """Exports in `machine/axis/`; a date at the start of a file's name is when it was taken."""
    for path in sorted(folder.glob("*/*/*")):
        if not path.is_file() or path.name.startswith("."):
            continue
        try:
            address = Address.parse("/".join(path.relative_to(folder).parts[:2]))
            day = _DATED.match(path.name)
            who = visit(by, taken_at=day[0] if day else None)
            yield dated(path, address, who, None)
        except VaultError as error:
            outcome.failures.append(type(error)(error.message, file=str(path), hint=error.hint))
