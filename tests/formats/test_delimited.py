"""Delimited text exports. All exports, families and codes in this file are invented."""

from __future__ import annotations

import csv
import io
import subprocess
import sys
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.sweeps import part_of
from vault.formats import delimited
from vault.formats.registry import format_named
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Entry, Listing
from vault.model.export_dialect import ChannelRule, ExportDialect
from vault.model.numerals import parse_number

COLUMNS = {"code": "Code", "value": "Value", "name": "Name", "unit": "Unit"}
ALL_COLUMNS = {
    **COLUMNS,
    "low": "Min",
    "high": "Max",
    "default": "Factory",
    "access": "Access",
    "type": "Type",
}
NAMEPLATE = {
    "Drive": "drive",
    "Serial no.": "serial",
    "Firmware": "firmware",
    "Note": "note",
    "Saved": "taken_at",
}


def dialect(**changes: Any) -> ExportDialect:
    usual: dict[str, Any] = {
        "format": "delimited",
        "delimiter": ";",
        "decimal": ",",
        "columns": COLUMNS,
        "nameplate": NAMEPLATE,
    }
    return ExportDialect(**{**usual, **changes})


def read(
    export: str | bytes, rules: ExportDialect | None = None, channel: int | None = None
) -> Listing:
    content = export.encode() if isinstance(export, str) else export
    return delimited.read(content, file="a.csv", dialect=rules or dialect(), channel=channel)


def written(cell: str, **changes: Any) -> Any:
    content = read(f'Code|Value\nK1|"{cell}"\n', dialect(delimiter="|", **changes))
    return content.entries[0].written


def values(content: Listing) -> dict[str, Any]:
    return {entry.code: entry.written for entry in content.entries}


def skipped(content: Listing) -> list[tuple[int, str]]:
    return [(bad.line, bad.reason) for bad in content.skipped]


# RFC 4180, clause 2, rules 1 to 7, one test each.


def test_each_record_is_a_line_ended_by_cr_lf() -> None:
    assert values(read("Code;Value\r\nK1;1\r\nK2;2\r\n")) == {"K1": 1, "K2": 2}


def test_the_last_record_may_lack_its_line_end() -> None:
    assert values(read("Code;Value\r\nK1;1\r\nK2;2")) == {"K1": 1, "K2": 2}


def test_the_header_line_names_the_fields_in_any_order() -> None:
    entry = read("Unit;Value;Code\r\nmm;1;K1\r\n").entries[0]
    assert (entry.code, entry.written, entry.unit) == ("K1", 1, "mm")


def test_a_field_more_than_the_header_has_is_a_bad_row() -> None:
    content = read("Code,Value,Unit\nK1,2,5,mm\nK2,7,mm\n", dialect(delimiter=","))
    assert values(content) == {"K2": 7}
    assert skipped(content) == [(2, "too many columns: 4 instead of 3")]


def test_fields_may_be_quoted_or_not() -> None:
    assert values(read('Code;Value\r\n"K1";"1"\r\nK2;2\r\n')) == {"K1": 1, "K2": 2}


def test_a_quoted_field_may_hold_delimiters_and_line_breaks() -> None:
    entry = read('Code;Value;Name\r\nK1;1;"window;\r\ntracking"\r\n').entries[0]
    assert entry.name == "window;\r\ntracking"


def test_a_doubled_quote_in_a_quoted_field_is_a_quote() -> None:
    assert read('Code;Value;Name\r\nK1;1;"the ""big"" one"\r\n').entries[0].name == 'the "big" one'


# Lines


def test_rows_after_a_field_with_line_breaks_keep_their_start_line() -> None:
    content = read('Code;Value;Name\nK1;1;"a\nb\nc"\n\n# no comment in this dialect;\nK2;2;d\n')
    assert [entry.line for entry in content.entries] == [2, 7]


def test_lines_may_end_with_cr_alone() -> None:
    content = read("Code;Value\rK1;1\rK2;2\r")
    assert [(entry.code, entry.line) for entry in content.entries] == [("K1", 2), ("K2", 3)]


def test_only_cr_and_lf_end_a_line() -> None:
    content = read("Code;Value;Name\nK1;1;a\x0bb\u2028c\nK2;2;d\n")
    assert [(entry.name, entry.line) for entry in content.entries] == [
        ("a\x0bb\u2028c", 2),
        ("d", 3),
    ]


def test_comment_lines_are_left_out_even_with_an_open_quote() -> None:
    export = '# made;"by hand\nCode;Value\n# K0;"0\nK1;1\n'
    content = read(export, dialect(comment="#"))
    assert values(content) == {"K1": 1}
    assert content.skipped == ()


def test_a_comment_mark_inside_a_quoted_field_is_text() -> None:
    content = read('Code;Value;Name\nK1;1;"a\n# b"\n', dialect(comment="#"))
    assert content.entries[0].name == "a\n# b"


