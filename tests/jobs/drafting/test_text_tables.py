"""Text exports as tables: encodings, quotes, comments, and columns by their positions."""

from __future__ import annotations

import pytest

from vault.jobs.drafting.keyed_tables import keyed_tables
from vault.jobs.drafting.text_tables import (
    comment_of,
    delimited_tables,
    fixed_tables,
    quote_of,
    read_text,
)
from vault.model.errors import Unreadable


@pytest.mark.parametrize(
    ("encoding", "text"),
    [
        ("utf-8", "Größe;µm"),
        ("utf-8-sig", "Größe;µm"),
        ("utf-16", "Größe;µm"),
        ("cp1252", "Größe;mm/s²;°C;µm"),
        ("cp1251", "Скорость двигателя; Ток двигателя; Ошибка положения"),
        ("shift_jis", "位置偏差許容;最大回転速度;比例ゲイン"),
    ],
)
def test_text_is_read_in_its_encoding(encoding: str, text: str) -> None:
    found, _, guess = read_text(text.encode(encoding), "a.txt")
    assert found.removeprefix("\ufeff") == text
    assert guess.confidence <= 1.0


def test_an_encoding_that_is_not_sure_shows_its_words() -> None:
    _, _, guess = read_text("Größe".encode("cp1252"), "a.txt")
    assert "Größe" in guess.reason
    assert guess.confidence < 0.95


def test_what_is_no_text_is_refused() -> None:
    with pytest.raises(Unreadable, match="no text"):
        read_text(b"\x00\x80\x81" * 7, "a.bin")


@pytest.mark.parametrize(
    ("lines", "quote"),
    [
        (['"P1";"a;b";2\n', "P2;c;3\n"], '"'),
        (["P1;a;2\n", "P2;c;3\n"], '"'),
        (["'P1';'a';'2'\n", "'P2';'c';'3'\n"], "'"),
        (['P1;"Top" speed;2\n', "P2;c;3\n"], ""),
    ],
)
def test_the_quotes_are_those_by_which_all_lines_read(lines: list[str], quote: str) -> None:
    assert quote_of(lines, ";") == quote


def test_codes_that_begin_with_a_mark_are_no_comments() -> None:
    assert comment_of(["#1;2\n", "#2;3\n", "#3;4\n"], ";") == ""
    assert comment_of(["# told\n", "P1;2;3\n", "P2;3;4\n"], ";") == "#"


def test_cells_may_hold_line_breaks_and_lines_are_counted_over_them() -> None:
    (table,) = delimited_tables('Code;Name\nP1;"two\nlines"\nP2;one\n')
    assert [row[0] for row in table.rows] == ["Code", "P1", "P2"]
    assert list(table.lines) == [1, 2, 4]


def test_columns_of_a_printed_list_begin_where_all_lines_have_a_gap() -> None:
    text = "No.   Name       Value\nP1    Lag limit    2.5\nP2    Top speed   1200\n"
    table = next(fixed_tables(text))
    assert table.rows[1] == ("P1", "Lag limit", "2.5")
    assert table.places == ("1-5", "7-16", "18-")


def test_a_heading_of_two_words_is_one_column() -> None:
    text = "Parameter No.  Name\nP1             Lag\nP2             Way\n"
    assert next(fixed_tables(text)).rows[0] == ("Parameter No.", "Name")


def test_the_nameplate_of_text_without_sections_stands_above_its_codes() -> None:
    (table,) = keyed_tables("Drive = X1\nSerial = 7\nP1 = 2\nP2 = 3\nP3 = 4\n")
    assert [row[0] for row in table.rows] == ["P1", "P2", "P3"]
    assert ("Drive", "X1") in table.plate


def test_a_colon_within_codes_parts_nothing() -> None:
    lines = "".join(f"0x60{n}:00 Value {n}\n" for n in range(60, 70))
    assert not list(keyed_tables(lines))


def test_a_colon_between_blanks_parts_codes_that_hold_one() -> None:
    lines = "".join(f"0x60{n}:00 Value : {n}\n" for n in range(60, 63))
    (table,) = keyed_tables(lines)
    assert table.keys["assign"] == " : "
    assert table.rows[0] == ("0x6060:00", "Value", "60")


def test_units_behind_values_are_units_and_names_are_names() -> None:
    (units,) = keyed_tables("P1 = 2 ; mm\nP2 = 3 ; rpm\nP3 = 4\n")
    assert units.headings == ("code", "value", "unit")
    (names,) = keyed_tables("P1 = 2 ; Lag limit\nP2 = 3 ; Top speed\nP3 = 4\n")
    assert names.headings == ("code", "value", "name")
    assert names.keys["comment"] == ";"
