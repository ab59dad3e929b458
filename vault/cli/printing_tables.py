"""How results look where people compare columns: one set, values over time, many axes."""

from __future__ import annotations

import textwrap
from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from vault.cli.terminal import echo, echo_lines, secho
from vault.jobs.inspect.show import in_groups
from vault.jobs.state.reread import versions_of
from vault.model.snapshots import REDATED
from vault.model.wording import plural
from vault.model.written_form import day_text, minute_text

if TYPE_CHECKING:
    from vault.jobs.inspect.find import Occurrence
    from vault.jobs.inspect.history import ParameterStep
    from vault.jobs.inspect.show import ShownParameter
    from vault.jobs.state.selectors import State
    from vault.model.coverage import Remark
    from vault.model.snapshots import SnapshotRecord

WIDTH = 100


def print_table(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> None:
    """Columns as wide as they need to be."""
    widths = _widths(heads, rows)
    for number, row in enumerate([heads, *rows]):
        line = "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True))
        secho(line.rstrip(), bold=number == 0)


def _widths(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> list[int]:
    return [max(map(len, column)) for column in zip(heads, *rows, strict=True)]


def table_width(heads: Sequence[str], rows: Sequence[Sequence[str]]) -> int:
    """How wide such columns are together."""
    widths = _widths(heads, rows)
    return sum(widths) + 2 * (len(widths) - 1)


def print_set(state: State, parameters: Sequence[ShownParameter]) -> None:
    """One parameter set, in groups."""
    _print_state(state)
    defaults = frozenset(state.coverage.defaults)
    for title, members in in_groups(parameters):
        echo()
        secho(title, bold=True)
        for member in members:
            parameter = member.parameter
            reading = member.reading
            raw = "" if parameter.raw == parameter.value else f"  (raw {parameter.raw})"
            means = f" = {reading.meaning}" if reading.meaning else ""
            default = "  (the file's default)" if parameter.code in defaults else ""
            told = f"{reading.own}{means}{raw}{default}"
            echo(f"  {parameter.code:<14} {parameter.name:<44} {told}")


def _print_state(state: State) -> None:
    secho(state.name, bold=True)
    if state.record is not None and state.snapshot is not None:
        echo(f"Snapshot {state.snapshot.id[:10]}, {taken_text(state.record)}")
        if state.record.note:
            print_wrapped(f"Note: {state.record.note}")
        for one in state.addenda:
            print_wrapped(one.beside)
    if state.reread is not None and (versions := versions_of(state)) is not None:
        print_wrapped(versions.sentence)
    print_coverage(state)
    if said := state.coverage.not_in_file:
        print_wrapped(f"{said}.")
    if state.nameplate:
        plate = ", ".join(f"{key} {value}" for key, value in state.nameplate.items())
        print_wrapped(f"Nameplate: {plate}")


def print_coverage(state: State, whose: str = "") -> None:
    """Why a set is not the whole of what is in the drive, or may not be; nothing where it is."""
    print_remarks(state.coverage.told(whose))


def print_remarks(remarks: Iterable[Remark], indent: str = "") -> None:
    """What is to be told of coverages."""
    for remark in remarks:
        print_wrapped(f"{indent}!! {remark}")


def taken_text(record: SnapshotRecord) -> str:
    """When and why a snapshot was taken, and by whom."""
    name = record.by.partition(" <")[0]
    order = f", {record.work_order}" if record.work_order else ""
    put_right = ", put right afterwards" if record.taken_at_from == REDATED else ""
    return f"{minute_text(record.taken_at)}{put_right}, {record.occasion}, by {name}{order}"


def print_steps(steps: Sequence[ParameterStep]) -> None:
    """One parameter's values over time."""
    rows = []
    for step in steps:
        record, reading = step.snapshot.record, step.reading
        rows.append(
            [
                minute_text(record.taken_at),
                step.became,
                reading.own if reading is not None else "-",
                reading.meaning if reading is not None else "",
                "" if reading is None else str(reading.parameter.raw),
                record.by.partition(" <")[0],
                record.occasion,
            ]
        )
    print_table(
        ["taken at", "what became of it", "value", "that is", "raw", "by", "occasion"], rows
    )


def print_occurrences(occurrences: Sequence[Occurrence]) -> None:
    """Axes that have or had a value."""
    if not occurrences:
        echo("No axis has, or had, such a value.")
        return
    rows = [
        [
            occurrence.axis,
            occurrence.parameter.code,
            occurrence.parameter.name,
            occurrence.text,
            day_text(occurrence.since),
            "now" if occurrence.until is None else day_text(occurrence.until),
        ]
        for occurrence in occurrences
    ]
    print_table(["axis", "code", "name", "value", "since", "until"], rows)
    present = len({occurrence.axis for occurrence in occurrences if occurrence.is_present})
    echo(f"{plural(present, 'axis', 'axes')} now.")


def print_marked(mark: str, colour: str | None, text: str) -> None:
    """A paragraph that begins with a mark."""
    further = mark[: len(mark) - len(mark.lstrip())] + " " * 5
    filled = textwrap.fill(
        f"{mark} {text}", WIDTH, subsequent_indent=further,
        break_on_hyphens=False, break_long_words=False,
    )  # fmt: skip
    secho(mark, fg=colour, bold=True, nl=False)
    echo_lines(filled[len(mark) :])


def print_wrapped(text: str, bold_up_to: int = 0) -> None:
    """A paragraph, indented as its first line is."""
    indent = text[: len(text) - len(text.lstrip())]
    filled = textwrap.fill(
        text.strip(), WIDTH, initial_indent=indent, subsequent_indent=indent + "  ",
        break_on_hyphens=False, break_long_words=False,
    )  # fmt: skip
    echo_lines(filled, bold_up_to)