def test_blank_lines_and_rows_of_empty_cells_are_left_out() -> None:
    content = read("\nCode;Value;Name\n\nK1;1;a\n;;\n   \nK2;2;b\n;")
    assert values(content) == {"K1": 1, "K2": 2}
    assert content.skipped == ()


@pytest.mark.parametrize("delimiter", [",", ";", "\t", "|"])
def test_each_delimiter_is_read(delimiter: str) -> None:
    export = "Code;Value;Unit\nK1;12;mm\n".replace(";", delimiter)
    entry = read(export, dialect(delimiter=delimiter)).entries[0]
    assert (entry.code, entry.written, entry.unit) == ("K1", 12, "mm")


def test_a_dialect_may_quote_with_another_mark() -> None:
    entry = read("Code;Value;Name\nK1;1;'a;''b'''\n", dialect(quote="'")).entries[0]
    assert entry.name == "a;'b'"


def test_a_dialect_without_quotes_takes_quotes_as_text() -> None:
    entry = read('Code;Value;Name\nK1;1;"a\n', dialect(quote="")).entries[0]
    assert entry.name == '"a'


# Nameplate


def test_lines_above_the_table_are_the_nameplate() -> None:
    content = read("Drive;AX 20\nSerial no.;0012\n\nCode;Value\nK1;1\n")
    assert content.nameplate == {"drive": "AX 20", "serial": "0012"}


def test_labels_are_found_whatever_their_case_spaces_and_colon() -> None:
    content = read(" DRIVE : ;AX 20\nserial no.:; 7\nCode;Value\n")
    assert content.nameplate == {"drive": "AX 20", "serial": "7"}


def test_the_nameplate_may_have_its_own_separator() -> None:
    content = read(
        "Drive: AX 20\nNote: belt: new; see log\nCode;Value\nK1;1\n",
        dialect(nameplate_separator=":"),
    )
    assert content.nameplate == {"drive": "AX 20", "note": "belt: new; see log"}


def test_a_nameplate_value_that_names_the_headings_is_no_header() -> None:
    content = read("Note: see;Code;Value\nCode;Value\nK1;1\n", dialect(nameplate_separator=":"))
    assert content.nameplate == {"note": "see;Code;Value"}
    assert values(content) == {"K1": 1}


def test_unknown_labels_and_titles_are_kept_out_of_the_nameplate() -> None:
    content = read("Parameter list\nPaint;red\nDrive;AX\nCode;Value\nK1;1\n")
    assert content.nameplate == {"drive": "AX"}
    assert content.skipped == ()


def test_a_nameplate_value_may_be_quoted_and_span_lines() -> None:
    content = read('Note;"one;\ntwo"\nCode;Value\nK1;1\n')
    assert content.nameplate == {"note": "one;\ntwo"}
    assert content.entries[0].line == 4


def test_a_quoted_value_behind_the_nameplate_separator_may_span_lines() -> None:
    content = read('Note: "one: ""1""\ntwo"\nCode;Value\nK1;1\n', dialect(nameplate_separator=":"))
    assert content.nameplate == {"note": 'one: "1"\ntwo'}


@pytest.mark.parametrize("value", ["AX 20", '"AX 20"', '"AX; 20;"'])
def test_delimiters_that_fill_up_a_line_of_the_nameplate_are_none_of_it(value: str) -> None:
    content = read(f"Drive: {value};;\nCode;Value\nK1;1\n", dialect(nameplate_separator=":"))
    assert content.nameplate == {"drive": value.strip('"')}


def test_an_open_quote_in_the_nameplate_does_not_hide_the_table() -> None:
    content = read('Note;"3 inch\nCode;Value\nK1;1\n')
    assert values(content) == {"K1": 1}
    assert content.nameplate == {"note": '"3 inch'}


def test_the_time_of_the_export_is_read_in_the_form_of_the_dialect() -> None:
    content = read("Saved;04.03.2024 06:07\nCode;Value\n", dialect(time_format="%d.%m.%Y %H:%M"))
    assert content.taken_at == "2024-03-04T06:07:00"
    assert "taken_at" not in content.nameplate


def test_a_time_with_an_offset_keeps_it() -> None:
    # RFC 3339 clause 5.6: full-date, "T" in either case, partial-time, numeric offset.
    content = read("Saved;2024-03-04t06:07:08+02:00\nCode;Value\n")
    assert content.taken_at == "2024-03-04T06:07:08+02:00"


def test_a_time_that_cannot_be_read_is_reported_with_its_line() -> None:
    content = read("Drive;AX\nSaved;yesterday\nCode;Value\nK1;1\n")
    assert content.taken_at is None
    assert skipped(content) == [(2, "'yesterday' is not a time as RFC 3339 has it")]
    assert values(content) == {"K1": 1}


# Header and columns


def test_headings_are_found_whatever_their_case_and_spaces() -> None:
    assert values(read(" CODE ; value\nK1;1\n")) == {"K1": 1}


