"""Exports of the invented family hazel: workbooks with German headings in two rows.

A cover sheet comes first; on the second the nameplate stands above the table, sections stand
between its rows, and each number has its unit beside it. The writer knows nothing of our own
formats, so that it can test them.
"""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal, InvalidOperation

from example_machines import hazel_catalogue
from example_machines.visits import Setting, Settings, State
from example_machines.workbook import Content, Page, workbook

UPPER = (
    "Kennung", "Bezeichnung", "Wert", "Einheit", "Grenzen", None, "Auslieferung", "Zugriff",
)  # fmt: skip
LOWER = (None, None, None, None, "Min", "Max", None, None)
NAMEPLATE = ("Antrieb", "Seriennummer", "Firmware")


def live_values(state: State, settings: Settings) -> Settings:
    """Live values of one visit; the axis stands still somewhere within its limits."""
    low, high = (int(float(settings[code])) for code in ("grz.unten", "grz.oben"))
    held = int(float(settings.get("reg.gewicht", 0)) * 10)
    return {
        "ger.stunden": state.hours,
        "ist.lage": str(Decimal(state.wobble("position", low * 1000, high * 1000)) / 1000),
        "ist.moment": str(Decimal(held + state.wobble("torque", -12, 12)) / 10),
        "ist.kreis": str(Decimal(state.wobble("dc link", 5480, 5720)) / 10),
        "ist.warm": state.wobble("heatsink", 29, 44),
    }


def text(state: State) -> bytes:
    """The export of an axis at one visit."""
    plate = {"ger.serie": state.fitted["Seriennummer"], "ger.stand": state.fitted["Firmware"]}
    settings = live_values(state, state.settings) | state.settings | plate
    settings |= dict(state.visit.live)
    return workbook([_cover(state), _parameters(state, settings)])


def _cover(state: State) -> Page:
    rows: list[tuple[Content, ...]] = [
        ("Gesicherte Parameter (erfundenes Beispiel)",),
        (),
        ("Anlage", state.story.machine),
        ("Station", state.story.axis),
        ("Inhalt", "alle Parameter, Blatt Parameterliste"),
    ]
    return Page("Deckblatt", list(rows), headings={1})


def _parameters(state: State, settings: Settings) -> Page:
    page = Page("Parameterliste", [("Parameterliste",)], headings={1})
    page.rows += [(label, state.fitted[label]) for label in NAMEPLATE]
    taken_at = datetime.fromisoformat(state.visit.taken_at)
    page.rows += [("Ausgelesen am", f"{taken_at:%d.%m.%Y %H:%M}"), ()]
    upper = len(page.rows) + 1
    page.rows += [UPPER, LOWER]
    page.headings |= {upper, upper + 1}
    page.merged += [f"{column}{upper}:{column}{upper + 1}" for column in "ABCDGH"]
    page.merged.append(f"E{upper}:F{upper}")
    known: set[str] = set()
    for section, rows in hazel_catalogue.SECTIONS.items():
        page.rows.append((section,))
        number = len(page.rows)
        page.merged.append(f"A{number}:H{number}")
        page.headings.add(number)
        for row in rows.splitlines():
            code, places, unit, access, low, high, default, name = row.split(";")
            cells = (settings.get(code, default), low, high, default)
            value, least, most, delivered = (_cell(cell, places) for cell in cells)
            page.rows.append((code, name, value, unit, least, most, delivered, access))
            known.add(code)
    if unknown := settings.keys() - known:
        raise ValueError(f"no such parameters: {sorted(unknown)}")
    return page


def _cell(content: Setting, places: str) -> Content:
    """A number with the places of its parameter; words as they are."""
    if not places or content == "":
        return str(content)
    try:
        number = Decimal(content)
    except InvalidOperation as error:
        raise ValueError(f"{content!r} is no number") from error
    if number != round(number, int(places)):
        raise ValueError(f"{content} has more than {places} places")
    return round(number, int(places))
