"""The guard against a part that passes for the whole: parameters that the axis had, and now lacks.

Held against the newest snapshot that is whole and that no guard objected to, the golden baseline,
and what the dictionary says is always there. So what was let through once is missed again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.intake.objection import Objection
from vault.jobs.state.selectors import State
from vault.model.errors import VaultError
from vault.model.export import SkippedLine
from vault.model.protecting_roles import protects
from vault.model.wording import plural
from vault.model.written_form import day_text
from vault.store.files import layout, parameters_text

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault

_GONE = "it is not here"
_SHARE = 0.1
_SHOWN = 3
_MOST_BACK = 50


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
            remark = _sentence(reference, missing)
    return Missing(remark=remark)


def _references(
    vault: Vault, address: Address, export: Export, parameters_of: Callable[[Snapshot], bytes]
) -> Iterator[tuple[str, Mapping[str, str | None]]]:
    """What the set is held against, by name: codes with their roles."""
    latest = vault.latest(address)
    golden = _golden(vault, address) if latest is not None else None
    last = _last_whole(vault, address, export, golden) or latest
    if last is not None and last.record.family == export.family_name:
        name = "the snapshot before"
        if latest is not None and last.id != latest.id:
            name = f"the last whole snapshot ({day_text(last.record.taken_at)})"
        yield name, _roles(_text(vault, last, export, parameters_of), export)
    is_other = golden is not None and (last is None or golden.id != last.id)
    if golden is not None and is_other and golden.record.family == export.family_name:
        yield "the golden baseline", _roles(_text(vault, golden, export, parameters_of), export)
    dictionary = export.dictionary
    if dictionary is not None and dictionary.always:
        known = dictionary.definitions(export.nameplate.get("firmware"))
        roles = {code: known[code].role if code in known else None for code in dictionary.always}
        yield f"dictionary {dictionary.name}", roles


def _last_whole(
    vault: Vault, address: Address, export: Export, golden: Snapshot | None
) -> Snapshot | None:
    """The newest snapshot of the family that is whole and was taken in without an objection.

    Looked for no further than to a whole baseline: with that a person said what belongs to the set.
    """
    for snapshot in _looked_at(vault, address):
        record = snapshot.record
        if record.family != export.family_name:
            continue
        is_whole = record.told_coverage.kind not in ("partial", "defaults_only")
        is_golden = golden is not None and snapshot.id == golden.id
        if is_whole and (is_golden or record.override_reason is None):
            return snapshot
    return None


def _looked_at(vault: Vault, address: Address) -> Iterator[Snapshot]:
    """Snapshots from the newest back; mostly the first will do."""
    latest = vault.latest(address)
    if latest is not None:
        yield latest
        yield from vault.index.newest_first(address, _MOST_BACK)


def _text(
    vault: Vault, snapshot: Snapshot, export: Export, parameters_of: Callable[[Snapshot], bytes]
) -> bytes:
    """parameters.yaml of a snapshot by the rules of the export: older ones had more in it."""
    if snapshot.record.normalisation == export.version:
        return parameters_of(snapshot)
    return State(snapshot.id[:10], vault, snapshot.address, snapshot).parameters_text


def _golden(vault: Vault, address: Address) -> Snapshot | None:
    """The snapshot that is the axis's own golden baseline."""
    if vault.read(layout.golden_file(address)) is None:
        return None
    try:
        approval = vault.golden(address).approval
    except VaultError:  # drift tells that better
        return None
    if approval is None:
        return None
    return next(iter(vault.index.by_id(address, approval.snapshot)), None)


def _roles(text: bytes, export: Export) -> dict[str, str | None]:
    """Codes with their roles in a parameters.yaml; a line that the export gives too is not read."""
    own = dict(zip(_lines(export.parameters_text), export.parameters.values(), strict=True))
    found: dict[str, str | None] = {}
    for line in _lines(text):
        if line in own:
            found[own[line].code] = own[line].role
        else:
            code, role = parameters_text.code_and_role(line)
            found[code] = role
    return found


def _lines(text: bytes) -> list[str]:
    return parameters_text.parameter_lines(text, "parameters.yaml")


def _is_expected(export: Export, code: str) -> bool:
    """Whether the drive that the export is of has the parameter at all."""
    dictionary = export.dictionary
    if dictionary is None or code not in dictionary.parameters:
        return True
    return code in dictionary.definitions(export.nameplate.get("firmware"))


def _objection(reference: str, missing: list[str], protecting: list[str]) -> Objection:
    ordered = [*protecting, *(code for code in missing if code not in set(protecting))]
    hint = "export the whole set; if it is right so, say why: --even-so REASON"
    if len(missing) > _SHOWN:
        hint += "; --all shows every one"
    return Objection(
        "missing",
        _sentence(reference, ordered, len(protecting)),
        hint=hint,
        problems=tuple(
            SkippedLine(0, code, "it protects, and is not here" if code in protecting else _GONE)
            for code in ordered
        ),
    )


def _sentence(reference: str, codes: list[str], protecting: int = 0) -> str:
    named = ", ".join(codes[:_SHOWN])
    if (more := len(codes) - _SHOWN) > 0:
        named += f" and {more} more"
    what, verb = plural(len(codes), "parameter"), "is" if len(codes) == 1 else "are"
    if protecting == len(codes):
        what = plural(len(codes), "parameter that protects", "parameters that protect")
        return f"{what} of {reference} {verb} not in this export: {named}"
    of_them = f", {plural(protecting, 'of them protects', 'of them protect')}," * bool(protecting)
    return f"{what} of {reference}{of_them} {verb} not in this export: {named}"