def test_a_file_without_the_headings_is_refused_naming_them() -> None:
    with pytest.raises(Unreadable) as caught:
        read("Id;Content\nK1;1\n")
    message = str(caught.value)
    assert message.startswith("a.csv, line 1: no row holds the headings 'Code' and 'Value'")
    assert "another family" in message


def test_optional_columns_may_be_missing() -> None:
    entry = read("Code;Value\nK1;1\n", dialect(columns=ALL_COLUMNS)).entries[0]
    assert entry == Entry("K1", 1, 2)


def test_all_columns_are_read() -> None:
    export = (
        "Code;Value;Name;Unit;Min;Max;Factory;Access;Type\n"
        "K1;2,5;Window;mm;-1;1.000,5;0;RW;REAL32\n"
    )
    entry = read(export, dialect(columns=ALL_COLUMNS, thousands=".")).entries[0]
    assert replace(entry, text="") == Entry(
        code="K1",
        written=Decimal("2.5"),
        line=2,
        name="Window",
        unit="mm",
        data_type="REAL32",
        access="rw",
        low=-1,
        high=Decimal("1000.5"),
        default=0,
    )


def test_an_unknown_type_name_is_no_type() -> None:
    content = read("Code;Value;Type\nK1;1;WORDISH\n", dialect(columns=ALL_COLUMNS))
    assert content.entries[0].data_type is None


def test_a_column_of_types_tells_that_digits_are_text() -> None:
    export = "Code;Value;Type;Factory\nK1;12;VISIBLE_STRING;34\n"
    entry = read(export, dialect(columns=ALL_COLUMNS)).entries[0]
    assert (entry.written, entry.default) == ("12", "34")


def test_a_header_row_that_comes_again_is_no_parameter() -> None:
    assert values(read("Code;Value\nK1;1\nCode;Value\nK2;2\n")) == {"K1": 1, "K2": 2}


def test_a_header_row_that_comes_again_may_order_the_columns_anew() -> None:
    assert values(read("Code;Value\nK1;1\nValue;Code\n2;K2\n")) == {"K1": 1, "K2": 2}


@pytest.mark.parametrize("holds", ["raw", "value"])
def test_the_dialect_says_what_the_numbers_are(holds: str) -> None:
    assert read("Code;Value\nK1;1\n", dialect(holds=holds)).holds == holds


# Numbers


@pytest.mark.parametrize(
    ("cell", "number"),
    [
        ("0", 0),
        ("5", 5),
        ("+5", 5),
        ("-5", -5),
        ("\u22125", -5),
        ("0x1F", 31),
        ("2,50", Decimal("2.50")),
        ("1,5E-3", Decimal("0.0015")),
        ("1.234.567", 1234567),
        ("1.234.567,5", Decimal("1234567.5")),
        ("0,1", Decimal("0.1")),
    ],
)
def test_a_cell_that_is_wholly_a_number_is_read_exactly(cell: str, number: Any) -> None:
    found = written(cell, decimal=",", thousands=".")
    assert found == number
    assert type(found) is type(number)


@pytest.mark.parametrize("cell", ["12.34,5", "1.2.3", "12a4", "1,2,3", "0x", "5 mm", "-", "on"])
def test_a_cell_that_is_not_wholly_a_number_stays_text(cell: str) -> None:
    assert written(cell, decimal=",", thousands=".") == cell


@pytest.mark.parametrize("thousands", ["'", " ", "\u00a0", "\u202f"])
def test_each_thousands_separator_is_read(thousands: str) -> None:
    assert written(f"12{thousands}345,5", thousands=thousands) == Decimal("12345.5")


@pytest.mark.parametrize("cell", ["007", "0012", "00"])
def test_digits_with_leading_zeros_keep_their_spelling(cell: str) -> None:
    assert written(cell) == cell


def test_a_number_spelled_in_its_own_way_keeps_the_spelling_beside_it() -> None:
    content = read("Code;Value\nK1;0x1F\nK2;2,50\nK3;+7\nK4;7\n")
    assert [entry.text for entry in content.entries] == ["0x1F", "2,50", "+7", ""]


def test_a_digit_string_too_long_to_be_a_number_is_text() -> None:
    # Python converts at most 4,300 digits by default (documentation of sys.set_int_max_str_digits).
    assert written("9" * 5000) == "9" * 5000


# Bad rows


def test_bad_rows_are_reported_and_do_not_hide_the_good_ones() -> None:
    content = read("Code;Value;Name\nK1;1;a\n;5;b\nK2\nK3;;c\nK4;4;d\n")
    assert values(content) == {"K1": 1, "K4": 4}
    assert [(bad.line, bad.text, bad.reason) for bad in content.skipped] == [
        (3, ";5;b", "no code"),
        (4, "K2", "too few columns: 1 of 3"),
        (5, "K3;;c", "no value"),
    ]


def test_a_code_given_twice_is_reported_with_its_first_line() -> None:
    content = read("Code;Value\nK1;1\nK2;2\nK1;3\n")
    assert values(content) == {"K1": 1, "K2": 2}
    assert skipped(content) == [(4, "K1 is given already in line 2")]


