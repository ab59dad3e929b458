"""Which kind of description a file is. All files are invented."""

from __future__ import annotations

import pytest

from tests.dcf_texts import TUNING, WINDOW, dcf
from tests.description_texts import CIP, ESI, TWO_DEVICES, XDC, XDD
from vault.formats.describe.registry import describe, is_description
from vault.formats.file_kind import file_kind
from vault.model.errors import Unreadable, WrongUsage

CONFIGURATION = dcf(TUNING, WINDOW)
EDS = CONFIGURATION.replace("ParameterValue=6\n", "")
DESCRIPTIONS = {"eds": EDS, "xdd": XDD, "esi": ESI, "cip-eds": CIP}


@pytest.mark.parametrize("kind", DESCRIPTIONS)
def test_a_description_is_known_by_its_content_and_read(kind: str) -> None:
    content = DESCRIPTIONS[kind].encode()
    assert is_description(content, "found.txt") == kind
    found = describe(content, file="found.txt")
    assert found.kind == kind
    assert found.parameters


@pytest.mark.parametrize("kind", ["xdd", "esi"])
def test_so_it_is_in_wide_text(kind: str) -> None:
    content = DESCRIPTIONS[kind].replace("UTF-8", "UTF-16").encode("utf-16")
    assert is_description(content, "found.xml") == kind
    assert describe(content, "a").parameters


@pytest.mark.parametrize(("kind", "text"), [("dcf", CONFIGURATION), ("xdc", XDC)])
def test_what_holds_values_is_none_and_may_serve_as_one(kind: str, text: str) -> None:
    assert is_description(text.encode(), "lift") is None
    assert describe(text.encode(), file="lift").kind == kind


@pytest.mark.parametrize(
    "content", [b"", b"Code;Value\nA1;5\n", b"<drives/>", b'{"a": 1}', bytes(range(256)), b"[A]\n"]
)
def test_what_is_neither_is_refused(content: bytes) -> None:
    assert is_description(content, "a.txt") is None
    with pytest.raises(Unreadable, match="no device description") as caught:
        describe(content, file="a.txt")
    assert (caught.value.file, caught.value.line) == ("a.txt", 1)


def test_a_device_is_named_where_there_are_several_and_only_there() -> None:
    assert describe(TWO_DEVICES.encode(), "a", device="HZ-7").product == "HZ-7"
    with pytest.raises(WrongUsage, match="one device"):
        describe(XDD.encode(), "a", device="HZ-7")


@pytest.mark.parametrize("root", ["EtherCATInfo", "ISO15745ProfileContainer"])
@pytest.mark.parametrize(
    ("begin", "end", "line"),
    [
        ('<!DOCTYPE a [<!ENTITY b "ha">]>\n', "&b;</{}>", 1),
        ("", "\n" + "<a>" * 500, 2),
        ("", "\n<Device>\n", 3),
    ],
)
def test_hostile_descriptions_are_refused_with_their_line(
    root: str, begin: str, end: str, line: int
) -> None:
    content = f"{begin}<{root}>{end.format(root)}".encode()
    with pytest.raises(Unreadable) as caught:
        describe(content, file="a.xml")
    assert (caught.value.file, caught.value.line) == ("a.xml", line)


@pytest.mark.parametrize("kind", ["xdd", "esi", "cip-eds"])
def test_what_is_described_is_what_ingest_says_that_it_is(kind: str) -> None:
    known = file_kind(DESCRIPTIONS[kind].encode(), "found")
    assert known is not None
    assert known.describes
