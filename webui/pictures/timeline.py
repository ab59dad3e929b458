"""The values of a parameter over time: steps, beside the golden value and the drive's limits."""

from __future__ import annotations

from collections.abc import Sequence
from datetime import datetime, timedelta
from itertools import pairwise

from markupsafe import Markup

from vault.jobs.inspect.parameter_timeline import Mark, Timeline, TimelinePoint
from vault.model.wording import plural
from vault.model.written_form import day_text
from webui.pictures.svg import LINE, Scale, Sheet, n, text_width, ticks

_TOP, _BOTTOM = 34, 178
_RIGHT = 12
_MOST_DOTS = 60
_MOST_TOLD = 40
"""Up to so many different values each is labelled and told; the table has them all."""

_YEAR = timedelta(days=365)


def draw(timeline: Timeline, title: str, key: str = "steps") -> Markup:
    """Each value holds until the next export showed another one."""
    points = timeline.points
    low, high = _range(timeline)
    near = [_is_near(timeline.low, low, high), _is_near(timeline.high, low, high)]
    if near[0] and timeline.low:
        low = min(low, timeline.low.value)
    if near[1] and timeline.high:
        high = max(high, timeline.high.value)
    room = high - low
    low, high = low - 0.24 * room, high + 0.1 * room  # below, a label has to stand
    marks = ticks(low, high, 4)
    sheet = Sheet(key)
    left = max(text_width(words) for _, words in marks) + 8
    up = Scale(low, high, _BOTTOM, _TOP)
    across = _time_scale(points, left + 8, sheet.width - _RIGHT)
    sheet.text(0, 13, timeline.unit, kind="axis")
    for mark, words in marks:
        sheet.text(left, up.at(mark) + 4, words, anchor="end", kind="axis")
        sheet.line(left + 4, up.at(mark), sheet.width - _RIGHT, up.at(mark), "grid")
    _dates(sheet, points, across)
    _bounds(sheet, timeline, up, left + 4, near)
    _golden(sheet, timeline, up, left + 4)
    _steps(sheet, points, across, up)
    _golden_words(sheet, timeline, up, left + 4)
    return _ended(sheet, timeline, near, title)


def _ended(sheet: Sheet, timeline: Timeline, near: list[bool], title: str) -> Markup:
    """With what is too far away to be drawn in words."""
    bottom = float(_BOTTOM + LINE + 10)
    far = _far(timeline, near)
    if far:
        bottom = sheet.lines(0, bottom + LINE - 6, far, kind="axis") - LINE + 6
    beside = [
        _values_text(timeline.points),
        _golden_text(timeline),
        _allowed_text(timeline),
        far or _range_text(timeline),
    ]
    return sheet.finish(bottom, title, ". ".join(part for part in beside if part))


def _range(timeline: Timeline) -> tuple[float, float]:
    """What has to be seen: the values, the golden one, and what is allowed beside it."""
    values = [point.value for point in timeline.points if point.value is not None]
    marks = [timeline.golden, *(timeline.allowed or ())]
    values += [mark.value for mark in marks if mark is not None]
    low, high = min(values), max(values)
    if low == high:
        spare = abs(low) * 0.25 or 1.0
        return low - spare, high + spare
    return low, high


def _is_near(mark: Mark | None, low: float, high: float) -> bool:
    """Whether a limit lies so near that the steps stay large beside it."""
    return mark is not None and low - (high - low) <= mark.value <= high + (high - low)


def _time_scale(points: tuple[TimelinePoint, ...], start: float, end: float) -> Scale:
    first, last = points[0].at.timestamp(), points[-1].at.timestamp()
    return Scale(first, last if last > first else first + 1, start, end)