def test_a_quote_that_is_never_closed_is_reported_and_later_rows_are_kept() -> None:
    content = read('Code;Value;Name\nK1;1;a\nK2;2;"b\nK3;3;c\n')
    assert values(content) == {"K1": 1, "K3": 3}
    assert skipped(content) == [(3, "a quote opened here is never closed: the file seems cut off")]


def test_text_behind_a_closing_quote_makes_a_bad_row() -> None:
    content = read('Code;Value;Name\nK1;1;"a"b\nK2;2;c\n')
    assert values(content) == {"K2": 2}
    assert [bad.line for bad in content.skipped] == [2]


def test_a_short_last_row_without_line_end_is_taken_as_cut_off() -> None:
    content = read("Code;Value;Name\nK1;1;a\nK2;2")
    assert values(content) == {"K1": 1}
    assert skipped(content) == [(3, "the file seems cut off: 2 of 3 columns and no line end")]


def test_a_row_short_of_any_column_is_a_bad_row() -> None:
    # RFC 4180 clause 2, rule 4: the same number of fields in every line.
    content = read("Code;Value;Name\nK1;1;a\nK2;2\nK3;3;c\n")
    assert values(content) == {"K1": 1, "K3": 3}
    assert skipped(content) == [(3, "too few columns: 2 of 3")]


def test_empty_cells_behind_the_last_heading_are_no_fault() -> None:
    content = read("Code;Value;\nK1;1;;\nK2;2\n")
    assert values(content) == {"K1": 1, "K2": 2}
    assert content.skipped == ()


def test_an_empty_text_is_a_value_where_the_type_says_that_it_is_text() -> None:
    content = read(
        "Code;Value;Type\nK1;;VISIBLE_STRING\nK2;;INTEGER16\n", dialect(columns=ALL_COLUMNS)
    )
    assert values(content) == {"K1": ""}
    assert skipped(content) == [(3, "no value")]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16"])
def test_a_file_cut_off_within_a_character_keeps_its_whole_rows(encoding: str) -> None:
    export = "Code;Value;Name\r\nK1;1;größer\r\nK2;2;grö".encode(encoding)[:-1]
    content = read(export)
    assert content.encoding == encoding
    assert [(entry.code, entry.name) for entry in content.entries] == [("K1", "größer")]
    assert skipped(content) == [(3, "the file seems cut off within a character")]


def test_many_broken_quotes_are_all_reported() -> None:
    rows = "".join(f'K{n};"{n}"x;a\n' for n in range(100))
    content = read(f"Code;Value;Name\n{rows}K100;100;a\n")
    assert values(content) == {"K100": 100}
    assert len(content.skipped) == 100


def test_good_rows_between_many_inch_marks_are_all_kept() -> None:
    rows = "".join(f'B{n};1;"inch\nK{n};{n};a\n' for n in range(100))
    content = read(f"Code;Value;Name\n{rows}")
    assert values(content) == {f"K{n}": n for n in range(100)}
    assert [bad.line for bad in content.skipped] == [2 * n + 2 for n in range(100)]


def test_rows_lost_behind_endlessly_broken_quotes_are_named() -> None:
    # Each line closes the quote of the line before and opens the next: all are open to the end.
    content = read("Code;Value;Name\n" + 'x";"\n' * 100)
    assert content.entries == ()
    assert content.skipped[-1].reason.endswith("; it swallows the lines up to 101")


# Channels

BY_COLUMN = dialect(channel=ChannelRule(column="Axis"))
BY_SECTION = dialect(channel=ChannelRule(section="[Axis {n}]"))
TWO_COLUMNS = "Axis;Code;Value\n1;K1;10\nAxis 2;K1;20\n;K2;5\n"
TWO_SECTIONS = """\
Drive;AX
Code;Value
K0;5
[Axis 1]
Serial no.;0011
Code;Value
K1;10
[axis 2];
Serial no.;0022
Value;Code
20;K1
"""


def test_a_column_tells_the_channels_apart() -> None:
    assert values(read(TWO_COLUMNS, BY_COLUMN, 1)) == {"K1": 10, "K2": 5}
    second = read(TWO_COLUMNS, BY_COLUMN, 2)
    assert values(second) == {"K1": 20, "K2": 5}
    assert (second.channel, second.channels) == (2, (1, 2))


def test_sections_tell_the_channels_apart() -> None:
    assert values(read(TWO_SECTIONS, BY_SECTION, 1)) == {"K0": 5, "K1": 10}
    assert values(read(TWO_SECTIONS, BY_SECTION, 2)) == {"K0": 5, "K1": 20}


def test_nameplate_lines_in_a_section_belong_to_its_channel() -> None:
    assert read(TWO_SECTIONS, BY_SECTION, 2).nameplate == {"drive": "AX", "serial": "0022"}


