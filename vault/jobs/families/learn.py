"""Which parameters of a family may be live values: proposed by what differs within one visit."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import timedelta
from itertools import pairwise
from typing import TYPE_CHECKING

from vault.jobs.families.key_edits import with_keys
from vault.jobs.records.edit import RecordAdded, rewrite_family
from vault.jobs.state.selectors import State
from vault.meaning.sentences import value_text
from vault.model.errors import WrongUsage
from vault.model.near_names import did_you_mean

if TYPE_CHECKING:
    from vault.model.families import ParameterDefinition
    from vault.store.index.rows import Snapshot
    from vault.store.vault import FamilyFile, Vault

_ONE_VISIT = timedelta(hours=12)
"""Exports of an axis that lie no farther apart are of one visit (our own choice)."""


@dataclass(frozen=True, slots=True)
class Learnt:
    """A parameter that differs between exports of one visit: how often, and an example."""

    code: str
    name: str
    differs: int
    visits: int
    example: str


def may_be_live(vault: Vault, name: str) -> tuple[Learnt, ...]:
    """Read-only parameters without a role that differ within visits, most often first.

    A visit is two exports of one axis, one after the other, within twelve hours. Raises WrongUsage
    for a family that the vault does not have.
    """
    file = vault.family_file(name)
    asked = {
        code: parameter
        for code, parameter in file.family.parameters.items()
        if _is_asked(parameter)
    }
    differs: dict[str, int] = {}
    visits: dict[str, int] = {}
    examples: dict[str, str] = {}
    for before, after in _visits(vault, name):
        left, right = (State("", vault, one.address, one).parameters for one in (before, after))
        for code in asked:
            first, second = left.get(code), right.get(code)
            if first is None or second is None:
                continue
            visits[code] = visits.get(code, 0) + 1
            if first.raw != second.raw:
                differs[code] = differs.get(code, 0) + 1
                axis = vault.names.named(after.address)
                told = f"{value_text(first)}, then {value_text(second)} on {axis}"
                examples.setdefault(code, told)
    found = [
        Learnt(code, asked[code].name, count, visits[code], examples[code])
        for code, count in differs.items()
    ]
    return tuple(sorted(found, key=lambda one: (-one.differs / one.visits, one.code)))


def _is_asked(parameter: ParameterDefinition) -> bool:
    return parameter.access in ("ro", "const") and not parameter.role and not parameter.volatile


def _visits(vault: Vault, family: str) -> Iterator[tuple[Snapshot, Snapshot]]:
    for address in vault.axes():
        own = [one for one in vault.index.snapshots(address) if one.record.family == family]
        for before, after in pairwise(own):
            if after.record.taken_at - before.record.taken_at <= _ONE_VISIT:
                yield before, after


def confirm_live(vault: Vault, name: str, codes: Iterable[str], by: str) -> RecordAdded:
    """Put a dictionary in that has `volatile: true` for these codes; the rest stays as it is.

    Raises WrongUsage for a code that is not among those proposed.
    """
    wanted: Sequence[str] = list(codes)
    proposed = [one.code for one in may_be_live(vault, name)]
    for code in wanted:
        if code not in proposed:
            near = did_you_mean(code, proposed)
            raise WrongUsage(
                f"{code} is not proposed as a live value{near}",
                hint=f"axisvault family learn {name} lists them; others are edited in the file",
            )

    def rewrite(file: FamilyFile) -> bytes:
        added = {code: {"volatile": True} for code in wanted}
        return with_keys(file.content, f"{name}.yaml", added)

    return rewrite_family(vault, name, rewrite, f"Family {name}: live values", by)
