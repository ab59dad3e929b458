"""EDS and DCF files. Objects of all files in this test are invented unless a source is named."""

from __future__ import annotations

import io
import random
from decimal import Decimal
from typing import Any

import canopen
import pytest
from canopen.objectdictionary import ODRecord, ODVariable
from canopen.objectdictionary.eds import export_dcf
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.library_files import NotFetched, shipped
from tests.listing_strategies import CONTENTS, PLATES, said
from tests.sweeps import part_of
from vault.formats import dcf
from vault.formats.registry import format_named
from vault.model.datatypes import BY_NAME
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Entry, Listing, Scalar
from vault.model.export_dialect import ExportDialect

HEAD = "[DeviceInfo]\nVendorName=Invented\n"
NODE = "[DeviceComissioning]\nNodeID=5\n"
CUT_OFF = "the file seems cut off"
NUMBERS = {name: kind.number for name, kind in BY_NAME.items()}


def read(text: str | bytes, channel: int | None = None, **dialect: Any) -> Listing:
    content = text.encode() if isinstance(text, str) else text
    rules = ExportDialect(format="dcf", **dialect) if dialect else None
    return dcf.read(content, file="a.dcf", dialect=rules, channel=channel)


def variable(heading: str, kind: str, value: str | None = None, *more: str) -> str:
    lines = [f"[{heading}]", "ParameterName=A name", "ObjectType=7", f"DataType={NUMBERS[kind]}"]
    lines += ["AccessType=rw", *([] if value is None else [f"ParameterValue={value}"]), *more]
    return "\n".join([*lines, ""])


def only(kind: str, value: str, *more: str) -> Entry:
    content = read(NODE + variable("2001", kind, value, *more))
    assert not content.skipped
    (entry,) = content.entries
    return entry


def values(content: Listing) -> dict[str, Scalar]:
    return {entry.code: entry.written for entry in content.entries}


def skipped(content: Listing) -> list[tuple[int, str]]:
    return [(bad.line, bad.reason) for bad in content.skipped]


def bad_value(kind: str, value: str) -> str:
    """Reason why a value is not taken; the good entry after it is."""
    text = variable("2001", kind, value) + variable("2002", "INTEGER8", "1")
    content = read(text)
    assert values(content) == {"0x2002:00": 1}
    ((line, reason),) = skipped(content)
    assert line == 6
    return reason


# Numbers: CiA 306, clause on values (decimal, hex with 0x, octal with a leading 0), from memory.


@pytest.mark.parametrize(
    ("kind", "text", "number"),
    [
        ("UNSIGNED32", "100", 100),
        ("UNSIGNED32", "0x64", 100),
        ("UNSIGNED32", "0X0064", 100),
        ("UNSIGNED32", "0144", 100),
        ("UNSIGNED32", "0", 0),
        ("UNSIGNED32", "00", 0),
        ("UNSIGNED32", "0x010", 16),
        ("INTEGER16", "-5", -5),
        ("INTEGER16", "+5", 5),
        ("INTEGER8", "-0x80", -128),
        ("INTEGER8", "-012", -10),
        ("BOOLEAN", "0x1", 1),
        ("BOOLEAN", "True", 1),
        ("BOOLEAN", "false", 0),
        ("UNSIGNED64", "0xFFFFFFFFFFFFFFFF", 2**64 - 1),
        ("UNSIGNED32", "7 ; seven", 7),
    ],
)
def test_numbers_are_decimal_hex_or_octal(kind: str, text: str, number: int) -> None:
    assert only(kind, text).written == number


@pytest.mark.parametrize(
    ("kind", "text", "number"),
    [
        ("INTEGER8", "0xFF", -1),
        ("INTEGER8", "0x80", -128),
        ("INTEGER8", "0x7F", 127),
        ("INTEGER16", "0xFFFE", -2),
        ("INTEGER24", "0x800000", -(2**23)),
        ("INTEGER32", "0xFFFFFFFF", -1),
        ("INTEGER64", "0xFFFFFFFFFFFFFFF6", -10),
    ],
)
def test_signed_hex_is_in_twos_complement(kind: str, text: str, number: int) -> None:
    assert only(kind, text).written == number


def test_the_irregular_negative_hex_is_a_negative_number() -> None:
    assert only("INTEGER32", "0x-5").written == -5


@pytest.mark.parametrize(
    "text",
    ["$NODEID+0x600", "$nodeid + 0x600", "$NodeId+1536", "0x600+$NODEID", "03000 + $ NODEID"],
)
def test_the_node_id_is_added_in_any_case_and_spacing(text: str) -> None:
    assert only("UNSIGNED32", text).written == 0x605


def test_the_node_id_may_stand_alone() -> None:
    assert only("UNSIGNED8", "$NODEID").written == 5


@pytest.mark.parametrize(
    "heading", ["DeviceComissioning", "DeviceCommissioning", "devicecomissioning"]
)
@pytest.mark.parametrize("node", ["16", "0x10", "020"])
def test_the_node_id_comes_from_the_commissioning_section(heading: str, node: str) -> None:
    content = read(f"[{heading}]\nNodeId={node}\n" + variable("1200", "UNSIGNED32", "$NODEID+1"))
    assert values(content) == {"0x1200:00": 17}
    assert content.nameplate["node_id"] == "16"


