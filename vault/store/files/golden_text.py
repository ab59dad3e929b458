"""golden.yaml and the text of its commits: writing and reading."""

from __future__ import annotations

from collections.abc import Mapping
from typing import Any

from vault.model.errors import Damaged, VaultError
from vault.model.golden import Allowance, Approval, Golden, Waiver
from vault.model.names import commit_id
from vault.store.clock import parse_time, time_text
from vault.store.files import yaml_text

SCHEMA = "axisvault/golden/1"


def golden_text(golden: Golden) -> bytes:
    """Write golden.yaml: equal baselines give equal bytes."""
    return yaml_text.mapping_text(
        {
            "schema": SCHEMA,
            "baseline": _approval(golden.approval) if golden.approval else None,
            "waivers": [_waiver(waiver) for waiver in golden.waivers] or None,
        }
    )


def _approval(approval: Approval) -> Mapping[str, Any]:
    return {
        "snapshot": approval.snapshot,
        "vault-at": approval.vault_at,
        "by": approval.by,
        "at": time_text(approval.at),
        "reason": approval.reason,
        "accepted": {rule: list(said) for rule, said in sorted(approval.accepted.items())} or None,
        "even-so": approval.override_reason,
    }


def _waiver(waiver: Waiver) -> Mapping[str, Any]:
    return {
        "code": waiver.code,
        "allow": waiver.allow.text,
        "until": waiver.until,
        "by": waiver.by,
        "at": time_text(waiver.at),
        "reason": waiver.reason,
    }


def read_golden(content: bytes, file: str) -> Golden:
    """Read golden.yaml. Raises Damaged with the line where it is not as we wrote it."""
    document = yaml_text.read_mapping(content, file)
    try:
        if document.get("schema") != SCHEMA:
            raise Damaged("this is no golden baseline of ours", file=file, line=1)
        baseline = document.get("baseline")
        return Golden(
            approval=_read_approval(baseline) if baseline is not None else None,
            waivers=tuple(_read_waiver(waiver) for waiver in document.get("waivers") or ()),
        )
    except (KeyError, TypeError, ValueError, AttributeError, VaultError) as error:
        raise yaml_text.misfit("this baseline", error, file) from error


def _read_approval(document: Mapping[str, Any]) -> Approval:
    return Approval(
        snapshot=commit_id(document["snapshot"]),
        vault_at=commit_id(document["vault-at"]),
        by=str(document["by"]),
        at=parse_time(str(document["at"])),
        reason=None if document.get("reason") is None else str(document["reason"]),
        accepted={
            rule: tuple(map(str, remarks))
            for rule, remarks in (document.get("accepted") or {}).items()
        },
        override_reason=None if document.get("even-so") is None else str(document["even-so"]),
    )


def _read_waiver(document: Mapping[str, Any]) -> Waiver:
    return Waiver(
        code=str(document["code"]),
        allow=Allowance.kept(str(document["allow"])),
        until=str(document["until"]),
        by=str(document["by"]),
        at=parse_time(str(document["at"])),
        reason=str(document["reason"]),
    )
