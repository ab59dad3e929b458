"""restore.yaml: writing and reading."""

from __future__ import annotations

from vault.model.errors import Damaged, VaultError
from vault.model.names import commit_id
from vault.model.restore import Adapted, RestoreRecord, SheetMark, SignOff
from vault.store.clock import parse_time, time_text
from vault.store.files import yaml_text

SCHEMA = "axisvault/restore/1"


def restore_text(record: RestoreRecord) -> bytes:
    """Write restore.yaml: equal records give equal bytes."""
    file = None
    if record.load_file is not None:
        file = {"name": record.load_file, "sha256": record.load_file_sha256}
    return yaml_text.mapping_text(
        {
            "schema": SCHEMA,
            "id": record.id,
            "made-at": time_text(record.made_at),
            "by": record.by,
            "snapshot": record.snapshot,
            "family": record.family,
            "load-file": file,
            "adapted": [
                {"code": value.code, "raw": value.raw, "reason": value.reason}
                for value in record.adapted
            ]
            or None,
            "even-so": record.override_reason,
            "document": {"sha256": record.document_sha256} if record.document_sha256 else None,
            "sheet": [_mark(mark) for mark in record.marks] or None,
            "signed-off": _sign_off(record.signed_off) if record.signed_off else None,
        }
    )


def _sign_off(signed: SignOff) -> dict[str, str | None]:
    return {
        "by": signed.by,
        "at": time_text(signed.at),
        "snapshot": signed.snapshot,
        "even-so": signed.override_reason,
    }


def _mark(mark: SheetMark) -> dict[str, str | None]:
    return {"step": mark.step, "by": mark.by, "at": time_text(mark.at), "text": mark.text}


def _read_mark(entry: dict[str, str]) -> SheetMark:
    text = entry.get("text")
    moment = parse_time(str(entry["at"]))
    return SheetMark(
        str(entry["step"]), str(entry["by"]), moment, None if text is None else str(text)
    )


def _read_sign_off(document: dict[str, str]) -> SignOff:
    moment = parse_time(str(document["at"]))
    snapshot = commit_id(document["snapshot"])
    return SignOff(str(document["by"]), moment, snapshot, document.get("even-so"))


def _file_name(name: object) -> str | None:
    """The name of a load file, which leads nowhere else."""
    if name is None:
        return None
    text = str(name)
    if text in ("", ".", "..") or any(sign in "/\\" or not sign.isprintable() for sign in text):
        raise ValueError(f"{text!r} is no name of a file")
    return text


def read_restore(content: bytes, file: str) -> RestoreRecord:
    """Read restore.yaml. Raises Damaged with the line where it is not as we wrote it."""
    document = yaml_text.read_mapping(content, file)
    try:
        if document.get("schema") != SCHEMA:
            raise Damaged("this is no restore plan of ours", file=file, line=1)
        load = document.get("load-file") or {}
        return RestoreRecord(
            id=str(document["id"]),
            made_at=parse_time(str(document["made-at"])),
            by=str(document["by"]),
            snapshot=commit_id(document["snapshot"]),
            family=None if document.get("family") is None else str(document["family"]),
            load_file=_file_name(load.get("name")),
            load_file_sha256=load.get("sha256"),
            adapted=tuple(
                Adapted(str(entry["code"]), str(entry["raw"]), str(entry["reason"]))
                for entry in document.get("adapted") or ()
            ),
            override_reason=None if document.get("even-so") is None else str(document["even-so"]),
            signed_off=_read_sign_off(document["signed-off"])
            if document.get("signed-off")
            else None,
            document_sha256=(document.get("document") or {}).get("sha256"),
            marks=tuple(_read_mark(entry) for entry in document.get("sheet") or ()),
        )
    except (KeyError, TypeError, ValueError, AttributeError, VaultError) as error:
        raise yaml_text.misfit("this restore plan", error, file) from error