def test_the_header_may_appear_once_for_all_sections() -> None:
    export = "Code;Value\n[Axis 1]\nK1;10\n[Axis 2]\nK1;20\n"
    assert values(read(export, BY_SECTION, 2)) == {"K1": 20}
    export = "[Axis 1]\nCode;Value\nK1;10\n[Axis 2]\nK1;20\n"
    assert values(read(export, BY_SECTION, 2)) == {"K1": 20}


@pytest.mark.parametrize(
    ("export", "rules"), [(TWO_COLUMNS, BY_COLUMN), (TWO_SECTIONS, BY_SECTION)]
)
def test_several_channels_and_no_choice_are_refused_listing_them(
    export: str, rules: ExportDialect
) -> None:
    with pytest.raises(WrongUsage, match=r"channels 1, 2 .*--channel"):
        read(export, rules)


def test_a_channel_that_is_not_there_is_refused() -> None:
    with pytest.raises(WrongUsage, match="no channel 3: it holds 1, 2"):
        read(TWO_COLUMNS, BY_COLUMN, 3)
    with pytest.raises(WrongUsage, match="no channel 1"):
        read("Code;Value\nK1;1\n", dialect(), 1)


def test_a_single_channel_needs_no_choice() -> None:
    content = read("Axis;Code;Value\n3;K1;10\n", BY_COLUMN)
    assert (content.channel, content.channels) == (3, (3,))


def test_bad_rows_of_other_channels_are_not_reported() -> None:
    content = read("Axis;Code;Value\n1;K1;10\n2;K2;\n", BY_COLUMN, 1)
    assert content.skipped == ()
    assert skipped(read("Axis;Code;Value\n1;K1;1\n2;K2;\n", BY_COLUMN, 2)) == [(3, "no value")]


def test_a_channel_cell_without_a_number_makes_a_bad_row() -> None:
    content = read("Axis;Code;Value\n1;K1;10\nboth;K2;5\n", BY_COLUMN)
    assert values(content) == {"K1": 10}
    assert skipped(content) == [(3, "no channel number in 'both'")]


# Encodings

EXPORT = "Note;Größe µ\r\nCode;Value;Name\r\nK1;1;Überlauf\r\n"


@pytest.mark.parametrize(
    ("content", "listed", "found"),
    [
        (EXPORT.encode("utf-8"), ("utf-8", "windows-1252"), "utf-8"),
        (EXPORT.encode("utf-8-sig"), ("windows-1252",), "utf-8-sig"),
        (EXPORT.encode("windows-1252"), ("utf-8", "windows-1252"), "windows-1252"),
        (b"\xff\xfe" + EXPORT.encode("utf-16-le"), ("utf-8",), "utf-16"),
        (b"\xfe\xff" + EXPORT.encode("utf-16-be"), ("utf-8",), "utf-16-be-sig"),
        (EXPORT.encode("utf-16-le"), ("utf-8", "utf-16"), "utf-16-le"),
        (EXPORT.encode("utf-16-be"), ("utf-8", "utf-16"), "utf-16-be"),
    ],
)
def test_an_encoding_is_found_recorded_and_written_again(
    content: bytes, listed: tuple[str, ...], found: str
) -> None:
    rules = dialect(encoding=listed, columns={"code": "Code", "value": "Value", "name": "Name"})
    export = read(content, rules)
    assert export.encoding == found
    assert export.entries[0].name == "Überlauf"
    assert delimited.write(export, dialect=rules) == content


def test_nul_characters_are_refused_as_no_text() -> None:
    with pytest.raises(Unreadable, match=r"line 2: .*NUL"):
        read(b"Code;Value\nK1;\x00\x01\n")


@pytest.mark.parametrize("content", [b"", b"\xef\xbb\xbf", b" \r\n\r\n"])
def test_an_empty_file_is_refused(content: bytes) -> None:
    with pytest.raises(Unreadable, match="line 1: the file is empty"):
        read(content)


def test_a_binary_file_is_refused() -> None:
    with pytest.raises(Unreadable, match="byte 129 does not fit"):
        read(bytes(range(256)) * 4)


def test_bytes_that_happen_to_fit_an_encoding_are_refused_for_want_of_a_table() -> None:
    with pytest.raises(Unreadable, match="headings"):
        read(bytes(range(0xA0, 0x100)) * 4)


def test_a_field_may_be_larger_than_the_usual_limit_of_csv() -> None:
    # 131,072 characters: documentation of csv.field_size_limit does not say; from memory.
    long = "x" * 200_000
    assert read(f"Code;Value\nK1;{long}\n").entries[0].written == long


# Choosing the format and the family


def test_the_registry_finds_this_format() -> None:
    assert format_named("delimited").recognises(b"Code;Value\nK1;1\nK2;2\n", "a.csv")


def test_without_a_dialect_nothing_is_read_or_written() -> None:
    with pytest.raises(WrongUsage, match="--family"):
        delimited.read(b"Code;Value\n", file="a.csv", dialect=None, channel=None)
    with pytest.raises(WrongUsage, match="family"):
        delimited.write(Listing("delimited", ()), dialect=None)


