"""snapshot.yaml and the commit message of a snapshot: writing and reading."""

from __future__ import annotations

import hashlib
from collections.abc import Mapping
from typing import Any, cast

from vault.model.axis_pick import AxisPick
from vault.model.coverage import KINDS, Coverage
from vault.model.errors import Damaged, VaultError
from vault.model.export import SkippedLine
from vault.model.names import Address
from vault.model.snapshots import SnapshotRecord
from vault.store.clock import parse_time, time_text
from vault.store.files import yaml_text

SCHEMA = "axisvault/snapshot/2"
_SCHEMA_1 = "axisvault/snapshot/1"  # without coverage, and who knew the time


def snapshot_text(record: SnapshotRecord) -> bytes:
    """Write snapshot.yaml: equal records give equal bytes."""
    family: Mapping[str, Any] | None = None
    if record.family is not None:
        family = {"name": record.family, "sha256": record.family_sha256}
    return yaml_text.mapping_text(
        {
            "schema": _SCHEMA_1 if record.coverage is None else SCHEMA,
            "taken-at": time_text(record.taken_at),
            "taken-at-from": record.taken_at_from,
            "occasion": record.occasion,
            "by": record.by,
            "work-order": record.work_order,
            "note": record.note,
            "export": {
                "name": record.export_name,
                "sha256": record.export_sha256,
                "channel": record.channel,
                "node-id": record.node_id,
                "match": list(record.pick.match) if record.pick else None,
                "task": record.pick.task if record.pick else None,
            },
            "family": family,
            "normalisation": record.normalisation,
            "nameplate": dict(sorted(record.nameplate.items())) or None,
            "skipped": [
                {"line": s.line, "text": s.text, "reason": s.reason} for s in record.skipped
            ]
            or None,
            "coverage": _coverage(record.coverage) if record.coverage else None,
            "even-so": record.override_reason,
            "restores": record.restores,
            "moved": record.moved,
            "previous": record.previous,
        }
    )


def _coverage(coverage: Coverage) -> Mapping[str, Any]:
    """What of a coverage stands under its key; the lines left out have one of their own."""
    return {
        "kind": coverage.kind,
        "defaults": list(coverage.defaults) or None,
        "warnings": list(coverage.warnings) or None,
        "outside": list(coverage.outside) or None,
    }


def _read_coverage(found: Mapping[str, Any], skipped: tuple[SkippedLine, ...]) -> Coverage:
    kind = found["kind"]
    if kind not in KINDS:
        raise ValueError(f"{kind!r} is no kind of coverage")
    return Coverage(
        kind,
        skipped,
        tuple(map(str, found.get("defaults") or ())),
        tuple(map(str, found.get("warnings") or ())),
        tuple(map(str, found.get("outside") or ())),
    )


def read_snapshot(content: bytes, file: str) -> SnapshotRecord:
    """Read snapshot.yaml. Raises Damaged with the line where it is not as we wrote it."""
    document = yaml_text.read_mapping(content, file)
    try:
        if document.get("schema") not in (SCHEMA, _SCHEMA_1):
            raise Damaged("this is no snapshot record of ours", file=file, line=1)
        export = cast("dict[str, Any]", document["export"])
        family = cast("dict[str, Any]", document.get("family") or {})
        skipped = tuple(
            SkippedLine(int(s["line"]), str(s["text"]), str(s["reason"]))
            for s in document.get("skipped") or ()
        )
        coverage = document.get("coverage") if document["schema"] == SCHEMA else None
        return SnapshotRecord(
            taken_at=parse_time(str(document["taken-at"])),
            occasion=str(document["occasion"]),
            by=str(document["by"]),
            export_name=str(export["name"]),
            export_sha256=str(export["sha256"]),
            channel=export.get("channel"),
            normalisation=int(document["normalisation"]),
            family=family.get("name"),
            family_sha256=family.get("sha256"),
            nameplate={k: str(v) for k, v in (document.get("nameplate") or {}).items()},
            work_order=_text(document.get("work-order")),
            note=_text(document.get("note")),
            override_reason=_text(document.get("even-so")),
            restores=_text(document.get("restores")),
            moved=_text(document.get("moved")),
            skipped=skipped,
            node_id=export.get("node-id"),
            pick=_pick(export),
            taken_at_from=_text(document.get("taken-at-from")),
            coverage=None if coverage is None else _read_coverage(coverage, skipped),
            previous=_text(document.get("previous")),
        )
    except (KeyError, TypeError, ValueError, AttributeError, VaultError) as error:
        raise yaml_text.misfit("this snapshot record", error, file) from error


def _pick(export: Mapping[str, Any]) -> AxisPick | None:
    globs = export.get("match")
    return None if globs is None else AxisPick(tuple(map(str, globs)), _text(export.get("task")))


def part(content: bytes, key: bytes) -> bytes:
    """The lines of snapshot.yaml that stand under a key at its top; empty where it has none."""
    start = content.find(b"\n" + key + b":")
    if start < 0:
        return b""
    end = start + 1
    while (end := content.find(b"\n", end) + 1) and content[end : end + 1] in (b" ", b"-"):
        pass
    return content[start + 1 : end or len(content)]


def _text(value: object) -> str | None:
    return None if value is None else str(value)


def digest(content: bytes) -> str:
    """SHA-256 in hex."""
    return hashlib.sha256(content).hexdigest()


def commit_message(address: Address, record: SnapshotRecord) -> str:
    """First line, note, and git trailers of a snapshot's commit."""
    parts = [f"{address.place}: {record.occasion}"]
    if record.note:
        parts.append(record.note.strip())
    trailers = [f"Occasion: {record.occasion}"]
    if record.work_order:
        trailers.append(f"Work-Order: {record.work_order}")
    trailers += [
        f"Taken-At: {time_text(record.taken_at)}",
        f"Export-SHA256: {record.export_sha256}",
    ]
    if record.family:
        trailers.append(f"Family: {record.family}")
    if record.restores:
        trailers.append(f"Restores: {record.restores}")
    if record.moved:
        trailers.append(f"Moved: {record.moved}")
    if record.override_reason:
        trailers.append(f"Even-So: {' '.join(record.override_reason.split())}")
    parts.append("\n".join(trailers))
    return "\n\n".join(parts) + "\n"
