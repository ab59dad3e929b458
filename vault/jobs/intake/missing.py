"""The guard against a part that passes for the whole: parameters that the axis had, and now lacks.

Held against the snapshot before, the golden baseline, and what the dictionary says is always there.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.intake.objection import Objection
from vault.jobs.state.selectors import State
from vault.model.errors import VaultError
from vault.model.protecting_roles import protects
from vault.model.wording import plural
from vault.store.files import layout, parameters_text

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

_SHARE = 0.1
_SHOWN = 3


@dataclass(frozen=True, slots=True)
class Missing:
    """Parameters that an export lacks: an objection, or where they are few a remark, or nothing."""

    objection: Objection | None = None
    remark: str | None = None


def missing_parameters(
    vault: Vault, address: Address, export: Export, parameters_of: Callable[[Snapshot], bytes]
) -> Missing:
    """Object where more than a tenth of the parameters is missing, or any that protects.

    Fewer are told. What the dictionary does not have for the firmware of this export is not missed.
    `parameters_of` gives parameters.yaml of a snapshot.
    """
    remark: str | None = None
    for reference, roles in _references(vault, address, export, parameters_of):
        expected = {code: role for code, role in roles.items() if _is_expected(export, code)}
        missing = [code for code in expected if code not in export.parameters]
        protecting = [code for code in missing if protects(expected[code])]
        if protecting or len(missing) > _SHARE * len(expected):
            return Missing(_objection(reference, missing, protecting))
        if missing and remark is None:
            remark = _sentence(reference, missing, plural(len(missing), "parameter"))
    return Missing(remark=remark)


def _references(
    vault: Vault, address: Address, export: Export, parameters_of: Callable[[Snapshot], bytes]
) -> Iterator[tuple[str, Mapping[str, str | None]]]:
    """What the set is held against, by name: codes with their roles."""
    latest = vault.latest(address)
    if latest is not None and latest.record.family == export.family_name:
        yield "the snapshot before", _roles(_text(vault, latest, export, parameters_of))
    golden = _golden(vault, address, latest)
    if golden is not None and golden.record.family == export.family_name:
        yield "the golden baseline", _roles(_text(vault, golden, export, parameters_of))
    dictionary = export.dictionary
    if dictionary is not None and dictionary.always:
        known = dictionary.definitions(export.nameplate.get("firmware"))
        roles = {code: known[code].role if code in known else None for code in dictionary.always}
        yield f"dictionary {dictionary.name}", roles


def _text(
    vault: Vault, snapshot: Snapshot, export: Export, parameters_of: Callable[[Snapshot], bytes]
) -> bytes:
    """parameters.yaml of a snapshot by the rules of the export: older ones had more in it."""
    if snapshot.record.normalisation == export.version:
        return parameters_of(snapshot)
    return State(snapshot.id[:10], vault, snapshot.address, snapshot).parameters_text


def _golden(vault: Vault, address: Address, latest: Snapshot | None) -> Snapshot | None:
    """The axis's own golden baseline, where that is not the snapshot before anyway."""
    if latest is None or vault.read(layout.golden_file(address)) is None:
        return None
    try:
        approval = vault.golden(address).approval
    except VaultError:  # drift tells that better
        return None
    if approval is None or approval.snapshot == latest.id:
        return None
    return next(iter(vault.index.by_id(address, approval.snapshot)), None)


def _roles(text: bytes) -> dict[str, str | None]:
    lines = parameters_text.parameter_lines(text, "parameters.yaml")
    return dict(parameters_text.code_and_role(line) for line in lines)


def _is_expected(export: Export, code: str) -> bool:
    """Whether the drive that the export is of has the parameter at all."""
    dictionary = export.dictionary
    if dictionary is None or code not in dictionary.parameters:
        return True
    return code in dictionary.definitions(export.nameplate.get("firmware"))


def _objection(reference: str, missing: list[str], protecting: list[str]) -> Objection:
    what = plural(len(protecting), "parameter that protects", "parameters that protect")
    if not protecting:
        what = plural(len(missing), "parameter")
    return Objection(
        "missing",
        _sentence(reference, protecting or missing, what),
        hint="export the whole set; if it is right so, say why: --even-so REASON",
    )


def _sentence(reference: str, codes: list[str], what: str) -> str:
    named = ", ".join(codes[:_SHOWN]) + (", …" if len(codes) > _SHOWN else "")
    verb = "is" if len(codes) == 1 else "are"
    return f"{what} of {reference} {verb} not in this export: {named}"
