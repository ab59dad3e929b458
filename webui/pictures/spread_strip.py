"""The values of one parameter on many axes: on one line, or as columns; the odd ones marked."""

from __future__ import annotations

from markupsafe import Markup

from vault.meaning.spread_strip import Place, Strip
from vault.model.wording import plural
from webui.pictures.svg import LINE, WIDTH, Scale, Sheet, n, ticks

_WIDTH, _HEIGHT, _LINE = 190, 44, 26
_FEW = 6
_EDGE, _COLUMN, _MARK = 16, 14, 12  # margin, width of a column, height of a mark
_HIGHEST, _LABELS = 8, 4  # marks in a column, lines of names above them


def draw(strip: Strip, key: str) -> Markup:
    """A dot for axes that agree, the larger the more; a diamond for the odd ones."""
    sheet = Sheet(key, _WIDTH)
    low, high = strip.places[0].value, strip.places[-1].value
    across = Scale(low, high, 12, _WIDTH - 12)
    sheet.line(12, _LINE, _WIDTH - 12, _LINE, "rule")
    for place in strip.places:
        _place(sheet, place, across.at(place.value))
    for place in sorted(strip.places, key=lambda place: -len(place.axes)):
        _words(sheet, place, across.at(place.value))
    return sheet.finish(_HEIGHT, _title(strip), _described(strip), kind="picture strip")


def draw_columns(strip: Strip, key: str) -> Markup:
    """A column of marks over each value: rings for axes that agree, diamonds for the odd ones.

    Of many axes one mark stands for several, and the picture says of how many.
    """
    sheet = Sheet(key)
    across = Scale(strip.places[0].value, strip.places[-1].value, _EDGE, WIDTH - _EDGE)
    columns = _columns(strip, across)
    most = max(sum(len(place.axes) for place in places) for _, places in columns)
    share = -(-most // _HIGHEST)
    names = _LABELS * LINE * any(place.is_odd for place in strip.places)
    floor = float(names + (-(-most // share) + 1) * _MARK + 8)
    _ground(sheet, strip, across, floor)
    named: list[tuple[list[str], float, float]] = []
    for x, places in columns:
        top = floor
        for place in sorted(places, key=lambda place: place.is_odd):
            for _ in range(-(-len(place.axes) // share)):
                _mark(sheet, x, top - _MARK / 2, is_odd=place.is_odd)
                top -= _MARK
        if odd := [axis for place in places if place.is_odd for axis in place.axes]:
            named.append((odd, x, top))
        sheet.taken.append((x - _MARK / 2, top, x + _MARK / 2, floor))
    for odd, x, top in named if len(named) <= _FEW else ():
        _named(sheet, odd, x, top)
    bottom = floor + LINE + 8
    if share > 1:
        bottom += LINE
        sheet.text(
            _EDGE, bottom - 4, f"one mark: up to {plural(share, 'axis', 'axes')}", kind="soft"
        )
    return sheet.finish(bottom, _title(strip), _described(strip))


def _columns(strip: Strip, across: Scale) -> list[tuple[float, list[Place]]]:
    """Where columns stand, and of which places: what is too near to stand apart goes together."""
    columns: list[tuple[float, list[Place]]] = []
    for place in strip.places:
        x = across.at(place.value)
        if columns and x - columns[-1][0] < _COLUMN:
            columns[-1][1].append(place)
        else:
            columns.append((x, [place]))
    return columns


def _ground(sheet: Sheet, strip: Strip, across: Scale, floor: float) -> None:
    """The line that columns stand on, with numbers and their unit."""
    sheet.line(0, floor, WIDTH, floor, "rule")
    marks = ticks(across.low, across.high, 4)
    for number, (value, words) in enumerate(marks):
        x, y = across.at(value), floor + LINE
        sheet.line(x, floor, x, floor + 4, "rule")
        with_unit = f"{words} {strip.unit}".strip() if number == len(marks) - 1 else words
        sheet.label([(x, y, "middle"), (WIDTH, y, "end"), (x, y, "end")], with_unit, kind="axis")


def _mark(sheet: Sheet, x: float, y: float, *, is_odd: bool) -> None:
    if is_odd:
        sheet.path(f"M{n(x)} {n(y - 6)}l6 6l-6 6l-6-6Z", "filled")
    else:
        sheet.parts.append(f'<circle class="axis-mark" cx="{n(x)}" cy="{n(y)}" r="4.5"/>')


def _named(sheet: Sheet, odd: list[str], x: float, top: float) -> None:
    """The names of the odd ones above their column, where there is room for them."""
    words = odd[0] if len(odd) == 1 else f"{odd[0]} and {len(odd) - 1} more"
    lines = (11.0 + LINE * line for line in range(_LABELS - 1, -1, -1))
    sides = (("middle", 0.0), ("start", -6.0), ("end", 6.0))
    places = [(x + by, y, anchor) for y in lines for anchor, by in sides]
    if sheet.label(places, words, kind="strong"):
        sheet.line(x, sheet.taken[-1][3], x, top, "rule")


def _title(strip: Strip) -> str:
    return f"{strip.name} on all axes"


def _described(strip: Strip) -> str:
    return "; ".join(
        f"{place.text}: {_who(place)}{' (odd)' if place.is_odd else ''}" for place in strip.places
    )


def _who(place: Place) -> str:
    """The axes, or how many where it is not few: the table has them all."""
    few = len(place.axes) <= _FEW
    return ", ".join(place.axes) if few else plural(len(place.axes), "axis", "axes")


def _place(sheet: Sheet, place: Place, x: float) -> None:
    if place.is_odd:
        sheet.path(f"M{n(x)} {_LINE - 7}l7 7l-7 7l-7-7Z", "filled")
        return
    radius = min(3 + len(place.axes), 8)
    sheet.parts.append(f'<circle class="axis-mark" cx="{n(x)}" cy="{_LINE}" r="{radius}"/>')


def _words(sheet: Sheet, place: Place, x: float) -> None:
    """How many axes it is."""
    words = (
        "odd" if place.is_odd and len(place.axes) == 1 else plural(len(place.axes), "axis", "axes")
    )
    at = [(x, 13.0, "middle"), (x - 8, 13.0, "start"), (x + 8, 13.0, "end"), (0.0, 13.0, "start")]
    sheet.label([*at, (float(_WIDTH), 13.0, "end")], words, kind="label")
