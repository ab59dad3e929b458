"""Which exports a folder holds: as its manifest says, else by the folders `machine/axis`."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path

from vault.jobs.intake.planned import Planned, plan_file
from vault.jobs.intake.side import on_side
from vault.jobs.intake.visit import parse_visit
from vault.model.errors import Unreadable, VaultError
from vault.model.names import Address
from vault.store.files.layout import CONTROLLER

MANIFEST = "manifest.csv"
MANIFEST_COLUMNS = (
    "file", "machine", "axis", "family", "taken_at", "occasion", "by", "work_order", "note",
    "channel", "node_id", "side",
)  # fmt: skip
_DATED = re.compile(r"\d{4}-\d{2}-\d{2}")
Failed = Callable[[VaultError], None]


def planned_by_manifest(manifest: Path, by: str, failed: Failed) -> Iterator[Planned]:
    """The exports that a manifest names; `failed` gets what is wrong with a row.

    Raises Unreadable where the manifest itself is none.
    """
    file = str(manifest)
    reader = csv.DictReader(io.StringIO(_text(manifest), newline=""), strict=True)
    try:
        _check_columns(reader.fieldnames or (), file)
        for row in reader:
            try:
                yield _planned_row(manifest, row, by)
            except VaultError as error:
                line = reader.line_num
                failed(type(error)(error.message, file=file, line=line, hint=error.hint))
    except csv.Error as error:
        line = reader.line_num + 1  # after the last good row
        raise Unreadable(f"no valid CSV: {error}", file=file, line=line) from error


def planned_by_folders(folder: Path, by: str, failed: Failed) -> Iterator[Planned]:
    """Exports in `machine/axis/`, those of its controller's side in `machine/axis/controller/`.

    A date at the start of a file's name is when it was taken.
    """
    of_controllers = folder.glob(f"*/*/{CONTROLLER}/*")
    for path in sorted((*folder.glob("*/*/*"), *of_controllers)):
        if not path.is_file() or path.name.startswith("."):
            continue
        try:
            parts = path.relative_to(folder).parts
            address = on_side(Address.parse("/".join(parts[:2])), parts[2] if parts[3:] else None)
            day = _DATED.match(path.name)
            yield plan_file(path, address, parse_visit(by, taken_at=day[0] if day else None))
        except VaultError as error:
            failed(type(error)(error.message, file=str(path), hint=error.hint))


def _text(manifest: Path) -> str:
    file = str(manifest)
    try:
        return manifest.read_bytes().decode("utf-8-sig")
    except OSError as error:
        reason = f"the manifest cannot be read: {error.strerror}"
        raise Unreadable(reason, file=file) from error
    except UnicodeDecodeError as error:
        line = error.object[: error.start].count(b"\n") + 1
        raise Unreadable("the manifest is not UTF-8 text", file=file, line=line) from error


def _check_columns(columns: Sequence[str], file: str) -> None:
    if missing := [c for c in ("file", "machine", "axis") if c not in columns]:
        raise Unreadable(
            f"the manifest has no column {missing[0]!r}",
            file=file,
            line=1,
            hint=f"its columns are {', '.join(MANIFEST_COLUMNS)}",
        )
    if unknown := [c for c in columns if c not in MANIFEST_COLUMNS]:
        raise Unreadable(f"unknown column {unknown[0]!r}", file=file, line=1)


def _planned_row(manifest: Path, row: dict[str, str | None], by: str) -> Planned:
    def cell(column: str) -> str | None:
        return (row.get(column) or "").strip() or None

    if row.get(None) or None in row.values():  # type: ignore[call-overload]
        raise Unreadable("the row has not as many columns as the first line")
    name = cell("file")
    if name is None:
        raise Unreadable("the row names no file")
    visit = parse_visit(
        cell("by") or by,
        cell("occasion"),
        cell("taken_at"),
        cell("work_order"),
        cell("note"),
        family=cell("family"),
        channel=cell("channel"),
        node_id=cell("node_id"),
    )
    address = Address.parse(f"{cell('machine') or ''}/{cell('axis') or ''}")
    return plan_file(manifest.parent / name, on_side(address, cell("side")), visit)
