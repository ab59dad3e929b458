"""The dictionary of a family: what it accepts, and where it says what is wrong."""

from decimal import Decimal

import pytest

from vault.model.errors import Unreadable
from vault.model.families import Family
from vault.store.files.edited_files import read_family

# An invented family. The line of each key matters to the tests below.
GOOD = """\
schema: axisvault/family/1
name: hazel
title: Hazel (invented)
export:
  format: delimited
  columns:
    code: Code
    value: Value
  nameplate:
    Drive: drive
  recognise:
    drive: ^HZ-
parameters:
  A.1:
    name: Window
    role: following_error_window
    type: UNSIGNED32
    scale: 0.001
    unit: mm
    range: [0, 50]
  A.2:
    name: Method
    type: INTEGER8
    choices:
      1: Switch
variants:
- firmware: ">=2"
  parameters:
    A.1:
      scale: 0.01
faults:
  F1:
    name: Following error
    standard: 0x8611
"""


def family(text: str = GOOD) -> Family:
    return read_family(text.encode(), "families/hazel.yaml")


# What is replaced by what; key, line and reason that the error names.
WRONG = [
    ("schema: axisvault/family/1", "schema: axisvault/family/9", "schema", 1, "axisvault/family/1"),
    ("name: hazel", "name: Hazel!", "name", 2, "not of the form"),
    ("title: Hazel (invented)", "title: [1]", "title", 3, "takes a text"),
    ("title:", "titel:", "titel", 3, "no such key; did you mean title?"),
    ("  format: delimited\n", "", "export.format", 4, "missing"),
    ("    code: Code\n", "", "export.columns", 6, "heading of 'code'"),
    ("    value: Value", "    price: Value", "export.columns.price", 8, "unknown column"),
    ("    Drive: drive", "    Drive: colour", "export.nameplate.Drive", 10, "unknown nameplate"),
    ("    drive: ^HZ-", "    drive: '('", "export.recognise.drive", 12, "no regular expression"),
    ("  recognise:", "  delimiter: x\n  recognise:", "export.delimiter", 11, "';'"),
    ("  recognise:", "  thousands: '.'\n  recognise:", "export.thousands", 11, "the same"),
    ("  recognise:", "  channel: {}\n  recognise:", "export.channel", 11, "either a column"),
    ("  recognise:", "  channel: {section: Axis}\n  recognise:", "export.channel", 11, "{n}"),
    ("    name: Window\n", "", "parameters.A.1.name", 14, "missing"),
    ("following_error_window", "favourite_colour", "parameters.A.1.role", 16, "unknown role"),
    ("type: UNSIGNED32", "type: LONG", "parameters.A.1.type", 17, "unknown data type"),
    ("    scale: 0.001", "    scale: 0", "parameters.A.1.scale", 18, "greater than zero"),
    ("    scale: 0.001", "    scale: .nan", "parameters.A.1.scale", 18, "is no number"),
    ("    scale: 0.001", "    scale: small", "parameters.A.1.scale", 18, "'small' is no number"),
    ("    unit: mm", "    unit: furlong-ish", "parameters.A.1.unit", 19, "unknown unit"),
    ("range: [0, 50]", "range: [50, 0]", "parameters.A.1.range", 20, "backwards"),
    ("range: [0, 50]", "range: [0, fifty]", "parameters.A.1.range.1", 20, "'fifty' is no number"),
    ("range: [0, 50]", "range: [0]", "parameters.A.1.range.1", 20, "missing"),
    ("    name: Method", "    nome: M\n    name: Method", "parameters.A.2.nome", 22,
     "no such key"),
    ("    name: Method", "    access: maybe\n    name: M", "parameters.A.2.access", 22, "'rw'"),
    ("      1: Switch", "      one: Switch", "parameters.A.2.choices.one", 25, "no whole number"),
    ('firmware: ">=2"', "firmware: new", "variants.0.firmware", 27, "no firmware range"),
    ("      scale: 0.01", "      scale: -1", "variants.0.parameters.A.1.scale", 30, "greater than"),
    ("      scale: 0.01", "      unit: x", "variants.0.parameters.A.1.unit", 30, "unknown unit"),
    ("      scale: 0.01", "      range: [60, 50]", "variants.0.parameters.A.1.range", 30,
     "backwards"),
    ("      scale: 0.01", "      scael: 1", "variants.0.parameters.A.1.scael", 30,
     "no such key; did you mean scale?"),
    ("    A.1:\n      scale: 0.01", "    A.9:\n      scale: 1",
     "variants.0.parameters.A.9.name", 29, "missing"),
    ("    A.1:\n      scale: 0.01", "    A.2:\n      role: following_error_window",
     "variants.0.parameters.A.2.role", 30, "as A.1 has"),
    ("    name: Method", "    role: following_error_window\n    name: Method",
     "parameters.A.2.role", 22, "has the role following_error_window, as A.1 has"),
    ("    standard: 0x8611", "    standard: often", "faults.F1.standard", 34, "no whole number"),
]  # fmt: skip


