"""A DCF that was cut off is told from a description that is incomplete, and both from a whole one.

The lists of objects, their counts and the order of a file are those of CiA 306, from memory. Files
are the exports of the example plant, as they are and with each list before its own objects.
"""

from __future__ import annotations

import random
import re
from pathlib import Path

import pytest

from vault.formats import dcf
from vault.formats.dcf_whole import INCOMPLETE
from vault.formats.text_encoding import CUT_SHORT
from vault.model.errors import Unreadable
from vault.model.export import Listing

EXPORTS = Path(__file__).parents[2] / "example_machines/exports"
LISTS_FIRST = (EXPORTS / "glaze-line-1/lift/2019-05-15-commissioning.dcf").read_bytes()


def lists_between(content: bytes) -> bytes:
    """The same file with the maker's and the optional list just before their objects."""
    sections = re.split(rb"(?m)^(?=\[)", content)
    lists = {s.split(b"]")[0][1:]: s for s in sections if re.match(rb"\[\w+Objects\]", s)}
    others = [s for s in sections if s not in lists.values()]
    head = [s for s in others if not re.match(rb"\[[0-9A-F]{4}", s)]
    objects = [s for s in others if s not in head]
    named = re.findall(rb"0x(1\d{3})", lists[b"MandatoryObjects"])
    mandatory = [s for s in objects if s[1:5] in named]
    maker = [s for s in objects if b"2000" <= s[1:5] < b"6000"]
    optional = [s for s in objects if s not in mandatory and s not in maker]
    return b"".join(
        [*head, lists[b"MandatoryObjects"], *mandatory, lists[b"OptionalObjects"], *optional,
         lists[b"ManufacturerObjects"], *maker]
    )  # fmt: skip


BETWEEN = lists_between(LISTS_FIRST)


def read(content: bytes) -> Listing:
    return dcf.read(content, file="lift.dcf", dialect=None, channel=None)


def told(content: bytes) -> str:
    """What is said of a file: `refused`, else the reasons that were given, joined."""
    try:
        found = read(content)
    except Unreadable:
        return "refused"
    defaults = [f"{entry.code} is the default" for entry in found.entries if entry.is_default]
    return "; ".join([*(line.reason for line in (*found.skipped, *found.remarks)), *defaults])


@pytest.mark.parametrize("content", [LISTS_FIRST, BETWEEN], ids=["lists first", "lists between"])
def test_a_whole_file_raises_no_doubt(content: bytes) -> None:
    assert told(content) == ""
    assert read(content).ends == {"last line", "lists"}


@pytest.mark.parametrize("content", [LISTS_FIRST, BETWEEN], ids=["lists first", "lists between"])
def test_a_cut_at_any_section_is_told(content: bytes) -> None:
    starts = [found.start() for found in re.finditer(rb"(?m)^\[", content)][1:]
    assert [content[at : at + 20] for at in starts if not told(content[:at])] == []


@pytest.mark.parametrize("content", [LISTS_FIRST, BETWEEN], ids=["lists first", "lists between"])
def test_a_cut_at_any_byte_is_told(content: bytes) -> None:
    chosen = random.Random(7).sample(range(1, len(content) - 2), 200)
    assert [content[at - 30 : at] for at in chosen if not told(content[:at])] == []


def test_a_cut_just_before_a_list_names_it() -> None:
    found = read(BETWEEN[: BETWEEN.index(b"[ManufacturerObjects]")])
    assert [line.reason for line in found.remarks] == [
        "no section [ManufacturerObjects], which such a file has: it may be cut off"
    ]
    assert found.ends == {"last line"}


def test_a_cut_in_the_last_value_is_told_with_its_line() -> None:
    found = read(LISTS_FIRST.rstrip()[:-2])
    assert found.ends == {"lists"}
    (remark,) = found.remarks
    assert remark.text == "ParameterValue=ALD-"
    assert remark.line == LISTS_FIRST.rstrip().count(b"\n") + 1