@pytest.mark.parametrize(
    "content",
    [b"", b"\x00\x01;;\n;;\n", b"One line of prose.\nAnother, with a comma.\nNone here.\n"],
)
def test_other_content_is_not_recognised_as_delimited(content: bytes) -> None:
    assert not delimited.recognises(content, "a.txt")


def test_a_utf_16_export_is_recognised() -> None:
    content = "Code\tValue\nK1\t1\nK2\t2\n".encode("utf-16")
    assert delimited.recognises(content, "a.txt")


def test_an_export_matches_the_dialect_whose_header_it_holds() -> None:
    assert delimited.matches(b"Drive;AX\nCode;Value\nK1;1\n", dialect())
    assert not delimited.matches(b"Drive;AX\nId;Value\nK1;1\n", dialect())
    assert not delimited.matches(b"Drive,AX\nCode,Value\nK1,1\n", dialect())
    assert not delimited.matches(b"Code;Value\n\x00\n", dialect())


@pytest.mark.parametrize(
    ("patterns", "expected"),
    [
        ({"Drive": "^AX"}, True),
        ({"drive": "^AX"}, True),
        ({"drive": "^BX"}, False),
        ({"Paint": "red"}, True),
        ({"serial": "."}, False),
        ({"text": "^K1;"}, True),
        ({"text": "^K2;"}, False),
        ({"drive": "^AX", "text": "^K2;"}, False),
    ],
)
def test_every_recognise_entry_must_match(patterns: dict[str, str], expected: bool) -> None:
    content = b"Drive;AX 20\nPaint;red\nCode;Value\nK1;1\n"
    assert delimited.matches(content, dialect(recognise=patterns)) is expected


def test_matching_looks_at_the_head_only_even_if_it_ends_within_a_character() -> None:
    head = b"Code;Value;Name\nK1;1;"
    content = head + "ä".encode() * 40_000  # characters of two bytes, from an odd place on
    assert len(head) % 2 == 1
    assert delimited.matches(content + b"\n\xff\n", dialect(encoding=("utf-8",)))


def test_reading_does_not_load_the_schema_library() -> None:
    code = "import sys, vault.formats.delimited; sys.exit('pydantic' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0


# Writing


def test_what_is_written_follows_the_dialect() -> None:
    content = Listing(
        "delimited",
        (Entry("K1", Decimal("2.5"), 1, name='the "big" one', unit="mm"), Entry("K2", 7, 2)),
        nameplate={"serial": "0012"},
        taken_at="2024-03-04T06:07:00",
    )
    rules = dialect(time_format="%d.%m.%Y %H:%M", line_end="lf")
    assert delimited.write(content, dialect=rules).decode() == (
        "Serial no.;0012\n"
        "Saved;04.03.2024 06:07\n"
        "Code;Value;Name;Unit\n"
        'K1;2,5;"the ""big"" one";mm\n'
        "K2;7;;\n"
    )


def test_a_nameplate_separator_is_written() -> None:
    content = Listing("delimited", (), nameplate={"drive": "AX"})
    rules = dialect(nameplate_separator=":")
    assert delimited.write(content, dialect=rules).startswith(b"Drive: AX\r\n")


def test_numbers_are_written_as_they_were_spelled() -> None:
    export = b"Code;Value\r\nK1;0x1F\r\nK2;2,50\r\nK3;0012\r\n"
    rules = dialect(columns={"code": "Code", "value": "Value"})
    assert delimited.write(read(export, rules), dialect=rules) == export


def test_a_changed_number_is_written_instead_of_the_old_spelling() -> None:
    rules = dialect(columns={"code": "Code", "value": "Value"})
    content = read("Code;Value\nK1;2,50\n", rules)
    changed = replace(content, entries=(replace(content.entries[0], written=Decimal("3.5")),))
    assert delimited.write(changed, dialect=rules) == b"Code;Value\r\nK1;3,5\r\n"


def test_only_the_chosen_channel_is_written_with_its_column_filled() -> None:
    export = delimited.write(read(TWO_COLUMNS, BY_COLUMN, 2), dialect=BY_COLUMN)
    assert export == b"Axis;Code;Value;Name;Unit\r\n2;K1;20;;\r\n2;K2;5;;\r\n"


def test_only_the_chosen_channel_is_written_under_its_section() -> None:
    export = delimited.write(read(TWO_SECTIONS, BY_SECTION, 2), dialect=BY_SECTION)
    assert b"\r\n[Axis 2]\r\nCode;Value;Name;Unit\r\nK0;5;;\r\nK1;20;;\r\n" in export
    assert values(read(export, BY_SECTION)) == {"K0": 5, "K1": 20}


def test_a_text_that_a_spreadsheet_takes_for_a_formula_is_not_altered() -> None:
    content = Listing("delimited", (Entry("K1", "=1+1", 1),))
    assert b"\r\nK1;=1+1;;\r\n" in delimited.write(content, dialect=dialect())


