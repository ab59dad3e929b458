"""Exports with their columns at positions of the line. All families and codes are invented."""

from __future__ import annotations

import codecs
import struct
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.formats import fixed
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Entry, Listing
from vault.model.export_dialect import ExportDialect

COLUMNS = {"code": "1-8", "value": "10-18", "unit": "20-25", "name": "27-"}
BESIDE = {"code": "1-4", "value": "5-10", "unit": "11-16", "name": "17-"}  # columns that meet


def dialect(**changes: Any) -> ExportDialect:
    return ExportDialect(**{"format": "fixed", "columns": COLUMNS, "comment": "#", **changes})


def read(export: str | bytes, axis: int | None = None, **changes: Any) -> Listing:
    content = export.encode() if isinstance(export, str) else export
    return fixed.read(content, file="a.txt", dialect=dialect(**changes), channel=axis)


def row(code: str, value: str, unit: str = "", name: str = "") -> str:
    return f"{code:8} {value:>9} {unit:6} {name}\n"


def values(listing: Listing) -> dict[str, Any]:
    return {entry.code: entry.written for entry in listing.entries}


def skipped(listing: Listing) -> list[tuple[int, str]]:
    return [(bad.line, bad.reason) for bad in listing.skipped]


# Reading


def test_columns_are_read_at_their_positions() -> None:
    (entry,) = read(row("P1.05", "12.50", "mm/s", "Max speed")).entries
    assert replace(entry, text="") == Entry("P1.05", Decimal("12.50"), 1, "Max speed", "mm/s")


def test_a_reference_unpacks_the_same_columns() -> None:
    """The standard library's `struct` takes bytes apart by width."""
    lines = [row(f"P{n}", str(n * 7), "mm", f"Setting {n}") for n in range(50)]
    found = read("".join(lines)).entries
    for entry, line in zip(found, lines, strict=True):
        code, value, unit = struct.unpack("8sx9sx6s", line.encode()[:25])
        assert (entry.code, str(entry.written), entry.unit) == (
            code.decode().strip(),
            value.decode().strip(),
            unit.decode().strip(),
        )


def test_every_column_is_read() -> None:
    places = {"code": "1-4", "value": "6-9", "low": "11-14", "high": "16-19", "default": "21-24",
              "access": "26-27", "type": "29-"}  # fmt: skip
    (entry,) = read("K1      5    0    9    3 RO INTEGER16\n", columns=places).entries
    assert (entry.written, entry.low, entry.high, entry.default) == (5, 0, 9, 3)
    assert (entry.access, entry.data_type) == ("ro", "INTEGER16")


def test_titles_ruled_lines_and_comments_are_passed_over() -> None:
    export = "List 4711\n\nCode      Value\n======== =========\n" + row("K1", "5") + "# by hand\n"
    listing = read(export, header="CODE VALUE")
    assert (values(listing), listing.skipped) == ({"K1": 5}, ())


def test_the_header_line_may_come_again_on_every_page() -> None:
    page = "Drive: HZ\nCode Value\n"
    listing = read(
        page + row("K1", "5") + page + row("K2", "6"),
        header="Code Value",
        nameplate={"Drive": "drive"},
    )
    assert (values(listing), listing.skipped) == ({"K1": 5, "K2": 6}, ())
    assert listing.nameplate == {"drive": "HZ"}


def test_a_line_of_the_nameplate_that_says_another_thing_is_told() -> None:
    listing = read("Drive: HZ\nDrive: AS\n" + row("K1", "5"), nameplate={"Drive": "drive"})
    assert skipped(listing) == [(2, "Drive is of the nameplate, and stands in line 1 too")]


def test_a_number_of_parameters_above_the_header_is_held_against_the_rows() -> None:
    export = "Parameters: 3\nCode Value\n" + row("K1", "5") + row("K2", "6")
    (remark,) = read(export, header="Code Value").remarks
    assert remark.reason == "2 of 3 rows are there: the file seems cut off"
    assert read(export.replace("3", "2", 1), header="Code Value").remarks == ()


@pytest.mark.parametrize("separator", [":", "=", ";", "|"])
def test_a_label_of_the_nameplate_stands_before_its_mark(separator: str) -> None:
    listing = read(
        f"  serial no. {separator} 0012\n" + row("K1", "5"),
        nameplate={"Serial no.": "serial"},
        nameplate_separator=separator,
    )
    assert listing.nameplate == {"serial": "0012"}


