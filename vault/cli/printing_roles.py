"""How the roles look that a dictionary may name."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import groupby
from typing import TYPE_CHECKING

from vault.cli.printing_tables import print_table, print_wrapped
from vault.cli.terminal import echo, secho
from vault.model import choices, roles
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.jobs.families.confirm_roles import RoleSaid
    from vault.jobs.families.roles import RoleEntry

_MOST_AXES = 6
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


def print_confirmed(name: str, said: Sequence[RoleSaid], *, unchanged: bool) -> None:
    """Roles that a person confirmed, with what the parameters are on the family's axes now."""
    for one in said:
        print_wrapped(f"{one.code} {one.name}: {one.role or 'no role'}", bold_up_to=len(one.code))
        before = one.before or (f"none; suggested {one.suggested}" if one.suggested else "none")
        print_wrapped(f"  role before: {before}; a change of it counts as {one.consequence}")
        values = "; ".join(map(str, one.values[:_MOST_AXES]))
        more = len(one.values) - _MOST_AXES
        rest = f" and on {plural(more, 'more axis', 'more axes')}" if more > 0 else ""
        print_wrapped(f"  now {values}{rest}" if values else "  no axis has it now")
    if unchanged:
        echo(f"The dictionary {name} said so already.")
        return
    echo(f"{plural(len(said), 'role')} settled in {name}.")
    print_wrapped(
        "It counts for exports that are taken in from now on, and wherever older ones are compared "
        "or shown by today's dictionary (axisvault show --reread)."
    )