def _dates(sheet: Sheet, points: tuple[TimelinePoint, ...], across: Scale) -> None:
    """Years where it is years, else the first and the last day."""
    y, first, last = _BOTTOM + LINE + 4, points[0].at, points[-1].at
    sheet.line(across.start - 4, _BOTTOM, across.end, _BOTTOM, "rule")
    numbers = range(first.year + 1, last.year + 1)
    years = [datetime(number, 1, 1, tzinfo=last.tzinfo) for number in numbers]
    if last - first < 2 * _YEAR:
        sheet.text(across.start - 4, y, day_text(first), kind="axis")
        sheet.text(across.end, y, day_text(last), anchor="end", kind="axis")
        return
    every = max(1, -(-len(years) // 5))
    for year in years:
        x = across.at(year.timestamp())
        sheet.line(x, _BOTTOM, x, _BOTTOM + 4, "rule")
        if year.year % every == 0:
            sheet.label([(x, y, "middle"), (x, y, "end")], f"{year.year}", kind="axis")


def _bounds(sheet: Sheet, timeline: Timeline, up: Scale, left: float, near: list[bool]) -> None:
    """What the drive does not take is hatched."""
    right = sheet.width - _RIGHT
    for mark, is_near, upper in ((timeline.low, near[0], False), (timeline.high, near[1], True)):
        if mark is None or not is_near:
            continue
        y, end = up.at(mark.value), up.end if upper else up.start
        sheet.hatch(left, min(y, end), right - left, abs(end - y))
        sheet.line(left, y, right, y, "rule")
        words = f"{'most' if upper else 'least'} the drive takes: {mark.text}"
        rows = (y - 5, y + 15) if upper else (y + 15, y - 5)
        sheet.label([(right, row, "end") for row in rows], words, kind="label soft")


def _golden(sheet: Sheet, timeline: Timeline, up: Scale, left: float) -> None:
    right = sheet.width - _RIGHT
    if timeline.allowed is not None:
        low, high = timeline.allowed
        bottom = up.at(low.value) if low else up.start
        top = up.at(high.value) if high else up.end
        sheet.box(left, top, right - left, bottom - top, "allowed")
    if timeline.golden is not None:
        y = up.at(timeline.golden.value)
        sheet.line(left, y, right, y, "golden")


def _golden_words(sheet: Sheet, timeline: Timeline, up: Scale, left: float) -> None:
    """At the line, where there is room for them."""
    right = sheet.width - _RIGHT
    if timeline.golden is not None:
        y = up.at(timeline.golden.value)
        places = [
            (right, y + 17, "end"),
            (right, y - 8, "end"),
            (sheet.width / 2, y + 17, "middle"),
        ]
        sheet.label(places, _golden_text(timeline))
    if timeline.allowed is not None:
        marks = ((timeline.allowed[1], (15, -5)), (timeline.allowed[0], (-5, 15)))
        places = [
            (x, up.at(mark.value) + beside, anchor)
            for mark, sides in marks
            if mark is not None
            for beside in sides
            for x, anchor in ((right - 4, "end"), (sheet.width / 2, "middle"), (left + 4, "start"))
        ]
        sheet.label(places, "allowed by a waiver", kind="label soft")


def _steps(sheet: Sheet, points: tuple[TimelinePoint, ...], across: Scale, up: Scale) -> None:
    """The steps, with a dot for every export and a label for every new value."""
    commands: list[str] = []
    before: float | None = None
    for point in points:
        x = across.at(point.at.timestamp())
        if point.value is None:
            commands += [f"H{n(x)}"] if before is not None else []
            before = None
            continue
        y = up.at(point.value)
        commands.append(f"M{n(x)} {n(y)}" if before is None else f"H{n(x)}V{n(y)}")
        if before is not None and before != y:
            sheet.taken.append((x - 2, min(before, y), x + 2, max(before, y)))
        before = y
    sheet.path("".join(commands), "line")
    news = _news(points)
    dots = points if len(points) <= _MOST_DOTS else news
    for point in dots if len(dots) <= _MOST_DOTS else ():
        if point.value is not None:
            sheet.dot(across.at(point.at.timestamp()), up.at(point.value))
    for point in _chosen(news):
        if point.value is not None:
            x, y = across.at(point.at.timestamp()), up.at(point.value)
            around = [(x, y - 8, "start"), (x, y + 18, "start"), (x, y - 8, "end")]
            around += [(x, y + 18, "end"), (x + 6, y + 4, "start"), (x, y - 8, "middle")]
            sheet.label(around, point.text)


def _news(points: Sequence[TimelinePoint]) -> list[TimelinePoint]:
    """The first point, and those that are another than the one before."""
    pairs = pairwise(points)
    return [*points[:1], *(after for before, after in pairs if before.text != after.text)]


def _chosen(news: list[TimelinePoint]) -> list[TimelinePoint]:
    """All of them, or of very many the first, the lowest, the highest and the last."""
    if len(news) <= _MOST_TOLD:
        return news
    known = sorted((p for p in news if p.value is not None), key=lambda p: p.value or 0.0)
    chosen = {id(p) for p in (news[0], known[0], known[-1], news[-1])}
    return [p for p in news if id(p) in chosen]


def _values_text(points: tuple[TimelinePoint, ...]) -> str:
    news = _news(points)
    chosen = _chosen(news)
    described = "; ".join(f"{day_text(p.at)} {p.text}" for p in chosen)
    if len(chosen) < len(news):
        described += f"; and {plural(len(news) - len(chosen), 'more value')}"
    return f"{described}; last seen {day_text(points[-1].at)}"


def _golden_text(timeline: Timeline) -> str:
    if timeline.golden is None:
        return ""
    of = f" of {timeline.golden_of}" if timeline.golden_of else ""
    return f"golden{of}: {timeline.golden.text}"


def _allowed_text(timeline: Timeline) -> str:
    if timeline.allowed is None:
        return ""
    low, high = timeline.allowed
    if low and high:
        return f"a waiver allows {low.text} to {high.text}"
    return f"a waiver allows {'from ' + low.text if low else 'up to ' + high.text if high else ''}"


def _range_text(timeline: Timeline) -> str:
    low, high = timeline.low, timeline.high
    if low and high:
        return f"The drive takes {low.text} to {high.text}"
    if high:
        return f"The drive takes at most {high.text}"
    return f"The drive takes at least {low.text}" if low else ""


def _far(timeline: Timeline, near: list[bool]) -> str:
    """The drive's limits in words, where one of them is not drawn."""
    is_seen = (near[0] or timeline.low is None) and (near[1] or timeline.high is None)
    return "" if is_seen else f"{_range_text(timeline)}."
