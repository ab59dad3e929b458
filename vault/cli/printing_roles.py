"""How the roles look that a dictionary may name."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from vault.cli.printing_tables import print_table, print_wrapped
from vault.cli.terminal import echo, secho
from vault.model import choices, roles

if TYPE_CHECKING:
    from vault.jobs.families.roles import RoleEntry

_TITLES = dict(roles.GROUPS)
_HEADS = ("role", "object", "unit", "meaning")


def print_all_roles(entries: Sequence[RoleEntry]) -> None:
    """One line a role, in groups."""
    for group, members in groupby(entries, key=lambda entry: entry.role.group):
        secho(_TITLES[group], bold=True)
        print_table(_HEADS, [_row(entry) for entry in members])
        echo("")
    echo("Names that a role goes by: axisvault family roles WORD")


def _row(entry: RoleEntry) -> list[str]:
    role = entry.role
    return [role.name, role.object or "-", role.unit or role.kind, role.title]


def print_roles(entries: Sequence[RoleEntry]) -> None:
    """Roles with all that is known of them."""
    for entry in entries:
        role = entry.role
        title = _TITLES[role.group]
        print_wrapped(f"{role.name}: {role.title}", bold_up_to=len(role.name))
        facts = [f"group {title}", f"kind {role.kind}", f"unit {role.unit or '-'}"]
        if role.object:
            facts.append(f"object {role.object}")
        if role.numbered:
            facts.append(f"more of it as {role.name}.2")
        if role.volatile:
            facts.append("a live value")
        if entry.needs_confirmation:
            facts.append("a change of it can be a hazard")
        print_wrapped(f"  {', '.join(facts)}")
        if role.choices:
            table = choices.table(role.choices)
            print_wrapped("  " + " · ".join(f"{n} {label}" for n, label in table.items()))
        for language, names in entry.names.items():
            if names:
                print_wrapped(f"  {language}: {' · '.join(names)}")
