"""Exports with a code and its value on each line. All families and codes are invented."""

from __future__ import annotations

import codecs
import configparser
import io
from dataclasses import replace
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.formats import delimited, keyed
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Entry, Listing
from vault.model.export_dialect import ExportDialect

IN_SECTIONS = {"section": "[{name}]"}
NUMBERED = {"assign": ":", "columns": {"name": "code"}, "unit_in_value": True}


def dialect(**changes: Any) -> ExportDialect:
    return ExportDialect(**{"format": "keyed", "comment": ";", **changes})


def read(export: str | bytes, axis: int | None = None, **changes: Any) -> Listing:
    content = export.encode() if isinstance(export, str) else export
    return keyed.read(content, file="a.ini", dialect=dialect(**changes), channel=axis)


def values(listing: Listing) -> dict[str, Any]:
    return {entry.code: entry.written for entry in listing.entries}


def skipped(listing: Listing) -> list[tuple[int, str, str]]:
    return [(bad.line, bad.text, bad.reason) for bad in listing.skipped]


# Reading


def test_a_line_has_a_code_its_value_and_a_comment() -> None:
    (entry,) = read("K1 = 12.50 ; Window\n").entries
    assert entry == Entry("K1", Decimal("12.50"), 1, name="Window", text="12.50")


def test_a_section_goes_before_the_codes_below_it() -> None:
    listing = read("K0=1\n[Speed]\nKp = 2\n[Position] ; outer loop\nKp = 3\n", **IN_SECTIONS)
    assert values(listing) == {"K0": 1, "Speed/Kp": 2, "Position/Kp": 3}


def test_without_sections_in_the_codes_headings_are_passed_over() -> None:
    assert values(read("[Speed]\nKp=2\n[Position]\nKv=3\n")) == {"Kp": 2, "Kv": 3}


def test_a_code_that_stands_twice_without_sections_is_told() -> None:
    listing = read("[Speed]\nKp=2\n[Position]\nKp=3\n")
    assert values(listing) == {"Kp": 2}
    assert skipped(listing) == [(4, "Kp 3", "Kp is given already in line 2")]


def test_a_code_that_stands_twice_in_one_section_is_told() -> None:
    listing = read("[A]\nK=2\n[B]\nK=3\n[A]\nK=4\n", **IN_SECTIONS)
    assert values(listing) == {"A/K": 2, "B/K": 3}
    assert skipped(listing) == [(6, "K 4", "A/K is given already in line 2")]


def test_numbered_lines_have_a_name_behind_the_code_and_a_unit_behind_the_value() -> None:
    (entry,) = read("P1.05 Max speed : 3000 rpm\n", **NUMBERED).entries
    assert entry == Entry("P1.05", 3000, 1, name="Max speed", unit="rpm")


@pytest.mark.parametrize("assign", ["=", ":", "\t", " "])
def test_each_mark_between_code_and_value_is_read(assign: str) -> None:
    assert values(read(f"  K1{assign} 7\nK2{assign}x y\n", assign=assign)) == {"K1": 7, "K2": "x y"}


def test_a_colon_between_blanks_leaves_those_of_the_codes() -> None:
    listing = read("6065:00 : 12\n6081:0A  :  a : b\nDrive: X1\n", assign=" : ")
    assert values(listing) == {"6065:00": 12, "6081:0A": "a : b"}
    assert [bad.line for bad in listing.skipped] == [3]


def test_a_value_may_hold_the_mark_that_stands_before_it() -> None:
    assert values(read("K1 = a=b\n")) == {"K1": "a=b"}


def test_the_unit_may_be_the_comment() -> None:
    (entry,) = read("K1 = 5 ; [mm/s]\n", columns={"unit": "comment"}).entries
    assert (entry.written, entry.unit, entry.name) == (5, "mm/s", "")


@pytest.mark.parametrize(
    ("text", "value"),
    [
        ('"5" ; five', 5),
        ('"a ; b"', "a ; b"),
        ("a;b", "a;b"),
        ('"a" b', '"a" b'),
        ('" a "', "a"),
    ],
)
def test_quotes_keep_a_comment_mark_in_a_text(text: str, value: Any) -> None:
    assert values(read(f"K1 = {text}\n")) == {"K1": value}


