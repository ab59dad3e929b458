"""corrections.yaml: writing and reading."""

from __future__ import annotations

from collections.abc import Iterable
from itertools import pairwise
from typing import Any

from vault.model.corrections import STANDING_KINDS, Correction, place
from vault.model.errors import Damaged, VaultError
from vault.model.names import checked_name, commit_id
from vault.store.clock import parse_time, time_text
from vault.store.files import yaml_text

SCHEMA = "axisvault/corrections/1"
CORRECTIONS_FORMAT = 2
"""Number of the vault's format that has such files first."""
STANDING_FORMAT = 3
"""Number of the vault's format that first has entries of names and of retirement."""


def corrections_text(corrections: Iterable[Correction]) -> bytes:
    """Write corrections.yaml, in the order they were made."""
    return yaml_text.mapping_text(
        {"schema": SCHEMA, "entries": [_entry(correction) for correction in corrections]}
    )


def _entry(correction: Correction) -> dict[str, Any]:
    taken_at = correction.taken_at
    return {
        "kind": correction.kind,
        "by": correction.by,
        "at": time_text(correction.at),
        "snapshot": correction.snapshot,
        "taken-at": None if taken_at is None else time_text(taken_at),
        "name": correction.name,
        "text": correction.text,
    }


def read_corrections(content: bytes, file: str) -> tuple[Correction, ...]:
    """Read corrections.yaml. Raises Damaged with the line where it is not as we wrote it."""
    found = yaml_text.read_mapping(content, file)
    try:
        if found.get("schema") != SCHEMA:
            raise Damaged("these are no corrections of ours", file=file, line=1)
        entries = tuple(_read_entry(entry) for entry in found.get("entries") or ())
        if any(place(one) >= place(other) for one, other in pairwise(entries)):
            raise Damaged("its entries are not in the order of their making, each once", file=file)
        return entries
    except (KeyError, TypeError, ValueError, AttributeError, VaultError) as error:
        raise yaml_text.misfit("this list of corrections", error, file) from error


def _read_entry(entry: dict[str, Any]) -> Correction:
    kind, snapshot, taken_at = entry["kind"], entry.get("snapshot"), entry.get("taken-at")
    if kind not in ("note", "taken-at", *STANDING_KINDS) or (kind == "taken-at") != (
        taken_at is not None
    ):
        raise ValueError(f"{kind!r} is no kind of correction")
    if kind == "taken-at" and snapshot is None:
        raise ValueError("a time is of a snapshot")
    name = entry.get("name")
    if (kind == "renamed") != (name is not None):
        raise ValueError("a name is what a renamed one has")
    if kind in STANDING_KINDS and snapshot is not None:
        raise ValueError(f"{kind!r} is about no snapshot")
    return Correction(
        kind=kind,
        by=str(entry["by"]),
        at=parse_time(str(entry["at"])),
        text=str(entry["text"]),
        snapshot=None if snapshot is None else commit_id(snapshot),
        taken_at=None if taken_at is None else parse_time(str(taken_at)),
        name=None if name is None else checked_name(str(name), "axis"),
    )
