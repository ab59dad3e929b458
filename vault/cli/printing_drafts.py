"""How a drafted dictionary looks: what it reads, what is in doubt, what a person is to confirm."""

from __future__ import annotations

import shlex
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from vault.cli.printing_tables import print_wrapped
from vault.cli.terminal import echo, echo_file, secho
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.jobs.drafting.draft import Draft

_MOST_PROBLEMS = 12
_MOST_ROLES = 15


def print_draft(draft: Draft, content: bytes, exports: Sequence[Path], out: Path | None) -> None:
    """What a draft amounts to; the dictionary itself where it is not written to a file."""
    if out is None:
        echo_file(content.decode())
        return
    secho(f"{out}: {plural(len(draft.parameters), 'parameter')}, {draft.container}", bold=True)
    for read in draft.reads:
        refused = f", {plural(len(read.problems), 'line')} refused" if read.problems else ""
        print_wrapped(f"{read.file}: {plural(read.entries, 'value')} read{refused}")
        for line in read.problems[:_MOST_PROBLEMS]:
            print_wrapped(f"   line {line.line}: {line.text}: {line.reason}")
        if (more := len(read.problems) - _MOST_PROBLEMS) > 0:
            echo(f"   and {more} more: axisvault family try lists them")
    if draft.questions:
        echo()
        secho("To be looked at, least sure first (--say KEY=TEXT says it better)", bold=True)
    for guess in draft.questions:
        others = f" Or: {', '.join(map(repr, guess.others))}." if guess.others else ""
        print_wrapped(
            f"{guess.confidence:.2f} {guess.about}: {guess.chosen!r}, {guess.reason}.{others}"
        )
    waiting = draft.to_confirm
    given = sum(parameter.role is not None for parameter in draft.parameters)
    echo()
    if waiting:
        secho("Roles that wait for a person, most depends on the first", bold=True)
    for parameter in waiting[:_MOST_ROLES]:
        best = parameter.suggested[0]
        print_wrapped(f"{parameter.code} {parameter.name}: {best.role}? {best.confidence:.2f}")
    if (more := len(waiting) - _MOST_ROLES) > 0:
        echo(f"and {more} more, under suggest: in the file")
    echo(f"{plural(given, 'parameter')} got a role whose change is no hazard.")
    odd = [parameter for parameter in draft.parameters if parameter.remark]
    for parameter in odd[:_MOST_PROBLEMS]:
        print_wrapped(f"?! {parameter.code} {parameter.name}: {parameter.remark}")
    if (more := len(odd) - _MOST_PROBLEMS) > 0:
        echo(f"   and {more} more, as comments in the file")
    for name in draft.belongs_to:
        print_wrapped(f"!! Exports of the family {name} of the vault look like this one too.")
    echo()
    echo(f"Next: {shlex.join(['axisvault', 'family', 'try', *map(str, (out, *exports))])}")
    echo(f"Then: {shlex.join(['axisvault', 'family', 'add', str(out)])}")
    if waiting:
        first = f"{waiting[0].code}={waiting[0].suggested[0].role}"
        confirm = shlex.join(["axisvault", "family", "confirm", draft.name, first])
        print_wrapped(f"Where the manual bears a role out: {confirm}")