@pytest.mark.parametrize(
    ("text", "value", "unit"),
    [
        ("1'234,5", Decimal("1234.5"), ""),
        ("1'234,5 mm", Decimal("1234.5"), "mm"),
        ("-12,5mm/s", Decimal("-12.5"), "mm/s"),
        ("0x1F", 31, ""),
        ("1F4h", 500, ""),
        ("0b101", 5, ""),
        ("2#0000_0101", 5, ""),
        ("16#1F4 inc", 500, "inc"),
        ("0012", "0012", ""),
        ("12.5 mm", "12.5 mm", ""),
        ("1'23 mm", "1'23 mm", ""),
        ("15O", "15O", ""),
        ("1,5O mm", "1,5O mm", ""),
        ("1FF h", "1FF h", ""),
    ],
)
def test_numbers_and_units_are_read_exactly_or_stay_texts(text: str, value: Any, unit: str) -> None:
    rules = {"decimal": ",", "thousands": "'", "unit_in_value": True, "hex_and_binary": True}
    (entry,) = read(f"K1 = {text}\n", **rules).entries
    assert (entry.written, entry.unit) == (value, unit)
    assert type(entry.written) is type(value)


def test_two_units_of_one_value_that_differ_are_told() -> None:
    rules: dict[str, Any] = {"unit_in_value": True, "columns": {"unit": "comment"}}
    listing = read("K1 = 5 m ; mm\nK2 = 5 1/min ; rpm\nK3 = 5 ; mm\n", **rules)
    assert [(e.code, e.unit) for e in listing.entries] == [("K2", "rpm"), ("K3", "mm")]
    assert skipped(listing) == [(1, "K1 5 m", "the value is in 'm', and its unit is 'mm'")]


# Encodings and lines


@pytest.mark.parametrize(
    ("content", "encoding", "recorded"),
    [
        ("größe = 1\n".encode(), ("utf-8",), "utf-8"),
        (codecs.BOM_UTF8 + "größe = 1\n".encode(), ("windows-1252",), "utf-8-sig"),
        ("größe = 1\n".encode("utf-16"), ("utf-8",), "utf-16"),
        ("größe = 1\n".encode("utf-16-be"), ("utf-8", "utf-16"), "utf-16-be"),
        ("größe = 1\n".encode("latin-1"), ("utf-8", "iso-8859-1"), "iso-8859-1"),
    ],
)
def test_the_encoding_is_found(content: bytes, encoding: tuple[str, ...], recorded: str) -> None:
    listing = read(content, encoding=encoding)
    assert (values(listing), listing.encoding) == ({"größe": 1}, recorded)


def test_bytes_of_no_encoding_are_refused_with_their_line() -> None:
    with pytest.raises(Unreadable, match=r"a.ini, line 2: byte 9 does not fit utf-8 text"):
        read(b"K1 = 5\r\nK\xff = 6\r\n", encoding=("utf-8",))


def test_lines_may_end_in_any_way_in_one_file() -> None:
    listing = read("K1=1\r\nK2=2\rK3=3\n\nK4=4\r\n")
    assert [(e.code, e.line) for e in listing.entries] == [
        ("K1", 1),
        ("K2", 2),
        ("K3", 3),
        ("K4", 5),
    ]


def test_five_thousand_rows_are_read() -> None:
    listing = read("".join(f"P{n} = {n} ; setting\r\n" for n in range(5000)))
    assert values(listing) == {f"P{n}": n for n in range(5000)}
    assert listing.skipped == ()


def test_a_long_run_of_blanks_is_no_burden() -> None:
    blanks = " " * 400_000
    assert values(read(f"K1 = a{blanks}b\n")) == {"K1": f"a{blanks}b"}


# Several axes

AXES = "Plate = HZ\nKs = 1\n[Axis 1]\nSerial = 11\nKp = 2\n[Axis 2]\nSerial = 22\nKp = 3\n"
BY_AXIS = {
    "channel": {"section": "[Axis {n}]"},
    "nameplate": {"Plate": "drive", "Serial": "serial"},
}


