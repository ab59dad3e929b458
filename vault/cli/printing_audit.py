"""How faults and audits look on a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.cli.printing import COLOURS, MARKS, print_fault
from vault.cli.printing_tables import print_remarks, print_wrapped, taken_text
from vault.cli.terminal import echo, secho
from vault.jobs.audit.actions import Action
from vault.jobs.audit.audit import FaultSeen
from vault.meaning.sentences import sentences
from vault.model.wording import capitalised, plural
from vault.model.written_form import day_text, marked, minute_text

if TYPE_CHECKING:
    from collections.abc import Sequence

    from vault.jobs.audit.audit import Audit, AuditEntry
    from vault.jobs.audit.repeats import FaultRepeats
    from vault.jobs.audit.suspects import AuditSuspect
    from vault.meaning.faults import FaultCode
    from vault.model.fault_log import FaultEntry

_MOST = 6


def print_faults(
    known: Sequence[tuple[FaultEntry, FaultCode | None]], again: Sequence[FaultRepeats]
) -> None:
    """The fault log of an axis, and what may have ended each code."""
    for entry, code in known:
        print_fault(entry, code)
    if not known:
        echo("No fault is noted.")
    for repeat in again:
        print_wrapped(f"{repeat.code}: {repeat.sentence}")


def print_audit(answer: Audit) -> None:
    """The fault and what explains it, then everything in the period in order."""
    if answer.fault is not None:
        _print_fault(answer)
    for number, entry in enumerate(answer.entries):
        if number or answer.fault is not None:
            echo()
        _print_entry(entry, with_axis=len(answer.axes) > 1)
    if not answer.entries:
        echo("Nothing is recorded in that period.")
    echo()
    echo(f"{day_text(answer.start)} to {day_text(answer.end)}: ", nl=False)
    echo(f"{plural(len(answer.entries), 'entry', 'entries')}.")
    if answer.chain.ok:
        snapshots = plural(answer.chain.snapshots, "snapshot")
        echo(f"The chain of {snapshots} holds; axisvault verify checks the whole vault.")
    for problem in answer.chain.problems:
        secho(f"!! {problem.kind}  {problem.where}: {problem.details}", fg="red")


def _print_fault(answer: Audit) -> None:
    fault = answer.fault
    if fault is None:
        return
    where = f" on {fault.axis}" if fault.axis is not None else f" on {answer.place}"
    at = minute_text(fault.at)
    secho(f"{fault.fault.code}: {fault.fault.name}{where}, {at}", bold=True)
    if fault.distance is not None:
        print_wrapped(f"It is {fault.distance} about. If another one is meant, note it first.")
    for axis, reference in answer.references.items():
        if reference is None:
            echo(f"{axis} has no snapshot before it.")
        elif axis == fault.axis or len(answer.axes) == 1:
            record = reference.state.record
            when = f" ({taken_text(record)})" if record is not None else ""
            print_wrapped(f"{capitalised(reference.why)}{when}.")
            print_remarks(reference.state.coverage.told("Held against"))
    for suspect in answer.suspects[:_MOST]:
        _print_suspect(suspect, with_axis=len(answer.axes) > 1)
    if (more := len(answer.suspects) - _MOST) > 0:
        echo(f"and {plural(more, 'suspect')} more; --json lists them.")
    if not answer.suspects:
        secho("Nothing in the parameters explains this fault.", bold=True)
        echo("Look at mechanics, wiring, supply and load.")
    if answer.after:
        entries = plural(len(answer.after), "entry", "entries")
        echo(f"After it: {entries}, below.")
    for repeat in answer.repeats:
        print_wrapped(repeat.sentence)


def _print_suspect(suspect: AuditSuspect, *, with_axis: bool) -> None:
    mark, colour = MARKS[suspect.consequence], COLOURS.get(suspect.consequence)
    secho(f"{mark} {marked(f'{suspect.score:.2f}')}", fg=colour, bold=True, nl=False)
    echo(f"  {suspect.code}{f' of {suspect.axis}' if with_axis else ''}")
    print_wrapped(f"   {suspect.sentence}")
    print_wrapped(f"   Why: {suspect.why}.")


def _print_entry(entry: AuditEntry, *, with_axis: bool) -> None:
    axis = f"{entry.axis}  " if with_axis and entry.axis is not None else ""
    if isinstance(entry, FaultSeen):
        print_fault(entry.fault, entry.code, axis)
        return
    if isinstance(entry, Action):
        by = f", by {entry.by.partition(' <')[0]}" if entry.by else ""
        secho(f"{axis}{minute_text(entry.at)}, {entry.title}{by}", bold=True)
        for sentence in entry.sentences:
            print_wrapped(f"  {sentence}")
        return
    record = entry.snapshot.record
    secho(f"{axis}{taken_text(record)}  [{entry.snapshot.id[:10]}]", bold=True)
    if record.note:
        print_wrapped(record.note)
    for one in entry.addenda:
        print_wrapped(one.beside)
    if entry.is_late:
        late = minute_text(entry.recorded_at)
        echo(f"  Late entry: recorded {late}, when a later state stood already.")
    print_remarks(record.told_coverage.told(), "  ")
    if record.override_reason:
        print_wrapped(f"  Taken in although a guard objected: {record.override_reason}")
    if entry.comparison is None:
        echo("  The first snapshot of this axis.")
    elif entry.comparison.is_unchanged:
        echo("  No setting changed.")
    else:
        for sentence in sentences(entry.comparison, _MOST):
            print_wrapped(f"  {sentence}")
