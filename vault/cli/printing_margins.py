"""How margins look on a terminal: worst first, what cannot be told last, with what to enter."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from typing import TYPE_CHECKING

from vault.cli.printing_margin_moves import print_mark, print_name
from vault.cli.printing_missing import print_unknown
from vault.cli.printing_tables import (
    print_coverage,
    print_remarks,
    print_wrapped,
    taken_text,
)
from vault.cli.terminal import echo, secho
from vault.meaning.margin_text import (
    KINDS,
    hedges_in,
    held_text,
    ratio_text,
    standing,
)
from vault.model.quantities import plain
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.jobs.inspect.margin_history import MarginStep, MarginTimeline
    from vault.jobs.inspect.margins import AxisMargin, AxisMargins
    from vault.jobs.inspect.spread import MarginSpread
    from vault.meaning.margin_spread import MarginRow

_INDENT = " " * 3


def print_margins(found: AxisMargins, *, everything: bool) -> None:
    """Margins kind by kind; with `everything` also how each is reckoned, and from what."""
    _print_state(found)
    hedges: dict[str, int] = {}
    for kind, words in KINDS.items():
        rows = [row for row in found.known if row.margin.kind == kind]
        if rows:
            echo()
            secho(f"What {words}", bold=True)
        for row in rows:
            _print_row(row, hedges, everything=everything)
    if found.unknown:
        print_unknown(found)
    if hedges:
        echo()
    for hedge, number in hedges.items():
        print_wrapped(f"[{number}] {hedge}.")
    echo()
    _print_counts(found)


def _print_state(found: AxisMargins) -> None:
    state = found.state
    secho(f"{state.name}: margins, have over need; 1 is the edge", bold=True)
    if state.record is not None and state.snapshot is not None:
        echo(f"Snapshot {state.snapshot.id[:10]}, {taken_text(state.record)}")
    print_coverage(state)


def _print_row(row: AxisMargin, hedges: dict[str, int], *, everything: bool) -> None:
    margin = row.margin
    stands = standing(margin)
    ratio = ratio_text(margin.ratio, margin.bound)
    print_mark(stands, margin.kind, ratio)
    print_name(margin.name, len(ratio))
    marks = "".join(f" [{number}]" for number in _numbered(margin.hedge, hedges))
    if not everything:
        rests = _rests_in_short(row)
        print_wrapped(f"{_INDENT}{held_text(margin)}{_beside(row)}; rests on {rests}{marks}")
        return
    print_wrapped(f"{_INDENT}{held_text(margin)}{_beside(row)}{marks}")
    print_wrapped(f"{_INDENT}By {margin.basis}")
    print_wrapped(f"{_INDENT}Rests on {_rests_text(row)}")


def _beside(row: AxisMargin) -> str:
    """The other ratios that it is held against."""
    told = []
    if row.golden is not None:
        told.append(f"golden {ratio_text(row.golden.ratio, row.golden.bound)}")
    if row.floor is not None:
        told.append(f"floor {plain(row.floor)}")
    return f"; {', '.join(told)}" if told else ""


def _numbered(hedge: str, hedges: dict[str, int]) -> Iterable[int]:
    """Numbers of what is told once at the end."""
    return [hedges.setdefault(part, len(hedges) + 1) for part in hedges_in(hedge)]


def _rests_text(row: AxisMargin) -> str:
    named = [f"{parameter.code} {parameter.name}" for parameter in row.rests.parameters]
    return ", ".join([*named, *row.rests.keys]) or "nothing that is there"


def _rests_in_short(row: AxisMargin) -> str:
    """How many parameters it is, and which parts of the axis record."""
    count = len(row.rests.parameters)
    sections = dict.fromkeys(key.partition(".")[0] for key in row.rests.keys)
    told = [plural(count, "parameter")] if count else []
    return ", ".join([*told, *sections]) or "nothing that is there"


def _print_counts(found: AxisMargins) -> None:
    short = [row for row in found.known if standing(row.margin) == "short"]
    protecting = sum(row.margin.kind == "protects" for row in short)
    told = [f"{plural(len(found.rows), 'margin')}: {len(short)} short of 1"]
    if protecting:
        told.append(f"{protecting} of them {'protects' if protecting == 1 else 'protect'}")
    if found.unknown:
        told.append(f"{len(found.unknown)} cannot be told")
    echo(f"{', '.join(told)}.")


def print_margin_spread(spread: MarginSpread, *, everything: bool) -> None:
    """Margin by margin what most have, and who is short of 1 or far from that."""
    print_remarks(spread.remarks)
    told = spread.rows if everything else spread.odd
    secho(f"Margins of {len(spread.axes)} axes, have over need; 1 is the edge", bold=True)
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
    print_mark(standing(margin), margin.kind, ratio_text(margin.ratio, margin.bound))
    echo(f"  {axis}: {held_text(margin)}{far}")


def print_margin_history(timelines: Sequence[MarginTimeline], *, everything: bool) -> None:
    """Margin by margin the snapshots at which it moved."""
    told = [each for each in timelines if everything or each.has_moved]
    for timeline in told:
        print_wrapped(f"{timeline.name}: {timeline.title}", bold_up_to=len(timeline.name))
        for step in timeline.steps:
            _print_step(step)
        if timeline.golden is not None:
            echo(f"{_INDENT}golden {ratio_text(timeline.golden.ratio, timeline.golden.bound)}")
    if (rest := len(timelines) - len(told)) > 0:
        echo(f"{plural(rest, 'margin')} never moved; --all lists them.")


def _print_step(step: MarginStep) -> None:
    margin = step.margin
    stands = standing(margin) if margin is not None else "cannot be told"
    ratio = ratio_text(margin.ratio, margin.bound) if margin is not None else "no such margin"
    print_mark(stands, margin.kind if margin is not None else "availability", ratio)
    echo(f"  from {taken_text(step.snapshot.record)}")