@pytest.mark.parametrize(
    ("right", "wrong", "key", "line", "reason"), WRONG, ids=[f"{w[2]}: {w[4]}" for w in WRONG]
)
def test_an_error_names_file_line_and_key(
    right: str, wrong: str, key: str, line: int, reason: str
) -> None:
    assert GOOD.count(right) >= 1
    with pytest.raises(Unreadable) as caught:
        family(GOOD.replace(right, wrong, 1))
    error = caught.value
    assert error.file == "families/hazel.yaml"
    assert error.message.split(": ", 1)[0].startswith(key)
    assert reason in error.message
    assert error.line == line


def test_several_errors_are_counted() -> None:
    text = GOOD.replace("type: UNSIGNED32", "type: LONG").replace("scale: 0.001", "scale: 0")
    with pytest.raises(Unreadable, match=r"and 1 more problem"):
        family(text)


@pytest.mark.parametrize("text", ["", "- a\n", "plain text\n", "1\n"])
def test_a_file_without_keys_is_no_family(text: str) -> None:
    with pytest.raises(Unreadable, match="a drive family"):
        family(text)


def test_broken_yaml_names_its_line() -> None:
    with pytest.raises(Unreadable) as caught:
        family(GOOD.replace("  A.2:", "  A.2: {"))
    assert caught.value.line is not None
    assert caught.value.line >= 21


def test_a_key_that_stands_twice_is_refused_with_its_line() -> None:
    with pytest.raises(Unreadable) as caught:
        family(GOOD.replace("  A.2:", "  A.1:"))
    assert caught.value.line == 21


def test_a_code_that_is_spelled_in_two_ways_is_refused() -> None:
    text = GOOD.replace("A.1:\n    name", '"0x608f:1":\n    name').replace("A.2:", '"0x608F:01":')
    with pytest.raises(Unreadable, match="0x608F:01 stands here twice"):
        family(text.replace("    A.1:\n      scale: 0.01", "    A.3: {absent: true}"))


def test_object_addresses_are_spelled_one_way() -> None:
    text = GOOD.replace("  A.2:", '  "0x608f:1":')
    assert "0x608F:01" in family(text).parameters


def test_an_error_at_an_address_finds_its_line_whatever_the_spelling() -> None:
    text = GOOD.replace("  A.2:", '  "0x608f:1":').replace("type: INTEGER8", "type: LONG")
    with pytest.raises(Unreadable) as caught:
        family(text)
    assert caught.value.line == 23


def test_codes_that_yaml_takes_for_numbers_are_text() -> None:
    assert "1205" in family(GOOD.replace("  A.2:", "  1205:")).parameters


def test_numbers_are_exact_decimals() -> None:
    window = family().parameters["A.1"]
    assert window.scale == Decimal("0.001")
    assert isinstance(window.scale, Decimal)
    assert window.range == (Decimal(0), Decimal(50))


def test_a_default_with_a_point_is_an_exact_decimal() -> None:
    found = family(GOOD.replace("    unit: mm", "    default: 0.1")).parameters["A.1"].default
    assert found == Decimal("0.1")
    assert isinstance(found, Decimal)


def test_a_unit_is_spelled_one_way() -> None:
    text = GOOD.replace("unit: mm", "unit: mm/s²")
    assert family(text).parameters["A.1"].unit == "mm/s^2"


@pytest.mark.parametrize(
    ("firmware", "scale"),
    [(None, "0.001"), ("1.9", "0.001"), ("2", "0.01"), ("V2.0.1", "0.01"), ("10.0", "0.01")],
)
def test_a_variant_counts_from_its_firmware_on(firmware: str | None, scale: str) -> None:
    assert family().definitions(firmware)["A.1"].scale == Decimal(scale)


def test_what_a_variant_does_not_name_stays() -> None:
    before, after = family().parameters["A.1"], family().definitions("2.0")["A.1"]
    assert (after.name, after.role, after.unit) == (before.name, before.role, before.unit)


def test_the_last_variant_that_fits_has_the_last_word() -> None:
    more = '- firmware: ">=3"\n  parameters:\n    A.1: {scale: 0.5}\nfaults:'
    found = family(GOOD.replace("faults:", more))
    assert found.definitions("3")["A.1"].scale == Decimal("0.5")
    assert found.definitions("2")["A.1"].scale == Decimal("0.01")


def test_two_numbered_roles_are_two_roles() -> None:
    text = GOOD.replace("following_error_window", "profile_jerk")
    text = text.replace("    name: Method", "    role: profile_jerk.2\n    name: Method")
    named = [parameter.role for parameter in family(text).parameters.values()]
    assert named == ["profile_jerk", "profile_jerk.2"]


def test_one_numbered_role_twice_is_refused_saying_how_to_number() -> None:
    text = GOOD.replace("following_error_window", "profile_jerk")
    text = text.replace("    name: Method", "    role: profile_jerk\n    name: Method")
    with pytest.raises(Unreadable, match=r"number them \(profile_jerk, profile_jerk.2\)"):
        family(text)