def test_a_value_that_needs_an_unknown_node_id_is_bad() -> None:
    assert "needs the node id" in bad_value("UNSIGNED32", "$NODEID+0x80")


@pytest.mark.parametrize("text", ["5.20", "1e-3", "-0.1", "100", ".5", "3.4028235e38"])
def test_reals_are_exact_decimals(text: str) -> None:
    entry = only("REAL32", text)
    assert isinstance(entry.written, Decimal)
    assert entry.written == Decimal(text)


@pytest.mark.parametrize("text", ["nan", "-inf", "Infinity"])
def test_reals_that_are_no_finite_number_are_bad(text: str) -> None:
    assert "no finite number" in bad_value("REAL64", text)


def test_a_real_beyond_its_type_is_bad() -> None:
    # IEEE 754: the largest finite binary32 is about 3.4028235e38.
    assert "lies outside REAL32" in bad_value("REAL32", "3.5e38")


def test_octets_are_lower_case_hex_text() -> None:
    assert only("OCTET_STRING", "0A FF 10").written == "0aff10"
    assert only("DOMAIN", "DEADBEEF").written == "deadbeef"


def test_texts_are_kept_as_they_are() -> None:
    assert only("VISIBLE_STRING", "0x12; a = b [c]").written == "0x12; a = b [c]"


@pytest.mark.parametrize(
    ("kind", "text", "reason"),
    [
        ("UNSIGNED8", "256", "lies outside UNSIGNED8 (0 to 255)"),
        ("UNSIGNED8", "-1", "lies outside UNSIGNED8 (0 to 255)"),
        ("INTEGER8", "128", "lies outside INTEGER8 (-128 to 127)"),
        ("INTEGER8", "0x100", "lies outside INTEGER8 (-128 to 127)"),
        ("BOOLEAN", "2", "lies outside BOOLEAN (0 to 1)"),
        ("UNSIGNED8", "019", "is octal by its leading 0"),
        ("UNSIGNED8", "12h", "is no whole number"),
        ("UNSIGNED8", "1.5", "is no whole number"),
        ("UNSIGNED8", "5 - $NODEID", "is no whole number"),
        ("UNSIGNED8", "9" * 5000, "is no whole number"),
        ("REAL32", "0,5", "is no decimal number"),
        ("OCTET_STRING", "abc", "is no row of octets"),
        ("TIME_OF_DAY", "0102", "has 2 octets; TIME_OF_DAY has 6"),
    ],
)
def test_a_value_its_type_does_not_take_is_skipped_with_the_reason(
    kind: str, text: str, reason: str
) -> None:
    assert reason in bad_value(kind, text)


# Objects.


def test_an_entry_says_all_that_the_file_says() -> None:
    text = variable("6065", "INTEGER32", "2500", "LowLimit=0", "HighLimit=0x7FFFFFFF")
    content = read(text + "DefaultValue=1000\nDenotation=Window\n")
    assert content.entries == (
        Entry(
            "0x6065:00", 2500, 6, "Window", "", "INTEGER32", "rw", 0, 0x7FFFFFFF, 1000
        ),
    )  # fmt: skip
    assert (content.format, content.holds, content.taken_at) == ("dcf", "raw", None)


def test_codes_are_upper_case_hex() -> None:
    text = variable("60fe", "UNSIGNED8", "1")
    assert values(read(text)) == {"0x60FE:00": 1}
    text = "[20ab]\nObjectType=9\nSubNumber=1\n" + variable("20ABsubA", "UNSIGNED8", "1")
    assert values(read(text)) == {"0x20AB:0A": 1}


def test_the_default_stands_in_for_a_missing_value() -> None:
    assert values(read(variable("2001", "INTEGER8", None, "DefaultValue=7"))) == {"0x2001:00": 7}
    assert values(read(variable("2001", "INTEGER8", "", "DefaultValue=7"))) == {"0x2001:00": 7}


def test_the_name_is_the_parameter_name_where_no_denotation_is_given() -> None:
    assert only("INTEGER8", "1", "Denotation=").name == "A name"


def test_a_cleared_text_is_not_its_default() -> None:
    assert only("VISIBLE_STRING", "", "DefaultValue=abc").written == ""


def test_an_entry_without_value_is_left_out() -> None:
    content = read(variable("2001", "INTEGER8") + variable("2002", "INTEGER8", "1"))
    assert values(content) == {"0x2002:00": 1}
    assert not content.skipped


def test_an_object_is_a_variable_if_no_object_type_is_given() -> None:
    assert values(read("[2001]\nParameterName=x\nDataType=5\nParameterValue=3\n")) == {
        "0x2001:00": 3
    }


def test_a_domain_needs_no_data_type() -> None:
    content = read("[2001]\nObjectType=2\nParameterValue=01FF\n")
    assert [(e.written, e.data_type) for e in content.entries] == [("01ff", "DOMAIN")]