@pytest.mark.parametrize(("axis", "gain", "serial"), [(1, 2, "11"), (2, 3, "22")])
def test_headings_tell_the_axes_apart(axis: int, gain: int, serial: str) -> None:
    listing = read(AXES, axis, **BY_AXIS)
    assert values(listing) == {"Ks": 1, "Kp": gain}
    assert listing.nameplate == {"drive": "HZ", "serial": serial}
    assert (listing.channel, listing.channels) == (axis, (1, 2))


def test_an_axis_must_be_chosen_where_there_are_several() -> None:
    with pytest.raises(WrongUsage, match="channels 1, 2"):
        read(AXES, **BY_AXIS)


def test_sections_stand_within_the_axes() -> None:
    export = "[Axis 1]\n[Speed]\nKp=1\n[Axis 2]\n[Speed]\nKp=2\n"
    assert values(read(export, 2, **BY_AXIS, **IN_SECTIONS)) == {"Speed/Kp": 2}


def test_another_heading_ends_an_axis_whose_heading_is_like_it() -> None:
    assert values(read("[Axis 1]\nKp=1\n[General]\nKs=2\n[Axis 2]\nKp=3\n", 2, **BY_AXIS)) == {
        "Ks": 2,
        "Kp": 3,
    }


def test_headings_within_an_axis_that_is_headed_by_words_leave_it_one() -> None:
    rules = {"channel": {"section": "Axis {n}:"}}
    export = "Axis 1:\n[Speed]\nKp=1\nAxis 2:\n[Position]\nKv=2\n"
    assert values(read(export, 1, **rules)) == {"Kp": 1}
    assert values(read(export, 2, **rules)) == {"Kv": 2}


def test_a_code_may_begin_with_the_words_of_a_heading() -> None:
    rules = {"channel": {"section": "Axis {n}"}}
    listing = read("Axis 1\nAxisType = 3\nKp = 4\n", **rules)
    assert (values(listing), listing.skipped) == ({"AxisType": 3, "Kp": 4}, ())


# What cannot be understood


def test_lines_that_are_none_of_it_are_told_with_their_reason() -> None:
    listing = read("K1 = 1\nwhat is this\nK2 =\n= 3\nK4 = 4\x07\nK5 = 5\n")
    assert values(listing) == {"K1": 1, "K5": 5}
    neither = "this is neither a section, a code with '=' behind it, nor a comment"
    assert skipped(listing) == [
        (2, "what is this", neither),
        (3, "K2", "no value"),
        (4, "3", "no code"),
        (5, "K4 = 4\x07", "the line holds control characters"),
    ]


@pytest.mark.parametrize("heading", ["[Speed", "[Axis 1] x", "[]", "[Sp\x07eed]"])
def test_below_a_heading_that_cannot_be_read_nothing_is_guessed(heading: str) -> None:
    rules = {**IN_SECTIONS, "channel": {"section": "[Axis {n}]"}}
    listing = read(f"[A]\nK1 = 1\n{heading}\nK1 = 2\n[B]\nK1 = 3\n", **rules)
    assert values(listing) == {"A/K1": 1, "B/K1": 3}
    assert [bad.line for bad in listing.skipped] == [3, 4]
    assert listing.skipped[1].reason == "the heading above it, in line 3, cannot be read"


def test_a_heading_of_words_that_cannot_be_read_is_no_row() -> None:
    rules = {"channel": {"section": "Axis {n}"}}
    listing = read("Axis 1\nKp = 4\nAxis l\nKp = 5\n", **rules)
    assert values(listing) == {"Kp": 4}
    assert [bad.line for bad in listing.skipped] == [3, 4]


def test_a_file_without_a_row_is_refused_with_all_its_lines() -> None:
    with pytest.raises(Unreadable, match="no line holds a code and its value") as refused:
        read("one\ntwo\n")
    assert [(bad.line, bad.text) for bad in refused.value.problems] == [(1, "one"), (2, "two")]


@pytest.mark.parametrize("content", [b"", b" \r\n", codecs.BOM_UTF8])
def test_an_empty_file_is_refused(content: bytes) -> None:
    with pytest.raises(Unreadable, match="the file is empty"):
        read(content)


def test_a_file_that_ends_before_a_value_or_without_line_end_is_told() -> None:
    listing = read("K1 = 1\nK2 =")
    assert skipped(listing) == [
        (2, "K2 =", "the last line ends before its value: the file seems cut off")
    ]
    listing = read("K1 = 1\nK2 = 30")
    assert [(r.line, r.text) for r in listing.remarks] == [(2, "K2 = 30")]
    assert read("K1 = 1\n; end\n").ends == {"last line", "closing comment"}


