"""XML, JSON and archives on their way to a family. Families and exports are invented."""

from __future__ import annotations

from pathlib import Path

import pytest

from tests.formats.test_zipped import archive
from vault.formats import dcf, records
from vault.formats.zipped import Zipped
from vault.jobs.export.content import MAX_LINE, read_content
from vault.jobs.export.read_export import read_export, refers_to_node
from vault.jobs.export.recognise import recognise
from vault.model.errors import Unreadable, WrongUsage
from vault.store.vault import FamilyFile

ROWAN = """\
schema: axisvault/family/1
name: {name}
title: Drives of an invented maker
export:
  format: records
  record: Drive/P
  columns: {{code: "@id", value: "@value"}}
  nameplate: {{Drive/@type: drive}}
  recognise: {{drive: ^{mark}}}
{more}parameters:
  A: {{name: First, type: INTEGER32}}
  B: {{name: Second, type: INTEGER32}}
"""
XML = b'<Drive type="RO-1"><P id="A" value="1"/><P id="B" value="2"/></Drive>'
DCF = b"""[FileInfo]
[DeviceInfo]
VendorName=Grove
[6065]
ParameterName=Window
DataType=0x0007
AccessType=rw
ParameterValue=$NODEID+5
"""


def family(name: str = "rowan", mark: str = "RO", member: str = "") -> FamilyFile:
    more = f'  member: "{member}"\n' if member else ""
    return FamilyFile(name, ROWAN.format(name=name, mark=mark, more=more).encode())


def test_xml_of_a_known_family_is_read() -> None:
    rowan = family()
    found = recognise(XML, "a.xml", known=[family("yew", "YE"), rowan])
    assert (found.format, found.family) == (records, rowan)
    export = read_export(XML, "a.xml", known=[rowan])
    assert {code: p.raw for code, p in export.parameters.items()} == {"A": 1, "B": 2}


@pytest.mark.parametrize(
    ("content", "what"),
    [
        (b"<Set>" + b"<P><V>1</V></P>" * 64 + b"</Set>", "element 'Set', 64 times 'P' in it"),
        (b'{"list": [' + b'{"id": 1, "v": 2},' * 9 + b"{}]}", "JSON text, 9 times 'id' in it"),
        (b"<Set><P/></Set>", "XML with the root element 'Set'$"),
        (b"<Set>" + b"<P/>" * 9000 + b"</Set>", "at least 9000 times 'P' in it"),
    ],
)  # fmt: skip
def test_xml_and_json_of_nobody_are_named_with_the_next_command(content: bytes, what: str) -> None:
    with pytest.raises(Unreadable) as caught:
        recognise(content, "a", known=[family()])
    assert caught.value.message.endswith(what.removesuffix("$"))
    assert "axisvault family draft FILE" in str(caught.value)


@pytest.mark.parametrize(
    "content", [XML + b" " * (MAX_LINE + 1), archive({"a.xml": XML + b" " * (MAX_LINE + 1)}, 0)]
)
def test_what_has_no_lines_may_be_one_long_one(tmp_path: Path, content: bytes) -> None:
    path = tmp_path / "a"
    path.write_bytes(content)
    assert recognise(read_content(path), "a", known=[family()]).family is not None


def test_a_table_in_one_line_is_refused_though_it_begins_as_xml(hazel: FamilyFile) -> None:
    content = b"<" + b";" * (MAX_LINE + 1)
    with pytest.raises(Unreadable, match="this is XML that is cut off or damaged"):
        recognise(content, "a", hazel)
    with pytest.raises(Unreadable, match="a line of more than"):
        recognise(archive({"a": b";" * (MAX_LINE + 1)}, 0), "a", known=[hazel])


@pytest.fixture
def hazel(family_text: str) -> FamilyFile:
    return FamilyFile("hazel", family_text.encode())


def test_the_one_export_in_an_archive_is_found() -> None:
    content = archive({"read me.txt": b"a, b", "data/a.xml": XML, "b.xml": b"<x/>"})
    found = recognise(content, "a.zip", known=[family()])
    assert found.content == content
    assert isinstance(found.format, Zipped)
    assert (found.format.inner, found.format.member) == (records, "data/a.xml")
    export = read_export(content, "a.zip", known=[family()])
    assert (export.content, export.nameplate) == (content, {"drive": "RO-1"})


def test_an_export_that_describes_itself_is_found_in_an_archive_too() -> None:
    content = archive({"a.dcf": DCF})
    found = recognise(content, "a.zip")
    assert isinstance(found.format, Zipped)
    assert (found.format.inner, found.family) == (dcf, None)
    assert refers_to_node(content)
    assert not refers_to_node(archive({"a.xml": XML}))
    assert not refers_to_node(content[:40])


def test_several_exports_in_an_archive_are_listed() -> None:
    content = archive({"a.xml": XML, "b.dcf": DCF})
    with pytest.raises(WrongUsage, match=r"2 exports in this archive: a\.xml, b\.dcf"):
        recognise(content, "a.zip", known=[family()])


def test_what_is_found_is_found_again_with_its_family_alone() -> None:
    content = archive({"a.xml": XML, "b.xml": XML.replace(b"RO-1", b"RO-2")})
    known = [family(), family("yew", "RO-2")]  # the second may be of either
    with pytest.raises(WrongUsage, match="2 exports in this archive"):
        recognise(content, "a.zip", known=known)
    alone = archive({"a.xml": XML, "b.txt": b"1"})
    found = recognise(alone, "a.zip", known=known)
    again = recognise(alone, "a.zip", found.family)
    assert isinstance(found.format, Zipped)
    assert isinstance(again.format, Zipped)
    assert (found.format.member, again.format.member) == ("a.xml", "a.xml")


def test_a_dictionary_may_name_its_member() -> None:
    content = archive({"in/a.xml": XML, "in/old.xml": XML})
    found = recognise(content, "a.zip", known=[family(member="a.*")])
    assert isinstance(found.format, Zipped)
    assert found.format.member == "in/a.xml"
    assert recognise(content, "a.zip", family(member="in/old*")).family is not None
    with pytest.raises(WrongUsage, match="2 exports"):
        recognise(content, "a.zip", known=[family()])
    with pytest.raises(Unreadable, match="no file in this archive is an export"):
        recognise(content, "a.zip", family(member="*.json"))


def test_of_a_family_that_is_given_the_member_that_fits_is_taken() -> None:
    found = recognise(archive({"x.txt": b"", "a.xml": XML}), "a.zip", family())
    assert isinstance(found.format, Zipped)
    assert found.format.member == "a.xml"
    believed = recognise(archive({"x.txt": b"1"}), "a.zip", family())
    assert believed.family is not None


def test_what_is_wrong_with_each_file_of_an_archive_is_told() -> None:
    content = archive({"a.xml": b"<a/>", "b.pdf": b"%PDF-1"})
    with pytest.raises(Unreadable) as caught:
        recognise(content, "a.zip", known=[family()])
    assert "a.xml: this is XML with the root element 'a'; b.pdf: this is a PDF" in str(caught.value)
    with pytest.raises(Unreadable, match=r"a\.zip \(b\.pdf\), line 1: this is a PDF"):
        recognise(archive({"b.pdf": b"%PDF-1"}), "a.zip")


def test_a_bad_archive_is_refused_before_any_family_is_asked() -> None:
    with pytest.raises(Unreadable, match="cut off, damaged or empty"):
        recognise(archive({"a.xml": XML})[:50], "a.zip", known=[family()])
