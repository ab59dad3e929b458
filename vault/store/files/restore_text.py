"""restore.yaml: writing and reading."""

from __future__ import annotations

from vault.model.errors import Damaged, VaultError
from vault.model.restore import Adapted, RestoreRecord, SignOff
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
                {"code": one.code, "raw": one.raw, "reason": one.reason} for one in record.adapted
            ]
            or None,
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


def _read_sign_off(found: dict[str, str]) -> SignOff:
    moment = parse_time(str(found["at"]))
    return SignOff(str(found["by"]), moment, str(found["snapshot"]), found.get("even-so"))


def read_restore(content: bytes, file: str) -> RestoreRecord:
    """Read restore.yaml. Raises Damaged with the line where it is not as we wrote it."""
    found = yaml_text.read_mapping(content, file)
    try:
        if found.get("schema") != SCHEMA:
            raise Damaged("this is no restore plan of ours", file=file, line=1)
        load = found.get("load-file") or {}
        return RestoreRecord(
            id=str(found["id"]),
            made_at=parse_time(str(found["made-at"])),
            by=str(found["by"]),
            snapshot=str(found["snapshot"]),
            family=None if found.get("family") is None else str(found["family"]),
            load_file=load.get("name"),
            load_file_sha256=load.get("sha256"),
            adapted=tuple(
                Adapted(str(one["code"]), str(one["raw"]), str(one["reason"]))
                for one in found.get("adapted") or ()
            ),
            signed_off=_read_sign_off(found["signed-off"]) if found.get("signed-off") else None,
        )
    except (KeyError, TypeError, ValueError, AttributeError, VaultError) as error:
        raise yaml_text.misfit("this restore plan", error, file) from error
