"""Firmware versions and ranges. Outside reference for the order: the library `packaging`."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from packaging.version import Version
from pydantic import TypeAdapter, ValidationError

from vault.model.firmware import FirmwareRange, version_key

versions = st.lists(st.integers(0, 12), min_size=1, max_size=4).map(
    lambda numbers: ".".join(map(str, numbers))
)


@given(versions, versions)
def test_versions_are_ordered_as_an_outside_library_orders_them(one: str, other: str) -> None:
    assert (version_key(one) < version_key(other)) == (Version(one) < Version(other))
    assert (version_key(one) == version_key(other)) == (Version(one) == Version(other))


@pytest.mark.parametrize(
    ("spelled", "plain"), [("V02.14.03", "2.14.3"), ("1.9b", "1.9"), ("2.0", "2"), ("Rev 3", "3")]
)
def test_only_the_numbers_of_a_version_count(spelled: str, plain: str) -> None:
    assert version_key(spelled) == version_key(plain)


@pytest.mark.parametrize(
    ("text", "inside", "outside"),
    [
        (">=2.0", "2.0", "1.99"),
        (">2", "2.0.1", "2.0"),
        ("<=2.9", "2.9", "2.10"),
        ("<3", "2.14", "3.0"),
        ("==2.1", "V2.1.0", "2.10"),
        (">=2.0 <3", "2.5", "3"),
    ],
)
def test_a_range_holds_what_it_says(text: str, inside: str, outside: str) -> None:
    assert inside in FirmwareRange(text)
    assert outside not in FirmwareRange(text)


def test_spaces_and_commas_in_a_range_do_not_matter() -> None:
    assert "2.5" in FirmwareRange(" >= 2.0,  < 3 ")
    assert "3.5" not in FirmwareRange(" >= 2.0,  < 3 ")


@pytest.mark.parametrize("text", ["", "2.0", ">", "from 2", ">=2 or so", "~2"])
def test_what_is_no_range_is_refused_with_an_example(text: str) -> None:
    with pytest.raises(ValueError, match=r"write it like '>=2\.0 <3'"):
        FirmwareRange(text)


def test_a_range_is_shown_as_it_was_written() -> None:
    assert str(FirmwareRange(">=2.0,  <3")) == ">=2.0 <3"


def test_a_schema_takes_a_range_as_text_and_refuses_other_text() -> None:
    adapter = TypeAdapter(FirmwareRange)
    assert "2.5" in adapter.validate_python(">=2")
    with pytest.raises(ValidationError, match="no firmware range"):
        adapter.validate_python("newest")


def test_a_number_of_thousands_of_digits_is_later_than_any_other() -> None:
    assert version_key("9" * 10_000) > version_key("999999")
    assert ("9" * 10_000) in FirmwareRange(">=2")
