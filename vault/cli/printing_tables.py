"""How results look where people compare columns: one set, values over time, many axes."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

import click

from vault.meaning.sentences import number_text, plural, shortened, unit_text, value_text
from vault.model import roles
from vault.model.quantities import Physical

if TYPE_CHECKING:
    from vault.jobs.find import Found
    from vault.jobs.history import Step
    from vault.jobs.selectors import State
    from vault.jobs.show import Shown
    from vault.jobs.spread import Spread
    from vault.model.snapshots import SnapshotRecord

WIDTH = 100


def print_table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Columns as wide as they need to be."""
    widths = [max(map(len, column)) for column in zip(heads, *rows, strict=True)]
    for number, row in enumerate([heads, *rows]):
        line = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        click.secho(line.rstrip(), bold=number == 0)


def print_set(state: State, parameters: Iterable[Shown]) -> None:
    """One parameter set, in groups."""
    _print_state(state)
    titles = dict(roles.GROUPS)
    for group, members in groupby(parameters, key=lambda p: p.group):
        click.echo()
        click.secho(titles.get(group, group.capitalize()), bold=True)
        for member in members:
            parameter = member.parameter
            raw = "" if parameter.raw == parameter.value else f"  (raw {parameter.raw})"
            click.echo(f"  {parameter.code:<14} {parameter.name:<44} {value_text(parameter)}{raw}")


def _print_state(state: State) -> None:
    click.secho(state.name, bold=True)
    if state.record is not None and state.snapshot is not None:
        click.echo(f"Snapshot {state.snapshot.id[:10]}, {who(state.record)}")
        if state.record.note:
            click.echo(f"Note: {state.record.note}")
    if state.nameplate:
        plate = ", ".join(f"{key} {value}" for key, value in state.nameplate.items())
        print_wrapped(f"Nameplate: {plate}")


def who(record: SnapshotRecord) -> str:
    """When and why a snapshot was taken, and by whom."""
    name = record.by.partition(" <")[0]
    order = f", work order {record.work_order}" if record.work_order else ""
    return f"{record.taken_at:%Y-%m-%d %H:%M}, {record.occasion}, by {name}{order}"


def print_steps(steps: Sequence[Step]) -> None:
    """One parameter's values over time."""
    rows = []
    for step in steps:
        record, parameter = step.snapshot.record, step.parameter
        rows.append(
            [
                f"{record.taken_at:%Y-%m-%d %H:%M}",
                "*" if step.changed else "",
                value_text(parameter),
                _physical_text(step.physical),
                "" if parameter is None else str(parameter.raw),
                record.by.partition(" <")[0],
                record.occasion,
            ]
        )
    print_table(["taken at", "", "value", "in SI", "raw", "by", "occasion"], rows)


def _physical_text(size: Physical | None) -> str:
    if size is None:
        return ""
    return number_text(shortened(size.decimal())) + unit_text(
        None if size.unit == "1" else size.unit
    )


def print_spread(found: Spread, *, everything: bool) -> None:
    """Axes as columns; the odd ones carry a mark."""
    rows = []
    wanted = found.rows if everything else found.differing
    for row in wanted:
        texts = []
        for axis in found.axes:
            cell = row.cells.get(axis)
            text = "-" if cell is None else cell.text
            texts.append(f"* {text}" if axis in row.odd and row.reference is not None else text)
        rows.append([row.name, *texts])
    if rows:
        print_table(["", *found.axes], rows)
    same = len(found.rows) - len(found.differing)
    click.echo(f"{same} more are the same on all {len(found.axes)} axes.")


def print_found(found: Sequence[Found]) -> None:
    """Axes that have or had a value."""
    if not found:
        click.echo("No axis has, or had, such a value.")
        return
    rows = [
        [
            entry.axis,
            entry.parameter.code,
            entry.parameter.name,
            entry.shown,
            f"{entry.since:%Y-%m-%d}",
            "now" if entry.until is None else f"{entry.until:%Y-%m-%d}",
        ]
        for entry in found
    ]
    print_table(["axis", "code", "name", "value", "since", "until"], rows)
    present = len({entry.axis for entry in found if entry.is_present})
    click.echo(f"{plural(present, 'axis', 'axes')} now.")


def print_wrapped(text: str) -> None:
    """A paragraph, indented as its first line is."""
    indent = text[: len(text) - len(text.lstrip())]
    click.echo(
        textwrap.fill(text.strip(), WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")
    )
