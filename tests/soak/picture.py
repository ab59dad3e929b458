"""The picture of a soak: what acts took, and the memory of its processes over time."""

from __future__ import annotations

from statistics import median

from tests.plotting import WIDTH, Curve, Duration, Strip, alone, durations, strips
from tests.soak.report import Report
from webui.pictures.svg import LINE, Sheet

_KINDS = ("line", "before", "thin")  # of curves, one for each of three copies


def draw(report: Report) -> str:
    """The picture as a file of its own."""
    sheet = Sheet("soak", WIDTH)
    rows = []
    for kind, acts in report.by_kind().items():
        if took := [act.seconds for act in acts if act.outcome != "killed"]:
            rows.append(Duration(kind, None, median(took), max(took)))
    key = "full: median; end of the line: the longest; without those that were killed"
    y = durations(sheet, rows, "Seconds that an act took", key, 14.0)
    bottom = strips(sheet, _strips(report), y + 2 * LINE, "s")
    acts, faults = len(report.acts), sum(report.faults.values())
    said = f"{acts:,} acts and {faults:,} disturbances in {report.minutes:g} minutes"
    return alone(sheet, bottom, "Three copies in a ring", said)


def _strips(report: Report) -> list[Strip]:
    """One for each kind of process, with a curve for each that ran, broken where it was killed."""
    kinds: dict[str, dict[str, list[list[tuple[float, float]]]]] = {}
    for life in report.lives:
        line = [(one.second, one.memory / 1024) for one in life.samples]
        if line:
            kind, copy, _ = life.name.rsplit(" ", 2)
            kinds.setdefault(kind, {}).setdefault(copy, []).append(line)
    return [
        Strip(
            f"Memory of {kind}, MB",
            tuple(
                Curve(copy if number == 0 else "", _KINDS[place % len(_KINDS)], line)
                for place, (copy, lines) in enumerate(sorted(copies.items()))
                for number, line in enumerate(lines)
            ),
        )
        for kind, copies in sorted(kinds.items())
    ]
