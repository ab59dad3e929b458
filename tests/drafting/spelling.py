"""How an export spells what it holds: numbers, units behind them, headings, plates."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from tests.drafting.truth import Content, Style, TrueParameter

TAKEN = datetime(2026, 3, 14, 9, 30)
TIME_FORMS = ("%Y-%m-%d %H:%M", "%d.%m.%Y %H:%M", "%Y-%m-%dT%H:%M:%S", "%d/%m/%Y %H:%M", "%Y/%m/%d")
HEADINGS = {
    "en": {
        "code": ("Code", "Parameter No.", "INDEX", "Par.No"),
        "name": ("Name", "Description", "DESIGNATION", "Parameter name"),
        "value": ("Value", "Setting", "ACTUAL VALUE", "Set value"),
        "unit": ("Unit", "Units", "UNIT", "Uom"),
        "low": ("Min", "Minimum", "MIN", "Lower limit"),
        "high": ("Max", "Maximum", "MAX", "Upper limit"),
        "default": ("Default", "Factory setting", "DEFAULT", "Standard"),
        "access": ("Access", "R/W", "ACCESS", "Rights"),
        "section": ("Group", "Menu", "GROUP", "Category"),
        "channel": ("Axis", "Axis no.", "AXIS", "Channel"),
    },
    "de": {
        "code": ("Nr.", "Parameternummer", "NUMMER", "Kennung"),
        "name": ("Bezeichnung", "Name", "BEZEICHNUNG", "Benennung"),
        "value": ("Wert", "Einstellung", "WERT", "Istwert"),
        "unit": ("Einheit", "Einh.", "EINHEIT", "Maßeinheit"),
        "low": ("Min", "Minimalwert", "MIN", "Untergrenze"),
        "high": ("Max", "Maximalwert", "MAX", "Obergrenze"),
        "default": ("Werkseinstellung", "Standard", "VORGABE", "Werkswert"),
        "access": ("Zugriff", "Zugriff", "ZUGRIFF", "Rechte"),
        "section": ("Gruppe", "Menü", "GRUPPE", "Kategorie"),
        "channel": ("Achse", "Achse", "ACHSE", "Kanal"),
    },
}
PLATES = {
    "en": {"drive": "Drive", "serial": "Serial number", "firmware": "Firmware", "taken_at": "Date"},
    "de": {
        "drive": "Antrieb", "serial": "Seriennummer", "firmware": "Firmware", "taken_at": "Datum",
    },
}  # fmt: skip
PLATE = {"drive": "Invented 7", "serial": "IV-00417", "firmware": "2.10"}
TITLES = {"en": "List of parameters", "de": "Parameterliste"}
FOOTERS = {"en": "End of list", "de": "Ende der Liste"}
AXES = {"en": "Axis", "de": "Achse"}


def heading(style: Style, column: str) -> str:
    """What the export calls a column."""
    return HEADINGS[style.language][column][style.headings]


def plate(style: Style) -> dict[str, tuple[str, str]]:
    """Label and text of each field of the nameplate."""
    texts = {**PLATE, "taken_at": TAKEN.strftime(style.time_form)}
    return {field: (PLATES[style.language][field], text) for field, text in texts.items()}


def number(value: Decimal, style: Style, base: str = "") -> str:
    """A number as the export spells it."""
    if base == "hex":
        form = ("0{:X}h", "0x{:X}", "16#{:X}")[style.headings % 3]
        return form.format(int(value))
    if base == "binary":
        return ("0b{:b}", "2#{:b}")[style.headings % 2].format(int(value))
    whole, _, rest = format(abs(value), "f").partition(".")
    if style.thousands:
        whole = f"{int(whole):,}".replace(",", style.thousands)
    sign = "-" if value < 0 else ""
    return f"{sign}{whole}{style.decimal + rest if rest else ''}"


def content(value: Content, parameter: TrueParameter, style: Style) -> str:
    """A value as the export spells it, with its unit where that stands behind it."""
    if value is None:
        return ""
    if isinstance(value, str):
        return value
    spelled = number(value, style, parameter.base)
    if style.units == "value" and parameter.unit:
        return f"{spelled} {parameter.unit}"
    return spelled


def cells(parameter: TrueParameter, at: int, style: Style) -> dict[str, str]:
    """All that the export says of a parameter of one axis, by our column names."""
    bounds = {
        name: "" if bound is None else number(bound, style)
        for name, bound in (
            ("low", parameter.low), ("high", parameter.high), ("default", parameter.default),
        )
    }  # fmt: skip
    return {
        "code": parameter.code,
        "name": parameter.name,
        "value": content(parameter.values[at], parameter, style),
        "unit": parameter.unit if style.units == "column" else "",
        "access": parameter.access,
        "section": parameter.section,
        "channel": str(at + 1),
        **bounds,
    }
