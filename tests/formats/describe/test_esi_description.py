"""ESI as a description: an invented drive. ETG.2000, from memory."""

from __future__ import annotations

import struct
from decimal import Decimal
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.description_texts import ESI, TWO_DEVICES
from vault.formats.describe.description import DescribedParameter, Description
from vault.formats.describe.esi import device_names, read_esi
from vault.model.errors import Unreadable, WrongUsage

LINES = ESI.splitlines()


def read(text: str = ESI, device: str | None = None) -> Description:
    return read_esi(text.encode(), file="hazel.xml", device=device)


@pytest.fixture(scope="module")
def hazel() -> Description:
    return read()


def parameter(described: Description, code: str) -> DescribedParameter:
    return next(one for one in described.parameters if one.code == code)


def test_every_object_is_there_by_its_number_and_parts(hazel: Description) -> None:
    assert [one.code for one in hazel.parameters] == [
        "0x6065:00", "0x6098:00", "0x6099:00", "0x6099:01", "0x6099:02",
        "0x2010:00", "0x2010:01", "0x2010:02", "0x2010:03", "0x2020:00", "0x2021:00",
    ]  # fmt: skip
    indices = {one.text or "" for one in ElementTree.fromstring(ESI).iter("Index")}
    numbers = {int(one.replace("#x", "0x"), 0) for one in indices}
    assert {int(one.code[2:6], 16) for one in hazel.parameters} == numbers
    assert not hazel.skipped


def test_a_plain_object_has_range_default_unit_and_access(hazel: Description) -> None:
    window = parameter(hazel, "0x6065:00")
    assert (window.name, window.data_type) == ("Following error window", "UNSIGNED32")
    assert (window.low, window.high, window.default) == (1, 100_000, 5000)
    assert (window.unit, window.access, window.is_mappable) == ("mm", "rw", True)
    assert window.help == "Beyond it the drive trips"
    assert LINES[window.line - 1].strip().startswith("<Info><MinData>")


def test_an_enumeration_gives_choices_and_its_base_type(hazel: Description) -> None:
    method = parameter(hazel, "0x6098:00")
    assert (method.data_type, method.choices) == ("INTEGER8", {0: "Off", 6: "Homing"})
    assert (method.default, method.unit) == (-3, "none")


def test_a_record_has_its_parts_by_number_or_by_name(hazel: Description) -> None:
    parts = [parameter(hazel, f"0x6099:0{sub}") for sub in range(3)]
    assert [one.default for one in parts] == [2, 100, -7]
    assert [one.name for one in parts[1:]] == ["Speed for switch", "Speed for index"]
    assert [one.access for one in parts] == ["ro", "rw", "rw"]
    assert [one.is_mappable for one in parts] == [False, True, False]
    assert [one.is_count for one in parts] == [True, False, False]
    assert {one.group for one in parts} == {"Homing speeds"}


def test_an_array_has_as_many_parts_as_its_type_says(hazel: Description) -> None:
    parts = [parameter(hazel, f"0x2010:0{sub}") for sub in range(4)]
    assert [one.default for one in parts] == [3, 1, -2, None]
    assert [one.name for one in parts[1:]] == ["Depth", "Notch 2", "Notch 3"]
    assert {one.data_type for one in parts[1:]} == {"INTEGER16"}
    assert {one.access for one in parts[1:]} == {"wo"}


def test_texts_and_reals_are_read_from_their_bytes(hazel: Description) -> None:
    assert parameter(hazel, "0x2020:00").default == "ab1"
    assert parameter(hazel, "0x2021:00").default == Decimal("0.1")


@given(st.integers(-(2**31), 2**31 - 1))
def test_default_data_is_little_endian(number: int) -> None:
    text = ESI.replace("F9FFFFFF", struct.pack("<i", number).hex())
    assert parameter(read(text), "0x6099:02").default == number


@given(st.floats(width=32, allow_nan=False, allow_infinity=False))
def test_default_data_of_a_real_is_the_number_that_packs_to_it(number: float) -> None:
    packed = struct.pack("<f", number)
    found = parameter(read(ESI.replace("CDCCCC3D", packed.hex())), "0x2021:00").default
    assert isinstance(found, Decimal)
    assert struct.pack("<f", float(found)) == packed


def test_the_device_is_named(hazel: Description) -> None:
    assert (hazel.kind, hazel.title, hazel.vendor) == ("esi", "Hazel 5", "Invented")
    assert (hazel.product, hazel.version) == ("HZ-5", "#x00010000")


