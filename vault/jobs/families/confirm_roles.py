"""Roles of a dictionary that a person confirms, changes or denies, and what each is about."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.families.hazard_roles import needs_confirmation, stake
from vault.jobs.families.role_edits import comments, with_roles
from vault.jobs.records.edit import RecordAdded, rewrite_family
from vault.meaning.consequences import usual_consequence
from vault.meaning.sentences import value_text
from vault.model import roles
from vault.model.errors import WrongUsage
from vault.model.near_names import did_you_mean
from vault.model.visible_text import visible
from vault.store.clock import now

if TYPE_CHECKING:
    from vault.model.families import ParameterDefinition
    from vault.model.names import Address
    from vault.store.vault import FamilyFile, Vault

_MOST_NAMED = 3
_SURE = re.compile(r"([01]\.\d\d): ")


@dataclass(frozen=True, slots=True)
class ValueOfAxis:
    """What a parameter is in the newest snapshot of an axis."""

    axis: str
    value: str

    def __str__(self) -> str:
        return f"{self.axis}: {self.value}"


@dataclass(frozen=True, slots=True)
class RoleToConfirm:
    """A parameter with a suggested role: why, what a change of it would count as, and its values.

    `values` are those of the newest snapshots of the family's axes; `is_hazard` is whether a
    change of the role can be one.
    """

    code: str
    parameter: ParameterDefinition
    role: str
    reason: str
    consequence: str
    is_hazard: bool
    values: tuple[ValueOfAxis, ...]


def confirm_roles(vault: Vault, name: str, said: Mapping[str, str | None], by: str) -> RecordAdded:
    """Put a dictionary in with roles by code as a person says them: None for no role.

    The rest of the file stays as it is. Raises WrongUsage for unknown codes and roles, Unreadable
    where the dictionary would be none with them.
    """
    for role in said.values():
        check_role(role)
    codes = [*said]
    more = len(codes) - _MOST_NAMED
    named = ", ".join(codes[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")

    def rewrite(file: FamilyFile) -> bytes:
        return with_roles(file.content, f"{name}.yaml", said, who_and_when(by))

    return rewrite_family(vault, name, rewrite, f"Family {name}: roles of {named}", by)


def check_role(role: str | None) -> None:
    """Raise WrongUsage, with what may be meant, for a role that nobody knows."""
    if role is not None and roles.find(role) is None:
        known = [one.name for one in roles.all_roles()]
        raise WrongUsage(
            f"there is no role {role!r}{did_you_mean(role, known)}", hint="axisvault family roles"
        )


def who_and_when(by: str) -> str:
    """A person and today, as a comment of a dictionary has it."""
    person = " ".join(visible(by.partition(" <")[0]).split())
    return f"{person}, {now().date()}"


def roles_to_confirm(vault: Vault, file: FamilyFile, most: int) -> Sequence[RoleToConfirm]:
    """Parameters of a dictionary whose suggested role waits, those first on which most depends."""
    waiting = {
        code: parameter
        for code, parameter in file.family.parameters.items()
        if parameter.suggest and not parameter.role
    }
    reasons = comments(file.content)
    urgency = {
        code: stake(parameter.suggest or "") * (1.05 - _confidence(reasons.get(code, "")))
        for code, parameter in waiting.items()
    }
    first = sorted(waiting, key=lambda code: -urgency[code])[:most]
    values = newest_values(vault, file.name, first)
    return [
        _waiting(code, waiting[code], reasons.get(code, ""), values.get(code, ())) for code in first
    ]


def _confidence(reason: str) -> float:
    """How sure a suggestion is, as the draft of a dictionary says it; half where it does not."""
    found = _SURE.match(reason)
    return float(found[1]) if found else 0.5


def _waiting(
    code: str, parameter: ParameterDefinition, reason: str, values: tuple[ValueOfAxis, ...]
) -> RoleToConfirm:
    role = parameter.suggest or ""
    return RoleToConfirm(
        code=code,
        parameter=parameter,
        role=role,
        reason=reason,
        consequence=usual_consequence(roles.find(role)),
        is_hazard=needs_confirmation(role),
        values=values,
    )


def newest_values(
    vault: Vault, family: str, codes: Iterable[str]
) -> dict[str, tuple[ValueOfAxis, ...]]:
    """By code, what parameters of a family are on its axes now. Live values are not among them."""
    wanted = list(codes)
    if not wanted:
        return {}
    vault.index.fill_values()
    present: dict[tuple[str, Address], str] = {}
    for change in vault.index.value_changes(wanted):  # oldest first: the last one holds
        key = change.code, change.address
        present.pop(key, None)
        if change.parameter is not None:
            present[key] = value_text(change.parameter)
    is_of_it: dict[Address, bool] = {}
    found: dict[str, list[ValueOfAxis]] = {}
    for (code, address), value in present.items():
        if address not in is_of_it:
            latest = vault.latest(address)
            is_of_it[address] = latest is not None and latest.record.family == family
        if is_of_it[address]:
            found.setdefault(code, []).append(ValueOfAxis(str(vault.names.named(address)), value))
    return {code: tuple(values) for code, values in found.items()}
