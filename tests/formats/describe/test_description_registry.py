"""Which kind of description a file is. All files are invented."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.dcf_texts import TUNING, WINDOW, dcf
from tests.description_texts import CIP, ESI, TWO_DEVICES, XDC, XDD
from vault.formats.describe.registry import describe, is_description
from vault.formats.file_kind import file_kind
from vault.model.errors import Unreadable, VaultError, WrongUsage

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


COMPACT = EDS.replace("[2010]", "[2010]\nObjectType=8\nCompactSubObj=2")


@pytest.mark.parametrize(
    ("kind", "text"),
    [
        ("dcf", CONFIGURATION),
        ("dcf", f"{COMPACT}\n[ 2010Value ]\nNrOfEntries=1\n1=7\n"),
        ("xdc", XDC),
    ],
)
def test_what_holds_values_is_none_and_may_serve_as_one(kind: str, text: str) -> None:
    assert is_description(text.encode(), "lift") is None
    assert describe(text.encode(), file="lift").kind == kind


def test_an_eds_with_places_for_values_and_nothing_in_them_is_a_description() -> None:
    text = EDS.replace("DefaultValue=5\n", "DefaultValue=5\nParameterValue=\n")
    assert is_description(text.encode(), "a") == describe(text.encode(), "a").kind == "eds"


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


@pytest.mark.parametrize(
    ("kind", "words"),
    [
        ("eds", "a device description after CiA 306 (EDS): what a drive has, not what it holds"),
        ("xdd", "a device description after CiA 311 (XDD): what a drive has, not what it holds"),
        ("esi", "EtherCAT (ESI, ETG.2000): what a drive has"),
        ("cip-eds", "CIP networks (EDS): what a drive has"),
    ],
)
def test_a_description_says_in_words_what_it_is(kind: str, words: str) -> None:
    found = describe(DESCRIPTIONS[kind].encode(), "a")
    assert words in found.what


@pytest.mark.parametrize("text", [CONFIGURATION, XDC])
def test_a_configuration_says_that_its_values_are_left_aside(text: str) -> None:
    found = describe(text.encode(), "a")
    assert "its values aside" in found.what


@pytest.mark.parametrize(
    "text",
    [
        "[Device]\nName=lift\n[Params]\nParam1=5\nParam2=6\n",
        "[DeviceInfo]\nName=lift\n[Axis]\nKp=5\n",
        "[1000]\nKp=5\n",
    ],
)
def test_settings_whose_sections_are_called_alike_are_no_description(text: str) -> None:
    assert is_description(text.encode(), "lift.ini") is None
    assert file_kind(text.encode(), "lift.ini") is None


def test_a_file_that_is_too_large_is_refused_before_it_is_read() -> None:
    with pytest.raises(Unreadable, match="more than 32 MiB") as caught:
        describe(CIP.encode() + b" " * 2**25, "a.eds")
    assert (caught.value.file, caught.value.line) == ("a.eds", 1)


def test_a_range_that_ends_before_it_begins_is_told_and_left_out() -> None:
    text = XDD.replace('highLimit="0x1000"', 'lowLimit="0x1001" highLimit="0x1000"')
    found = describe(text.encode(), "a")
    (told,) = found.skipped
    assert "from 4097 to 4096" in told.reason
    assert 'lowLimit="0x1001"' in "".join(text.splitlines()[told.line - 1 : told.line + 1])
    speed = next(one for one in found.parameters if one.code == "0x6099:01")
    assert (speed.low, speed.high, speed.default) == (None, None, 100)


@given(st.sampled_from([*DESCRIPTIONS]), st.text(max_size=40), st.floats(0, 1))
def test_whatever_stands_in_a_description_it_is_read_or_refused_in_our_words(
    kind: str, odd: str, where: float
) -> None:
    text = DESCRIPTIONS[kind]
    at = int(where * len(text))
    try:
        found = describe((text[:at] + odd + text[at:]).encode("utf-8", "replace"), "a")
    except VaultError as error:
        assert error.file == "a"
        return
    assert all(one.line for one in (*found.parameters, *found.skipped))


@pytest.mark.parametrize("kind", ["xdd", "esi", "cip-eds"])
def test_what_is_described_is_what_ingest_says_that_it_is(kind: str) -> None:
    known = file_kind(DESCRIPTIONS[kind].encode(), "found")
    assert known is not None
    assert known.describes