def test_of_several_devices_one_must_be_named() -> None:
    with pytest.raises(WrongUsage, match="2 devices: HZ-5 #x00010000, HZ-7 #x00010000") as caught:
        read(TWO_DEVICES)
    assert "--device" in (caught.value.hint or "")
    assert device_names(TWO_DEVICES.encode(), file="a.xml") == (
        "HZ-5 #x00010000",
        "HZ-7 #x00010000",
    )


@pytest.mark.parametrize("name", ["HZ-7", "hazel 7", "HZ-7 #x00010000"])
def test_a_device_is_named_by_type_name_or_revision(name: str) -> None:
    found = read(TWO_DEVICES, name)
    assert [one.code for one in found.parameters] == ["0x6060:00"]


def test_a_device_that_is_not_there_is_refused() -> None:
    with pytest.raises(WrongUsage, match="no device 'HZ-9'"):
        read(TWO_DEVICES, "HZ-9")


def test_revisions_of_one_type_are_told_apart() -> None:
    twice = TWO_DEVICES.replace("HZ-7", "HZ-5").replace(
        'x00000007" RevisionNo="#x00010000', 'x00000005" RevisionNo="#x00020000'
    )
    with pytest.raises(WrongUsage, match="#x00010000, HZ-5 #x00020000"):
        read(twice, "HZ-5")
    assert read(twice, "HZ-5 #x00020000").version == "#x00020000"


@pytest.mark.parametrize(
    ("old", "new", "reason", "lost"),
    [
        ("<Index>#x2021</Index>", "<Index>two</Index>", "no whole number", 1),
        ("88130000", "8813", "has 2 bytes; UNSIGNED32 has 4", 0),
        ("88130000", "many", "no row of bytes in hex", 0),
        ("<DefaultValue>-3<", "<DefaultValue>-300<", "lies outside INTEGER8", 0),
        ("CDCCCC3D", "0000C07F", "no finite number", 0),
        ("<Type>REAL</Type>", "<Type>ODD</Type>", "data type is not known: ODD", 0),
        ("<LBound>1<", "<LBound>254<", "no sub-index 256", 4),
        ("<Index>#x2021<", "<Index>#x2020<", "given already", 1),
    ],
)
def test_what_cannot_be_read_is_told_with_its_line_and_hides_nothing_else(
    hazel: Description, old: str, new: str, reason: str, lost: int
) -> None:
    assert old in ESI
    found = read(ESI.replace(old, new))
    (told,) = found.skipped
    assert reason in told.reason
    assert told.line
    assert len(found.parameters) == len(hazel.parameters) - lost


def test_a_device_whose_objects_are_elsewhere_says_where() -> None:
    start, end = ESI.index("     <Dictionary>"), ESI.index("    </Profile>")
    text = f"{ESI[:start]}<DictionaryFile>hazel_od.xml</DictionaryFile>{ESI[end:]}"
    with pytest.raises(Unreadable, match="no objects in it") as caught:
        read(text)
    assert "hazel_od.xml" in (caught.value.hint or "")


def test_a_file_without_devices_is_refused() -> None:
    with pytest.raises(Unreadable, match="no device in it"):
        read("<EtherCATInfo/>")


def test_types_that_refer_to_each_other_come_to_an_end() -> None:
    circle = "<DataType><Name>A</Name><BaseType>B</BaseType></DataType>"
    circle += "<DataType><Name>B</Name><BaseType>A</BaseType></DataType>"
    text = ESI.replace("<DataTypes>", f"<DataTypes>{circle}").replace("<Type>REAL<", "<Type>A<")
    assert parameter(read(text), "0x2021:00").data_type is None


@pytest.mark.parametrize("spelled", ["#x00006065", "#x6065", "0x6065", "24677", "#X0000006065"])
def test_an_index_is_a_number_however_many_digits_it_has(spelled: str) -> None:
    assert (
        parameter(read(ESI.replace("<Index>#x6065<", f"<Index>{spelled}<")), "0x6065:00").low == 1
    )


@given(
    st.sampled_from(
        [("USINT", "<B"), ("INT", "<h"), ("UINT", "<H"), ("UDINT", "<I"), ("LINT", "<q")]
    ),
    st.data(),
)
def test_limits_and_default_are_little_endian_of_every_size(
    kind: tuple[str, str], data: st.DataObject
) -> None:
    """Held against `struct`; an object that a hypothesis draws, its bytes in hex."""
    name, form = kind
    size = struct.calcsize(form)
    low, default, high = sorted(
        data.draw(st.binary(min_size=size, max_size=size)) for _ in range(3)
    )
    info = "".join(
        f"<{what}Data>{octets.hex().upper()}</{what}Data>"
        for what, octets in (("Min", low), ("Max", high), ("Default", default))
    )
    added = f"<Object><Index>#x3000</Index><Name>A</Name><Type>{name}</Type><Info>{info}</Info>"
    found = parameter(read(ESI.replace("</Objects>", f"{added}</Object></Objects>")), "0x3000:00")
    assert (found.low, found.high, found.default) == tuple(
        struct.unpack(form, octets)[0] for octets in (low, high, default)
    )


