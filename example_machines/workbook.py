"""Workbooks in SpreadsheetML (ECMA-376), the same bytes at every run.

Only what the tool of the family hazel needs: texts, numbers shown with some places, merged cells,
bold headings. Members are stored, not packed, and dated as zip begins to count, so that the bytes
hang on no library.
"""

from __future__ import annotations

import io
import zipfile
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from decimal import Decimal
from xml.sax.saxutils import escape

Content = str | Decimal | None
"""A text, a number with the places it is shown with, or nothing."""

_PLACES = 4
_BOLD = _PLACES + 1
_MAIN = "http://schemas.openxmlformats.org/spreadsheetml/2006/main"
_OFFICE = "http://schemas.openxmlformats.org/officeDocument/2006/relationships"
_PACKAGE = "http://schemas.openxmlformats.org/package/2006"
_TYPE = "application/vnd.openxmlformats-officedocument.spreadsheetml"
_HEAD = '<?xml version="1.0" encoding="UTF-8" standalone="yes"?>\n'


@dataclass(slots=True)
class Page:
    """A sheet: its rows, the areas that are one cell (`A1:B2`), and rows of headings from 1."""

    name: str
    rows: list[Sequence[Content]] = field(default_factory=list)
    merged: list[str] = field(default_factory=list)
    headings: set[int] = field(default_factory=set)


def workbook(pages: Sequence[Page]) -> bytes:
    """The bytes of a workbook."""
    texts: dict[str, int] = {}
    sheets = [_sheet(page, texts) for page in pages]
    numbers = range(1, len(pages) + 1)
    members = {
        "[Content_Types].xml": _types(numbers),
        "_rels/.rels": _relations([("officeDocument", "xl/workbook.xml")]),
        "xl/workbook.xml": _book(pages),
        "xl/_rels/workbook.xml.rels": _relations(
            [
                *(("worksheet", f"worksheets/sheet{number}.xml") for number in numbers),
                ("styles", "styles.xml"),
                ("sharedStrings", "sharedStrings.xml"),
            ]
        ),
        **{f"xl/worksheets/sheet{number}.xml": sheets[number - 1] for number in numbers},
        "xl/sharedStrings.xml": _shared(texts),
        "xl/styles.xml": _STYLES,
    }
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_STORED) as archive:
        for name, content in members.items():
            archive.writestr(zipfile.ZipInfo(name), (_HEAD + content).encode("utf-8"))
    return stream.getvalue()


def _types(numbers: Sequence[int]) -> str:
    parts = [("workbook", "sheet.main"), ("styles", "styles"), ("sharedStrings", "sharedStrings")]
    parts += [(f"worksheets/sheet{number}", "worksheet") for number in numbers]
    told = "".join(
        f'<Override PartName="/xl/{part}.xml" ContentType="{_TYPE}.{kind}+xml"/>'
        for part, kind in parts
    )
    relations = "application/vnd.openxmlformats-package.relationships+xml"
    return (
        f'<Types xmlns="{_PACKAGE}/content-types">'
        f'<Default Extension="rels" ContentType="{relations}"/>'
        f'<Default Extension="xml" ContentType="application/xml"/>{told}</Types>'
    )


def _relations(targets: Sequence[tuple[str, str]]) -> str:
    told = "".join(
        f'<Relationship Id="rId{number}" Type="{_OFFICE}/{kind}" Target="{target}"/>'
        for number, (kind, target) in enumerate(targets, 1)
    )
    return f'<Relationships xmlns="{_PACKAGE}/relationships">{told}</Relationships>'


def _book(pages: Sequence[Page]) -> str:
    sheets = "".join(
        f'<sheet name="{escape(page.name)}" sheetId="{number}" r:id="rId{number}"/>'
        for number, page in enumerate(pages, 1)
    )
    return f'<workbook xmlns="{_MAIN}" xmlns:r="{_OFFICE}"><sheets>{sheets}</sheets></workbook>'


def _sheet(page: Page, texts: dict[str, int]) -> str:
    rows = "".join(
        f'<row r="{number}">{"".join(_cells(row, number, page, texts))}</row>'
        for number, row in enumerate(page.rows, 1)
    )
    areas = "".join(f'<mergeCell ref="{area}"/>' for area in page.merged)
    merged = f'<mergeCells count="{len(page.merged)}">{areas}</mergeCells>' if areas else ""
    return f'<worksheet xmlns="{_MAIN}"><sheetData>{rows}</sheetData>{merged}</worksheet>'


def _cells(row: Sequence[Content], number: int, page: Page, texts: dict[str, int]) -> Iterator[str]:
    for column, content in zip("ABCDEFGHIJKL", row, strict=False):
        place = f"{column}{number}"
        if isinstance(content, Decimal):
            places = -int(content.as_tuple().exponent)
            yield f'<c r="{place}" s="{places + 1}"><v>{content.normalize():f}</v></c>'
        elif content:
            style = f' s="{_BOLD}"' if number in page.headings else ""
            yield f'<c r="{place}"{style} t="s"><v>{texts.setdefault(content, len(texts))}</v></c>'


def _shared(texts: dict[str, int]) -> str:
    told = "".join(f"<si><t>{escape(text)}</t></si>" for text in texts)
    return f'<sst xmlns="{_MAIN}" count="{len(texts)}" uniqueCount="{len(texts)}">{told}</sst>'


def _styles() -> str:
    """Cell formats: 0 as is, then numbers with 0 to 3 places, then bold text."""
    forms = "".join(
        f'<numFmt numFmtId="{164 + places}" formatCode="0{"." if places else ""}{"0" * places}"/>'
        for places in range(_PLACES)
    )
    cells = '<xf numFmtId="0" fontId="0" fillId="0" borderId="0" xfId="0"/>'
    cells += "".join(
        f'<xf numFmtId="{164 + places}" fontId="0" fillId="0" borderId="0" xfId="0"'
        ' applyNumberFormat="1"/>'
        for places in range(_PLACES)
    )
    cells += '<xf numFmtId="0" fontId="1" fillId="0" borderId="0" xfId="0" applyFont="1"/>'
    font = '<sz val="10"/><name val="Arial"/>'
    return (
        f'<styleSheet xmlns="{_MAIN}"><numFmts count="{_PLACES}">{forms}</numFmts>'
        f'<fonts count="2"><font>{font}</font><font><b/>{font}</font></fonts>'
        '<fills count="2"><fill><patternFill patternType="none"/></fill>'
        '<fill><patternFill patternType="gray125"/></fill></fills>'
        '<borders count="1"><border><left/><right/><top/><bottom/><diagonal/></border></borders>'
        '<cellStyleXfs count="1"><xf numFmtId="0" fontId="0" fillId="0" borderId="0"/>'
        f'</cellStyleXfs><cellXfs count="{_BOLD + 1}">{cells}</cellXfs></styleSheet>'
    )


_STYLES = _styles()