def test_a_cut_between_type_and_value_of_the_last_object_loses_it() -> None:
    last = LISTS_FIRST.index(b"AccessType", LISTS_FIRST.index(b"[6503]"))
    (lost,) = read(LISTS_FIRST[:last]).skipped
    assert lost.reason == f"the last object has no value: {CUT_SHORT}"


def without(content: bytes, section: bytes) -> bytes:
    start = content.index(section)
    return content[:start] + content[content.index(b"\n[", start) + 1 :]


def test_an_object_missing_in_the_middle_is_an_incomplete_description() -> None:
    found = read(without(LISTS_FIRST, b"[6065]"))
    assert found.skipped == ()
    (doubt,) = found.remarks
    assert doubt.reason == f"object 6065h is listed, but not in the file: {INCOMPLETE}"
    assert doubt.text.endswith("=0x6065")


def test_a_sub_object_missing_in_the_middle_is_an_incomplete_description() -> None:
    found = read(without(LISTS_FIRST, b"[607Dsub2]"))
    assert found.skipped == ()
    assert [line.reason for line in found.remarks] == [
        f"2 of 3 sub-objects are there: {INCOMPLETE}"
    ]


def test_a_file_without_lists_says_that_it_cannot_be_told() -> None:
    bare = LISTS_FIRST
    for name in (b"[MandatoryObjects]", b"[OptionalObjects]", b"[ManufacturerObjects]"):
        bare = without(bare, name)
    (doubt,) = read(bare).remarks
    assert "[MandatoryObjects], [OptionalObjects], [ManufacturerObjects]" in doubt.reason


def test_a_value_that_is_the_files_default_is_marked() -> None:
    head = b"[2010]\nParameterName=a\nDataType=0x0007\nAccessType=rw\nDefaultValue=5\n"
    stated = head.replace(b"2010", b"2011") + b"ParameterValue=5\n"
    entries = read(head + stated).entries
    assert [(entry.code, entry.is_default) for entry in entries] == [
        ("0x2010:00", True),
        ("0x2011:00", False),
    ]


def test_a_default_of_a_compact_object_is_marked_where_no_value_is_listed() -> None:
    text = (
        b"[2010]\nParameterName=a\nObjectType=0x8\nDataType=0x0007\nAccessType=rw\n"
        b"DefaultValue=5\nCompactSubObj=2\n[2010Value]\nNrOfEntries=1\n2=7\n"
    )
    marked = {e.code: e.is_default for e in read(text).entries if not e.is_count}
    assert marked == {"0x2010:01": True, "0x2010:02": False}


NODE = b"[1400]\nParameterName=a\nDataType=0x0007\nAccessType=rw\nDefaultValue=$NODEID+0x200\n"


def test_a_default_that_needs_the_node_id_does_not_refuse_a_stated_value() -> None:
    found = read(NODE + b"ParameterValue=0x205\n")
    assert found.skipped == ()
    assert [(entry.written, entry.default) for entry in found.entries] == [(0x205, None)]


def test_a_default_that_stands_for_the_value_needs_the_node_id() -> None:
    (lost,) = read(NODE).skipped
    assert "needs the node id" in lost.reason


def test_a_node_id_that_is_given_goes_before_the_files_own() -> None:
    text = b"[DeviceComissioning]\nNodeID=3\n" + NODE
    found = dcf.read(text, file="x", dialect=None, channel=None, node_id=5)
    assert [entry.written for entry in found.entries] == [0x205]
    assert found.nameplate["node_id"] == "3"


@pytest.mark.parametrize(
    ("head", "time"),
    [
        (b"CreationDate=05-15-2019\nCreationTime=03:20PM\n", "2019-05-15T15:20:00"),
        (
            b"CreationDate=05-15-2019\nModificationDate=06-01-2020\nModificationTime=12:05AM\n",
            "2020-06-01T00:05:00",
        ),
        (b"CreationDate=15.05.2019\n", None),
        (b"", None),
    ],
)
def test_the_heads_date_is_known(head: bytes, time: str | None) -> None:
    assert read(b"[FileInfo]\n" + head + NODE + b"ParameterValue=1\n").head_time == time
