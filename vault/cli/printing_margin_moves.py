"""How margins that moved look on a terminal, and the mark that a margin has."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.cli.printing_tables import WIDTH
from vault.cli.terminal import echo, secho
from vault.meaning.margin_news import (
    kind_of,
    move_text,
    news,
    ordered,
    standing_after,
    worse_standing,
)
from vault.meaning.margin_text import title_of
from vault.model.wording import plural

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.behaviour.facts import Kind
    from vault.jobs.state.compare import Compared
    from vault.meaning.margin_moves import MarginMove
    from vault.meaning.margin_text import Standing

MARKS: dict[Standing, str] = {
    "short": "!!", "may be short": "?!", "below its floor": "!!", "may be below its floor": "?!",
    "holds": "ok", "cannot be told": "??",
}  # fmt: skip
"""A mark of its own for how a margin stands, for black and white."""
_COLOURS: dict[tuple[Standing, Kind], str] = {
    ("short", "protects"): "red",
    ("may be short", "protects"): "red",
    ("below its floor", "protects"): "red",
    ("short", "availability"): "yellow",
    ("below its floor", "availability"): "yellow",
}


def print_mark(stands: Standing, kind: Kind, ratio: str) -> None:
    """Begin a line with how a margin stands, and its ratio."""
    secho(f"{MARKS[stands]} {ratio}", fg=_COLOURS.get((stands, kind)), bold=True, nl=False)


def print_margin_moves(compared: Compared, *, everything: bool) -> None:
    """What a comparison begins with: the margins that moved, those that protect first."""
    moves = compared.comparison.margins
    told = ordered(moves) if everything else news(moves, two_axes=compared.sides is not None)
    if not told:
        return
    secho("Margins that differ, have over need; 1 is the edge", bold=True)
    _print_moves(told, compared.sides)
    if (more := len(moves) - len(told)) > 0:
        rest = plural(more, "margin")
        echo(f"   and {rest} that hold, hardly moved, or cannot be told; --all lists them.")
    echo()


def _print_moves(moves: Iterable[MarginMove], sides: tuple[str, str] | None) -> None:
    for move in moves:
        stands = worse_standing(move) if sides is not None else standing_after(move)
        ratios = move_text(move, sides)
        print_mark(stands, kind_of(move), ratios)
        print_name(move.name, len(ratios))


def print_name(name: str, used: int) -> None:
    """End a line with the name and the title of a margin, on a line of its own if need be."""
    title = title_of(name)
    if 3 + used + 2 + len(name) + 2 + len(title) <= WIDTH:
        echo(f"  {name}: {title}")
    else:
        echo(f"  {name}")
        echo(f"   {title}")
