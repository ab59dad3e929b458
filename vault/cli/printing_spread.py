"""How many axes side by side look on a terminal: who is odd first."""

from __future__ import annotations

from collections.abc import Collection
from typing import TYPE_CHECKING

from vault.cli.printing import COLOURS, MARKS
from vault.cli.printing_tables import (
    WIDTH,
    print_marked,
    print_remarks,
    print_table,
    print_wrapped,
    table_width,
)
from vault.cli.terminal import echo
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.jobs.inspect.spread import Spread
    from vault.meaning.spread import Row

_MOST_ANSWERS = 12


def print_spread(spread: Spread, *, parameter: str | None) -> None:
    """Who is odd; then axes as columns, the odd ones with a mark.

    Row by row where that is too wide, and for one parameter of many axes by value.
    """
    print_remarks(spread.remarks)
    _print_answers(spread)
    everything = parameter is not None
    wanted = spread.rows if everything else spread.differing
    lacking = {axis for axis, held in spread.coverage.items() if held.may_lack}
    rows = [[row.name, *(_cell_text(row, axis, lacking) for axis in spread.axes)] for row in wanted]
    if rows and table_width(["", *spread.axes], rows) <= WIDTH:
        print_table(["", *spread.axes], rows)
    else:
        for row in wanted:
            _print_row(row)
    if not everything:
        same = plural(len(spread.rows) - len(spread.differing), "parameter")
        axes = "both axes" if len(spread.axes) == 2 else f"all {len(spread.axes)} axes"
        echo(f"The same on {axes}: {same}.")


def _cell_text(row: Row, axis: str, lacking: Collection[str]) -> str:
    cell = row.cells.get(axis)
    nothing = "not in this export" if axis in lacking else "-"
    text = nothing if cell is None else cell.text
    return f"* {text}" if axis in row.odd and row.reference is not None else text


def _print_row(row: Row) -> None:
    """What most have, then who has something else."""
    if row.reference is None:
        most = "no two are alike" if len(row.odd) == 2 else "no majority"
    else:
        near = "near the median, " if row.basis == "median" else ""
        most = f"{row.reference} ({near}{len(row.axes) - len(row.odd)} of {len(row.axes)})"
    print_wrapped(f"{row.name}: {most}", bold_up_to=len(row.name))
    by_text: dict[str, list[str]] = {}
    for axis in row.odd:
        cell = row.cells.get(axis)
        by_text.setdefault("not in this export" if cell is None else cell.text, []).append(axis)
    for text, members in by_text.items():
        mark = "   " if row.reference is None else "   * "
        print_wrapped(f"{mark}{text}: {', '.join(members)}")


def _print_answers(spread: Spread) -> None:
    for answer in spread.answers[:_MOST_ANSWERS]:
        mark, colour = MARKS[answer.consequence], COLOURS.get(answer.consequence)
        print_marked(mark, colour, f"odd: {answer.sentence}")
    if (more := len(spread.answers) - _MOST_ANSWERS) > 0:
        echo(f"   and {plural(more, 'more', 'more')}, in the table below.")
    if spread.answers:
        echo()
