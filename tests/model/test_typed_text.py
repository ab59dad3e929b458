"""Texts from options and forms: what is empty, what must be filled, what is a number."""

from __future__ import annotations

import pytest

from vault.model.errors import WrongUsage
from vault.model.typed_text import required_text, text_or_none, whole_number


@pytest.mark.parametrize(("text", "found"), [(None, None), ("", None), (" \t", None), (" a ", "a")])
def test_blanks_are_nothing(text: str | None, found: str | None) -> None:
    assert text_or_none(text) == found


def test_a_field_that_must_be_filled_is_named_where_it_is_empty() -> None:
    assert required_text(" 8611h ", "code") == "8611h"
    for empty in (None, "", "  "):
        with pytest.raises(WrongUsage, match="the field 'code' is empty"):
            required_text(empty, "code")


@pytest.mark.parametrize(("text", "found"), [(None, None), (" ", None), ("0", 0), (" 12 ", 12)])
def test_a_whole_number_is_read(text: str | None, found: int | None) -> None:
    assert whole_number(text, "channel") == found


@pytest.mark.parametrize("text", ["-1", "+1", "1.5", "two", "0x1", "²", "٣", "1" * 7])
def test_what_is_no_whole_number_is_refused_by_the_name_of_its_field(text: str) -> None:
    with pytest.raises(WrongUsage, match=r"^channel: ") as error:
        whole_number(text, "channel", "1, 2, …")
    assert error.value.hint == "1, 2, …"
