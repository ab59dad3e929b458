"""How a margin is told: what is held against what in the reader's units, and how it stands."""

from __future__ import annotations

import re
from collections.abc import Iterable, Mapping, Sequence
from decimal import Decimal
from math import isfinite
from typing import TYPE_CHECKING, Literal

from vault.behaviour.behave import THEMES, load_themes
from vault.behaviour.facts import MARGINS
from vault.meaning.findings import digits
from vault.meaning.margin_sentences import amount
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.behaviour.facts import Bound, Kind, Margin

Standing = Literal[
    "short", "may be short", "below its floor", "may be below its floor", "holds", "cannot be told"
]
_SETTLED: tuple[Standing, ...] = ("holds", "cannot be told")
"""How a margin stands that needs nobody, or that nobody can judge."""

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


Floors = Mapping[str, Decimal]
"""What margins must at least be, by name."""


def ordered(margins: Iterable[Margin], floors: Floors | None = None) -> list[Margin]:
    """What protects, then what keeps the axis running, then what cannot be told.

    Of each kind what needs somebody comes first, and the least ratio before the others.
    """
    return sorted(margins, key=lambda margin: _place(margin, (floors or {}).get(margin.name)))


def _place(margin: Margin, floor: Decimal | None) -> tuple[int, int, float, int, str]:
    protects = 0 if margin.kind == "protects" else 1
    theme = THEMES.index(margin.theme) if margin.theme in THEMES else len(THEMES)
    if margin.ratio is None:
        return 2, protects, 0.0, theme, margin.name
    settled = 0 if needs_somebody(standing(margin, floor)) else 1
    return protects, settled, margin.ratio, theme, margin.name


_AMPLE = 2.0
"""What may be less and is so many times its need holds all the same; our own choice."""


def standing(margin: Margin, floor: Decimal | None = None) -> Standing:
    """How a margin stands to 1 and to its floor: a bound that leaves it open is told as such."""
    return standing_of(margin.ratio, margin.bound, floor)


def standing_of(ratio: float | None, bound: Bound, floor: Decimal | None = None) -> Standing:
    """How a ratio stands to 1, then to a floor."""
    if ratio is None:
        return "cannot be told"
    if ratio < EDGE:
        return "short" if bound in ("exact", "up_to") else "may be short"
    if bound == "unknown" or (bound == "up_to" and ratio < _AMPLE):
        return "may be short"
    if floor is None:
        return "holds"
    if is_below(ratio, floor):
        return "below its floor"
    return "may be below its floor" if bound == "up_to" else "holds"


def is_below(ratio: float, floor: Decimal) -> bool:
    """Whether a ratio is less than its floor, and not merely rounded below it."""
    return ratio < float(floor) * EDGE


def needs_somebody(stands: Standing) -> bool:
    """Whether it is short or below its floor, or may be."""
    return stands not in _SETTLED


def summary(held: Sequence[tuple[Margin, Decimal | None]]) -> str:
    """The answer in a line, of margins with their floors: how many need somebody, and the least."""
    told = [f"{plural(len(held), 'margin')}: {_counted(held, 'short')}"]
    told += [_counted(held, stands) for stands in _COUNTED if _of(held, stands)]
    known = [margin for margin, _ in held if margin.ratio is not None and isfinite(margin.ratio)]
    least = min(known, key=lambda margin: margin.ratio or 0.0, default=None)
    end = f" The least is {least.name}: {ratio_text(least.ratio, least.bound)}." if least else ""
    return f"{', '.join(told)}.{end}"


_COUNTED: tuple[Standing, ...] = (
    "may be short", "below its floor", "may be below its floor", "cannot be told",
)  # fmt: skip


def _of(held: Sequence[tuple[Margin, Decimal | None]], stands: Standing) -> list[Margin]:
    return [margin for margin, floor in held if standing(margin, floor) == stands]


def _counted(held: Sequence[tuple[Margin, Decimal | None]], stands: Standing) -> str:
    """How many stand like that: `2 short of 1 (1 protects)`."""
    found = _of(held, stands)
    protecting = sum(margin.kind == "protects" for margin in found)
    words = "short of 1" if stands == "short" else stands
    if not protecting or stands not in ("short", "may be short"):
        return f"{len(found)} {words}"
    many = "all" if 1 < protecting == len(found) else str(protecting)
    return f"{len(found)} {words} ({many} {'protects' if protecting == 1 else 'protect'})"


def protects_here(margin: Margin) -> bool:
    """Whether a margin that usually keeps an axis running protects on this one: its load hangs."""
    load_themes()
    rule = MARGINS.get(margin.name)
    return margin.kind == "protects" and rule is not None and rule.kind != "protects"


def ratio_text(ratio: float | None, bound: Bound = "exact") -> str:
    """A ratio for people, with what bounds it; never rounded from below 1 to 1."""
    if ratio is None:
        return "cannot be told"
    if not isfinite(ratio):
        return "no limit" if ratio > 0 else "nothing left"
    if ratio < 0:
        return "below 0"
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