@pytest.mark.parametrize("kind", ["8", "9"])
def test_arrays_and_records_have_sub_objects(kind: str) -> None:
    text = f"[1018]\nParameterName=Identity\nObjectType={kind}\nSubNumber=2\n"
    text += variable("1018sub0", "UNSIGNED8", "1") + variable("1018SUB1", "UNSIGNED32", "0x77")
    assert values(read(text)) == {"0x1018:00": 1, "0x1018:01": 0x77}


COMPACT = """[2050]
ParameterName=Speed
ObjectType=8
DataType=6
AccessType=ro
DefaultValue=10
CompactSubObj=3
[2050Value]
NrOfEntries=1
2=20
[2050Name]
NrOfEntries=2
1=First
2=Second
[2050Denotation]
NrOfEntries=1
2=Belt
"""


def test_a_compact_array_has_lists_of_values_names_and_denotations() -> None:
    content = read(COMPACT)
    assert not content.skipped
    assert [
        (e.code, e.written, e.name, e.data_type, e.access, e.line) for e in content.entries
    ] == [
        ("0x2050:00", 3, "Number of entries", "UNSIGNED8", "ro", 1),
        ("0x2050:01", 10, "First", "UNSIGNED16", "ro", 6),
        ("0x2050:02", 20, "Belt", "UNSIGNED16", "ro", 10),
        ("0x2050:03", 10, "Speed3", "UNSIGNED16", "ro", 6),
    ]


def test_a_bad_value_of_a_compact_array_hides_only_itself() -> None:
    content = read(COMPACT.replace("2=20", "2=x"))
    assert sorted(values(content)) == ["0x2050:00", "0x2050:01", "0x2050:03"]
    assert skipped(content) == [(10, "0x2050:02: 'x' is no whole number")]


def test_a_bad_value_that_a_compact_array_shares_is_reported_once() -> None:
    content = read(COMPACT.replace("DefaultValue=10", "DefaultValue=x"))
    assert sorted(values(content)) == ["0x2050:00", "0x2050:02"]
    assert [line for line, _ in skipped(content)] == [6]


def test_a_value_beyond_a_compact_array_is_reported() -> None:
    content = read(COMPACT.replace("2=20", "4=20"))
    assert skipped(content) == [(10, "2050h has 3 sub-objects")]


def test_a_list_of_values_without_its_compact_array_is_reported() -> None:
    content = read(variable("2001", "INTEGER8", "1") + "[2050Value]\n1=5\n")
    assert skipped(content) == [(7, "it belongs to no compact object of this file")]


def test_an_unknown_data_type_is_reported() -> None:
    content = read("[2001]\nDataType=0x40\nParameterValue=1\n" + variable("2002", "INTEGER8", "1"))
    assert values(content) == {"0x2002:00": 1}
    assert skipped(content) == [(2, "unknown data type 0x40")]


def test_a_missing_data_type_is_reported() -> None:
    content = read("[2001]\nParameterValue=1\n" + variable("2002", "INTEGER8", "1"))
    assert skipped(content) == [(1, "it states no DataType")]


def test_a_bad_limit_is_reported_and_the_value_kept() -> None:
    content = read(variable("2001", "INTEGER8", "1", "HighLimit=300", "DefaultValue=x"))
    assert values(content) == {"0x2001:00": 1}
    assert skipped(content) == [
        (7, "'300' lies outside INTEGER8 (-128 to 127)"),
        (8, "'x' is no whole number"),
    ]


def test_data_type_definitions_are_no_parameters() -> None:
    # CiA 301: indices below 1000h describe data types, from memory.
    text = "[00A0]\nObjectType=6\nSubNumber=1\n" + variable("00A0sub1", "UNSIGNED32", "7")
    assert values(read(text + variable("2001", "INTEGER8", "1"))) == {"0x2001:00": 1}


# Lines.


def test_keys_and_sections_are_known_in_any_case_and_spacing() -> None:
    text = "[ 1018 ]\nOBJECTTYPE = 9\nsubnumber= 1\n[1018 Sub 1]\ndatatype =7\nparametervalue = 3\n"
    assert values(read(text)) == {"0x1018:01": 3}


def test_comments_are_left_out() -> None:
    text = "; before\n[2001] ; heading\nDataType=5\n;ParameterValue=9\n  ; x\nParameterValue=1\n"
    content = read(text)
    assert values(content) == {"0x2001:00": 1}
    assert not content.skipped


@pytest.mark.parametrize("end", ["\n", "\r\n", "\r"])
def test_lines_end_in_any_way(end: str) -> None:
    text = variable("2001", "INTEGER8", "1").replace("\n", end)
    (entry,) = read(text).entries
    assert (entry.written, entry.line) == (1, 6)


@pytest.mark.parametrize(
    ("codec", "encoding"),
    [
        ("utf-8", "utf-8"),
        ("utf-8-sig", "utf-8-sig"),
        ("windows-1252", "windows-1252"),
        ("utf-16", "utf-16"),
    ],
)
def test_texts_are_read_in_their_encoding(codec: str, encoding: str) -> None:
    content = read(variable("2001", "VISIBLE_STRING", "Kühlung 5 µm").encode(codec))
    assert values(content) == {"0x2001:00": "Kühlung 5 µm"}
    assert content.encoding == encoding


