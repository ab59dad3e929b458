"""Text of others, as pages, commits, logs and terminals take it."""

from __future__ import annotations

from pathlib import PurePosixPath

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.model.visible_text import escaped, log_line, one_line, several_lines, visible

BELL, TURN, NO_BREAK, HALF = "\a", "\u202e", "\xa0", "\udcff"


@pytest.mark.parametrize("sign", [BELL, TURN, HALF, "\u200b", "\ufeff", "\x7f"])
def test_a_sign_that_acts_unseen_is_marked(sign: str) -> None:
    assert visible(f"2.5{sign}mm") == "2.5\N{REPLACEMENT CHARACTER}mm"


@pytest.mark.parametrize("text", ["2.5 mm", "Größe é 軸", f"a{NO_BREAK}b", "a\tb\nc\r\n"])
def test_what_shows_or_parts_lines_is_left(text: str) -> None:
    assert visible(text) == text


def test_a_reason_becomes_one_line() -> None:
    assert one_line(f"  new\tgearbox,\r\n\nWO 7{BELL}{NO_BREAK}8 ") == "new gearbox, WO 7 8"


@pytest.mark.parametrize("nothing", [None, "", " \n ", f"{BELL}{TURN}"])
def test_what_says_nothing_is_empty(nothing: str | None) -> None:
    assert one_line(nothing) == ""
    assert several_lines(nothing) == ""


def test_a_note_keeps_its_lines_and_tabs_and_loses_what_is_odd() -> None:
    assert several_lines(f"\nfirst\r\n\tsecond{BELL} {TURN}line\rend\n ") == (
        "first\n\tsecond lineend"
    )


def test_a_line_of_a_log_keeps_its_length() -> None:
    assert log_line(f"GET /a\nb{TURN}c") == "GET /a?b?c"


def test_odd_signs_of_a_path_are_escaped() -> None:
    assert escaped(PurePosixPath(f"in/ö{HALF}\n{BELL}.csv")) == "in/ö\\udcff\\n\\x07.csv"


@given(st.text())
def test_nothing_odd_is_left_of_any_text(text: str) -> None:
    for clean in (one_line(text), log_line(text), escaped(text)):
        assert clean.isprintable()
    assert several_lines(text).replace("\n", "").replace("\t", "").isprintable()