@pytest.mark.parametrize(("text", "encoding"), [("\u03a9", "windows-1252"), ("a\0b", "utf-8")])
def test_a_text_that_cannot_be_written_is_refused_naming_its_code(text: str, encoding: str) -> None:
    entries = (Entry("K1", 1, 1), Entry("K2", 2, 2, name=text))
    with pytest.raises(WrongUsage, match=f"K2: .*{encoding}"):
        delimited.write(Listing("delimited", entries, encoding=encoding), dialect=dialect())


def test_a_text_that_would_read_back_as_another_is_refused() -> None:
    # The windows-1252 bytes of these two letters are UTF-8 for one other (Python's codecs).
    content = Listing("delimited", (Entry("K1", "Ã¼", 1),), encoding="windows-1252")
    with pytest.raises(WrongUsage, match="other characters"):
        delimited.write(content, dialect=dialect())


def test_a_row_that_looks_like_a_comment_or_section_is_quoted() -> None:
    rules = dialect(
        comment="#",
        channel=ChannelRule(section="Axis;{n}"),
        columns={"code": "Code", "value": "Value"},
    )
    entries = (Entry("#1", 1, 1), Entry("Axis", 2, 2))
    content = Listing("delimited", entries)
    assert values(read(delimited.write(content, dialect=rules), rules)) == {"#1": 1, "Axis": 2}


def test_a_dialect_without_quotes_refuses_what_needs_them() -> None:
    content = Listing("delimited", (Entry("K1", "a;b", 1),))
    with pytest.raises(WrongUsage, match="quotes"):
        delimited.write(content, dialect=dialect(quote=""))


# The outside reference for quoting: csv of Python's standard library. It leaves a bare CR or LF
# unquoted where that is not its own line end, so all cells are quoted there.

OUTSIDE_STYLES = [
    {"quoting": csv.QUOTE_MINIMAL, "lineterminator": "\r\n"},
    {"quoting": csv.QUOTE_ALL, "lineterminator": "\r\n"},
    {"quoting": csv.QUOTE_ALL, "lineterminator": "\n"},
    {"quoting": csv.QUOTE_ALL, "lineterminator": "\r"},
]


@settings(max_examples=part_of(80, 2), deadline=None)
@given(
    rows=st.lists(
        st.tuples(*[st.text(st.sampled_from("ab1;,|\t\"'\r\n .µ"), max_size=8)] * 3), max_size=8
    ),
    delimiter=st.sampled_from(";,|\t"),
    style=st.sampled_from(OUTSIDE_STYLES),
)
def test_rows_that_an_outside_writer_quotes_are_read_as_they_were(
    rows: list[tuple[str, str, str]], delimiter: str, style: dict[str, Any]
) -> None:
    table = [[f"K{n}", f"v{value}", *rest] for n, (value, *rest) in enumerate(rows)]
    file = io.StringIO()
    csv.writer(file, delimiter=delimiter, **style).writerows([COLUMNS.values(), *table])
    content = read(file.getvalue(), dialect(delimiter=delimiter))
    assert content.skipped == ()
    assert [[e.code, e.written, e.name, e.unit] for e in content.entries] == [
        [cell.strip() for cell in row] for row in table
    ]


# Any content survives writing and reading, in every dialect.

CHANNEL_RULES = [None, ChannelRule(column="Axis"), ChannelRule(section="[Axis {n}]")]
TIME_FORMS = {
    None: [None, "2024-03-04T06:07:08+02:00", "2024-03-04T06:07:08"],
    "%d.%m.%Y %H:%M": [None, "2024-03-04T06:07:00"],
    "%m/%d/%y %I:%M:%S %p %z": [None, "2024-03-04T18:07:08-05:00"],
}
ENCODINGS = ["utf-8", "utf-8-sig", "utf-16", "utf-16-be-sig", "utf-16-le", "windows-1252"]
MARKS = [*";,|\t'\"#/:=[]\r\n+-.0", "\r\n", "[Axis 1]", "0x", "\u00a0", "Code", "Value"]


@st.composite
def dialects(draw: st.DrawFn, encoding: str) -> ExportDialect:
    decimal = draw(st.sampled_from(".,"))
    thousands = [mark for mark in ("", ".", ",", "'", " ", "\u00a0", "\u202f") if mark != decimal]
    return dialect(
        encoding=("utf-16",) if encoding == "utf-16-le" else (encoding,),
        delimiter=draw(st.sampled_from(";,|\t")),
        quote=draw(st.sampled_from("\"'")),
        decimal=decimal,
        thousands=draw(st.sampled_from(thousands)),
        columns=ALL_COLUMNS,
        nameplate_separator=draw(st.sampled_from([None, *";,|\t:="])),
        comment=draw(st.sampled_from([None, "#", "//"])),
        channel=draw(st.sampled_from(CHANNEL_RULES)),
        line_end=draw(st.sampled_from(["crlf", "lf"])),
        time_format=draw(st.sampled_from(list(TIME_FORMS))),
    )


