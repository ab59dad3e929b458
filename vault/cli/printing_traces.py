"""How traces look on a terminal."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.cli.printing_tables import print_wrapped
from vault.cli.terminal import echo, secho
from vault.jobs.state.selectors import view_of
from vault.meaning.traces.words import not_seen, sentence
from vault.model.wording import capitalised, plural
from vault.model.written_form import minute_text

if TYPE_CHECKING:
    from vault.jobs.trials.trace_kept import TraceBeside


def print_trace(found: TraceBeside) -> None:
    """A trace with what it tells, and how it differs from the earlier one."""
    result = found.result
    record, trace = result.record, result.trace
    secho(
        f"{result.address}: trace of {record.move!r}, {minute_text(record.taken_at)}, {record.by} "
        f"({record.name})",
        bold=True,
    )
    print_wrapped(f"{told_size(found)} On snapshot {record.snapshot[:10]}.")
    for told in result.told.values():
        print_wrapped(f"{'..' if told.measured is not None else '??'} {sentence(told)}")
    for remark in result.remarks:
        print_wrapped(f"   {remark}")
    for heading in trace.not_used:
        print_wrapped(f"   {heading!r} is no channel of a trace: not used")
    if text := not_seen(view_of(result.state).state):
        print_wrapped(text)
    if found.comparison is not None:
        echo()
        print_wrapped(f"Against {found.against}: {found.comparison.summary}")
    if found.problem is not None:
        print_wrapped(f"!! {capitalised(found.problem)}.")


def told_size(found: TraceBeside) -> str:
    """How many samples a trace has, and what is special about them."""
    trace = found.result.trace
    said = plural(len(trace.times), "sample")
    if trace.gaps:
        said += f", {plural(len(trace.gaps), 'gap')} between them"
    if trace.uneven:
        said += ", at uneven steps"
    return f"{said}."
