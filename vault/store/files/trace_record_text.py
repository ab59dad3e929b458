"""trace.yaml: what is kept beside the recording of a move."""

from __future__ import annotations

import re
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from vault.model.errors import Damaged, VaultError
from vault.model.names import commit_id
from vault.store.clock import parse_time, time_text
from vault.store.files import yaml_text
from vault.store.files.moment_names import name_of_moment
from vault.store.files.snapshot_text import digest

SCHEMA = "axisvault/trace/1"
TRACES_FORMAT = 2
"""Number of the vault's format that has such files first."""
_FILE = re.compile(r"[A-Za-z0-9][A-Za-z0-9_.-]{0,79}")


@dataclass(frozen=True, slots=True)
class TraceRecord:
    """A trace that is kept: its name in the tree, its file, and what holds of it.

    `by` recorded it at `taken_at`; `snapshot` is the commit of the set that was in force then,
    `vault_at` the vault's state when it was added.
    """

    name: str
    file: str
    move: str
    taken_at: datetime
    by: str
    added_at: datetime
    snapshot: str
    vault_at: str
    sha256: str


def kept_file_name(file: str) -> str:
    """The name under which a recording is kept: its own, if that is a plain one.

    Only files that we write are called `.yaml`: no other is read as one of these.
    """
    last = re.split(r"[\\/]", file)[-1]
    plain = re.sub(r"[^A-Za-z0-9_.-]+", "-", last).strip("-.")
    is_ours = plain.casefold().endswith(".yaml")
    return plain if _FILE.fullmatch(plain) and not is_ours else "recording.txt"


def trace_record_text(record: TraceRecord) -> bytes:
    """Write trace.yaml: equal records give equal bytes."""
    return yaml_text.mapping_text(
        {
            "schema": SCHEMA,
            "file": record.file,
            "move": record.move,
            "taken_at": time_text(record.taken_at),
            "by": record.by,
            "added_at": time_text(record.added_at),
            "snapshot": record.snapshot,
            "vault_at": record.vault_at,
            "sha256": record.sha256,
        }
    )


def read_trace_record(content: bytes, file: str) -> TraceRecord:
    """Read a trace.yaml that lies in a vault. Raises Damaged where it is not as we wrote it."""
    found: dict[str, Any] = yaml_text.read_mapping(content, file)
    name = file.rsplit("/", 2)[-2] if "/" in file else ""
    try:
        record = TraceRecord(
            name, str(found["file"]), str(found["move"]),
            parse_time(str(found["taken_at"]), of_file=True), str(found["by"]),
            parse_time(str(found["added_at"]), of_file=True), commit_id(found["snapshot"]),
            commit_id(found["vault_at"]), str(found["sha256"]),
        )  # fmt: skip
    except (KeyError, TypeError, ValueError, AttributeError, VaultError) as error:
        raise yaml_text.misfit("this trace", error, file) from error
    if not _FILE.fullmatch(record.file):
        raise Damaged(f"{record.file!r} is no name of a file of ours", file=file)
    if name != name_of_moment(record.taken_at):
        raise Damaged(f"it lies under {name}, and was taken {found['taken_at']}", file=file)
    return record


def matches(record: TraceRecord, content: bytes) -> bool:
    """Whether a recording is the one that was kept, byte for byte."""
    return digest(content) == record.sha256
