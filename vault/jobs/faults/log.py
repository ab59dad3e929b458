"""The fault log of an axis: adding, importing, listing."""

from __future__ import annotations

import csv
import io
from collections.abc import Callable, Iterable, Iterator, Mapping
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path
from typing import TYPE_CHECKING

from vault.jobs.export.content import read_content
from vault.meaning.faults import FaultCode, read_fault
from vault.model.errors import Unreadable, VaultError, WrongUsage
from vault.model.export import SkippedLine
from vault.model.fault_log import FaultEntry
from vault.model.typed_text import required_text, text_or_none
from vault.model.wording import plural
from vault.model.written_form import minute_text
from vault.store.clock import now, parse_time
from vault.store.files import layout
from vault.store.files.fault_log_text import fault_log_text, read_fault_log

if TYPE_CHECKING:
    from vault.model.families import Family
    from vault.model.names import Address
    from vault.store.vault import Vault

COLUMNS = {"at": ("at", "time", "date", "when"), "code": ("code", "fault", "error"),
           "note": ("note", "text", "remark")}  # fmt: skip
"""Columns of a fault history, and the headings that they are known by."""


@dataclass(frozen=True, slots=True)
class FaultsAdded:
    """What became of faults that were given; `known` were in the log already."""

    added: tuple[FaultEntry, ...]
    known: int
    skipped: tuple[SkippedLine, ...]
    warnings: tuple[str, ...]


def faults_of(vault: Vault, address: Address) -> tuple[FaultEntry, ...]:
    """The faults of an axis, oldest first."""
    path = layout.fault_file(address)
    content = vault.read(path)
    return () if content is None else read_fault_log(content, path)


def parse_fault(
    code: str | None, by: str, *, at: str | None = None, note: str | None = None
) -> FaultEntry:
    """Check what a person typed about a fault; without `at` it is now.

    Raises WrongUsage naming what is wrong, as a fault that has not happened yet.
    """
    moment = parse_time(at) if text_or_none(at) and at else now()
    return FaultEntry(moment, _checked(required_text(code, "code"), moment), by, text_or_none(note))


def add_fault(vault: Vault, address: Address, fault: FaultEntry) -> FaultsAdded:
    """Note one fault."""
    return _added(vault, address, [fault], fault.by)


def import_faults(
    vault: Vault,
    address: Address,
    path: Path,
    by: str,
    *,
    columns: Mapping[str, str] | None = None,
    partial: bool = False,
) -> FaultsAdded:
    """Take in a fault history as CSV: columns at, code and note under whatever headings.

    `columns` names headings. Without `partial` one bad line refuses the file, with its reason.
    """
    entries: list[FaultEntry] = []
    skipped: list[SkippedLine] = []
    for line, cells, read in _rows(path, columns or {}):
        try:
            entries.append(FaultEntry(*read(), by=by, note=cells.get("note"), source=path.name))
        except VaultError as error:
            if not partial:
                raise Unreadable(error.message, file=str(path), line=line) from error
            text = ", ".join(cells.values())
            skipped.append(SkippedLine(line, text, error.message))
    return _added(vault, address, entries, by, tuple(skipped))


def _rows(
    path: Path, named: Mapping[str, str]
) -> Iterator[tuple[int, dict[str, str], Callable[[], tuple[datetime, str]]]]:
    text = _text(path)
    head = text.split("\n", 1)[0]
    delimiter = max(";\t,|", key=head.count)
    rows = csv.reader(io.StringIO(text), delimiter=delimiter)
    headings = [cell.strip() for cell in next(rows, [])]
    places = {field: _place(field, headings, named, path) for field in COLUMNS}
    for row in rows:
        if not any(cell.strip() for cell in row):
            continue
        cells = {
            field: row[place].strip()
            for field, place in places.items()
            if place is not None and place < len(row) and row[place].strip()
        }

        def read(cells: dict[str, str] = cells) -> tuple[datetime, str]:
            for field in ("at", "code"):
                if field not in cells:
                    raise WrongUsage(f"the line has no {field}")
            at = parse_time(cells["at"], of_file=True)
            return at, _checked(cells["code"], at)

        yield rows.line_num, cells, read


def _text(path: Path) -> str:
    content = read_content(path)
    for encoding in ("utf-8-sig", "windows-1252"):
        try:
            return content.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise Unreadable("this is neither UTF-8 nor Windows-1252 text", file=str(path), line=1)


def _place(field: str, headings: list[str], named: Mapping[str, str], path: Path) -> int | None:
    wanted = (named[field],) if field in named else COLUMNS[field]
    for place, heading in enumerate(headings):
        if heading.casefold() in (name.casefold() for name in wanted):
            return place
    if field == "note" and field not in named:
        return None
    raise Unreadable(
        f"no column is headed {' or '.join(wanted)}; there are {', '.join(headings)}",
        file=str(path), line=1, hint="name it: --column at=HEADING,code=HEADING",
    )  # fmt: skip


def _checked(code: str, at: datetime) -> str:
    text = " ".join(code.split())
    if not text or len(text) > 40 or not text.isprintable():
        raise WrongUsage(f"{code!r} is no fault code")
    if at > now() + timedelta(minutes=5):
        raise WrongUsage(f"the fault of {minute_text(at)} lies in the future")
    return text


def _added(
    vault: Vault,
    address: Address,
    entries: list[FaultEntry],
    by: str,
    skipped: tuple[SkippedLine, ...] = (),
) -> FaultsAdded:
    with vault.writing():
        vault.require_whole_axis(address)
        kept = faults_of(vault, address)
        known = {entry.key for entry in kept}
        new: dict[tuple[datetime, str], FaultEntry] = {}
        for entry in entries:
            if entry.key not in known:
                new.setdefault(entry.key, entry)
        if new:
            path = layout.fault_file(address)
            text = fault_log_text([*kept, *new.values()])
            count = plural(len(new), "fault")
            codes = ", ".join(sorted({entry.code for entry in new.values()}))
            vault.write_files({path: text}, f"{address}: {count} noted\n\nCodes: {codes}\n", by)
        added = tuple(new.values())
    return FaultsAdded(
        added, len(entries) - len(added), skipped, tuple(_unknown(vault, address, added))
    )


def _unknown(vault: Vault, address: Address, entries: Iterable[FaultEntry]) -> Iterator[str]:
    for code in sorted({entry.code for entry in entries}):
        if fault_code(vault, address, code) is None:
            yield f"{code} is no standard code, and none of the family's: nothing is known about it"


def named_faults(vault: Vault, address: Address) -> list[tuple[FaultEntry, FaultCode | None]]:
    """The faults of an axis with what their codes stand for, oldest first."""
    return [(fault, fault_code(vault, address, fault.code)) for fault in faults_of(vault, address)]


def fault_code(vault: Vault, address: Address, code: str) -> FaultCode | None:
    """What a code stands for on an axis; None where nothing is known about it."""
    try:
        return read_fault(code, family_of(vault, address))
    except WrongUsage:
        return None


def family_of(vault: Vault, address: Address) -> Family | None:
    """The family that the axis has now."""
    latest = vault.latest(address)
    name = latest.record.family if latest is not None else None
    return vault.family_file(name).family if name is not None else None
