"""Exports in archives, held against zipfile and gzip of Python. All contents are invented."""

from __future__ import annotations

import gzip
import json
import struct
from decimal import Decimal
from io import BytesIO
from xml.etree import ElementTree
from zipfile import ZIP_BZIP2, ZIP_DEFLATED, ZIP_LZMA, ZIP_STORED, ZipFile, ZipInfo

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.formats.test_records import BY_ATTRIBUTES, NUMBERS, PARAMETERS, SHAPES, xml_of
from vault.formats import delimited, records
from vault.formats.zipped import Zipped, is_packed, members, with_member
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export_dialect import ExportDialect

DIALECT = ExportDialect(
    format="records", record="d/p", columns={"code": "@i", "value": "@v"}, member="*.xml"
)
XML = b'<d><p i="A" v="1.50"/><p i="B" v="2"/></d>'


def archive(made: dict[str, bytes], method: int = ZIP_DEFLATED, note: bytes = b"") -> bytes:
    memory = BytesIO()
    with ZipFile(memory, "w", method) as packed:
        packed.comment = note
        for number, (name, content) in enumerate(made.items()):
            one = ZipInfo(name, (2020 + number % 9, 3, 1, 8, 30, 0))
            one.comment = f"note {number}".encode()
            one.extra = struct.pack("<HHI", 0x7075, 4, number)
            one.compress_type = method
            packed.writestr(one, content)
    return memory.getvalue()


class Pipe(BytesIO):
    """What cannot be gone back in, so that sums stand behind the data (APPNOTE 4.3.9)."""

    def seekable(self) -> bool:
        return False

    def seek(self, *_: int) -> int:
        raise OSError("no way back")


def streamed(made: dict[str, bytes]) -> bytes:
    memory = Pipe()
    with ZipFile(memory, "w", ZIP_DEFLATED) as packed:
        for name, content in made.items():
            packed.writestr(name, content)
    return memory.getvalue()


def listed(content: bytes) -> list[tuple[object, ...]]:
    """All that zipfile says of the members, but for sums and places."""
    with ZipFile(BytesIO(content)) as packed:
        assert packed.testzip() is None
        return [
            (i.filename, i.date_time, i.comment, i.extra, i.compress_type, i.external_attr,
             i.create_version, packed.comment, packed.read(i))
            for i in packed.infolist()
        ]  # fmt: skip


NAMES = st.sampled_from(["a.xml", "b/c.txt", "größe.json", "d/..e.csv", "in\\f"])
CONTENTS = (
    st.binary(max_size=40) | st.integers(1, 4000).map(lambda size: b"1;2\r\n" * size)
).filter(lambda content: not is_packed(content))


@given(
    st.dictionaries(NAMES, CONTENTS, min_size=1),
    CONTENTS,
    st.sampled_from([ZIP_STORED, ZIP_DEFLATED]),
    st.booleans(),
    st.data(),
)
def test_one_member_is_replaced_and_nothing_else(
    made: dict[str, bytes], new: bytes, method: int, piped: bool, data: st.DataObject
) -> None:
    content = streamed(made) if piped else archive(made, method, b"by nobody")
    name = data.draw(st.sampled_from([*made]))
    changed = with_member(content, name, new, file="a.zip")
    before, after = listed(content), listed(changed)
    assert [one[:-1] for one in after] == [one[:-1] for one in before]
    assert {str(one[0]): one[-1] for one in after} == made | {name: new}
    for other in made.keys() - {name}:
        assert packed_bytes(changed, other) == packed_bytes(content, other)


def packed_bytes(content: bytes, name: str) -> bytes:
    """A member as it is packed, with its head."""
    with ZipFile(BytesIO(content)) as packed:
        one = packed.getinfo(name)
    (names, extra) = struct.unpack_from("<2H", content, one.header_offset + 26)
    end = one.header_offset + 30 + names + extra + one.compress_size
    return content[one.header_offset : end]


@given(st.dictionaries(NAMES, CONTENTS, min_size=1))
def test_members_are_those_of_the_reference(made: dict[str, bytes]) -> None:
    assert {m.name: m.content for m in members(archive(made), file="a.zip")} == made


