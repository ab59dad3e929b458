"""The table on stdout, and the same as JSON."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Any

from tests.bench.rows import Figures, Reach, Row

_COLUMNS = ("row", "work", "ours", "against", "", "ratio", "reach", "met")


@dataclass(frozen=True, slots=True)
class Measured:
    """A row with its figures."""

    row: Row
    figures: Figures

    @property
    def ratio(self) -> float:
        """Ours over the other."""
        return self.figures.ours / self.figures.against

    @property
    def met(self) -> bool:
        """Whether ours is within reach."""
        reach = self.row.reach
        low = reach.ceiling is None or self.figures.ours < reach.ceiling
        return low and self.ratio <= reach.share


def as_json(measured: Iterable[Measured]) -> dict[str, Any]:
    """One document for all rows."""
    return {
        "rows": [
            {
                "name": found.row.name,
                "work": found.row.work,
                "against": found.row.against,
                "unit": found.figures.unit,
                "ours": found.figures.ours,
                "reference": found.figures.against,
                "ratio": found.ratio,
                "reach": {"ratio": found.row.reach.share, "ceiling": found.row.reach.ceiling},
                "met": found.met,
                "note": found.figures.note,
            }
            for found in measured
        ]
    }


def as_text(measured: Iterable[Measured]) -> str:
    """A table in columns; notes stand below it."""
    rows: list[tuple[str, ...]] = [_COLUMNS]
    notes: list[str] = []
    for found in measured:
        name, figures = found.row.name, found.figures
        rows.append(
            (
                name,
                found.row.work,
                _figure(figures.ours, figures.unit),
                found.row.against,
                _figure(figures.against, figures.unit),
                _ratio(found.ratio),
                _reach(found.row.reach, figures.unit),
                "yes" if found.met else "no",
            )
        )
        if figures.note:
            notes.append(f"{name}: {figures.note}")
    widths = [max(map(len, column)) for column in zip(*rows, strict=True)]
    lines = [
        "  ".join(cell.ljust(width) for cell, width in zip(row, widths, strict=True)).rstrip()
        for row in rows
    ]
    lines.insert(1, "  ".join("-" * width for width in widths))
    return "\n".join([*lines, *([""] if notes else []), *notes])


def _figure(value: float, unit: str) -> str:
    if unit == "B":
        return f"{value / 1e6:.2f} MB"
    return f"{value:.1f} s" if value >= 10 else f"{value * 1000:.1f} ms"


def _ratio(ratio: float) -> str:
    return f"1 / {1 / ratio:.1f}" if ratio < 0.95 else f"{ratio:.2f}"


def _reach(reach: Reach, unit: str) -> str:
    share = f"1 / {1 / reach.share:g}" if reach.share < 1 else f"{reach.share:g}"
    return share if reach.ceiling is None else f"{share}, {_figure(reach.ceiling, unit)}"