def test_a_time_is_read_as_the_dictionary_has_it() -> None:
    rules = {"nameplate": {"Saved": "taken_at"}, "time_format": "%d.%m.%y %H:%M"}
    assert read("Saved: 04.03.24 06:07\n" + row("K1", "5"), **rules).taken_at == (
        "2024-03-04T06:07:00"
    )
    assert skipped(read("Saved: today\n" + row("K1", "5"), **rules)) == [
        (1, "'today' is not a time as %d.%m.%y %H:%M has it")
    ]


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("1'234,5", Decimal("1234.5"), ""),
        ("12,5 mm", Decimal("12.5"), "mm"),
        ("12,5mm", Decimal("12.5"), "mm"),
        ("0x1F", 31, ""),
        ("1F4h", 500, ""),
        ("101b", 5, ""),
        ("12,5O", "12,5O", ""),
        ("0012", "0012", ""),
    ],
)
def test_numbers_and_units_are_read_exactly_or_stay_texts(text: str, value: Any, unit: str) -> None:
    rules = {"decimal": ",", "thousands": "'", "unit_in_value": True, "hex_and_binary": True}
    (entry,) = read(row("K1", text), **rules).entries
    assert (entry.written, entry.unit) == (value, unit)


def test_sections_stand_in_a_heading_or_in_a_column() -> None:
    export = row("K0", "1") + "* Speed\n" + row("Kp", "2") + "* Position\n" + row("Kp", "3")
    assert values(read(export, section="* {name}")) == {"K0": 1, "Speed/Kp": 2, "Position/Kp": 3}
    places = {**COLUMNS, "section": "20-25"}
    del places["unit"]
    export = row("Kp", "2", "Speed") + "* Position\n" + row("Kp", "3") + row("Kp", "4")
    listing = read(export, columns=places, section="* {name}")
    assert values(listing) == {"Speed/Kp": 2, "Position/Kp": 3}
    assert skipped(listing) == [(4, "Position/Kp is given already in line 3")]


def test_axes_are_told_apart_by_headings_or_by_a_column() -> None:
    export = row("Ks", "1") + "Axis 1\n" + row("Kp", "2") + "Axis 2\n" + row("Kp", "3")
    assert values(read(export, 2, channel={"section": "Axis {n}"})) == {"Ks": 1, "Kp": 3}
    places = {key: place for key, place in COLUMNS.items() if key != "unit"}
    export = row("Kp", "2", "1") + row("Kp", "3", "2") + row("Kp", "4", "x")
    listing = read(export, 2, columns=places, channel={"column": "20-25"})
    assert values(listing) == {"Kp": 3}
    assert skipped(listing) == [(3, "no channel number in 'x'")]
    with pytest.raises(WrongUsage, match="channels 1, 2"):
        read(export, columns=places, channel={"column": "20-25"})


@pytest.mark.parametrize(
    ("mark", "codec", "encoding"),
    [
        (codecs.BOM_UTF8, "utf-8", "utf-8"),
        (codecs.BOM_UTF16_LE, "utf-16-le", "utf-8"),
        (codecs.BOM_UTF16_BE, "utf-16-be", "utf-8"),
        (b"", "iso-8859-1", "iso-8859-1"),
    ],
)
def test_positions_count_characters_in_every_encoding(
    mark: bytes, codec: str, encoding: str
) -> None:
    content = mark + row("größe", "5", "µm", "Länge").encode(codec)
    (entry,) = read(content, encoding=(encoding,)).entries
    assert (entry.code, entry.written, entry.unit, entry.name) == ("größe", 5, "µm", "Länge")


def test_lines_may_end_in_any_way_in_one_file() -> None:
    export = row("K1", "1")[:-1] + "\r\n" + row("K2", "2")[:-1] + "\r" + row("K3", "3")
    assert values(read(export)) == {"K1": 1, "K2": 2, "K3": 3}


def test_five_thousand_rows_are_read() -> None:
    listing = read("".join(row(f"P{n}", str(n), "mm", "Setting") for n in range(5000)))
    assert values(listing) == {f"P{n}": n for n in range(5000)}
    assert listing.skipped == ()


# What cannot be understood