def test_latin_1_holds_what_windows_1252_does_not() -> None:
    content = read(variable("2001", "VISIBLE_STRING", "a\x81b").encode("latin-1"))
    assert (values(content), content.encoding) == ({"0x2001:00": "a\x81b"}, "latin-1")


def test_the_encodings_of_the_family_go_first() -> None:
    text = variable("2001", "VISIBLE_STRING", "łódź").encode("cp1250")
    assert values(read(text, encoding=("utf-8", "cp1250"))) == {"0x2001:00": "łódź"}


def test_a_section_that_stands_twice_is_reported() -> None:
    text = variable("2001", "INTEGER8", "1") + variable("2001", "INTEGER8", "2")
    content = read(text)
    assert values(content) == {"0x2001:00": 1}
    assert [(line, "stands twice" in reason) for line, reason in skipped(content)] == [(7, True)]


def test_a_key_that_stands_twice_is_reported() -> None:
    content = read(variable("2001", "INTEGER8", "1", "parametervalue=2"))
    assert values(content) == {"0x2001:00": 1}
    assert [(line, "stands twice" in reason) for line, reason in skipped(content)] == [(7, True)]


def test_two_spellings_of_one_code_are_reported() -> None:
    text = "[2001]\nObjectType=9\n" + variable("2001sub1", "INTEGER8", "1")
    content = read(text + variable("2001sub01", "INTEGER8", "2"))
    assert values(content) == {"0x2001:01": 1}
    assert skipped(content) == [(14, "0x2001:01 is given already in line 8")]


def test_a_line_that_says_nothing_is_reported() -> None:
    content = read(variable("2001", "INTEGER8", "1", "What", "PDOMapping=0"))
    assert values(content) == {"0x2001:00": 1}
    assert skipped(content) == [(7, "this is neither a section, a key with '=', nor a comment")]


def test_what_follows_a_broken_heading_does_not_go_to_the_object_before() -> None:
    text = variable("2001", "INTEGER8", None, "DefaultValue=1") + "[2002\nParameterValue=9\n"
    content = read(text + variable("2003", "INTEGER8", "3"))
    assert values(content) == {"0x2001:00": 1, "0x2003:00": 3}
    assert [line for line, _ in skipped(content)] == [7]


def test_a_line_with_control_characters_is_reported() -> None:
    content = read(variable("2001", "INTEGER8", "1", "Denotation=a\x07b", "PDOMapping=0"))
    assert skipped(content) == [(7, "the line holds control characters")]


def test_a_sub_object_without_its_object_is_kept_and_reported() -> None:
    content = read(variable("2001sub1", "INTEGER8", "1"))
    assert values(content) == {"0x2001:01": 1}
    assert skipped(content) == [(1, "its object has no section of its own")]


# Files that are cut off.


@pytest.mark.parametrize("heading", ["MandatoryObjects", "OptionalObjects", "ManufacturerObjects"])
def test_a_listed_object_that_is_not_there_is_reported(heading: str) -> None:
    lists = f"[{heading}]\nSupportedObjects=2\n1=0x2001\n2=0x2002\n"
    content = read(lists + variable("2001", "INTEGER8", "1"))
    assert skipped(content) == [(4, f"object 2002h is listed, but not in the file: {CUT_OFF}")]


def test_missing_sub_objects_are_reported() -> None:
    text = "[2001]\nObjectType=8\nSubNumber=3\n" + variable("2001sub0", "UNSIGNED8", "2")
    assert skipped(read(text)) == [(1, f"1 of 3 sub-objects is there: {CUT_OFF}")]


@pytest.mark.parametrize("last", ["Param", "[200", "[2002sub", "=5"])
def test_a_broken_last_line_is_reported(last: str) -> None:
    ((line, reason),) = skipped(read(variable("2001", "INTEGER8", "1") + last))
    assert line == 7
    assert reason.endswith(CUT_OFF)


def test_a_last_line_that_ends_before_its_value_is_reported() -> None:
    text = variable("2001", "INTEGER8", None, "DefaultValue=1") + "ParameterValue="
    ((line, reason),) = skipped(read(text))
    assert (line, reason) == (7, f"the last line ends after '=': {CUT_OFF}")


def test_half_a_line_end_is_reported() -> None:
    text = variable("2001", "INTEGER8", "1").replace("\n", "\r\n")
    assert skipped(read(text[:-1])) == [(6, f"half a line end: {CUT_OFF}")]
    assert not skipped(read(text[:-2]))


def test_a_last_object_that_breaks_off_is_reported() -> None:
    content = read(variable("2001", "INTEGER8", "1") + "[2002]\nParameterName=Half\n")
    assert skipped(content) == [(7, f"the last object has no DataType: {CUT_OFF}")]


def test_a_list_of_values_that_breaks_off_is_reported() -> None:
    text = COMPACT.partition("[2050Name]")[0].replace("NrOfEntries=1", "NrOfEntries=2")
    assert skipped(read(text)) == [(8, f"1 of 2 values is there: {CUT_OFF}")]