def test_a_file_cut_off_within_a_character_keeps_its_whole_lines() -> None:
    listing = read("K1 = ä\nK2 = 1 ; ä".encode()[:-1])
    assert values(listing) == {"K1": "ä"}
    assert listing.skipped[0].reason == "the file seems cut off within a character"


# Nameplate


def test_keys_are_the_nameplate_by_themselves_or_with_their_section() -> None:
    plate = {"Serial": "serial", "Motor/Type": "motor", "Saved": "taken_at"}
    export = (
        'SERIAL: 0012\n[Motor]\nType = "M ; 1" ; plate\n'
        "[Encoder]\nType = 3\nSaved = 04.03.2024 06:07\n"
    )
    listing = read(export, nameplate=plate, time_format="%d.%m.%Y %H:%M", **IN_SECTIONS)
    assert listing.nameplate == {"serial": "0012", "motor": "M ; 1"}
    assert values(listing) == {"Encoder/Type": 3}
    assert listing.taken_at == "2024-03-04T06:07:00"


@pytest.mark.parametrize("label", ["Größe", "GRÖSSE", "größe"])
def test_a_label_is_found_in_great_and_small_letters(label: str) -> None:
    assert read(f"{label} = 4\nK=1\n", nameplate={"Größe": "drive"}).nameplate == {"drive": "4"}


def test_a_time_that_cannot_be_read_is_told_with_its_line() -> None:
    listing = read("K1=1\nSaved = yesterday\n", nameplate={"Saved": "taken_at"})
    assert skipped(listing) == [
        (2, "Saved = yesterday", "'yesterday' is not a time as RFC 3339 has it")
    ]


def test_a_key_of_the_nameplate_that_stands_again_with_another_text_is_told() -> None:
    listing = read(
        "[A]\nType = HZ\n[B]\nType = 3\n[C]\nType = HZ\nK=1\n", nameplate={"Type": "drive"}
    )
    assert listing.nameplate == {"drive": "HZ"}
    assert skipped(listing) == [
        (4, "Type = 3", "Type is of the nameplate, and stands in line 2 too")
    ]


# Recognition

KNOWN = {"nameplate": {"Drive": "drive"}, "recognise": {"drive": "^HZ-"}}
EXPORT = b"[Plate]\nDrive = HZ-4\n[Limits]\nlag = 5\nspeed = 6\n"


def test_an_export_is_of_the_family_whose_pattern_it_has() -> None:
    assert keyed.matches(EXPORT, dialect(**KNOWN))
    assert not keyed.matches(EXPORT.replace(b"HZ-4", b"AS-4"), dialect(**KNOWN))


def test_a_text_of_the_first_lines_may_be_the_pattern() -> None:
    rules = dialect(recognise={"text": r"^\[Limits\]"})
    assert keyed.matches(EXPORT, rules)
    assert not keyed.matches(EXPORT.replace(b"Limits", b"Others"), rules)


def test_without_a_pattern_no_file_is_of_a_family() -> None:
    assert not keyed.matches(EXPORT, dialect())


def test_a_file_of_mostly_other_lines_is_no_export() -> None:
    assert not keyed.matches(EXPORT + b"some prose\n" * 9, dialect(**KNOWN))


def test_a_device_configuration_is_none_of_it() -> None:
    # Sections and keys of a DCF after CiA 306 (from memory).
    text = b"[FileInfo]\n[DeviceInfo]\nProductName=HZ-4\n[1008]\nParameterName=Name\nDataType=0x9\n"
    rules = dialect(nameplate={"ProductName": "drive"}, recognise={"drive": "^HZ-"})
    assert not keyed.matches(text, rules)


def test_keys_with_values_are_recognised_without_a_dictionary() -> None:
    assert keyed.recognises(b"; x\n[A]\na = 1\nb: 2\nc=3\n", "a.ini")
    assert not keyed.recognises(b"a;b;c\n1;2;3\n4;5;6\n7;8;9\n", "a.csv")
    assert not delimited.recognises(b"[A]\na = 1\nb = 2\nc = 3\n", "a.ini")


# Writing anew


