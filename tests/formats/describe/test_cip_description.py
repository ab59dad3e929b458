"""EDS of CIP networks as a description: an invented drive. Fields and codes from memory."""

from __future__ import annotations

from decimal import Decimal
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.description_texts import CIP
from vault.formats.describe import cip_text
from vault.formats.describe.cip_eds import read_cip_eds
from vault.formats.describe.description import DescribedParameter, Description, Scaling
from vault.model.errors import Unreadable


def read(text: str = CIP) -> Description:
    return read_cip_eds(text.encode(), file="hazel.eds")


@pytest.fixture(scope="module")
def hazel() -> Description:
    return read()


def parameter(described: Description, code: str) -> DescribedParameter:
    return next(one for one in described.parameters if one.code == code)


def test_parameters_are_known_by_their_number_and_line(hazel: Description) -> None:
    assert [one.code for one in hazel.parameters] == ["1", "2", "3", "4"]
    lines = CIP.splitlines()
    assert [lines[one.line - 1].split()[0] for one in hazel.parameters] == [
        "Param1", "Param2", "Param3", "Param004",
    ]  # fmt: skip


def test_a_parameter_has_its_fields(hazel: Description) -> None:
    speed = parameter(hazel, "1")
    assert (speed.name, speed.unit, speed.data_type) == ("Highest speed", "r/min", "UNSIGNED16")
    assert (speed.low, speed.high, speed.default) == (0, 30000, 15000)
    assert (speed.scale, speed.group, speed.access) == (Decimal("0.1"), "Speed", "rw")
    assert speed.help == 'Where the drive ends; see the manual, "speed" ($)'


def test_an_enumeration_gives_choices_and_the_flag_access(hazel: Description) -> None:
    stop = parameter(hazel, "2")
    assert stop.choices == {0: "Coast", 1: "Ramp, then off", 2: "Hold"}
    assert (stop.access, stop.default, stop.unit, stop.scale) == ("ro", 1, None, None)


def test_choices_are_taken_only_where_the_descriptor_says_so() -> None:
    assert parameter(read(CIP.replace("0x0012", "0x0010")), "2").choices == {}


def test_a_real_is_exact(hazel: Description) -> None:
    gain = parameter(hazel, "4")
    assert (gain.low, gain.high, gain.default) == (Decimal("0.5"), Decimal(20), Decimal("1.25"))


def test_a_third_is_exact_and_no_decimal_number(hazel: Description) -> None:
    trim = parameter(hazel, "3")
    assert trim.scaling == Scaling(Fraction(1, 3), decimals=2)
    assert trim.scale is None
    assert not hazel.skipped


def test_an_offset_is_added_to_the_content_first() -> None:
    scaling = parameter(read(CIP.replace("1,10,1,0,  ", "9,5,2,-32,  ")), "1").scaling
    assert scaling is not None
    assert scaling.value(212) == 648  # (212 - 32) x 9 x 2 / 5


def test_decimal_places_scale_only_where_the_descriptor_says_extended_precision() -> None:
    """Bits 2 and 6 of the descriptor, from memory."""
    assert parameter(read(), "1").scaling == Scaling(Fraction(1, 10), decimals=1)
    extended = read(CIP.replace("0x0004,  ", "0x0044,  "))
    assert parameter(extended, "1").scaling == Scaling(Fraction(1, 100), decimals=1)


def test_a_scaling_that_the_descriptor_does_not_claim_is_told_and_left_out() -> None:
    found = read(CIP.replace("0x0004,  ", "0x0000,  "))
    assert parameter(found, "1").scaling is None
    assert ["not scaled" in told.reason for told in found.skipped] == [True]


@given(
    st.integers(-(2**31), 2**31),
    *[st.integers(1, 2**32)] * 3,
    st.integers(-(2**31), 2**31),
    st.integers(0, 9),
)
def test_a_scaling_is_exact(
    content: int, mult: int, div: int, base: int, offset: int, decimals: int
) -> None:
    text = CIP.replace("1,10,1,0,  ", f"{mult},{div},{base},{offset},  ")
    text = text.replace("1;                      $ decimal", f"{decimals};  $ decimal")
    scaling = parameter(read(text), "1").scaling
    assert scaling is not None
    assert scaling.value(content) * div == (content + offset) * mult * base
    assert scaling.decimals == decimals


def test_zeros_before_a_number_make_no_other_parameter() -> None:
    named = read(CIP.replace("Enum2 =", "Enum002 ="))
    assert parameter(named, "2").choices[1] == "Ramp, then off"
    twice = read(CIP.replace("Param3 =", "Param04 ="))
    assert [one.code for one in twice.parameters] == ["1", "2", "4"]
    (told,) = twice.skipped
    assert "parameter 4 is given already in line" in told.reason