@given(CONTENTS, CONTENTS, st.sampled_from(["", "a.xml"]))
def test_a_gzip_file_is_read_and_written_back(old: bytes, new: bytes, name: str) -> None:
    memory = BytesIO()
    with gzip.GzipFile(name, "wb", fileobj=memory, mtime=1_700_000_000) as packed:
        packed.write(old)
    content = memory.getvalue()
    (member,) = members(content, file="b.xml.gz")
    assert (member.name, member.content) == (name or "b.xml", old)
    changed = with_member(content, member.name, new, file="b.xml.gz")
    assert gzip.decompress(changed) == new
    head = 10 + (len(name) + 1 if name else 0)
    assert changed[:head] == content[:head]


def test_a_format_reads_and_writes_back_in_an_archive() -> None:
    content = archive({"notes.txt": b"x", "a.xml": XML})
    form = Zipped(records, "a.xml")
    assert form.recognises(content, "a.zip")
    listing = form.read(content, file="a.zip", dialect=DIALECT, channel=None)
    assert [entry.code for entry in listing.entries] == ["A", "B"]
    changed = form.write_back(
        content, {"A": 3}, file="a.zip", dialect=DIALECT, channel=None, drop=["B"]
    )
    assert {m.name: m.content for m in members(changed, file="a.zip")} == {
        "notes.txt": b"x",
        "a.xml": b'<d><p i="A" v="3.00"/></d>',
    }
    same = form.write_back(content, {"B": 2}, file="a.zip", dialect=DIALECT, channel=None)
    assert same == content


@given(PARAMETERS, st.booleans(), st.data())
def test_values_in_an_archive_are_put_back_and_all_else_stays(
    made: dict[str, tuple[int | Decimal, str]], of_json: bool, data: st.DataObject
) -> None:
    by = SHAPES["plain"][0] if of_json else BY_ATTRIBUTES
    inside = ElementTree.tostring(xml_of(made, nested=False))
    if of_json:
        pairs = (f"{json.dumps(code)}: {number}" for code, (number, _) in made.items())
        inside = f'{{"set": {{{", ".join(pairs)}}}}}'.encode()
    others = {"notes.txt": b"saved", "in/picture.bin": bytes(range(256))}
    content = archive({"notes.txt": others["notes.txt"], "set": inside} | others)
    form = Zipped(records, "set")
    new = data.draw(st.dictionaries(st.sampled_from([*made]), NUMBERS))
    changed = form.write_back(content, new, file="a.zip", dialect=by, channel=None)
    found = form.read(changed, file="a.zip", dialect=by, channel=None).entries
    expected = {code: new.get(code, number) for code, (number, _) in made.items()}
    assert {entry.code: entry.written for entry in found} == expected
    for name, other in others.items():
        assert packed_bytes(changed, name) == packed_bytes(content, name)
        assert ZipFile(BytesIO(changed)).read(name) == other


def test_what_is_wrong_is_told_of_the_member() -> None:
    form = Zipped(records, "a.xml")
    broken = archive({"a.xml": b"<d>\n<p"})
    with pytest.raises(Unreadable, match=r"a\.zip \(a\.xml\), line 2: .* cut off"):
        form.read(broken, file="a.zip", dialect=DIALECT, channel=None)
    with pytest.raises(Unreadable, match=r"b\.xml is not in it"):
        Zipped(records, "b.xml").read(broken, file="a.zip", dialect=DIALECT, channel=None)


def with_flag(content: bytes) -> bytes:
    """The archive with its first member marked as locked (APPNOTE 4.4.4, bit 0)."""
    made = bytearray(content)
    made[6] |= 1
    made[made.index(b"PK\x01\x02") + 8] |= 1
    return bytes(made)


def with_size(content: bytes, size: int) -> bytes:
    """The archive with another size said of its first member, which its bytes do not have."""
    made = bytearray(content)
    struct.pack_into("<I", made, made.index(b"PK\x01\x02") + 24, size)
    return bytes(made)


