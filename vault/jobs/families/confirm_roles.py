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
from vault.model.parameters import canonical_code
from vault.model.visible_text import one_line, visible
from vault.store.clock import now

if TYPE_CHECKING:
    from vault.model.families import ParameterDefinition
    from vault.model.names import Address
    from vault.store.vault import FamilyFile, Vault

_MOST_NAMED = 3
_SURE = re.compile(r"^([01]\.\d\d): ")
_UNSAID = 0.5
"""How sure a suggestion counts as of which nobody says it."""


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

    `confidence` is how sure the suggestion is, from 0 to 1, None where the dictionary does not say;
    `values` are those of the newest snapshots of the family's axes; `is_hazard` is whether a
    change of the role can be one.
    """

    code: str
    parameter: ParameterDefinition
    role: str
    confidence: float | None
    reason: str
    consequence: str
    is_hazard: bool
    values: tuple[ValueOfAxis, ...]


@dataclass(frozen=True, slots=True)
class RoleSaid:
    """What a person says of a parameter's role, held against what the dictionary has: None for no
    role. `values` are those of the newest snapshots of the family's axes, to which it will apply.
    """

    code: str
    name: str
    before: str | None
    suggested: str | None
    role: str | None
    consequence: str
    values: tuple[ValueOfAxis, ...]


def parse_roles(words: Iterable[str], none: Iterable[str]) -> dict[str, str | None]:
    """Roles by code from texts such as `P1.05=profile_velocity`; None for those under `none`.

    Raises WrongUsage for what is none, and for a code of which two things are said.
    """
    pairs: list[tuple[str, str | None]] = []
    for word in words:
        code, _, role = word.rpartition("=")
        if not code or not role:
            hint = "CODE=ROLE, as P1.05=profile_velocity; --none CODE for no role"
            raise WrongUsage(f"{word!r} says no role of a parameter", hint=hint)
        pairs.append((code.strip(), role.strip()))
    pairs += [(code.strip(), None) for code in none]
    said: dict[str, str | None] = {}
    for code, given in pairs:
        key = canonical_code(code)
        if said.setdefault(key, given) != given:
            raise WrongUsage(f"two roles are said of {key}", hint="say one, or --none")
    if not said:
        raise WrongUsage("nothing was said of any role", hint="CODE=ROLE, or --none CODE")
    return said


def roles_said(vault: Vault, name: str, said: Mapping[str, str | None]) -> list[RoleSaid]:
    """What roles would be after a person's word, and on which axes. Raises WrongUsage for unknown
    codes and roles."""
    parameters = vault.family_file(name).family.parameters
    for code, role in said.items():
        check_role(role)
        if code not in parameters:
            near = did_you_mean(code, parameters)
            raise WrongUsage(f"the dictionary has no parameter {code!r}{near}")
    values = newest_values(vault, name, said)
    return [
        RoleSaid(
            code, parameters[code].name, parameters[code].role, parameters[code].suggest, role,
            usual_consequence(roles.find(role) if role else None), values.get(code, ()),
        )
        for code, role in said.items()
    ]  # fmt: skip


def confirm_roles(
    vault: Vault, name: str, said: Mapping[str, str | None], by: str, reason: str | None = None
) -> RecordAdded:
    """Put a dictionary in with roles by code as a person says them: None for no role.

    `reason` stands beside each and in the commit. The rest of the file stays as it is. Raises
    WrongUsage for unknown codes and roles, Unreadable where the dictionary would be none with them.
    """
    for role in said.values():
        check_role(role)
    codes = [*said]
    more = len(codes) - _MOST_NAMED
    named = ", ".join(codes[:_MOST_NAMED]) + (f" and {more} more" if more > 0 else "")

    why = one_line(reason)
    who = f"{who_and_when(by)}: {why}" if why else who_and_when(by)

    def rewrite(file: FamilyFile) -> bytes:
        return with_roles(file.content, f"{name}.yaml", said, who)

    message = "\n\n".join(filter(None, [f"Family {name}: roles of {named}", why]))
    return rewrite_family(vault, name, rewrite, message, by)


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
        code: stake(parameter.suggest or "") * (1.05 - (_UNSAID if sure is None else sure))
        for code, parameter in waiting.items()
        for sure in [_confidence(reasons.get(code, ""))]
    }
    first = sorted(waiting, key=lambda code: -urgency[code])[:most]
    values = newest_values(vault, file.name, first)
    return [
        _waiting(code, waiting[code], reasons.get(code, ""), values.get(code, ())) for code in first
    ]


def confidence_words(confidence: float | None) -> str:
    """How sure a suggestion is, in words; the steps are our own choice."""
    if confidence is None:
        return "nobody says how sure"
    steps = ((0.95, "very likely"), (0.8, "likely"), (0.6, "it may be"), (0.4, "doubtful"))
    return next((words for least, words in steps if confidence >= least), "a mere guess")


def _confidence(reason: str) -> float | None:
    """How sure a suggestion is, where its comment says that as the draft of a dictionary does."""
    found = _SURE.match(reason)
    return float(found[1]) if found else None


def _waiting(
    code: str, parameter: ParameterDefinition, reason: str, values: tuple[ValueOfAxis, ...]
) -> RoleToConfirm:
    role = parameter.suggest or ""
    return RoleToConfirm(
        code=code,
        parameter=parameter,
        role=role,
        confidence=_confidence(reason),
        reason=_SURE.sub("", reason),
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
