"""What a file is that no reader takes. All contents are made for these tests."""

from __future__ import annotations

from io import BytesIO
from zipfile import ZipFile

import pytest

from vault.formats.file_kind import file_kind


def packed(*names: str) -> bytes:
    memory = BytesIO()
    with ZipFile(memory, "w") as archive:
        for name in names:
            archive.writestr(name, "x")
    return memory.getvalue()


# Root elements and namespaces: CiA 311, ETG.2000, IEC 61131-10, IO-Link; from memory.
XDD = """<?xml version="1.0"?>
<ISO15745ProfileContainer xmlns="http://www.canopen.org/xml/1.1"><ISO15745Profile/>"""
ESI = '<?xml version="1.0"?><EtherCATInfo Version="1.6"><Vendor><Id>#x1</Id></Vendor>'
PROJECT = '<project xmlns="http://www.plcopen.org/xml/tc6_0201"><fileHeader/></project>'
CIP = "[File]\n DescText = 'x';\n[Device]\n VendCode = 1;\n[Params]\n Param1 =\n"
NODES = "[Topology]\nNetName=line 1\nNodes=2\nNode1Present=1\n"

KINDS = {
    "workbook of 1 sheet": packed("xl/workbook.xml", "xl/worksheets/sheet1.xml"),
    "workbook in an older form": b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + bytes(100),
    "OpenDocument": packed("mimetype", "content.xml", "META-INF/manifest.xml"),
    "presentation": packed("[Content_Types].xml", "ppt/presentation.xml"),
    "zip archive of 2 files, the first is lift.dcf": packed("line-1/lift.dcf", "line-1/feed.dcf"),
    "zip archive that is cut off": packed("a", "b")[:40],
    "compressed file": b"\x1f\x8b\x08" + bytes(20),
    "PDF document": b"%PDF-1.7\n",
    "picture": b"\x89PNG\r\n\x1a\n",
    "CiA 311 (XDD)": XDD.encode(),
    "EtherCAT (ESI": ESI.encode(),
    "network configuration for EtherCAT": b"<EtherCATConfig><Config/></EtherCATConfig>",
    "controller's project": PROJECT.encode("utf-16"),
    "IO-Link": b"<IODevice/>",
    "CIP networks": CIP.encode(),
    "network configuration: which nodes": NODES.encode(),
    "page for reading": b"<!DOCTYPE html>\n<html><body>",
    "manifest of a software package (JSON)": b'{\n "main": "a.js",\n "scripts": {}\n}',
    "manifest of a software package": b'[build-system]\nrequires = ["x"]\n',
    "root element 'drives'": b"<drives><drive/></drives>",
    "JSON text": b'{"parameters": [1, 2]}',
    "XML that is cut off": b"<?xml version='1.0'?><dri",
    "no text": bytes(range(256)) * 4,
}  # fmt: skip


@pytest.mark.parametrize("what", KINDS)
def test_a_file_is_named_for_what_it_is(what: str) -> None:
    kind = file_kind(KINDS[what], "found")
    assert kind is not None
    assert what in kind.what
    assert kind.next_step


@pytest.mark.parametrize("text", ["Code;Name;Value\nA1;x;5\n", "[2010]\nParameterName=x\n", "A=5"])
def test_what_readers_take_is_left_to_them(text: str) -> None:
    assert file_kind(text.encode(), "found") is None


def test_descriptions_are_told_from_other_files() -> None:
    kinds = {what: file_kind(content, "x") for what, content in KINDS.items()}
    described = {what for what, kind in kinds.items() if kind is not None and kind.describes}
    assert described == {"CiA 311 (XDD)", "EtherCAT (ESI", "IO-Link", "CIP networks"}


def test_nothing_behind_the_root_element_is_read() -> None:
    bomb = b'<!DOCTYPE a [<!ENTITY b "c">]><ESI>' + b"&b;" * 10_000
    kind = file_kind(bomb.replace(b"ESI", b"EtherCATInfo"), "found")
    assert kind is not None
    assert kind.describes


@pytest.mark.parametrize(
    ("content", "name", "what"),
    [
        (b"#Profibus_DP\r\nGSD_Revision=3\r\n", "a.gsd", "PROFIBUS (GSD)"),
        (b'VERSION ""\n\nNS_ :\nBU_: A B\n', "a.dbc", "messages on a CAN bus"),
        (b"a: 1\nb: 2\n", "a.yaml", "YAML text"),
        (b"schema: axisvault/family/1\nname: hazel\n", "hazel.txt", "a dictionary of a drive"),
        (b"# as built\nschema: axisvault/axis/1\n", "lift.yaml", "an axis record"),
    ],
)
def test_text_of_other_tools_is_named_with_a_next_step(
    content: bytes, name: str, what: str
) -> None:
    kind = file_kind(content, name)
    assert kind is not None
    assert what in kind.what
    assert kind.next_step


@pytest.mark.parametrize("text", [b"VERSION 3\nhello\n", b"hello: you\n", b"a;b\n1;2\n"])
def test_other_text_is_nobody_s(text: bytes) -> None:
    assert file_kind(text, "a.txt") is None


@pytest.mark.parametrize(
    ("said", "what"),
    [
        ("application/vnd.oasis.opendocument.spreadsheet", "a workbook in OpenDocument form"),
        ("application/vnd.oasis.opendocument.text", "a document in OpenDocument form"),
        ("application/epub+zip", "a zip archive of 2 files, the first is mimetype"),
    ],
)
def test_an_open_document_is_named_by_what_it_says_it_is(said: str, what: str) -> None:
    memory = BytesIO()
    with ZipFile(memory, "w") as archive:
        archive.writestr("mimetype", said)
        archive.writestr("content.xml", "<x/>")
    kind = file_kind(memory.getvalue(), "book.zip")
    assert kind is not None
    assert kind.what == what


def test_a_workbook_in_binary_form_is_one_too() -> None:
    kind = file_kind(packed("xl/workbook.bin", "xl/worksheets/sheet1.bin"), "a.xlsb")
    assert kind is not None
    assert kind.what == "a workbook of 1 sheet"