INFO = "<SubItem><Name>{}</Name><Info><DefaultData>{}</DefaultData></Info></SubItem>"


def notch(*items: tuple[str, str]) -> Description:
    """The description with other texts for the array 2010h: names and defaults, in this order."""
    start = ESI.index("<Info>", ESI.index("<Index>#x2010<"))
    end = ESI.index("</Info></SubItem>\n        </Info>", start) + len(
        "</Info></SubItem>\n        "
    )
    text = "".join(INFO.format(*item) for item in items)
    return read(f"{ESI[:start]}<Info>{text}{ESI[end:]}")


def test_sub_objects_are_told_apart_by_number_in_any_order() -> None:
    found = notch(("SubIndex 003", "0300"), ("SubIndex 001", "0100"))
    assert [parameter(found, f"0x2010:0{sub}").default for sub in range(4)] == [None, 1, None, 3]
    assert not found.skipped


def test_names_that_two_sub_objects_have_count_by_their_place() -> None:
    found = notch(("SubIndex 000", "03"), ("Depth", "0100"), ("Depth", "0200"), ("Width", "0300"))
    assert [parameter(found, f"0x2010:0{sub}").default for sub in range(4)] == [3, 1, 2, 3]


@pytest.mark.parametrize(
    "items",
    [
        [("Depth", "0100"), ("Width", "0200")],
        [("SubIndex 002", "0200"), ("Depth", "0100")],
    ],
)
def test_a_default_is_left_out_where_nobody_can_tell_whose_it_is(
    items: list[tuple[str, str]],
) -> None:
    found = notch(*items)
    assert all("cannot be told" in told.reason for told in found.skipped)
    assert found.skipped
    assert parameter(found, "0x2010:01").default is None


def test_each_dictionary_of_a_device_has_its_own_data_types() -> None:
    second = (
        "<Profile><Dictionary><DataTypes><DataType><Name>DTMODE</Name><BaseType>UINT</BaseType>"
        "</DataType></DataTypes><Objects>"
        "<Object><Index>#x6898</Index><Name>Homing method</Name><Type>DTMODE</Type></Object>"
        "<Object><Index>#x2810</Index><Name>Notch</Name><Type>DT2010</Type></Object>"
        "</Objects></Dictionary></Profile>"
    )
    found = read(ESI.replace("   </Device>", f"{second}</Device>"))
    assert parameter(found, "0x6098:00").data_type == "INTEGER8"
    assert parameter(found, "0x6898:00").data_type == "UNSIGNED16"
    assert parameter(found, "0x2810:03").data_type == "INTEGER16"  # from the other one


def test_more_objects_than_fit_are_refused_though_they_are_the_same_ones() -> None:
    """Each would bring 256 sub-objects, and a remark for every one of them."""
    array = (
        "<DataType><Name>BIG</Name><BaseType>INT</BaseType><ArrayInfo><LBound>0</LBound>"
        "<Elements>256</Elements></ArrayInfo></DataType><DataType><Name>R</Name>"
        "<SubItem><Name>Elements</Name><Type>BIG</Type></SubItem></DataType>"
    )
    same = "<Object><Index>#x3000</Index><Type>R</Type></Object>" * 1000
    text = ESI.replace("<DataTypes>", f"<DataTypes>{array}").replace(
        "<Objects>", f"<Objects>{same}"
    )
    with pytest.raises(Unreadable, match="more than 250000 objects") as caught:
        read(text)
    assert caught.value.line


def test_a_record_of_more_parts_than_there_can_be_is_told() -> None:
    many = "<SubItem><SubIdx>1</SubIdx><Name>A</Name><Type>INT</Type></SubItem>" * 300
    record = f"<DataType><Name>R</Name>{many}</DataType>"
    text = ESI.replace("<DataTypes>", f"<DataTypes>{record}").replace("<Type>REAL<", "<Type>R<")
    (told,) = read(text).skipped
    assert "no sub-index 256" in told.reason


def test_names_of_values_are_read_once_for_all_objects() -> None:
    found = read(
        ESI.replace("<Objects>", "<Objects>" + "".join(
            f"<Object><Index>{index}</Index><Name>A</Name><Type>DTMODE</Type></Object>"
            for index in range(0x3000, 0x3010)
        ))
    )  # fmt: skip
    first, *others = (one for one in found.parameters if one.code.startswith("0x30"))
    assert first.choices == {0: "Off", 6: "Homing"}
    assert all(one.choices is first.choices for one in others)
