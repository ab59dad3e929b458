"""A strip: the values of one parameter on many axes on one line, the odd ones marked."""

from __future__ import annotations

from markupsafe import Markup

from vault.meaning.spread_strip import Place, Strip
from vault.model.wording import plural
from webui.pictures.svg import Scale, Sheet, n

_WIDTH, _HEIGHT, _LINE = 190, 44, 26
_FEW = 6


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
    described = "; ".join(
        f"{place.text}: {_who(place)}{' (odd)' if place.is_odd else ''}" for place in strip.places
    )
    return sheet.finish(_HEIGHT, f"{strip.name} on all axes", described, kind="picture strip")


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