def test_lines_that_do_not_fit_their_columns_are_told_with_their_reason() -> None:
    export = (
        row("K1", "1")
        + row("K2", "")
        + row("", "3")
        + "K4\t4\n"
        + "A code that is too long 5\n"
        + row("K6", "6", "mm", "x\x07")
        + "K7        1234567890\n"
    )
    listing = read(export)
    assert values(listing) == {"K1": 1}
    assert skipped(listing) == [
        (2, "no value"),
        (3, "no code"),
        (4, "the line holds a tab, so that positions cannot be told"),
        (5, "a text runs over an edge of the column of its code"),
        (6, "the line holds control characters"),
        (7, "a text runs over an edge of the column of its value"),
    ]


@pytest.mark.parametrize(
    ("line", "value"),
    [
        ("K1       5mm", 5),
        ("K1  123456mm", 123456),
        ("K1  12.345mm", Decimal("12.345")),
        ("K1  1234567mm", None),
        ("K1  12345.5mm", None),
        ("K1  123456.5", None),
        ("K1 -123456mm", None),
        ("P1005     mm", None),
        ("P100512   mm", None),
        ("K1  0x12ABCD", None),
        ("K1  0x12AB A", 0x12AB),
        ("K1    0x12 A", 0x12),
        ("K1    0x12A", 0x12),
    ],
)
def test_a_number_that_may_run_over_an_edge_where_columns_meet_is_not_guessed(
    line: str, value: Any
) -> None:
    found = read(f"K0     1\n{line}\n", columns=BESIDE)
    if value is None:
        assert values(found) == {"K0": 1}
        assert skipped(found) == [(2, "a number may run over an edge of the column of its value")]
    else:
        assert values(found) == {"K0": 1, "K1": value}


def test_a_unit_in_its_column_that_is_not_that_of_the_value_is_told() -> None:
    listing = read(row("K1", "5 m", "mm") + row("K2", "5 mm", "mm"), unit_in_value=True)
    assert values(listing) == {"K2": 5}
    assert skipped(listing) == [(1, "the value is in 'm', and its unit is 'mm'")]


def test_bounds_in_another_unit_than_their_value_are_told() -> None:
    places = {"code": "1-4", "value": "6-10", "low": "12-16", "high": "18-22"}
    listing = read(
        "K1   5 mm  0 mm  9 mm\nK2   5 mm  0     9\nK3   5 mm  0 m   9\nK4   5     0 mm  9\n",
        columns=places,
        unit_in_value=True,
    )
    assert [(e.code, e.low, e.high) for e in listing.entries] == [("K1", 0, 9), ("K2", 0, 9)]
    assert skipped(listing) == [
        (3, "its low is in 'm', and the value in 'mm'"),
        (4, "its low is in 'mm', and the value without a unit"),
    ]


@pytest.mark.parametrize("content", [b"", b"\r\n \r\n"])
def test_an_empty_file_is_refused(content: bytes) -> None:
    with pytest.raises(Unreadable, match="the file is empty"):
        read(content)


def test_a_file_without_its_header_line_is_refused() -> None:
    with pytest.raises(Unreadable, match="no line holds a code and its value"):
        read(row("K1", "5"), header="Code Value")


@pytest.mark.parametrize(
    ("columns", "reason"),
    [
        ({"code": "1-8", "value": "8-12"}, "positions are those of another column too"),
        ({"code": "1-", "value": "8-12"}, "positions are those of another column too"),
        ({"code": "1-8", "value": "Value"}, "no positions"),
        ({"code": "1-8"}, "must name the place of 'value'"),
    ],
)
def test_columns_that_are_no_places_apart_are_refused(columns: dict[str, str], reason: str) -> None:
    with pytest.raises(ValueError, match=reason):
        dialect(columns=columns)


def test_the_number_of_an_axis_has_a_place_of_its_own() -> None:
    with pytest.raises(ValueError, match="positions are those of another column too"):
        dialect(channel={"column": "8-9"})


# Recognition


def test_an_export_is_known_by_its_header_line_or_by_a_pattern() -> None:
    export = b"Drive: HZ-4\nCode Value\n" + row("K1", "5").encode()
    plate = {"nameplate": {"Drive": "drive"}}
    assert fixed.matches(export, dialect(header="Code Value"))
    assert not fixed.matches(export, dialect(header="Code Content"))
    assert fixed.matches(export, dialect(header="Code Value", recognise={"drive": "HZ"}, **plate))
    assert not fixed.matches(
        export, dialect(header="Code Value", recognise={"drive": "A"}, **plate)
    )
    assert not fixed.matches(row("K1", "5").encode(), dialect())
    assert not fixed.matches(b"Code Value\n\xff\xfe\x00", dialect(header="Code Value"))