def listing(entries: list[Entry], **more: Any) -> Listing:
    return Listing("keyed", tuple(entries), holds="value", **more)


def test_what_is_written_stands_in_sections_with_names_as_comments() -> None:
    entries = [Entry("Speed/Kp", 2, 0, name="Gain"), Entry("K0", Decimal("1.5"), 0)]
    entries += [Entry("Position/Kv", 3, 0), Entry("Speed/Tn", 4, 0)]
    written = keyed.write(
        listing(entries, nameplate={"drive": "HZ"}),
        dialect=dialect(**IN_SECTIONS, nameplate={"Plate/Drive": "drive"}, line_end="lf"),
    )
    assert written == (
        b"K0 = 1.5\n[Plate]\nDrive = HZ\n[Speed]\nKp = 2 ; Gain\nTn = 4\n[Position]\nKv = 3\n"
    )


@pytest.mark.parametrize(
    ("entry", "rules"),
    [
        (Entry("K=1", 5, 0), {}),
        (Entry("K1", 5, 0, unit="10^-3 m"), {"unit_in_value": True}),
        (Entry("K1", "5 m", 0), {"unit_in_value": True}),
        (Entry("K1", 5, 0, unit="(mm)"), {"columns": {"unit": "comment"}}),
        (Entry("K1", 5, 0, name="a name"), {"assign": " ", "columns": {"name": "code"}}),
        (Entry("[K1]", 5, 0), {"assign": " ", **IN_SECTIONS}),
        (Entry("; K1", 5, 0), {}),
        (Entry("K1", "a\nb", 0), {}),
        (Entry("K1", 'a" ; "b', 0), {}),
    ],
)
def test_what_would_read_back_as_another_is_refused_by_its_code(
    entry: Entry, rules: dict[str, Any]
) -> None:
    with pytest.raises(WrongUsage, match="K"):
        keyed.write(listing([entry]), dialect=dialect(**rules))


def test_an_export_without_a_row_is_written_too() -> None:
    assert keyed.write(listing([]), dialect=dialect()) == b""


def test_without_a_dictionary_nothing_is_read_or_written() -> None:
    with pytest.raises(WrongUsage, match="dictionary"):
        keyed.write(listing([]), dialect=None)
    with pytest.raises(WrongUsage, match="dictionary"):
        keyed.read(b"K=1", file="a", dialect=None, channel=None)
    with pytest.raises(WrongUsage, match="dictionary"):
        keyed.write_back(b"K=1", {}, file="a", dialect=None, channel=None)


WORDS = st.text(st.characters(codec="latin-1", categories=["L", "N", "P", "S", "Zs"]), max_size=10)
NUMBERS = st.integers(-(2**40), 2**40) | st.decimals(-(10**6), 10**6, places=4)


@st.composite
def rules(draw: st.DrawFn) -> ExportDialect:
    decimal = draw(st.sampled_from(".,"))
    return dialect(
        assign=draw(st.sampled_from(["=", ":", "\t", " ", " : "])),
        comment=draw(st.sampled_from([";", "#", "//"])),
        decimal=decimal,
        thousands=draw(st.sampled_from(["", "'", "," if decimal == "." else "."])),
        unit_in_value=draw(st.booleans()),
        hex_and_binary=draw(st.booleans()),
        section=draw(st.sampled_from([None, "[{name}]", "* {name}"])),
        line_end=draw(st.sampled_from(["crlf", "lf"])),
        nameplate={"Drive": "drive", "Plate/Serial": "serial"},
        encoding=draw(st.sampled_from([("utf-8",), ("utf-16",), ("iso-8859-1",)])),
    )


@st.composite
def listings(draw: st.DrawFn, rules: ExportDialect) -> Listing:
    codes = st.from_regex(r"[A-Za-z][A-Za-z0-9.]{0,5}", fullmatch=True)
    sections = st.sampled_from(["", "A/", "B c/"]) if rules.section else st.just("")
    entries = [
        Entry(
            code,
            draw(NUMBERS | WORDS),
            0,
            name=draw(WORDS),
            unit=draw(st.sampled_from(["", "mm", "1/min", "°C"])) if rules.unit_in_value else "",
        )
        for code in draw(
            st.lists(st.tuples(sections, codes).map("".join), min_size=1, max_size=6, unique=True)
        )
    ]
    plate = draw(st.dictionaries(st.sampled_from(["drive", "serial"]), WORDS.filter(str.strip)))
    return listing(entries, nameplate=plate, encoding=rules.encoding[0])


