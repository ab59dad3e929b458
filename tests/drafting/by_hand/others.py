"""Keys with values, XML, JSON and workbooks."""

from __future__ import annotations

import json
import zipfile
from io import BytesIO

import openpyxl
import xlsxwriter

from tests.drafting.by_hand.handmade import HandMade, text

_FEW = {"P1": ("2.5", "mm"), "P2": ("1200", "r/min"), "P3": ("0.75", None)}
_ROWS = (("P1", "Lag limit", 2.5, "mm"), ("P2", "Top speed", 1200, "rpm"), ("P3", "Gain", 0.75, ""))


def two_header_rows() -> bytes:
    """Headings in two rows, the upper ones merged over the lower."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (("Code", "Name", "Limits", "", "Value", "Unit"), ("", "", "Min", "Max", "", ""),
                ("P1", "Lag limit", 0, 9, 2.5, "mm"), ("P2", "Top speed", 0, 6000, 1200, "rpm"),
                ("P3", "Gain", 0, 1, 0.75, None)):  # fmt: skip
        sheet.append([cell if cell != "" else None for cell in row])
    for area in ("A1:A2", "B1:B2", "C1:D1", "E1:E2", "F1:F2"):
        sheet.merge_cells(area)
    return saved(book)


def merged_title() -> bytes:
    """A merged title above, the plate beside its labels, sections merged over the table."""
    book = openpyxl.Workbook()
    sheet = book.active
    assert sheet is not None
    for row in (("Invented drive",), (), ("Drive", "Invented 7"), ("Serial number", "IV-1"), (),
                ("Code", "Name", "Value", "Unit"), *_ROWS):  # fmt: skip
        sheet.append(row)
    sheet.merge_cells("A1:D1")
    return saved(book)


def with_cover() -> bytes:
    """A cover, another table that is none of parameters, and the parameters on the third sheet."""
    stream = BytesIO()
    book = xlsxwriter.Workbook(stream, {"in_memory": True})
    book.add_worksheet("Cover").write(2, 1, "Invented for tests")
    log = book.add_worksheet("Changes")
    for at, row in enumerate((("Date", "Who", "What"), ("14.03.2026", "A. B.", "Speed"))):
        log.write_row(at, 0, row)
    sheet = book.add_worksheet("Parameters")
    for at, row in enumerate((("Code", "Name", "Value", "Unit"), *_ROWS)):
        sheet.write_row(at, 0, row)
    book.close()
    return stream.getvalue()


def saved(book: openpyxl.Workbook) -> bytes:
    """The bytes of a workbook."""
    stream = BytesIO()
    book.save(stream)
    return stream.getvalue()


def zipped(name: str, content: bytes) -> bytes:
    """An archive with one export, and a text about it."""
    stream = BytesIO()
    with zipfile.ZipFile(stream, "w") as archive:
        archive.writestr("about.txt", "Invented for tests")
        archive.writestr(name, content)
    return stream.getvalue()


_CSV = b"Code;Name;Value;Unit\nP1;Lag limit;2.5;mm\nP2;Top speed;1200;rpm\nP3;Gain;0.75;\n"

OTHERS: tuple[HandMade, ...] = (
    text("INI text without sections", "P1=2.5\nP2=1200\nP3=0.75\n",
         {"P1": ("2.5", None), "P2": ("1200", None), "P3": ("0.75", None)}, file="a.ini"),
    text("INI text with sections, comments and a plate", "; invented\n[Device]\nDrive=Invented 7\n"
         "Serial=IV-1\n[Motor]\nP1=2.5 ; mm\nP2=1200 ; rpm\n[Loop]\nP3=0.75\n", _FEW,
         file="a.ini", plate={"drive": "Invented 7", "serial": "IV-1"}),
    text("INI text with codes that come again", "[Motor]\n1=2.5\n2=1200\n[Loop]\n1=0.75\n2=4\n",
         {"Motor/1": ("2.5", None), "Motor/2": ("1200", None), "Loop/1": ("0.75", None),
          "Loop/2": ("4", None)}, file="a.ini"),
    text("INI text of two axes", "[Axis 1]\nP1=2.5\nP2=10\n[Axis 2]\nP1=3.5\nP2=20\n", {},
         file="a.ini", axes={1: {"P1": ("2.5", None), "P2": ("10", None)},
                             2: {"P1": ("3.5", None), "P2": ("20", None)}}),
    text("numbered lines", "Invented drive\nP1.05 Max speed : 3000 rpm\nP1.06 Lag limit : 2.5 mm\n"
         "P1.07 Gain : 0.75\nP2.01 Used : Yes\n",
         {"P1.05": ("3000", "r/min"), "P1.06": ("2.5", "mm"), "P1.07": ("0.75", None),
          "P2.01": ("Yes", None)}),
    text("XML with a namespace and CDATA",
         '<?xml version="1.0"?><e:export xmlns:e="urn:invented:1"><e:list>'
         "<e:p><e:id>P1</e:id><e:name><![CDATA[Lag <limit>]]></e:name><e:value>2.5</e:value>"
         "<e:unit>mm</e:unit></e:p><e:p><e:id>P2</e:id><e:name>Top speed</e:name>"
         "<e:value>1200</e:value><e:unit>rpm</e:unit></e:p><e:p><e:id>P3</e:id><e:name>Gain"
         "</e:name><e:value>0.75</e:value><e:unit/></e:p></e:list></e:export>", _FEW, file="a.xml"),
    text("XML with attributes and the value as text", '<export><device type="Invented 7"/>'
         '<p id="P1" name="Lag limit" unit="mm">2.5</p><p id="P2" name="Top speed" unit="rpm">1200'
         '</p><p id="P3" name="Gain">0.75</p></export>', _FEW, file="a.xml"),
    text("XML in groups where codes come again",
         '<export><group name="Motor"><p id="1" value="2.5" unit="A"/><p id="2" value="3000" '
         'unit="rpm"/></group><group name="Brake"><p id="1" value="20" unit="ms"/><p id="2" '
         'value="1"/></group></export>',
         {"Motor/1": ("2.5", "A"), "Motor/2": ("3000", "r/min"), "Brake/1": ("20", "ms"),
          "Brake/2": ("1", None)}, file="a.xml"),
    HandMade("JSON from code to number", json.dumps({"P1": 2.5, "P2": 1200, "P3": 0.75}).encode(),
             {"P1": ("2.5", None), "P2": ("1200", None), "P3": ("0.75", None)}, "a.json"),
    HandMade("JSON from code to value and unit", json.dumps(
        {"P1": {"value": 2.5, "unit": "mm"}, "P2": {"value": 1200, "unit": "rpm"},
         "P3": {"value": 0.75, "unit": ""}}).encode(), _FEW, "a.json"),
    HandMade("JSON with lists in lists", json.dumps({"device": {"model": "Invented 7"}, "groups": [
        {"name": "Motor", "parameters": [{"code": "1", "value": 2.5, "unit": "A"},
                                         {"code": "2", "value": 3000, "unit": "rpm"}]},
        {"name": "Brake", "parameters": [{"code": "1", "value": 20, "unit": "ms"},
                                         {"code": "2", "value": 1, "unit": ""}]},
    ]}).encode(), {"Motor/1": ("2.5", "A"), "Motor/2": ("3000", "r/min"), "Brake/1": ("20", "ms"),
                   "Brake/2": ("1", None)}, "a.json"),
    HandMade("two header rows", two_header_rows(), _FEW, "a.xlsx"),
    HandMade("a merged title and a plate beside it", merged_title(), _FEW, "a.xlsx",
             plate={"drive": "Invented 7", "serial": "IV-1"}),
    HandMade("a cover and another sheet", with_cover(), _FEW, "a.xlsx"),
    HandMade("an archive around an export", zipped("list.csv", _CSV), _FEW, "a.zip"),
)  # fmt: skip
