"""XDD as a description: an invented drive, held against ElementTree. CiA 311, from memory."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction
from xml.etree import ElementTree

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.description_texts import XDC, XDD
from vault.formats.describe.description import DescribedParameter, Description, Scaling
from vault.formats.describe.xdd import read_xdd
from vault.model.errors import Unreadable

DECIMALS = st.decimals(-(10**20), 10**20, places=15).filter(bool).map(lambda one: f"{one:f}")


@pytest.fixture(scope="module")
def hazel() -> Description:
    return read_xdd(XDD.encode(), file="hazel.xdd")


def parameter(described: Description, code: str) -> DescribedParameter:
    return next(one for one in described.parameters if one.code == code)


def test_every_object_of_the_file_is_there_by_its_line(hazel: Description) -> None:
    """Sub-objects and objects without any, from 1000h on, as ElementTree finds them."""
    wanted = []
    for whole in ElementTree.fromstring(XDD).iter("{http://www.canopen.org/xml/1.0}CANopenObject"):
        index = whole.attrib["index"]
        subs = [sub.attrib["subIndex"] for sub in whole] or ["00"]
        wanted += [f"0x{index}:{sub}" for sub in subs if index >= "1000"]
    assert [one.code for one in hazel.parameters] == wanted
    lines = XDD.splitlines()
    for one in hazel.parameters:
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
    assert [one.code for one in hazel.parameters if one.is_count] == ["0x6099:00"]


def test_an_offset_is_added_before_the_multiplier(hazel: Description) -> None:
    brake = parameter(hazel, "0x2012:00")
    assert brake.scaling == Scaling(Fraction(2), Fraction(5))
    assert brake.scaling.value(3) == 16
    assert brake.scale is None  # no single number says it


@pytest.mark.parametrize("text", ["1E+999999999", "1_0", "nan", "1/3", "0x10", "9" * 41])
def test_a_multiplier_that_is_no_decimal_number_is_told(text: str) -> None:
    found = read_xdd(XDD.replace('multiplier="0.5"', f'multiplier="{text}"').encode(), file="a")
    (told,) = found.skipped
    assert "is no number" in told.reason
    assert parameter(found, "0x6065:00").scaling is None


@given(DECIMALS, DECIMALS)
def test_the_multipliers_of_a_parameter_and_its_unit_multiply_exactly(one: str, two: str) -> None:
    text = XDD.replace('multiplier="0.1"', f'multiplier="{one}"')
    found = read_xdd(text.replace('multiplier="0.5"', f'multiplier="{two}"').encode(), file="a")
    scaling = parameter(found, "0x6065:00").scaling
    assert scaling is not None
    assert scaling.factor == Fraction(one) * Fraction(two)


def test_what_is_on_one_line_is_still_found_twice() -> None:
    again = '<CANopenObject index="2010" objectType="7" dataType="0005"/>'
    flat = XDD.replace("\n", " ").replace("</CANopenObjectList>", f"{again}</CANopenObjectList>")
    (told,) = read_xdd(flat.encode(), file="a").skipped
    assert "given already in line 1" in told.reason


def test_objects_that_refer_to_one_long_parameter_over_and_over_are_refused() -> None:
    """Else a file of some megabytes would become one of terabytes."""
    long = XDD.replace("Beyond it", "Beyond " * 100_000)
    objects = "".join(
        f'\n<CANopenObject index="{index:04X}" objectType="7" dataType="0005" uniqueIDRef="P1"/>'
        for index in range(0x2100, 0x3100)
    )
    text = long.replace("</CANopenObjectList>", f"{objects}</CANopenObjectList>")
    with pytest.raises(Unreadable, match="refer to the same parameters") as caught:
        read_xdd(text.encode(), file="a.xdd")
    assert caught.value.line


def test_the_device_is_named(hazel: Description) -> None:
    assert (hazel.kind, hazel.title, hazel.vendor) == ("xdd", "Hazel 5", "Invented")
    assert (hazel.product, hazel.version) == ("HZ-5", "2")


def test_of_a_configuration_the_values_are_left_aside(hazel: Description) -> None:
    configuration = read_xdd(XDC.encode(), file="hazel.xdc")
    assert configuration.kind == "xdc"
    assert [one.default for one in configuration.parameters if one.code != "0x1014:00"] == [
        one.default for one in hazel.parameters if one.code != "0x1014:00"
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
    (told,) = found.skipped
    assert reason in told.reason
    assert told.line <= XDD[: XDD.index(old)].count("\n") + 1 <= told.line + 1
    assert len(found.parameters) >= len(hazel.parameters) - 1


def test_a_file_without_objects_is_refused() -> None:
    with pytest.raises(Unreadable, match="no CANopenObject"):
        read_xdd(b"<ISO15745ProfileContainer/>", file="a.xdd")