@given(st.data())
def test_what_is_written_reads_as_the_same_or_is_refused(data: st.DataObject) -> None:
    form = data.draw(rules())
    before = data.draw(listings(form))
    try:
        content = keyed.write(before, dialect=form)
    except WrongUsage:
        return
    after = keyed.read(content, file="a", dialect=form, channel=None)
    assert after.skipped == ()
    said = {e.code: (e.text or str(e.written), e.written, e.unit) for e in after.entries}
    assert said.keys() == {entry.code for entry in before.entries}
    for entry in before.entries:
        text, value, unit = said[entry.code]
        if isinstance(entry.written, str):
            assert text == entry.written.strip()
        else:
            assert value == entry.written
            assert unit == entry.unit
    assert after.nameplate == {k: v.strip() for k, v in before.nameplate.items()}


@given(st.data())
def test_numbers_with_units_are_always_written(data: st.DataObject) -> None:
    form = data.draw(rules())
    drawn = data.draw(listings(form))
    plain = [e for e in drawn.entries if not isinstance(e.written, str)]
    keyed.write(replace(drawn, entries=tuple(plain), nameplate={}), dialect=form)


# Reference reader: configparser of Python's standard library, on the grammar that both have.

KEYS = st.from_regex(r"[A-Za-z][A-Za-z0-9_.]{0,8}", fullmatch=True)
TEXTS = st.from_regex(r"[A-Za-z0-9_.+-]{1,8}( [A-Za-z0-9_.+-]{1,8})?", fullmatch=True)


@given(
    st.dictionaries(
        st.from_regex(r"[A-Za-z][A-Za-z0-9 _]{0,8}[A-Za-z]", fullmatch=True),
        st.dictionaries(KEYS, TEXTS, min_size=1, max_size=4),
        min_size=1,
        max_size=4,
    ),
    st.sampled_from(["=", " = "]),
    st.sampled_from(["", " ; note", "\n; a line\n"]),
)
def test_ini_text_reads_as_a_reference_reader_has_it(
    sections: dict[str, dict[str, str]], mark: str, comment: str
) -> None:
    text = "".join(
        f"[{name}]\n" + "".join(f"{key}{mark}{value}{comment}\n" for key, value in keys.items())
        for name, keys in sections.items()
        if name != "DEFAULT"
    )
    if not text:
        return
    reference = configparser.RawConfigParser(delimiters=("=",), inline_comment_prefixes=(";",))
    reference.optionxform = str  # type: ignore[assignment,method-assign]
    reference.read_file(io.StringIO(text))
    wanted = {
        f"{name}/{key}": value
        for name in reference.sections()
        for key, value in reference[name].items()
    }
    found = read(text, **IN_SECTIONS)
    assert found.skipped == ()
    assert {entry.code: entry.text or str(entry.written) for entry in found.entries} == wanted


@given(st.binary(max_size=200), st.data())
def test_any_bytes_are_read_or_refused_with_a_reason(content: bytes, data: st.DataObject) -> None:
    form = data.draw(rules())
    keyed.recognises(content, "a")
    keyed.matches(content, form.model_copy(update={"recognise": {"text": "K"}}))
    for export in (content, b"K1 = 5\n[A]\n" + content):
        try:
            assert keyed.read(export, file="a", dialect=form, channel=None).entries is not None
        except (Unreadable, WrongUsage) as refused:
            assert str(refused)


@given(st.text('K1= ;[]A\n\r"x5', max_size=60))
def test_no_line_with_anything_in_it_is_swallowed(text: str) -> None:
    try:
        found = read(text, **IN_SECTIONS)
    except Unreadable as refused:
        lines = {bad.line for bad in refused.problems}
    else:
        lines = {entry.line for entry in found.entries} | {bad.line for bad in found.skipped}
    for number, line in enumerate(io.StringIO(text, newline=""), 1):
        bare = line.strip()
        is_heading = bare.startswith("[") and number not in lines and "]" in bare
        assert not bare or bare.startswith(";") or is_heading or number in lines
