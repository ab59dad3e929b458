"""XDD as a description: an invented drive, held against ElementTree. CiA 311, from memory."""

from __future__ import annotations

from decimal import Decimal
from xml.etree import ElementTree

import pytest

from tests.description_texts import XDC, XDD
from vault.formats.describe.description import DescribedParameter, Description
from vault.formats.describe.xdd import read_xdd
from vault.model.errors import Unreadable


@pytest.fixture(scope="module")
def hazel() -> Description:
    return read_xdd(XDD.encode(), file="hazel.xdd")


def parameter(described: Description, code: str) -> DescribedParameter:
    return next(one for one in described.objects if one.code == code)


def test_every_object_of_the_file_is_there_by_its_line(hazel: Description) -> None:
    """Sub-objects and objects without any, from 1000h on, as ElementTree finds them."""
    wanted = []
    for whole in ElementTree.fromstring(XDD).iter("{http://www.canopen.org/xml/1.0}CANopenObject"):
        index = whole.attrib["index"]
        subs = [sub.attrib["subIndex"] for sub in whole] or ["00"]
        wanted += [f"0x{index}:{sub}" for sub in subs if index >= "1000"]
    assert [one.code for one in hazel.objects] == wanted
    lines = XDD.splitlines()
    for one in hazel.objects:
        key = f'subIndex="{one.code[7:]}"' if one.code.startswith("0x6099") else one.code[2:6]
        assert key in lines[one.line - 1]


def test_a_parameter_has_what_the_parameter_list_says(hazel: Description) -> None:
    window = parameter(hazel, "0x6065:00")
    assert (window.name, window.group) == ("Following error", "Supervision")
    assert (window.unit, window.scale) == ("mm", Decimal("0.05"))
    assert (window.low, window.high, window.default) == (0, 90000, 5000)
    assert window.help == "Beyond it the drive trips; restart: needed"
    assert (window.access, window.is_mappable) == ("rw", True)


def test_choices_come_from_allowed_values_or_the_enumeration_in_english(
    hazel: Description,
) -> None:
    assert parameter(hazel, "0x2010:00").choices == {0: "Off", 1: "Notch"}
    assert parameter(hazel, "0x2012:00").choices == {0: "Released", 1: "Applied"}


def test_what_the_object_leaves_open_comes_from_its_parameter_and_its_template(
    hazel: Description,
) -> None:
    trim = parameter(hazel, "0x2011:00")
    assert (trim.name, trim.data_type, trim.access) == ("Torque trim", "INTEGER8", "ro")
    assert (trim.low, trim.high, trim.unit, trim.scale) == (-50, 50, "%", None)


def test_numbers_are_spelled_as_in_an_eds(hazel: Description) -> None:
    speed = parameter(hazel, "0x6099:02")
    assert (speed.low, speed.default, speed.group) == (-(2**31), -7, "Homing speeds")
    assert parameter(hazel, "0x1014:00").default is None
    assert parameter(hazel, "0x2020:00").default == "lift & turn"
    assert [one.code for one in hazel.objects if one.is_count] == ["0x6099:00"]


def test_a_scaling_with_an_offset_is_told_and_left_out(hazel: Description) -> None:
    assert parameter(hazel, "0x2012:00").scale is None
    (told,) = hazel.skipped
    assert "offset 5" in told.reason
    assert 'uniqueID="P4"' in XDD.splitlines()[told.line - 1]


def test_the_device_is_named(hazel: Description) -> None:
    assert (hazel.kind, hazel.title, hazel.vendor) == ("xdd", "Hazel 5", "Invented")
    assert (hazel.product, hazel.version) == ("HZ-5", "2")


def test_of_a_configuration_the_values_are_left_aside(hazel: Description) -> None:
    configuration = read_xdd(XDC.encode(), file="hazel.xdc")
    assert configuration.kind == "xdc"
    assert [one.default for one in configuration.objects if one.code != "0x1014:00"] == [
        one.default for one in hazel.objects if one.code != "0x1014:00"
    ]
    assert parameter(configuration, "0x1014:00").default == 0x85  # it states its node id


@pytest.mark.parametrize(
    ("old", "new", "reason"),
    [
        ('index="6065"', 'index="65"', "four digits in hex"),
        ('subIndex="01"', 'subIndex="x"', "two digits in hex"),
        ('dataType="0004"', 'dataType="00FF"', "unknown data type 00FF"),
        ('highLimit="0x1000"', 'highLimit="high"', "no whole number"),
        ('uniqueIDRef="P2"', 'uniqueIDRef="P9"', "no parameter 'P9'"),
        ('subIndex="02"', 'subIndex="01"', "given already"),
        ('multiplier="0.5"', 'multiplier="half"', "no number"),
        ('enumValue value="0"', 'enumValue value="nil"', "no whole number"),
    ],
)
def test_what_cannot_be_read_is_told_with_its_line_and_hides_nothing_else(
    hazel: Description, old: str, new: str, reason: str
) -> None:
    found = read_xdd(XDD.replace(old, new).encode(), file="hazel.xdd")
    (told,) = [one for one in found.skipped if "offset" not in one.reason]
    assert reason in told.reason
    assert told.line <= XDD[: XDD.index(old)].count("\n") + 1 <= told.line + 1
    assert len(found.objects) >= len(hazel.objects) - 1


def test_a_file_without_objects_is_refused() -> None:
    with pytest.raises(Unreadable, match="no CANopenObject"):
        read_xdd(b"<ISO15745ProfileContainer/>", file="a.xdd")