def texts(encoding: str, least: int = 0) -> st.SearchStrategy[str]:
    # Latin-1 without its control range is a part of windows-1252 (from memory).
    codec = "latin-1" if encoding == "windows-1252" else "utf-8"
    characters = st.characters(codec=codec, exclude_categories=["Cc", "Cs"])
    pieces = st.lists(st.one_of(characters, st.sampled_from(MARKS)), max_size=12)
    return pieces.map("".join).map(str.strip).filter(lambda text: len(text) >= least)


@st.composite
def contents(draw: st.DrawFn, rules: ExportDialect, encoding: str) -> Listing:
    text, filled = texts(encoding), texts(encoding, 1)
    numbers = st.one_of(
        st.integers(-(2**63), 2**64),
        st.decimals(allow_nan=False, allow_infinity=False, min_value=-(10**9), max_value=10**9),
    )

    def is_text(cell: str) -> bool:
        return parse_number(cell, rules.decimal, rules.thousands) is None

    scalars = st.one_of(numbers, filled.filter(is_text), st.just("0012"))
    limits = st.one_of(st.none(), scalars)
    headings = {heading.casefold() for heading in ALL_COLUMNS.values()}
    codes = filled.filter(lambda code: code.casefold() not in headings)
    entries = [
        Entry(
            code=code,
            written=draw(text if data_type == "VISIBLE_STRING" else scalars),
            line=1,
            name=draw(text),
            unit=draw(text),
            data_type=data_type,
            access=draw(st.sampled_from([None, "ro", "rw"])),
            low=draw(limits),
            high=draw(limits),
            default=draw(filled if data_type == "VISIBLE_STRING" else limits),
        )
        for code in draw(st.lists(codes, unique=True, max_size=4))
        for data_type in [draw(st.sampled_from([None, "INTEGER16", "REAL64", "VISIBLE_STRING"]))]
    ]
    return Listing(
        format="delimited",
        entries=tuple(entries),
        nameplate=draw(
            st.dictionaries(st.sampled_from(["drive", "serial", "firmware", "note"]), filled)
        ),
        encoding=encoding,
        channel=draw(st.sampled_from([None, 1, 12])) if rules.channel else None,
        taken_at=draw(st.sampled_from(TIME_FORMS[rules.time_format])),
    )


def cleared(entries: tuple[Entry, ...]) -> list[Entry]:
    return [replace(entry, line=0, text="") for entry in entries]


@pytest.mark.parametrize("encoding", ENCODINGS)
@settings(max_examples=part_of(40, 2), deadline=None)
@given(data=st.data())
def test_any_content_survives_writing_and_reading(encoding: str, data: st.DataObject) -> None:
    rules = data.draw(dialects(encoding))
    before = data.draw(contents(rules, encoding))
    after = read(delimited.write(before, dialect=rules), rules)
    assert after.skipped == ()
    assert cleared(after.entries) == cleared(before.entries)
    assert after.nameplate == before.nameplate
    assert after.taken_at == before.taken_at
    assert after.encoding == encoding
    if before.entries:
        assert after.channel == before.channel


@settings(max_examples=part_of(30, 2), deadline=None)
@given(data=st.data())
def test_an_export_that_was_read_is_written_with_the_same_spellings(data: st.DataObject) -> None:
    rules = data.draw(dialects("utf-8"))
    once = read(delimited.write(data.draw(contents(rules, "utf-8")), dialect=rules), rules)
    assert read(delimited.write(once, dialect=rules), rules) == once


@settings(max_examples=part_of(30, 2), deadline=None)
@given(data=st.data())
def test_what_is_written_is_read_the_same_by_an_outside_reader(data: st.DataObject) -> None:
    # Outside reader: csv of Python's standard library, in its strict mode.
    rules = dialect(columns=ALL_COLUMNS)
    before = data.draw(contents(rules, "utf-8"))
    export = delimited.write(before, dialect=rules).decode()
    rows = list(csv.reader(io.StringIO(export, newline=""), delimiter=";", strict=True))
    header = rows.index(list(ALL_COLUMNS.values()))
    cells = [(row[0], row[2], row[3]) for row in rows[header + 1 :]]
    assert cells == [(entry.code, entry.name, entry.unit) for entry in before.entries]
    labels = [row[1] for row in rows[:header] if row[0] != "Saved"]
    assert sorted(labels) == sorted(before.nameplate.values())


@settings(max_examples=part_of(80, 2), deadline=None)
@given(data=st.data())
def test_any_bytes_are_read_or_refused_with_a_reason(data: st.DataObject) -> None:
    rules = data.draw(dialects("windows-1252"))
    content = data.draw(st.binary(max_size=300))
    delimited.recognises(content, "a.csv")
    delimited.matches(content, rules)
    header = rules.delimiter.join(ALL_COLUMNS.values()).encode() + b"\n"
    for export in (content, header + content):
        try:
            assert read(export, rules).format == "delimited"
        except (Unreadable, WrongUsage) as refused:
            assert str(refused)