def test_a_file_cut_between_any_two_objects_is_noticed() -> None:
    whole = dcf.write(content_of(*(number(f"0x20{n:02X}:00") for n in range(20))), dialect=None)
    assert not read(whole).skipped
    starts = [n for n in range(len(whole)) if whole.startswith(b"[20", n)]
    assert all(read(whole[:start]).skipped for start in starts[1:])


# What is no DCF.


@pytest.mark.parametrize("content", [b"", b" \r\n\n", b"\xef\xbb\xbf"])
def test_an_empty_file_is_unreadable(content: bytes) -> None:
    with pytest.raises(Unreadable, match=r"a\.dcf"):
        read(content)


@pytest.mark.parametrize(
    "content",
    [
        bytes(range(256)) * 20,
        random.Random(1).randbytes(5000),
        b"MZ\x90\x00\x03",
        b"\xff" * 300,
        HEAD.encode(),
        b"[section]\nkey=1\n",
        b"code;value\n0x2001:00;5\n",
    ],
)
def test_what_holds_no_object_is_unreadable(content: bytes) -> None:
    with pytest.raises(Unreadable):
        read(content)


def test_a_hostile_number_of_entries_is_unreadable() -> None:
    each = "ObjectType=8\nDataType=5\nDefaultValue=1\nCompactSubObj=254\n"
    text = "".join(f"[{index:04X}]\n{each}" for index in range(0x2000, 0x2400))
    with pytest.raises(Unreadable, match="more than 250000 entries"):
        read(text)


@given(st.binary(max_size=400))
def test_any_bytes_are_read_or_refused(content: bytes) -> None:
    try:
        read(b"[2001]\nDataType=5\n" + content)
    except Unreadable as error:
        assert error.file == "a.dcf"


# Recognition.


