"""How margins that moved look on a terminal, and the mark that a margin has."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.cli.printing_tables import WIDTH, print_wrapped
from vault.cli.terminal import echo, secho
from vault.meaning.margin_news import (
    kind_of,
    more_text,
    move_text,
    side_standing,
    side_text,
    standing_after,
    worse_standing,
)
from vault.meaning.margin_text import title_of

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.behaviour.facts import Kind
    from vault.meaning.margin_moves import MarginMove
    from vault.meaning.margin_news import MovesTold
    from vault.meaning.margin_text import Standing

MARKS: dict[Standing, str] = {
    "short": "!!", "may be short": "?!", "below its floor": "!!", "may be below its floor": "?!",
    "holds": "ok", "cannot be told": "??",
}  # fmt: skip
"""A mark of its own for how a margin stands, for black and white."""
COLOURS: dict[tuple[Standing, Kind], str] = {
    ("short", "protects"): "red",
    ("may be short", "protects"): "red",
    ("below its floor", "protects"): "red",
    ("short", "availability"): "yellow",
    ("below its floor", "availability"): "yellow",
}
"""Colours of what needs somebody."""


def print_mark(stands: Standing, kind: Kind, ratio: str) -> None:
    """Begin a line with how a margin stands, and its ratio."""
    secho(f"{MARKS[stands]} {ratio}", fg=COLOURS.get((stands, kind)), bold=True, nl=False)


def print_first_moves(told: MovesTold, sides: tuple[str, str] | None) -> None:
    """What a comparison begins with: margins that crossed 1, or are short."""
    if not told.first:
        return
    secho("Margins short of 1, or across it: what there is over what is needed", bold=True)
    _print_moves(told.first, sides)
    echo()


def print_other_moves(told: MovesTold, sides: tuple[str, str] | None, *, everything: bool) -> None:
    """What merely moved, in short, and how many more there are."""
    if told.then and everything:
        secho("Other margins that moved", bold=True)
        _print_moves(told.then, sides)
    elif told.then:
        moved = "; ".join(f"{move.name} {_sides_text(move, sides)}" for move in told.then)
        print_wrapped(f"Other margins that moved: {moved}.")
    if told.more:
        print_wrapped(f"{more_text(told, sides)}; --all lists them.")


def _print_moves(moves: Iterable[MarginMove], sides: tuple[str, str] | None) -> None:
    for move in moves:
        text = _sides_text(move, sides)
        if sides is not None:
            text = f"{MARKS[side_standing(move.before)]} {text}"
            stands = worse_standing(move)
        else:
            stands = standing_after(move)
            text = f"{MARKS[stands]} {text}"
        secho(text, fg=COLOURS.get((stands, kind_of(move))), bold=True, nl=False)
        print_name(move.name, len(text) - 3)


def _sides_text(move: MarginMove, sides: tuple[str, str] | None) -> str:
    """Both ratios; of two axes each has its name, and the second its mark."""
    if sides is None:
        return move_text(move)
    left, right = side_text(move.before), side_text(move.after)
    return f"{sides[0]} {left}, {MARKS[side_standing(move.after)]} {sides[1]} {right}"


def print_name(name: str, used: int) -> None:
    """End a line with the name and the title of a margin, on a line of its own if need be."""
    title = title_of(name)
    if 3 + used + 2 + len(name) + 2 + len(title) <= WIDTH:
        echo(f"  {name}: {title}")
    else:
        echo(f"  {name}")
        echo(f"   {title}")