@pytest.mark.parametrize(
    ("odd", "reason"),
    [
        ("!" + "\\" * 9 + '"\\' * 1_200, "more than 1000 problems"),
        ("".join(f"[S{n}]" for n in range(10_001)), "more than 10000 sections"),
        ("Enum9 = " + "0," * 10_001, "more than 10000 fields"),
    ],
)
def test_what_would_fill_the_memory_is_refused_with_its_line(
    monkeypatch: pytest.MonkeyPatch, odd: str, reason: str
) -> None:
    monkeypatch.setattr(cip_text, "_MOST_PROBLEMS", 1000)
    monkeypatch.setattr(cip_text, "_MOST_FIELDS", 10_000)
    with pytest.raises(Unreadable, match=reason) as caught:
        read(f"{CIP}\n[Params]\n{odd}")
    assert caught.value.line


def test_a_field_of_very_many_words_is_read() -> None:
    found = read(CIP.replace('"Trim"', "a " * 500_000))
    assert parameter(found, "3").name.count("a") == 500_000


def test_very_many_bad_names_of_one_enumeration_are_told_shortly() -> None:
    found = read(CIP.replace("Enum2 = ", "Enum2 = " + "x,y," * 20_000))
    assert len(found.skipped) == 20_000
    assert all(len(one.text) <= 80 for one in found.skipped)


@given(st.integers(1, 10**6), st.sampled_from([1, 2, 5, 10, 250, 1024]), st.integers(1, 1000))
def test_a_scale_is_mult_times_base_by_div(mult: int, div: int, base: int) -> None:
    text = CIP.replace("1,10,1,0,  ", f"{mult},{div},{base},0,  ")
    scale = parameter(read(text), "1").scale
    assert scale is not None
    assert scale * div == mult * base


def test_the_device_is_named(hazel: Description) -> None:
    assert (hazel.kind, hazel.title, hazel.vendor) == ("cip-eds", "Hazel 5", "Invented")
    assert (hazel.product, hazel.version) == ("HZ-5", "2.1")


@pytest.mark.parametrize(
    ("old", "new", "reason", "lost"),
    [
        ("0,30000,15000,", "0,70000,15000,", "lies outside UNSIGNED16", 0),
        ("0xC7,  ", "0xEE,  ", "unknown data type 0xEE", 0),
        ("2,                      $ data size", "4,", "which has not 4 bytes", 0),
        ("1,10,1,0,  ", "1,0,1,0,  ", "mult, div or base is 0", 0),
        ("1,10,1,0,  ", "1.5,10,1,0,  ", "mult '1.5' is no whole number", 0),
        ("1;                      $ decimal", "99;  $ decimal", "99 decimal places", 0),
        (",,,,                    $", "Param3,,,,  $", "depends on another parameter", 0),
        (",,,,                    $", "7,,,,  $", "depends on another parameter", 0),
        ('2,"Hold";', 'two,"Hold";', "no whole number", 0),
        ('"Ramp, then off"', '"Ramp, then off', "belongs to no field", 0),
        ("$ decimal places\n    Param2", "\n    Param2", "", 0),
        ("1;                      $ decimal", "1                      $ decimal", "not ended", 1),
        ("Group2 = ", "Group1 = ", "given already", 0),
        ("Group1 = \"Speed\", 2, 1,3;", "Group1 = \"Speed\", 2, 1,x;", "no whole number", 0),
    ],
)  # fmt: skip
def test_what_cannot_be_read_is_told_with_its_line_and_hides_nothing_else(
    old: str, new: str, reason: str, lost: int
) -> None:
    assert old in CIP
    found = read(CIP.replace(old, new))
    assert all(one.line for one in found.skipped)
    assert not reason or any(reason in one.reason for one in found.skipped)
    assert len(found.parameters) == 4 - lost


def test_a_file_that_is_cut_off_says_so() -> None:
    found = read(CIP[: CIP.index("1.25")])
    assert any("seems cut off" in one.reason for one in found.skipped)
    assert [one.code for one in found.parameters] == ["1", "2", "3"]


def test_a_file_without_parameters_is_refused() -> None:
    with pytest.raises(Unreadable, match="no parameter in section"):
        read("[Device]\nVendCode = 1;\n[Params]\n")


@given(st.text(max_size=80), st.integers(0, len(CIP)))
def test_any_text_is_read_or_refused_in_our_words(odd: str, at: int) -> None:
    try:
        found = read_cip_eds((CIP[:at] + odd + CIP[at:]).encode("utf-8"), file="a.eds")
    except Unreadable:
        return
    assert all(one.code.isdecimal() for one in found.parameters)
