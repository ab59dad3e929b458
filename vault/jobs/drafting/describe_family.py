"""What a device description adds to a dictionary of the vault; what people wrote is kept."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any

from vault.formats.describe.registry import describe
from vault.jobs.drafting.described import Said, additions
from vault.jobs.export.content import read_content
from vault.jobs.families.key_edits import with_keys
from vault.jobs.records.edit import RecordAdded, rewrite_family
from vault.jobs.state.selectors import State
from vault.model.errors import WrongUsage
from vault.model.export import SkippedLine
from vault.model.wording import plural

if TYPE_CHECKING:
    from decimal import Decimal

    from vault.store.vault import FamilyFile, Vault

_MOST_AXES = 20


@dataclass(frozen=True, slots=True)
class Described:
    """What was added to which parameters, what was left out of each, and the description's faults.

    `what` names the file for people, `title` the device that it describes.
    """

    added: RecordAdded
    what: str
    title: str
    keys: Mapping[str, tuple[str, ...]]
    remarks: Mapping[str, tuple[str, ...]]
    skipped: tuple[SkippedLine, ...]


def describe_family(vault: Vault, name: str, path: Path, by: str) -> Described:
    """Put a dictionary in that has ranges, defaults, choices, access and units from a description.

    Only keys are added that a parameter lacks. Raises Unreadable with file and line for what is no
    description, WrongUsage where it describes none of the family's parameters.
    """
    description = describe(read_content(path), str(path))
    file = vault.family_file(name)
    found = additions(file.family, [description], _numbers(vault, name))
    keys = {code: _keys(said) for code, said in found.items()}
    keys = {code: own for code, own in keys.items() if own}
    codes = {one.code for one in description.parameters}
    if not found and not codes & set(file.family.parameters):
        raise WrongUsage(
            f"{description.what}: none of its {plural(len(codes), 'parameter')} is one of {name}",
            file=str(path),
            hint=f"axisvault family show {name} lists the codes",
        )

    def rewrite(file: FamilyFile) -> bytes:
        return with_keys(file.content, f"{name}.yaml", keys)

    added = rewrite_family(vault, name, rewrite, f"Family {name}: described by {path.name}", by)
    return Described(
        added=added,
        what=description.what,
        title=description.title,
        keys={code: tuple(own) for code, own in keys.items()},
        remarks={code: said.remarks for code, said in found.items() if said.remarks},
        skipped=description.skipped,
    )


def _numbers(vault: Vault, name: str) -> dict[str, Sequence[int | Decimal]]:
    """Values by code in the newest snapshots of some axes of a family."""
    found: dict[str, list[int | Decimal]] = {}
    axes = 0
    for address in vault.axes():
        latest = vault.latest(address)
        if latest is None or latest.record.family != name or axes == _MOST_AXES:
            continue
        axes += 1
        for code, parameter in State("", vault, address, latest).parameters.items():
            if not isinstance(parameter.value, str):
                found.setdefault(code, []).append(parameter.value)
    return dict(found)


def _keys(said: Said) -> dict[str, Any]:
    keys: dict[str, Any] = {}
    if said.type is not None:
        keys["type"] = said.type
    if said.unit is not None:
        keys["unit"] = said.unit
    if said.low is not None or said.high is not None:
        keys["range"] = [said.low, said.high]
    if said.default is not None:
        keys["default"] = said.default
    if said.choices:
        keys["choices"] = dict(said.choices)
    if said.access is not None:
        keys["access"] = said.access
    return keys
