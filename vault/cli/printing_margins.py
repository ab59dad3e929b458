"""How margins look on a terminal: worst first, what cannot be told last, with what to enter."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from vault.cli.printing_margin_moves import COLOURS, MARKS, print_mark, print_name
from vault.cli.printing_missing import print_unknown
from vault.cli.printing_tables import (
    print_coverage,
    print_marked,
    print_remarks,
    print_wrapped,
    taken_text,
)
from vault.cli.terminal import echo, secho
from vault.jobs.state.reread import older_text
from vault.meaning.margin_text import (
    KINDS,
    held_text,
    protects_here,
    ratio_text,
    standing,
)
from vault.model.quantities import plain
from vault.model.wording import capitalised, plural

if TYPE_CHECKING:
    from vault.jobs.inspect.margin_history import MarginStep, MarginTimeline
    from vault.jobs.inspect.margins import AxisMargin, AxisMargins
    from vault.jobs.inspect.spread import MarginSpread
    from vault.meaning.margin_spread import MarginRow

_INDENT = " " * 3


def print_margins(found: AxisMargins, *, everything: bool) -> None:
    """Margins kind by kind; with `everything` also how each is reckoned, and from what."""
    _print_state(found)
    notes: dict[str, int] = {}
    for kind, words in KINDS.items():
        rows = [row for row in found.known if row.margin.kind == kind]
        if rows:
            echo()
            secho(f"What {words}", bold=True)
        for row in rows:
            _print_row(found, row, notes, everything=everything)
    if found.unknown:
        print_unknown(found)
    if notes:
        echo()
    for note, number in notes.items():
        print_wrapped(f"[{number}] {capitalised(note)}.")
    echo()
    print_wrapped(found.summary)


def _print_state(found: AxisMargins) -> None:
    state = found.state
    secho(f"{state.name}: margins, what it has over what it needs", bold=True)
    if state.record is not None and state.snapshot is not None:
        echo(f"Snapshot {state.snapshot.id[:10]}, {taken_text(state.record)}")
    print_coverage(state)
    if older := older_text(state):
        print_wrapped(older)


def _print_row(
    found: AxisMargins, row: AxisMargin, notes: dict[str, int], *, everything: bool
) -> None:
    margin = row.margin
    ratio = ratio_text(margin.ratio, margin.bound)
    print_mark(row.stands, margin.kind, ratio)
    print_name(margin.name, len(ratio))
    numbers = [notes.setdefault(note, len(notes) + 1) for note in found.notes(row)]
    told = f"{_INDENT}{held_text(margin)}{_start(found, row)}{_beside(row)}"
    marks = "".join(f" [{number}]" for number in numbers)
    if not everything:
        print_wrapped(f"{told}; rests on {_rests_in_short(row)}{marks}")
        return
    print_wrapped(f"{told}{marks}")
    print_wrapped(f"{_INDENT}By {margin.basis}")
    print_wrapped(f"{_INDENT}Rests on {_rests_text(row)}")


def _start(found: AxisMargins, row: AxisMargin) -> str:
    start = found.start_of(row)
    return f" from {start}" if start else ""


def _beside(row: AxisMargin) -> str:
    """Its floor, the ratio that was approved where that is another, and why it protects."""
    told = []
    if row.floor is not None:
        below = f"{row.stands} of" if row.stands.endswith("its floor") else "floor"
        told.append(f"{below} {plain(row.floor)}")
    if row.approved is not None:
        told.append(f"not as approved: {ratio_text(row.approved.ratio, row.approved.bound)}")
    if protects_here(row.margin):
        told.append("protects here, as the load hangs")
    return "".join(f"; {one}" for one in told)


def _rests_text(row: AxisMargin) -> str:
    named = [f"{parameter.code} {parameter.name}" for parameter in row.rests.parameters]
    return ", ".join([*named, *row.rests.keys]) or "nothing that is there"


def _rests_in_short(row: AxisMargin) -> str:
    """How many parameters it is, and which parts of the axis record."""
    count = len(row.rests.parameters)
    sections = dict.fromkeys(key.partition(".")[0] for key in row.rests.keys)
    told = [plural(count, "parameter")] if count else []
    return ", ".join([*told, *sections]) or "nothing that is there"


def print_margin_spread(spread: MarginSpread, *, everything: bool) -> None:
    """Margin by margin what most have, and who is short of 1 or far from that."""
    print_remarks(spread.remarks)
    told = spread.rows if everything else spread.odd
    secho(f"Margins of {len(spread.axes)} axes: what there is over what is needed", bold=True)
    for row in told:
        middle = "cannot be told" if row.median is None else f"median {ratio_text(row.median)}"
        print_wrapped(f"{row.name}: {row.title}", bold_up_to=len(row.name))
        untold = f", cannot be told on {len(row.untold)}" if row.untold and row.median else ""
        print_wrapped(f"{_INDENT}{middle} of {plural(len(row.cells), 'axis', 'axes')}{untold}")
        for axis in sorted(row.odd, key=lambda axis: row.cells[axis].ratio or 0.0):
            _print_odd(row, axis)
    if not everything:
        rest = len(spread.rows) - len(told)
        echo(f"{plural(rest, 'margin has', 'margins have')} no odd axis; --all lists them.")


def _print_odd(row: MarginRow, axis: str) -> None:
    margin = row.cells[axis]
    far = ", far from the others" if axis in row.far else ""
    stands, ratio = standing(margin), ratio_text(margin.ratio, margin.bound)
    colour = COLOURS.get((stands, margin.kind))
    print_marked(f"{MARKS[stands]} {ratio}", colour, f" {axis}: {held_text(margin)}{far}")


def print_margin_history(timelines: Sequence[MarginTimeline], *, everything: bool) -> None:
    """Margin by margin the snapshots at which it moved."""
    told = [each for each in timelines if everything or each.has_moved]
    for timeline in told:
        print_wrapped(f"{timeline.name}: {timeline.title}", bold_up_to=len(timeline.name))
        for step in timeline.steps if everything else timeline.told:
            _print_step(step)
        if timeline.golden is not None:
            echo(f"{_INDENT}golden {ratio_text(timeline.golden.ratio, timeline.golden.bound)}")
    if (rest := len(timelines) - len(told)) > 0:
        echo(f"{plural(rest, 'margin')} never moved, or hardly; --all lists them.")


def _print_step(step: MarginStep) -> None:
    margin = step.margin
    stands = standing(margin) if margin is not None else "cannot be told"
    ratio = ratio_text(margin.ratio, margin.bound) if margin is not None else "no such margin"
    print_mark(stands, margin.kind if margin is not None else "availability", ratio)
    echo(f"  from {taken_text(step.snapshot.record)}")
