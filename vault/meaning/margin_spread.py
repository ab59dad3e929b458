"""Margins of many axes side by side: who is short of 1, and who is far from others that agree."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from math import isfinite
from statistics import median
from typing import TYPE_CHECKING

from vault.meaning.margin_text import needs_somebody, standing, title_of

if TYPE_CHECKING:
    from vault.behaviour.facts import Kind, Margin

FAR = 1.25
"""A ratio so many times the median, or the median so many times it, is far; our own choice."""
_AMPLE = 4.0
"""How much more than this an axis has says nothing; our own choice."""
_FEWEST = 3  # axes that have a median to be far from


@dataclass(frozen=True, slots=True)
class MarginRow:
    """One margin on all axes that it has sense for.

    `median` is that of the ratios that can be told, None where none can. `short` are the axes that
    are below 1 or may be, `far` those far from the median where most are near it; both are odd.
    """

    name: str
    kind: Kind
    cells: Mapping[str, Margin]
    median: float | None
    short: tuple[str, ...]
    far: tuple[str, ...]

    @property
    def title(self) -> str:
        """What is held against what."""
        return title_of(self.name)

    @property
    def odd(self) -> tuple[str, ...]:
        """Axes that somebody should look at."""
        return tuple(axis for axis in self.cells if axis in self.short or axis in self.far)

    @property
    def untold(self) -> tuple[str, ...]:
        """Axes for which it cannot be told."""
        return tuple(axis for axis, margin in self.cells.items() if not margin.is_known)


def spread_margins(by_axis: Mapping[str, Mapping[str, Margin]]) -> list[MarginRow]:
    """Rows with odd axes first, those that protect before the others, the least ratio first."""
    by_name: dict[str, dict[str, Margin]] = {}
    for axis, margins in by_axis.items():
        for name, margin in margins.items():
            by_name.setdefault(name, {})[axis] = margin
    return sorted((_row(name, cells) for name, cells in by_name.items()), key=_place)


def _row(name: str, cells: Mapping[str, Margin]) -> MarginRow:
    ratios = {axis: margin.ratio for axis, margin in cells.items() if margin.ratio is not None}
    middle = median(ratios.values()) if ratios else None
    protects = any(margin.kind == "protects" for margin in cells.values())
    return MarginRow(
        name,
        "protects" if protects else "availability",
        cells,
        middle,
        tuple(axis for axis, margin in cells.items() if needs_somebody(standing(margin))),
        _far(ratios, middle),
    )


def _far(ratios: Mapping[str, float], middle: float | None) -> tuple[str, ...]:
    """Axes far from the median, where there are enough for one and most others are near it.

    Axes of different kinds have margins of all sizes, of which none is the odd one.
    """
    if middle is None or len(ratios) < _FEWEST or not isfinite(middle) or middle <= 0:
        return ()
    far = [a for a, ratio in ratios.items() if ratio > middle * FAR or ratio * FAR < middle]
    if 2 * len(far) >= len(ratios):
        return ()
    return tuple(axis for axis in far if min(ratios[axis], middle) < _AMPLE)


def _place(row: MarginRow) -> tuple[bool, bool, bool, float, str]:
    known = [margin.ratio for margin in row.cells.values() if margin.ratio is not None]
    return not row.odd, row.kind != "protects", not row.short, min(known, default=0.0), row.name
