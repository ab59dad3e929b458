"""Where an axis may go, on a ruler, and how far a command takes it: before and after."""

from __future__ import annotations

from markupsafe import Markup

from vault.meaning.reader_scale import ReaderScale, way_scale
from vault.meaning.travel_scale import PositionShift, TravelScale, TravelSide
from webui.pictures.svg import LINE, Names, Scale, Sheet, n

_BAR = 12
_MARGIN = 14
_TOP = 18  # below the title
_ROW = 40  # words and a bar
_RULER = 42  # the words below the ruler
_Side = tuple[str, str, TravelSide]


def draw(scale: TravelScale, names: Names, key: str) -> Markup:
    """Hard stops hatched; before dashed and hollow, after solid."""
    lengths, sheet = way_scale(scale.unit), Sheet(key)
    sides = [("before", names.before, scale.before), ("after", names.after, scale.after)]
    rows = [*_limit_rows(scale, sides, lengths), *_command_rows(scale, sides, lengths)]
    across = _across(scale, sheet.width)
    title = "Where the axis may go" if scale.is_limited_anew else "How far the axis goes"
    sheet.text(0, 13, title)
    bottom = _TOP + len(rows) * _ROW + 8
    _ruler(sheet, across, scale.stops, lengths, _TOP, bottom)
    for place, (kind, words, ends) in enumerate(rows):
        _bar(sheet, across, ends, kind, words, _TOP + place * _ROW)
    described = [words for _, words, _ in rows]
    if scale.stops is not None:
        described.append(
            f"hard stops at {lengths.text(scale.stops[0])} and {lengths.text(scale.stops[1])}"
        )
    return sheet.finish(bottom + _RULER, title, "; ".join(described))


_Row = tuple[str, str, tuple[float, float]]


def _limit_rows(scale: TravelScale, sides: list[_Side], lengths: ReaderScale) -> list[_Row]:
    """Where the software limits of both sides lie; from stop to stop where there is none."""
    if not any(side.has_limits for _, _, side in sides):
        return []
    rows: list[_Row] = []
    for kind, name, side in sides:
        if side.low is None or side.high is None:
            ends = scale.stops or _all_limits(scale)
            rows.append((kind, f"{name}: no software limit acts", ends))
        else:
            words = f"{name}: limits {lengths.text(side.low)} to {lengths.text(side.high)}"
            rows.append((kind, words, (side.low, side.high)))
    return rows


def _command_rows(scale: TravelScale, sides: list[_Side], lengths: ReaderScale) -> list[_Row]:
    """What one command becomes on both sides, where that differs."""
    if not scale.is_rescaled:
        return []
    command = f"{lengths.text(scale.commanded)} commanded" if scale.is_real else "the same command"
    return [
        (kind, f"{name}: {command}, {lengths.text(side.moved)} travelled", (0.0, side.moved))
        for kind, name, side in sides
        if side.moved is not None
    ]


def _all_limits(scale: TravelScale) -> tuple[float, float]:
    ends = (scale.before.low, scale.before.high, scale.after.low, scale.after.high)
    known = [end for end in ends if end is not None]
    return min(known), max(known)


def _across(scale: TravelScale, width: float) -> Scale:
    places = [0.0, *(scale.stops or ())]
    for side in (scale.before, scale.after):
        places += [place for place in (side.low, side.high) if place is not None]
        places += [side.moved] if side.moved is not None and scale.is_rescaled else []
    return Scale(min(places), max(places), _MARGIN, width - _MARGIN)


def _bar(
    sheet: Sheet, across: Scale, ends: tuple[float, float], kind: str, words: str, top: float
) -> None:
    """Words, and below them a bar from one place to another."""
    sheet.text(0, top + 16, words, kind="label")
    x1, x2 = across.at(ends[0]), across.at(ends[1])
    look = "hollow" if kind == "before" else "filled"
    sheet.box(x1, top + 22, max(x2 - x1, 2), _BAR, f"{kind} {look}")


def _ruler(
    sheet: Sheet,
    across: Scale,
    stops: tuple[float, float] | None,
    lengths: ReaderScale,
    top: float,
    y: float,
) -> None:
    """The travel as a line with zero and the hard stops, which reach up through the picture."""
    sheet.line(0, y, sheet.width, y, "rule")
    zero = across.at(0)
    sheet.line(zero, top, zero, y + 5, "grid")
    for stop, edge in zip(stops or (), (0.0, sheet.width), strict=False):
        x = across.at(stop)
        sheet.hatch(min(x, edge), top, abs(edge - x), y - top)
        sheet.line(x, top, x, y + 5, "rule")
        words = f"hard stop {lengths.text(stop)}"
        anchor, x = ("start", 0.0) if edge == 0 else ("end", sheet.width)
        sheet.text(x, y + 19, words, anchor=anchor, kind="axis")
    rows = [(zero, y + 19, "middle"), (zero, y + 19 + LINE, "middle")]
    sheet.label(rows, "0", kind="axis")


def draw_shift(shift: PositionShift, names: Names, key: str) -> Markup:
    """Software limits with arrows as long as the shift, against the room to the hard stops."""
    del names
    lengths, sheet = way_scale(shift.unit), Sheet(key)
    places = [0.0, shift.low - shift.size, shift.high + shift.size, *(shift.stops or ())]
    across = Scale(min(places), max(places), _MARGIN, sheet.width - _MARGIN)
    title = f"Every position lies {lengths.text(shift.size)} elsewhere"
    limits = f"limits {lengths.text(shift.low)} to {lengths.text(shift.high)}"
    verdict = _verdict(shift, lengths)
    sheet.text(0, 13, title)
    top = sheet.lines(0, 13 + LINE, verdict) - LINE + 8
    bottom = top + _ROW + 32
    _ruler(sheet, across, shift.stops, lengths, top, bottom)
    _bar(sheet, across, (shift.low, shift.high), "after", limits, top)
    for limit, y in ((shift.low, top + _ROW + 8), (shift.high, top + _ROW + 22)):
        _arrow(sheet, across.at(limit - shift.size), across.at(limit + shift.size), y)
        sheet.line(across.at(limit), top + 22, across.at(limit), y + 4, "rule")
    return sheet.finish(bottom + _RULER, title, f"{limits}; {verdict}")


def _arrow(sheet: Sheet, x1: float, x2: float, y: float) -> None:
    """An arrow with two heads: which of the two ways it is the drive's manual tells."""
    commands = (
        f"M{n(x1)} {n(y)}H{n(x2)}M{n(x1 + 5)} {n(y - 4)}l-5 4l5 4M{n(x2 - 5)} {n(y - 4)}l5 4l-5 4"
    )
    sheet.path(commands, "line thin")


def _verdict(shift: PositionShift, lengths: ReaderScale) -> str:
    text = "Arrows: where each limit may lie, to one side or the other"
    if shift.rooms is None:
        return f"{text}."
    room = min(shift.rooms)
    enough = "takes that" if shift.size <= room + 1e-9 else "is too little"
    return f"{text}. The room to the hard stop, {lengths.text(room)}, {enough}."