BOMB = b"0" * (33 * 1024 * 1024)
TWICE = archive({"a1": b"1", "a2": b"2"}).replace(b"a2", b"a1")


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (archive({"a": BOMB}), "would grow more than 300 times"),
        (with_size(archive({"a": BOMB}), 5), "damaged|too large"),
        (archive({"a": BOMB}, ZIP_STORED), "a in it is too large"),
        (archive(dict.fromkeys("abc", BOMB[: 23 << 20]), ZIP_STORED), "c in it is too large"),
        (archive({str(n): b"" for n in range(1001)}), "1,001 files: archives of up to 1000"),
        (archive({"in/b.zip": archive({"a": b"1"})}), r"in/b\.zip in it is an archive again"),
        (archive({"b.gz": gzip.compress(b"1", mtime=1)}), r"b\.gz in it is an archive again"),
        (with_flag(archive({"a": b"1"})), "a in it is locked with a password"),
        (TWICE, "two files in it are called a1"),
        (archive({"../../up.csv": b"1"}), r"the name '../../up\.csv' in it leads out"),
        (archive({"/etc/a": b"1"}), "the name '/etc/a' in it leads out"),
        (archive({"C:a": b"1"}), "the name 'C:a' in it leads out"),
        (archive({"a": b"1"}, ZIP_LZMA), "a in it is packed in a way that is not read"),
        (archive({"a": b"1"}) + b"PK\x01\x02" * 10_001, "archives of up to 1,000 files"),
        (archive({}), "cut off, damaged or empty"),
        (archive({"a": b"1" * 500})[:-30], "cut off, damaged or empty"),
        (archive({"a": b"123"}, ZIP_STORED).replace(b"123", b"124"), "damaged"),
        (gzip.compress(b"1", mtime=1)[:-1], "cut off or damaged"),
        (gzip.compress(b"1", mtime=1) + b"x", "cut off or damaged"),
        (gzip.compress(b"1", mtime=1) * 2, "holds more than one"),
        (gzip.compress(BOMB, mtime=1), "too large"),
        (b"\x1f\x8b\x08\x08\0\0\0\0\0\0name", "cut off"),
        (b"\x1f\x8b\x08", "cut off|damaged"),
    ],
)
def test_what_is_beyond_limits_or_damaged_is_refused(content: bytes, reason: str) -> None:
    assert is_packed(content)
    with pytest.raises(Unreadable, match=reason):
        members(content, file="a.zip")


@pytest.mark.parametrize(
    "made",
    [
        {"xl/workbook.xml": b"", "xl/worksheets/sheet1.xml": b""},
        {"mimetype": b"application/vnd.oasis.opendocument.spreadsheet", "content.xml": b""},
        {"word/document.xml": b""},
    ],
)
def test_an_office_document_is_no_archive(made: dict[str, bytes]) -> None:
    assert not is_packed(archive(made))
    (member,) = members(archive({"a.xlsx": archive(made)}), file="a.zip")
    assert member.content == archive(made)


def test_what_cannot_be_written_back_is_told() -> None:
    content = archive({"a.xml": XML}, ZIP_BZIP2)
    with pytest.raises(WrongUsage, match="packed in a way that is not written"):
        with_member(content, "a.xml", b"", file="a.zip")
    memory = BytesIO()
    with ZipFile(memory, "w") as packed, packed.open("a.xml", "w", force_zip64=True) as member:
        member.write(XML)
    with pytest.raises(WrongUsage, match="form of large files"):
        with_member(memory.getvalue(), "a.xml", b"", file="a.zip")

    class Reads:
        read, recognises = delimited.read, delimited.recognises

    with pytest.raises(WrongUsage, match="cannot be put back"):
        Zipped(Reads(), "a.xml").write_back(  # type: ignore[arg-type]
            content, {}, file="a.zip", dialect=None, channel=None
        )


@given(st.binary(max_size=30), st.data())
def test_a_damaged_archive_is_read_or_refused_in_our_words(
    junk: bytes, data: st.DataObject
) -> None:
    content = archive({"a.xml": XML, "b.txt": b"2" * 50})
    at = data.draw(st.integers(0, len(content)))
    broken = content[:at] + junk + content[at + data.draw(st.integers(0, 20)) :]
    if is_packed(broken):
        try:
            members(broken, file="a.zip")
        except Unreadable:
            return
