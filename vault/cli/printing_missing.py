"""What to enter before margins can be told, on a terminal: by what is missing, most first."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.cli.printing_margin_moves import MARKS
from vault.cli.printing_tables import print_wrapped
from vault.cli.terminal import echo, secho
from vault.jobs.inspect.to_enter import asked_later, dictionary_steps, supposing, wanted
from vault.meaning.margin_text import title_of
from vault.model.quantities import plain
from vault.model.wording import capitalised, plural

if TYPE_CHECKING:
    from vault.jobs.inspect.margins import AxisMargin, AxisMargins
    from vault.jobs.inspect.to_enter import Wanted

_INDENT = " " * 3
_FEW = 3
_MARK = MARKS["cannot be told"]


def print_unknown(found: AxisMargins) -> None:
    """What is missing, what waits for it, what will be asked for then, and what to do next."""
    echo()
    secho("What cannot be told, by what to enter", bold=True)
    for group in wanted(found):
        _print_group(group)
    in_record = any(group.in_record for group in wanted(found))
    if later := asked_later(found):
        echo()
        print_wrapped(f"{_INDENT}After that{supposing(found)}: {', '.join(later)}.")
    echo()
    address = found.state.address or "MACHINE/AXIS"
    if in_record:
        echo(f"{_INDENT}Next: axisvault axis template {address} --out FILE, fill it in, then")
        echo(f"{_INDENT}      axisvault axis set {address} FILE")
    for step in dictionary_steps(found):
        print_wrapped(f"{_INDENT}{step}")


def _print_group(group: Wanted) -> None:
    count = len(group.rows)
    names = "; ".join(one.text for one in group.enter)
    waits = "waits" if count == 1 else "wait"
    them = "it" if len(group.enter) == 1 else "them"
    for_it = f"{waits} for {them}" if group.enter else "cannot be told"
    print_wrapped(
        f"{_MARK} {names if group.in_record else capitalised(names or group.reason)}: "
        f"{plural(count, 'margin')} {for_it}"
    )
    if count <= _FEW:
        for row in group.rows:
            print_wrapped(f"{_INDENT}{_named(row)}: {title_of(row.margin.name)}")
    else:
        print_wrapped(f"{_INDENT}{', '.join(_named(row) for row in group.rows)}")


def _named(row: AxisMargin) -> str:
    return row.margin.name + (f" (floor {plain(row.floor)})" if row.floor is not None else "")
