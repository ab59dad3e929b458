"""The lag that an axis has anyway, beside the following error window: bars on one scale."""

from __future__ import annotations

from markupsafe import Markup

from vault.meaning.findings import digits
from vault.meaning.lag_and_window import Lag, LagAndWindow, Watched
from vault.meaning.reader_scale import ReaderScale, speed_scale, way_scale
from webui.pictures.svg import LINE, Names, Scale, Sheet

_BAR = 10
_TITLE = "Lag against the following error window"


def draw(both: LagAndWindow, names: Names, key: str) -> Markup:
    """A window is hollow, a lag is filled; what reaches beyond its window trips."""
    lengths, speeds = way_scale(both.unit), speed_scale(both.unit)
    sides = (("before", names.before, both.before), ("after", names.after, both.after))
    sizes = [lag.size for _, _, side in sides for lag in side.lags]
    sizes += [side.window for _, _, side in sides if side.window is not None]
    sheet = Sheet(key)
    across = Scale(0, max(sizes), 1, sheet.width - 3)
    sheet.text(0, 13, _TITLE)
    y, described = 18.0, []
    for kind, name, side in sides:
        y = _side(sheet, kind, name, side, across, lengths, y)
        lags = ", ".join(
            f"lag {lengths.text(lag.size)} at {lag.at} of {speeds.text(lag.speed)}: "
            f"{_verdict(lag, side)}"
            for lag in side.lags
        )
        described.append(f"{_window(name, side, lengths)}; {lags}")
    return sheet.finish(y + 4, _TITLE, ". ".join(described))


def _side(
    sheet: Sheet,
    kind: str,
    name: str,
    side: Watched,
    across: Scale,
    lengths: ReaderScale,
    top: float,
) -> float:
    y = top + LINE + 4
    sheet.text(0, y, _window(name, side, lengths), kind="strong")
    y += 6
    if side.window is not None:
        x, end = across.at(side.window), y + _BAR + len(side.lags) * (LINE + 6 + _BAR) + 3
        sheet.line(x, y, x, end, f"{kind} thin")
        sheet.box(across.start, y, x - across.start, _BAR, f"{kind} hollow")
        y += _BAR
    for lag in side.lags:
        y += LINE
        words = f"{lag.at}: lag {lengths.text(lag.size)}, {_verdict(lag, side)}"
        sheet.text(0, y, words, kind="label")
        y += 6
        sheet.box(across.start, y, across.at(lag.size) - across.start, _BAR, f"{kind} filled")
        y += _BAR
    return y + 4


def _window(name: str, side: Watched, lengths: ReaderScale) -> str:
    window = "is off, never trips" if side.window is None else lengths.text(side.window)
    return f"{name}: window {window}"


def _verdict(lag: Lag, side: Watched) -> str:
    if side.window is None:
        return "nothing watches it"
    if lag.size > side.window:
        return "trips"
    if lag.size == 0:
        return "inside"
    return f"window {digits(side.window / lag.size, 3)} times that"
