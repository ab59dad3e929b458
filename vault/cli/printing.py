"""How results look on a terminal: sentences first, tables where people compare columns."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from itertools import groupby
from typing import TYPE_CHECKING

import click

from vault.meaning.sentences import number_text, sentences, shortened, unit_text, value_text
from vault.model import roles
from vault.model.quantities import Physical

if TYPE_CHECKING:
    from vault.jobs.compare_states import Compared
    from vault.jobs.history import Entry, Step
    from vault.jobs.ingest import Ingested
    from vault.jobs.ingest_tree import TreeIngested
    from vault.jobs.selectors import State
    from vault.jobs.show import Shown
    from vault.jobs.spread import Spread
    from vault.meaning.changes import Change, Comparison
    from vault.meaning.checks import Complaint
    from vault.model.snapshots import SnapshotRecord

_WIDTH = 100
_MOST = 12
_COLOURS = {"hazard": "red", "travel": "magenta", "dynamics": "yellow", "electrical": "cyan"}
_MARKS = {
    "hazard": "!!", "travel": "<>", "dynamics": "~~", "electrical": "==", "link": "::",
    "record": "..",
}  # fmt: skip
"""A mark of its own for every consequence, for black and white."""


def print_table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Columns as wide as they need to be."""
    widths = [max(map(len, column)) for column in zip(heads, *rows, strict=True)]
    for number, row in enumerate([heads, *rows]):
        line = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        click.secho(line.rstrip(), bold=number == 0)


def print_ingested(found: Ingested) -> None:
    """What became of an export."""
    snapshot = found.snapshot
    click.secho(
        f"{snapshot.address}: snapshot {snapshot.id[:10]} with {found.parameters} parameters",
        bold=True,
    )
    if skipped := snapshot.record.skipped:
        click.echo(f"Left out and recorded: {len(skipped)} lines.")
    if found.comparison is None:
        click.echo("It is the first of this axis.")
    elif found.unchanged:
        click.echo("All settings are those of the snapshot before.")
    else:
        _print_sentences(found.comparison, most=_MOST)


def print_tree(found: TreeIngested) -> None:
    """What became of a tree of exports."""
    click.echo(f"Took in {found.taken} exports of {len(found.axes)} axes.")
    if found.unchanged:
        click.echo(f"{found.unchanged} of them changed no setting.")
    if found.already_there:
        click.echo(f"{found.already_there} were in the vault already.")
    if found.failures:
        click.echo(f"{len(found.failures)} could not be taken in.")


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
        click.echo(f"Snapshot {state.snapshot.id[:10]}, {_who(state.record)}")
        if state.record.note:
            click.echo(f"Note: {state.record.note}")
    if state.nameplate:
        plate = ", ".join(f"{key} {value}" for key, value in state.nameplate.items())
        _print_wrapped(f"Nameplate: {plate}")


def _who(record: SnapshotRecord) -> str:
    name = record.by.partition(" <")[0]
    order = f", work order {record.work_order}" if record.work_order else ""
    return f"{record.taken_at:%Y-%m-%d %H:%M}, {record.occasion}, by {name}{order}"


def print_history(entries: Iterable[Entry]) -> None:
    """The snapshots of an axis as a log book."""
    for number, entry in enumerate(entries):
        if number:
            click.echo()
        record = entry.snapshot.record
        click.secho(f"{_who(record)}  [{entry.snapshot.id[:10]}]", bold=True)
        if record.note:
            _print_wrapped(record.note)
        if entry.comparison is None:
            click.echo("  The first snapshot of this axis.")
        elif not entry.comparison.changes or entry.comparison.is_unchanged:
            click.echo("  No setting changed.")
        else:
            _print_sentences(entry.comparison, most=_MOST)


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


def print_comparison(compared: Compared, *, everything: bool) -> None:
    """A semantic difference: worst first."""
    comparison = compared.comparison
    for side, state in (("left ", compared.left), ("right", compared.right)):
        when = f", {_who(state.record)}" if state.record else ""
        click.echo(f"{side}  {state.name}{when}")
    click.echo()
    for cause in comparison.causes:
        click.secho("## cause" if cause.shifts else "-- restated", bold=True, nl=False)
        click.echo(f"  {cause.code}")
        _print_wrapped(f"   {cause.explanation}")
    wanted = comparison.changes if everything else comparison.news
    for change in wanted:
        _print_change(change)
    for around in comparison.surroundings:
        before = "nothing" if around.left is None else around.left
        after = "nothing" if around.right is None else around.right
        _print_wrapped(f"   beside the parameters: {around.path}: {before} became {after}")
    if wanted or comparison.surroundings:
        click.echo()
    _print_counts(comparison, everything=everything)


def print_complaints(complaints: Sequence[Complaint]) -> None:
    """What is not plausible, worst first."""
    for complaint in complaints:
        mark, colour = _MARKS[complaint.consequence], _COLOURS.get(complaint.consequence)
        click.secho(f"{mark} {complaint.consequence}", fg=colour, bold=True, nl=False)
        click.echo(f"  {', '.join(complaint.look_at)}")
        _print_wrapped(f"   {complaint.sentence}")
    if not complaints:
        click.echo("Nothing implausible was found.")


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


def _print_change(change: Change) -> None:
    mark, colour = _MARKS[change.consequence], _COLOURS.get(change.consequence)
    kind = "live value" if change.volatile else change.kind
    label = change.consequence if kind == "changed" else f"{change.consequence}, {kind}"
    click.secho(f"{mark} {label.replace('_', ' ')}", fg=colour, nl=False, bold=True)
    click.echo(f"  {change.shown.code}")
    _print_wrapped(f"   {change.explanation}")


def _print_counts(comparison: Comparison, *, everything: bool) -> None:
    counts = comparison.summary()
    click.echo(f"{len(comparison.news)} differ, {counts['equal']} are equal", nl=False)
    hidden = "" if everything else "; --all shows them"
    if counts["restated"] or counts["volatile"]:
        click.echo(
            f", {counts['restated']} only restated, {counts['volatile']} live values{hidden}",
            nl=False,
        )
    click.echo(".")


def _print_sentences(comparison: Comparison, most: int) -> None:
    for sentence in sentences(comparison, most):
        _print_wrapped(f"  {sentence}")


def _print_wrapped(text: str) -> None:
    indent = text[: len(text) - len(text.lstrip())]
    click.echo(
        textwrap.fill(text.strip(), _WIDTH, initial_indent=indent, subsequent_indent=indent + "  ")
    )
