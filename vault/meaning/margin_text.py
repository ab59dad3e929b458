"""How a margin is told: what is held against what in the reader's units, and how it stands."""

from __future__ import annotations

import re
from collections.abc import Iterable
from math import isfinite
from typing import TYPE_CHECKING, Literal

from vault.behaviour.behave import THEMES, load_themes
from vault.behaviour.facts import MARGINS
from vault.meaning.findings import digits
from vault.meaning.margin_sentences import amount

if TYPE_CHECKING:
    from vault.behaviour.facts import Bound, Kind, Margin

Standing = Literal["short", "may be short", "holds", "cannot be told"]

EDGE = 1 - 1e-9
"""The edge, less what floating point may lose: 2 m against 2 m is not short."""

KINDS: dict[Kind, str] = {
    "protects": "protects people or machine",
    "availability": "keeps the axis running",
}
_BETWEEN_HEDGES = re.compile("; (?!see the drive's manual)")
_SMALL = 3  # digits of a ratio, where that does not round it over the edge
_MOST = 9


def title_of(name: str) -> str:
    """What the margin of a name holds against what; the name itself where there is none."""
    load_themes()
    return MARGINS[name].title if name in MARGINS else name


def ordered(margins: Iterable[Margin]) -> list[Margin]:
    """Worst first: what protects, then what keeps the axis running, then what cannot be told."""
    return sorted(margins, key=_place)


def _place(margin: Margin) -> tuple[int, int, float, int, str]:
    protects = 0 if margin.kind == "protects" else 1
    theme = THEMES.index(margin.theme) if margin.theme in THEMES else len(THEMES)
    if margin.ratio is None:
        return 2, protects, 0.0, theme, margin.name
    return protects, 0, margin.ratio, theme, margin.name


_AMPLE = 2.0
"""What may be less and is so many times its need holds all the same; our own choice."""


def standing(margin: Margin) -> Standing:
    """How a margin stands to 1: a bound that leaves it open is told as such."""
    return standing_of(margin.ratio, margin.bound)


def standing_of(ratio: float | None, bound: Bound) -> Standing:
    """How a ratio stands to 1."""
    if ratio is None:
        return "cannot be told"
    if ratio < EDGE:
        return "short" if bound in ("exact", "up_to") else "may be short"
    if bound == "up_to":
        return "holds" if ratio >= _AMPLE else "may be short"
    return "holds" if bound != "unknown" else "may be short"


def ratio_text(ratio: float | None, bound: Bound = "exact") -> str:
    """A ratio for people, with what bounds it; never rounded from below 1 to 1."""
    if ratio is None:
        return "cannot be told"
    if not isfinite(ratio):
        return "without end" if ratio > 0 else "nothing left"
    count = _SMALL
    while count < _MOST and (float(f"{ratio:.{count}g}") < 1) != (ratio < EDGE):
        count += 1
    words: dict[Bound, str] = {
        "exact": "", "at_least": "at least ", "up_to": "up to ", "unknown": "about ",
    }  # fmt: skip
    return f"{words[bound]}{digits(ratio, count)}"


def held_text(margin: Margin) -> str:
    """What there is against what it must cover: `25 mm against 36.1 mm`."""
    return f"{amount(margin.have, margin.unit)} against {amount(margin.need, margin.unit)}"


def hedges_in(hedge: str) -> list[str]:
    """The hedges of a margin one by one; `see the drive's manual` belongs to the one before it."""
    return [part for part in _BETWEEN_HEDGES.split(hedge) if part]