def test_columns_are_recognised_without_a_dictionary() -> None:
    assert fixed.recognises("".join(row(f"P{n}", "7", "mm", "x") for n in range(9)).encode(), "a")
    assert not fixed.recognises(b"some prose that nobody set in columns\n" * 9, "a")
    assert not fixed.recognises(b"\x00\xff" * 40, "a")


# Writing anew


def listing(entries: list[Entry], **more: Any) -> Listing:
    return Listing("fixed", tuple(entries), holds="value", **more)


def test_what_is_written_stands_at_its_positions() -> None:
    entries = [Entry("S/K1", Decimal("2.5"), 0, name="A  long\nname", unit="mm"), Entry("K0", 7, 0)]
    form = dialect(
        columns={**COLUMNS, "name": "27-32"}, section="* {name}", header="Code", line_end="lf",
        decimal=",", nameplate={"Drive": "drive"},
    )  # fmt: skip
    assert fixed.write(listing(entries, nameplate={"drive": "HZ"}), dialect=form).decode() == (
        "Drive: HZ\nCode\nK0       7\n* S\nK1       2,5       mm     A long\n"
    )


@pytest.mark.parametrize(
    ("entry", "rules", "reason"),
    [
        (Entry("A long code", 5, 0), {}, "wider than its column of 8"),
        (Entry("K1", 10**12, 0), {}, "wider than its column of 9"),
        (Entry("K1", 5, 0, unit="m\tm"), {}, "reads back as something else"),
        (Entry("# K1", 5, 0), {}, "reads back as something else"),
        (Entry("P100", 5, 0), {"columns": BESIDE}, "reads back as something else"),
        (Entry("K1", "5 m", 0), {"unit_in_value": True}, "reads back as something else"),
        (Entry("K1", "a\nb", 0), {}, "line break"),
    ],
)
def test_what_its_column_does_not_hold_is_refused(
    entry: Entry, rules: dict[str, Any], reason: str
) -> None:
    with pytest.raises(WrongUsage, match=reason):
        fixed.write(listing([entry]), dialect=dialect(**rules))


WORDS = st.text(st.characters(codec="latin-1", categories=["L", "N", "P", "S", "Zs"]), max_size=9)


@given(
    st.dictionaries(
        st.from_regex(r"[A-Z][a-z0-9.]{0,7}", fullmatch=True),
        st.tuples(st.integers(-(10**7), 10**7) | st.decimals(-999, 999, places=3) | WORDS, WORDS),
        min_size=1,
        max_size=6,
    ),
    st.booleans(),
    st.sampled_from(["utf-8", "iso-8859-1", "utf-16"]),
)
def test_what_is_written_reads_as_the_same_or_is_refused(
    rows: dict[str, tuple[Any, str]], meets: bool, encoding: str
) -> None:
    form = dialect(encoding=(encoding,), columns=BESIDE if meets else COLUMNS, decimal=",")
    entries = [Entry(code, value, 0, name, "mm") for code, (value, name) in rows.items()]
    before = listing(entries, encoding=encoding)
    try:
        content = fixed.write(before, dialect=form)
    except WrongUsage:
        return
    after = fixed.read(content, file="a", dialect=form, channel=None)
    assert after.skipped == ()
    for one, entry in zip(after.entries, entries, strict=True):
        assert (one.code, one.unit) == (entry.code, "mm")
        if isinstance(entry.written, str):
            assert (one.text or str(one.written)) == entry.written.strip()
        else:
            assert one.written == entry.written


@given(st.binary(max_size=200), st.booleans())
def test_any_bytes_are_read_or_refused_with_a_reason(content: bytes, meets: bool) -> None:
    form = dialect(columns=BESIDE if meets else COLUMNS, recognise={"text": "K"})
    fixed.recognises(content, "a")
    fixed.matches(content, form)
    for export in (content, b"K1        5\n" + content):
        try:
            assert fixed.read(export, file="a", dialect=form, channel=None).format == "fixed"
        except (Unreadable, WrongUsage) as refused:
            assert str(refused)