@pytest.mark.parametrize(
    "text",
    [
        "[FileInfo]\n",
        "; remark\r\n\r\n [deviceinfo]\r\n",
        "[DeviceCommissioning]\n",
        "[1000]\nParameterName=Device type\n",
    ],
)
@pytest.mark.parametrize("codec", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_dcf_is_recognised(text: str, codec: str) -> None:
    assert format_named("dcf").recognises(text.encode(codec), "a.txt")


@pytest.mark.parametrize(
    "content", [b"", b"Code;Value\n1000;5\n", b"[Axis 1]\nA=1\n", b"[1000]\n[beef]\n", b"\0\1\2"]
)
def test_other_files_are_not_recognised(content: bytes) -> None:
    assert not format_named("dcf").recognises(content, "a.dcf")


def test_only_the_head_is_looked_at() -> None:
    assert not dcf.recognises(b"; \xc3\xa4\n" * 20_000 + b"[FileInfo]\n", "a.dcf")


# Nameplate.

IDENTITY = (
    "[DeviceInfo]\nVendorName=Invented\nProductName=Servo\nOrderCode=OC-7\n"
    "[DeviceComissioning]\nNodeID=0x05\nNodeName=lift\nBaudrate=500\n"
    + variable("1008", "VISIBLE_STRING", "SV-7")
    + variable("1009", "VISIBLE_STRING", "B2")
    + variable("100A", "VISIBLE_STRING", "3.1.0")
    + "[1018]\nObjectType=9\nSubNumber=1\n"
    + variable("1018sub4", "UNSIGNED32", "0x10")
    + variable("2001", "VISIBLE_STRING", "MOT-1")
)


def test_the_nameplate_comes_from_the_standard_places() -> None:
    assert read(IDENTITY).nameplate == {
        "vendor": "Invented",
        "product": "Servo",
        "drive": "SV-7",
        "node_id": "5",
        "node_name": "lift",
        "bit_rate": "500",
        "hardware": "B2",
        "firmware": "3.1.0",
        "serial": "16",
    }


def test_a_family_names_further_places_and_overrides() -> None:
    places = {
        "0x2001:00": "motor",
        "deviceinfo.ordercode": "drive",
        "DeviceCommissioning.NodeID": "node_id",
        "0x2002:00": "encoder",
    }
    plate = read(IDENTITY, nameplate=places).nameplate
    assert (plate["motor"], plate["drive"], plate["node_id"]) == ("MOT-1", "OC-7", "5")
    assert "encoder" not in plate


def test_a_serial_number_of_zero_is_none() -> None:
    text = "[1018]\nObjectType=9\n" + variable("1018sub4", "UNSIGNED32", "0")
    assert "serial" not in read(text).nameplate


def test_the_dates_of_the_file_are_not_taken_for_the_time_of_the_export() -> None:
    text = "[FileInfo]\nCreationDate=05-24-2024\nModificationTime=07:31PM\n"
    assert read(text + variable("2001", "INTEGER8", "1")).taken_at is None


# Several axes: CiA 402 places axis n at 6000h + n x 800h.

AXES = (
    variable("2001", "INTEGER8", "1")
    + variable("6065", "INTEGER8", "10")
    + variable("6865", "INTEGER8", "20")
    + variable("7065", "INTEGER8", "300")
    + variable("9FFF", "INTEGER8", "40")
)


def test_an_axis_is_read_at_the_addresses_of_the_first() -> None:
    content = read(AXES, channel=1)
    assert values(content) == {"0x2001:00": 1, "0x6065:00": 20}
    assert (content.channel, content.channels) == (1, (0, 1, 7))
    assert values(read(AXES, channel=0)) == {"0x2001:00": 1, "0x6065:00": 10}
    assert values(read(AXES, channel=7)) == {"0x2001:00": 1, "0x67FF:00": 40}


def test_a_bad_entry_of_another_axis_is_not_reported() -> None:
    assert not read(AXES, channel=1).skipped


def test_a_bad_entry_of_the_axis_is_reported() -> None:
    content = read(AXES + variable("7066", "INTEGER8", "1"), channel=2)
    assert values(content) == {"0x2001:00": 1, "0x6066:00": 1}
    assert [line for line, _ in skipped(content)] == [24]


def test_one_of_several_axes_must_be_chosen() -> None:
    with pytest.raises(WrongUsage, match=r"channels 0, 1, 7"):
        read(AXES)


def test_an_axis_that_is_not_there_is_refused() -> None:
    with pytest.raises(WrongUsage, match=r"no channel 3: it holds 0, 1, 7"):
        read(AXES, channel=3)


def test_a_file_of_one_axis_has_no_channels() -> None:
    content = read(variable("6065", "INTEGER8", "10"))
    assert (content.channel, content.channels) == (None, ())


def test_an_axis_is_written_back_at_its_own_addresses() -> None:
    content = read(AXES, channel=1)
    text = dcf.write(content, dialect=None)
    assert b"[6865]" in text
    assert values(read(text)) == values(content)


# Against the library canopen, which writes and reads DCF on its own.

CANOPEN_TYPES = [
    name
    for name, kind in BY_NAME.items()
    # The library spells these as numbers, but has no codec for them.
    if name not in ("TIME_OF_DAY", "TIME_DIFFERENCE")
]


def random_value(kind: str, dice: random.Random) -> Any:
    found = BY_NAME[kind]
    if found.low is not None and found.high is not None:
        small = dice.randint(max(found.low, -20), min(found.high, 20))
        return dice.choice([found.low, found.high, small, dice.randint(found.low, found.high)])
    if found.family == "real":
        return dice.choice([0.0, -1.5, 1e-9, 12345.678, dice.uniform(-1e6, 1e6)])
    if found.family == "octets":
        return dice.randbytes(dice.randint(1, 12))
    letters = "abc XYZ 0123 =;[]%#$ " + ("äß✓" if kind == "UNICODE_STRING" else "")
    return f"x{''.join(dice.choices(letters, k=8))}x"


def as_ours(value: Any) -> Scalar:
    if isinstance(value, bytes):
        return value.hex()
    return Decimal(repr(value)) if isinstance(value, float) else value


def put(od: Any, parent: Any, index: int, sub: int, kind: str, value: Any) -> str:
    entry = ODVariable(f"{kind} {index:04X} {sub}", index, sub)
    entry.data_type = NUMBERS[kind]
    entry.access_type = "rw"
    entry.value = value
    (od.add_object if parent is None else parent.add_member)(entry)
    return f"0x{index:04X}:{sub:02X}"


@pytest.mark.parametrize("seed", range(5))
def test_a_dcf_of_the_library_reads_back_with_the_values_put_in(seed: int) -> None:
    dice = random.Random(seed)
    od: Any = canopen.ObjectDictionary()
    od.node_id, od.bitrate = 7, 500_000
    expected: dict[str, Any] = {}
    for index in range(0x2000, 0x2000 + 200):
        kind = dice.choice(CANOPEN_TYPES)
        value = random_value(kind, dice)
        expected[put(od, None, index, 0, kind, value)] = (kind, as_ours(value))
    for index in range(0x6000, 0x6000 + 40):
        record = ODRecord(f"Record {index:04X}", index)
        od.add_object(record)
        for sub in range(dice.randint(1, 5)):
            kind = dice.choice(CANOPEN_TYPES)
            value = random_value(kind, dice)
            expected[put(od, record, index, sub, kind, value)] = (kind, as_ours(value))
    assert {kind for kind, _ in expected.values()} == set(CANOPEN_TYPES)
    text = io.StringIO()
    export_dcf(od, text, {})  # else it adds the head of an export before
    content = read(text.getvalue())
    assert not content.skipped
    assert {e.code: (e.data_type, e.written) for e in content.entries} == expected
    assert (content.nameplate["node_id"], content.nameplate["bit_rate"]) == ("7", "500")


def library_reads(content: bytes | str, node_id: int | None = None) -> dict[str, Any]:
    """Variables of a file as canopen reads it, by code, with a value or default."""
    text = content if isinstance(content, str) else content.decode()
    source: Any = io.StringIO(text.replace("\r\n", "\n"))
    source.name = "a.dcf"
    found: dict[str, Any] = {}
    for thing in canopen.import_od(source, node_id).values():
        for one in [thing] if isinstance(thing, ODVariable) else thing.subindices.values():
            value = one.value if one.value is not None else one.default
            if value is not None:
                found[f"0x{one.index:04X}:{one.subindex:02X}"] = (one, value)
    return found


def differences(text: str) -> tuple[dict[str, tuple[Scalar, Any]], int]:
    """Codes whose value we read differently from canopen, and how many agree."""
    ours, agreed, different = read(text).entries, 0, {}
    theirs = library_reads(text)
    for entry in ours:
        if entry.code not in theirs:
            continue
        found = theirs[entry.code][1]
        known = float(entry.written) if isinstance(entry.written, Decimal) else entry.written
        if known == (found.hex() if isinstance(found, bytes) else found):
            agreed += 1
        else:
            different[entry.code] = (entry.written, found)
    return different, agreed


def test_we_agree_with_the_library_on_every_spelling_that_it_knows() -> None:
    spellings = [
        ("UNSIGNED32", "0x64"), ("UNSIGNED32", "100"), ("INTEGER32", "-100"), ("INTEGER8", "0x7F"),
        ("INTEGER16", "-0x5"), ("UNSIGNED32", "$NODEID+0x600"),
        ("UNSIGNED32", "0x600+$NODEID"), ("UNSIGNED32", "$nodeid + 0x10"), ("BOOLEAN", "1"),
        ("REAL32", "5.200000"), ("REAL64", "1e-3"), ("VISIBLE_STRING", "a = b"),
        ("UNICODE_STRING", "✓"), ("OCTET_STRING", "0A ff"), ("DOMAIN", "0102"),
    ]  # fmt: skip
    lines = [variable(f"{0x2000 + n:04X}", *one) for n, one in enumerate(spellings)]
    text = HEAD + NODE + "".join(lines)
    assert differences(text) == ({}, len(spellings))


def test_we_differ_from_the_library_where_it_misreads_negative_hex_and_octal() -> None:
    text = HEAD + variable("2001", "INTEGER8", "0xFF") + variable("2002", "INTEGER8", "0x-5")
    text += variable("2003", "UNSIGNED8", "017")
    assert values(read(text)) == {"0x2001:00": -1, "0x2002:00": -5, "0x2003:00": 15}
    assert {code: value for code, (_, value) in library_reads(text).items()} == {"0x2001:00": 255}


@pytest.fixture(scope="session")
def library_files(tmp_path_factory: pytest.TempPathFactory) -> list[str]:
    """The EDS files that the source distribution of canopen holds, of whichever version we use.

    They are other people's files, so they are fetched, not kept here. The one reason to skip is
    that pip gets no source distribution, as on a machine without a package registry.
    """
    try:
        return list(shipped(tmp_path_factory.mktemp("canopen")).values())
    except NotFetched as why:
        pytest.skip(f"DID NOT RUN: {why}")


def test_we_agree_with_the_library_on_the_files_of_its_own_tests(library_files: list[str]) -> None:
    agreed = 0
    for text in library_files:
        different, same = differences(text)
        agreed += same
        kinds = {entry.code: entry.data_type or "" for entry in read(text).entries}
        for code, (ours, found) in different.items():  # it takes negative hex for a large number
            kind = BY_NAME[kinds[code]]
            assert kind.family == "integer", code
            assert ours == found - 2**kind.bits, code
    assert len(library_files) >= 3
    assert agreed > 500


def test_what_we_leave_out_of_those_files_is_reported(library_files: list[str]) -> None:
    for text in library_files:
        content, lines = read(text), text.splitlines()
        reported = "\n".join(lines[bad.line - 1] for bad in content.skipped)
        theirs = library_reads(text)
        for code in theirs.keys() - values(content).keys():
            variable = theirs[code][0]
            # Either its value, or its type: one that has no name in CiA 301.
            assert variable.default_raw in reported or "DataType=0x40" in reported, code


# Writing.


def number(code: str, written: Scalar = 1, **more: Any) -> Entry:
    return Entry(code, written, 0, **{"data_type": "INTEGER32", "access": "rw", **more})


def content_of(*entries: Entry, **more: Any) -> Listing:
    return Listing("dcf", entries, **more)


@settings(max_examples=part_of(80, 2), deadline=None)
@given(CONTENTS, PLATES, st.sampled_from(["utf-8", "utf-8-sig", "utf-16"]))
def test_what_is_written_reads_back(
    some: tuple[Entry, ...], plate: dict[str, str], encoding: str
) -> None:
    content = content_of(*some, nameplate=plate, encoding=encoding)
    written = dcf.write(content, dialect=None)
    back = read(written)
    assert not back.skipped
    assert [said(entry) for entry in back.entries] == [said(entry) for entry in some]
    assert plate.items() <= back.nameplate.items()
    assert back.encoding == encoding or written.isascii()
    assert dcf.write(back, dialect=None) == written


@settings(max_examples=part_of(60, 2), deadline=None)
@given(CONTENTS)
def test_the_library_reads_what_is_written(some: tuple[Entry, ...]) -> None:
    theirs = library_reads(dcf.write(content_of(*some), dialect=None))
    for entry in some:
        family = BY_NAME[entry.data_type or ""].family
        if BY_NAME[entry.data_type or ""].bits == 48 and family == "octets":
            continue  # times: the library has no codec
        if family == "text" and ";" in str(entry.written):
            continue  # the library takes this for a comment
        one, value = theirs[entry.code]
        assert (value.hex() if isinstance(value, bytes) else value) == (
            float(entry.written) if family == "real" else entry.written
        )
        assert one.data_type == NUMBERS[entry.data_type or ""]
        assert one.access_type == entry.access
        assert one.name == entry.name or ";" in entry.name


def test_lines_end_with_cr_lf() -> None:
    text = dcf.write(content_of(number("0x2001:00")), dialect=None)
    assert text.count(b"\n") == text.count(b"\r\n") > 10


def test_the_nameplate_is_written_where_the_family_reads_it() -> None:
    places = {"deviceinfo.ordercode": "motor", "DeviceCommissioning.NodeName": "axis_name"}
    rules = ExportDialect(format="dcf", nameplate={**places, "0x2001:00": "encoder"})
    plate = {"motor": "MOT-1", "axis_name": "lift", "node_id": "9"}
    content = content_of(number("0x2002:00"), nameplate=plate)
    back = read(dcf.write(content, dialect=rules), nameplate=rules.nameplate)
    assert plate.items() <= back.nameplate.items()
    assert not back.skipped


@pytest.mark.parametrize(
    ("written", "kind"),
    [
        (5, "INTEGER32"),
        (-(2**31), "INTEGER32"),
        (2**31, "UNSIGNED32"),
        (-(2**31) - 1, "INTEGER64"),
        (2**63, "UNSIGNED64"),
        (Decimal("0.5"), "REAL64"),
        ("text", "VISIBLE_STRING"),
        ("✓", "UNICODE_STRING"),
    ],
)
def test_an_entry_without_data_type_gets_one_that_fits(written: Scalar, kind: str) -> None:
    entry = number("0x2001:00", written, data_type=None)
    (back,) = read(dcf.write(content_of(entry), dialect=None)).entries
    assert (back.written, back.data_type) == (written, kind)


def test_the_fitting_data_type_holds_the_limits_too() -> None:
    entry = number("0x2001:00", 5, data_type=None, high=2**32 - 1)
    (back,) = read(dcf.write(content_of(entry), dialect=None)).entries
    assert (back.written, back.high, back.data_type) == (5, 2**32 - 1, "UNSIGNED32")


@pytest.mark.parametrize(
    "entry",
    [
        number("P-01"),
        number("0x0005:00"),
        number("0x2001:00", 2**31),
        number("0x2001:00", 2**64, data_type=None),
        number("0x2001:00", Decimal("0.5")),
        number("0x2001:00", Decimal("1E+999999")),
        number("0x2001:00", "text"),
        number("0x2001:00", 1, high=2**40),
        number("0x2001:00", 5, data_type="VISIBLE_STRING"),
        number("0x2001:00", " blank", data_type="VISIBLE_STRING"),
        number("0x2001:00", "a\nb", data_type="VISIBLE_STRING"),
        number("0x2001:00", "a\x00b", data_type="VISIBLE_STRING"),
        number("0x2001:00", "", data_type="OCTET_STRING"),
        number("0x2001:00", "ABCD", data_type="OCTET_STRING"),
        number("0x2001:00", Decimal("NaN"), data_type="REAL32"),
        number("0x2001:00", Decimal("1E+39"), data_type="REAL32"),
        number("0x2001:00", 1, data_type="FLOAT"),
        number("0x2001:00", 1, name="two\r\nlines"),
    ],
)
def test_an_entry_that_cannot_be_written_is_named(entry: Entry) -> None:
    with pytest.raises(WrongUsage, match=entry.code):
        dcf.write(content_of(entry), dialect=None)


def test_a_code_that_is_there_twice_is_named() -> None:
    with pytest.raises(WrongUsage, match="0x2001:00"):
        dcf.write(content_of(number("0x2001:00"), number("0x2001:00", 2)), dialect=None)


@pytest.mark.parametrize(
    "plate", [{"node_id": "0x05"}, {"bit_rate": "1 MBit/s"}, {"vendor": "a\nb"}]
)
def test_a_nameplate_field_that_cannot_be_written_is_named(plate: dict[str, str]) -> None:
    with pytest.raises(WrongUsage, match=next(iter(plate))):
        dcf.write(content_of(number("0x2001:00"), nameplate=plate), dialect=None)


def test_scaled_values_are_not_written_as_raw_contents() -> None:
    with pytest.raises(WrongUsage, match="raw"):
        dcf.write(content_of(number("0x2001:00"), holds="value"), dialect=None)


@pytest.mark.parametrize(("text", "encoding"), [("✓", "windows-1252"), ("Ã¤", "windows-1252")])
def test_a_text_that_its_encoding_does_not_keep_is_refused(text: str, encoding: str) -> None:
    entry = number("0x2001:00", text, data_type="VISIBLE_STRING")
    with pytest.raises(WrongUsage, match=encoding):
        dcf.write(content_of(entry, encoding=encoding), dialect=None)
