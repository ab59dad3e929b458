"""faults.yaml: writing and reading."""

from __future__ import annotations

from collections.abc import Iterable

from vault.model.errors import Damaged, VaultError
from vault.model.fault_log import FaultEntry
from vault.store.clock import microseconds, parse_time, time_text
from vault.store.files import yaml_text

SCHEMA = "axisvault/faults/1"


def fault_log_text(entries: Iterable[FaultEntry]) -> bytes:
    """Write faults.yaml, oldest first: equal logs give equal bytes."""
    ordered = sorted(entries, key=lambda entry: (microseconds(entry.at), entry.code))
    return yaml_text.mapping_text(
        {
            "schema": SCHEMA,
            "faults": [
                {
                    "at": time_text(entry.at),
                    "code": entry.code,
                    "by": entry.by,
                    "note": entry.note,
                    "source": entry.source,
                }
                for entry in ordered
            ],
        }
    )


def read_fault_log(content: bytes, file: str) -> tuple[FaultEntry, ...]:
    """Read faults.yaml. Raises Damaged with the line where it is not as we wrote it."""
    document = yaml_text.read_mapping(content, file)
    try:
        if document.get("schema") != SCHEMA:
            raise Damaged("this is no fault log of ours", file=file, line=1)
        return tuple(
            FaultEntry(
                at=parse_time(str(fault["at"])),
                code=str(fault["code"]),
                by=str(fault["by"]),
                note=None if fault.get("note") is None else str(fault["note"]),
                source=None if fault.get("source") is None else str(fault["source"]),
            )
            for fault in document.get("faults") or ()
        )
    except (KeyError, TypeError, ValueError, AttributeError, VaultError) as error:
        raise yaml_text.misfit("this fault log", error, file) from error
