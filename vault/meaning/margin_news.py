"""Which margins that moved a reader wants to see first, and what is said of each."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from math import inf, isinf
from typing import TYPE_CHECKING

from vault.meaning.margin_text import EDGE, ratio_text, standing
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.behaviour.facts import Kind, Margin
    from vault.meaning.margin_moves import MarginMove
    from vault.meaning.margin_text import Standing

SMALL = 0.01
"""A ratio that moved by no more than this share is told on request; our own choice."""

_BY_SERIOUSNESS: tuple[Standing, ...] = ("short", "may be short", "cannot be told", "holds")
"""Floors are those of one state: a comparison goes by 1."""


def kind_of(move: MarginMove) -> Kind:
    """What a margin that moved is for: what protects on either side protects."""
    sides = (side for side in (move.before, move.after) if side is not None)
    return "protects" if any(side.kind == "protects" for side in sides) else "availability"


def shift(move: MarginMove) -> float | None:
    """The right ratio over the left one; None where that says nothing."""
    before, after = _ratios(move)
    if before is None or after is None or before <= 0 or (isinf(before) and isinf(after)):
        return None
    return after / before


def crosses(move: MarginMove) -> bool:
    """Whether one side is below 1 and the other is not."""
    before, after = _ratios(move)
    return before is not None and after is not None and (before < EDGE) != (after < EDGE)


def is_news(move: MarginMove) -> bool:
    """Whether a margin crossed 1 or moved by more than a small share.

    What can be told on one side alone is news where it protects.
    """
    before, after = _ratios(move)
    if before is None or after is None:
        return kind_of(move) == "protects"
    moved = shift(move)
    return crosses(move) or moved is None or moved == inf or abs(moved - 1) > SMALL


def news(moves: Iterable[MarginMove], *, two_axes: bool = False) -> list[MarginMove]:
    """What is told without asking, in its order.

    Two axes differ in nearly all: there only what does not hold on one of them is told.
    """
    told = (move for move in moves if is_news(move))
    if not two_axes:
        return ordered(told)
    return ordered(move for move in told if crosses(move) or worse_standing(move) != "holds")


@dataclass(frozen=True, slots=True)
class MovesTold:
    """Margins that moved, as they are told: the answer `first`, what merely moved `then`.

    `more` are told on request: they hardly moved, cannot be told, or hold on both of two axes.
    """

    first: tuple[MarginMove, ...]
    then: tuple[MarginMove, ...]
    more: int


def arranged(moves: Sequence[MarginMove], *, two_axes: bool, everything: bool) -> MovesTold:
    """What crossed 1, is short or may be, or protects and cannot be told any more; then the rest.

    Of one axis over time it counts how a margin stands now, of two axes the worse side.
    """
    told = ordered(moves) if everything else news(moves, two_axes=two_axes)
    first = tuple(move for move in told if _is_answer(move, two_axes))
    then = tuple(move for move in told if move not in first)
    return MovesTold(first, then, len(moves) - len(told))


def _is_answer(move: MarginMove, two_axes: bool) -> bool:
    stands = worse_standing(move) if two_axes else standing_after(move)
    if stands == "cannot be told":
        return kind_of(move) == "protects"
    return crosses(move) or stands != "holds"


def ordered(moves: Iterable[MarginMove]) -> list[MarginMove]:
    """What protects first; then what is short, what cannot be told, and what holds."""
    return sorted(moves, key=_place)


def _place(move: MarginMove) -> tuple[int, int, int, float, str]:
    least = min((ratio for ratio in _ratios(move) if ratio is not None), default=inf)
    place = _BY_SERIOUSNESS.index(worse_standing(move))
    kind = 0 if kind_of(move) == "protects" else 1
    return kind, 0 if crosses(move) else 1, place, least, move.name


def standing_after(move: MarginMove) -> Standing:
    """How the margin stands on the right."""
    return side_standing(move.after)


def worse_standing(move: MarginMove) -> Standing:
    """How it stands on the side where it stands worse: which is older does not matter."""
    sides = [standing(side) for side in (move.before, move.after) if side is not None]
    return min(sides, key=_BY_SERIOUSNESS.index)


def move_text(move: MarginMove) -> str:
    """Both ratios of one axis over time."""
    return f"{side_text(move.after)}, was {side_text(move.before)}"


def more_text(told: MovesTold, sides: tuple[str, str] | None) -> str:
    """How many margins are told on request, and why."""
    more = "more " if told.first or told.then else ""
    count = plural(told.more, f"{more}margin differs: it", f"{more}margins differ: they")
    which = "hold on both axes" if told.more != 1 else "holds on both axes"
    return f"{count} {which if sides else 'hardly moved'}, or cannot be told"


def side_standing(side: Margin | None) -> Standing:
    """How one side stands; a margin that is not there cannot be told."""
    return "cannot be told" if side is None else standing(side)


def side_text(side: Margin | None) -> str:
    """The ratio of one side; a margin that is not there has no sense for the axis."""
    return "no such margin" if side is None else ratio_text(side.ratio, side.bound)


def _ratios(move: MarginMove) -> tuple[float | None, float | None]:
    return (
        move.before.ratio if move.before is not None else None,
        move.after.ratio if move.after is not None else None,
    )
