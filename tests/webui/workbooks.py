"""Workbooks of an invented drive that no family of a vault knows, written by openpyxl."""

from __future__ import annotations

from io import BytesIO

import openpyxl


def unknown_workbook(
    lag: object = 2, taken: str = "12.11.2026 10:00", drive: str = "QX-7"
) -> bytes:
    """Two sheets: a title, and a list of seven parameters below a nameplate, in German."""
    book = openpyxl.Workbook()
    assert book.active is not None
    book.active.title = "Deckblatt"
    book.active["A1"] = "Parameterliste"
    sheet = book.create_sheet("Parameter")
    for row in (
        ["Antrieb", drive], ["Seriennummer", "55-1029"], ["Datum", taken], [],
        ["Nummer", "Bezeichnung", "Wert", "Einheit"],
        ["q.10", "Schleppfehlergrenze", lag, "mm"],
        ["q.11", "Maximale Geschwindigkeit", 1200.5, "mm/s"],
        ["q.12", "Schnellhaltverzögerung", 8000, "mm/s²"],
        ["q.20", "Proportionalverstärkung Lageregler", 35, "1/s"],
        ["q.21", "Gerätename", "Hubwerk"],
        ["q.30", "Haltebremse vorhanden", "Ja"],
        ["q.31", "Motornennstrom", 5.2, "A"],
    ):  # fmt: skip
        sheet.append(row)
    content = BytesIO()
    book.save(content)
    return content.getvalue()
