"""Values are put into text exports that there are, and nothing else changes. All are invented."""

from __future__ import annotations

import codecs
from collections.abc import Mapping
from dataclasses import dataclass
from decimal import Decimal
from types import ModuleType
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from vault.formats import delimited, fixed, keyed
from vault.formats.registry import Writes, WritesBack
from vault.formats.spelled_like import spelled_like
from vault.model.errors import WrongUsage
from vault.model.export import Scalar
from vault.model.export_dialect import ChannelRule, ExportDialect

FORMATS = {"delimited": delimited, "keyed": keyed, "fixed": fixed}
# Encodings as a dialect names them, with the mark that a file begins with, the codec, and letters.
ENCODINGS = [
    ("utf-8", b"", "utf-8", "aä日"),
    ("utf-8", codecs.BOM_UTF8, "utf-8", "aä日"),
    ("utf-8", codecs.BOM_UTF16_LE, "utf-16-le", "aä日\U0001f527"),
    ("utf-8", codecs.BOM_UTF16_BE, "utf-16-be", "aä日"),
    ("iso-8859-1", b"", "iso-8859-1", "aäß"),
    ("shift-jis", b"", "shift-jis", "a日表"),
]


@dataclass(frozen=True)
class File:
    """A file in pieces: those at `values`, by code, are values."""

    dialect: ExportDialect
    pieces: list[str]
    values: Mapping[str, int]
    mark: bytes
    codec: str

    def encoded(self, pieces: list[str]) -> bytes:
        return b"".join(piece.encode(self.codec) for piece in pieces)

    @property
    def content(self) -> bytes:
        return self.mark + self.encoded(self.pieces)

    @property
    def form(self) -> ModuleType:
        return FORMATS[self.dialect.format]

    def back(self, values: Mapping[str, Scalar], **options: Any) -> bytes:
        return self.form.write_back(
            self.content, values, file="a", dialect=self.dialect, channel=None, **options
        )

    def read(self, content: bytes) -> dict[str, Scalar]:
        listing = self.form.read(content, file="a", dialect=self.dialect, channel=None)
        return {entry.code: entry.written for entry in listing.entries}


NUMBERS = st.sampled_from(["7", "-12", "3,50", "1.234,5", "0x01F4", "2,5e3", "+4", "0012"])
WIDTH = 14


@st.composite
def files(draw: st.DrawFn) -> File:
    name = draw(st.sampled_from(sorted(FORMATS)))
    encoding, mark, codec, letters = draw(st.sampled_from(ENCODINGS))
    in_sections, has_unit = draw(st.booleans()), draw(st.booleans())
    options: dict[str, Any] = {
        "format": name,
        "encoding": (encoding,),
        "decimal": ",",
        "thousands": ".",
        "comment": "#",
        "unit_in_value": has_unit,
        "section": "[{name}]" if in_sections else None,
    }
    if name == "keyed":
        options["assign"] = draw(st.sampled_from(["=", ":", "\t", " ", " : "]))
    elif name == "delimited":
        options |= {"delimiter": draw(st.sampled_from(";|\t"))}
        options |= {"columns": {"code": "Code", "value": "Value", "name": "Name"}}
    else:
        options |= {"columns": {"code": "1-6", "value": f"7-{6 + WIDTH}", "name": f"{7 + WIDTH}-"}}
    dialect = ExportDialect(**options)
    words = st.text(letters, min_size=1, max_size=5)
    ends = st.sampled_from(draw(st.sampled_from([("\r\n", "\n"), ("\r\n", "\r")])))
    pieces: list[str] = []
    values: dict[str, int] = {}
    if name == "delimited":
        pieces.append(dialect.delimiter.join(("Code", "Value", "Name")) + draw(ends))
    section = ""
    for number in range(draw(st.integers(1, 8))):
        kind = draw(st.sampled_from(["row", "row", "row", "comment", "blank", "heading"]))
        if kind == "comment":
            pieces.append(f"# {draw(words)}")
        elif kind == "heading" and in_sections:
            section = f"S{number}"
            pieces.append(f"[{section}]")
        elif kind == "row":
            code = f"K{number}"
            values[f"{section}/{code}" if section else code] = len(pieces) + 1
            unit = draw(st.sampled_from(["", " mm", "mm/s"])) if has_unit else ""
            pieces += draw(rows(dialect, code, draw(NUMBERS) + unit, words))
        pieces.append(draw(ends))
    if not values:
        values["K0" if not section else f"{section}/K0"] = len(pieces) + 1
        pieces += [*draw(rows(dialect, "K0", "5", words)), "\n"]
    return File(dialect, pieces, values, mark, codec)


@st.composite
def rows(draw: st.DrawFn, dialect: ExportDialect, code: str, value: str, words: Any) -> list[str]:
    """What stands before the value, the value, and what stands behind it."""
    gap, name = st.sampled_from(["", " ", "  "]), draw(words)
    if dialect.format == "keyed":
        quote = draw(st.sampled_from(["", '"']))
        blank = draw(gap) if not dialect.assign.isspace() else ""
        before = f"{draw(gap)}{code}{blank}{dialect.assign}{draw(gap)}{quote}"
        return [before, value, quote + draw(st.sampled_from(["", f"  # {name}"]))]
    if dialect.format == "delimited":
        quote, mark = draw(st.sampled_from(["", '"'])), dialect.delimiter
        before = f"{code}{mark}{quote}{draw(gap)}"
        behind = draw(st.sampled_from([name, f'"{name}{mark}""{name}""\r\n{name}"']))
        return [before, value, f"{draw(gap)}{quote}{mark}{behind}"]
    cell = value.rjust(WIDTH) if draw(st.booleans()) else value.ljust(WIDTH)
    return [code.ljust(6), cell, name]


VALUES = st.integers(-9999, 9999) | st.decimals(-99, 99, places=2)


@given(files())
def test_no_value_put_in_leaves_every_byte_as_it_is(file: File) -> None:
    assert file.back({}) == file.content
    assert file.back({}, drop=()) == file.content


@given(files())
def test_the_values_that_are_there_leave_every_byte_as_it_is(file: File) -> None:
    found = file.read(file.content)
    assert found.keys() == file.values.keys()
    assert file.back(found) == file.content


@given(files(), st.data())
def test_values_put_in_read_back_and_no_other_byte_changes(file: File, data: st.DataObject) -> None:
    values = data.draw(st.dictionaries(st.sampled_from(sorted(file.values)), VALUES, min_size=1))
    content = file.back(values)
    before = file.read(file.content)
    after = file.read(content)
    assert after.keys() == before.keys()
    for code, value in after.items():
        if code not in values:
            assert value == before[code]
        else:  # `0013` is a text, where `0012` stood
            assert (Decimal(value) if isinstance(value, str) else value) == values[code]
    pieces = list(file.pieces)
    for code, value in values.items():
        place = file.values[code]
        pieces[place] = _as_before(file.pieces[place], value, file.dialect)
    assert content == file.mark + file.encoded(pieces)


def _as_before(piece: str, value: Scalar, rules: ExportDialect) -> str:
    """A value spelled as the one before it, at the side of its column where that stood."""
    text = spelled_like(piece.strip(), value, rules)
    is_right = piece[:1] == " "
    if rules.format == "fixed":
        return text.rjust(len(piece)) if is_right else text.ljust(len(piece))
    return text


@given(files(), st.data())
def test_what_is_dropped_is_taken_out_with_its_line_and_nothing_else(
    file: File, data: st.DataObject
) -> None:
    codes = sorted(file.values)
    drop = data.draw(st.sets(st.sampled_from(codes), min_size=1, max_size=max(1, len(codes) - 1)))
    places = {file.values[code] for code in drop}
    # A row is three pieces, and its line end is the next.
    gone = {near for place in places for near in (place - 1, place, place + 1, place + 2)}
    kept = [piece for number, piece in enumerate(file.pieces) if number not in gone]
    assert file.back({}, drop=drop) == file.mark + file.encoded(kept)


KEYED = ExportDialect(format="keyed", comment=";", section="[{name}]")
FIXED = ExportDialect(format="fixed", columns={"code": "1-4", "value": "5-10", "unit": "11-"})
TABLE = ExportDialect(format="delimited", delimiter=";", columns={"code": "C", "value": "V"})
INI = b"[A]\r\nK1 = 5 ; five\r\nK2=x\r\n[B]\r\nK1 = 0x0010\r\n"


def back(
    content: bytes, values: Mapping[str, Scalar], rules: ExportDialect, **options: Any
) -> bytes:
    usual = {"file": "a.txt", "channel": None, "dialect": rules}
    written = FORMATS[rules.format].write_back(content, values, **{**usual, **options})
    assert isinstance(written, bytes)
    return written


@pytest.mark.parametrize("form", FORMATS.values())
def test_the_text_formats_write_anew_and_write_back(form: ModuleType) -> None:
    assert isinstance(form, Writes)
    assert isinstance(form, WritesBack)


def test_a_value_is_put_in_under_the_section_that_its_code_names() -> None:
    wanted = INI.replace(b"0x0010", b"0x00FF")
    assert back(INI, {"B/K1": 255}, KEYED) == wanted


@pytest.mark.parametrize(
    ("content", "values", "rules", "reason"),
    [
        (INI, {"A/K9": 1}, KEYED, "A/K9 is not in the export"),
        (INI, {"A/K2": "y ; z"}, KEYED, "A/K2: what would be written reads back as something else"),
        (INI, {"A/K2": "y\nK3=5"}, KEYED, "A/K2: what would be written reads back"),
        (INI, {"A/K2": " "}, KEYED, "A/K2: an empty text reads as no value"),
        (INI + b"K1 = 6\r\n", {"B/K1": 7}, KEYED, "B/K1 stands in lines 5 and 6: which one holds"),
        (b"K1    12.5mm\n", {"K1": 1234567}, FIXED, "K1: '1234567.0' is wider than its column"),
        (b"C;V\nK1;5\n", {"K1": "日"}, TABLE.model_copy(update={"encoding": ("latin-1",)}),
         "K1: '日' cannot be written as latin-1 text"),
        (b"C;V\nK1;5\n", {"K1": "a;b"}, TABLE.model_copy(update={"quote": ""}),
         "K1: 'a;b' would need quotes"),
    ],
)  # fmt: skip
def test_what_cannot_be_put_in_is_refused_by_its_code(
    content: bytes, values: Mapping[str, Scalar], rules: ExportDialect, reason: str
) -> None:
    with pytest.raises(WrongUsage) as refused:
        back(content, values, rules)
    assert reason in refused.value.message


def test_a_code_that_is_dropped_goes_with_all_the_lines_it_stands_in() -> None:
    assert back(INI + b"K1 = 6\r\n", {}, KEYED, drop=["B/K1"]) == INI.replace(
        b"K1 = 0x0010\r\n", b""
    )


def test_a_cell_with_a_delimiter_is_quoted_and_a_quoted_one_stays_so() -> None:
    content = b'C;V\nK1;5\nK2;" 6 "\n'
    assert back(content, {"K1": "a;b", "K2": 7}, TABLE) == b'C;V\nK1;"a;b"\nK2;" 7 "\n'


def test_a_column_keeps_the_side_where_its_values_stand() -> None:
    content = b"K1    12.5mm\nK2  7     s\n"
    assert back(content, {"K1": 7, "K2": 123456}, FIXED) == b"K1     7.0mm\nK2  123456s\n"


def test_only_the_chosen_axis_is_written() -> None:
    rules = ExportDialect(format="keyed", channel={"section": "[Axis {n}]"})
    content = b"[Axis 1]\nK1=5\n[Axis 2]\nK1=6\n"
    assert back(content, {"K1": 9}, rules, channel=2) == content.replace(b"6", b"9")
    with pytest.raises(WrongUsage, match="channels 1, 2"):
        back(content, {"K1": 9}, rules)


def test_a_character_with_several_codes_keeps_its_own() -> None:
    # Code page 932 has U+FFE2 at FA54h and at 81CAh; Python writes the latter (from memory).
    rules = KEYED.model_copy(update={"encoding": ("cp932",)})
    content = b"[A] ; \xfaT\nK1 = 5 ; \xfaT\n"
    assert content.decode("cp932").encode("cp932") != content
    assert back(content, {"A/K1": 17}, rules) == content.replace(b"5", b"17")


AXES = {
    "keyed": ExportDialect(
        format="keyed", channel={"section": "[Axis {n}]"}, section="* {name}", unit_in_value=True
    ),
    "by heading": TABLE.model_copy(
        update={"channel": ChannelRule(section="Axis {n}"), "section": "* {name}"}
    ),
    "by column": ExportDialect(
        format="delimited",
        delimiter=";",
        channel={"column": "Axis"},
        columns={"code": "C", "value": "V", "section": "S"},
        hex_and_binary=True,
    ),
    "fixed": ExportDialect(
        format="fixed",
        channel={"column": "1-2"},
        columns={"code": "9-12", "value": "14-20", "section": "4-7"},
    ),
}
OF_AXIS = st.dictionaries(
    st.tuples(st.sampled_from(["S", "T"]), st.sampled_from(["K1", "K2", "K3"])),
    st.integers(-9, 999),
    min_size=1,
)


def _of_axes(name: str, axes: Mapping[int, Mapping[tuple[str, str], int]]) -> str:
    rules, text = AXES[name], "" if name in ("keyed", "fixed") else "C;V\n"
    if name == "by column":
        text = "C;Axis;S;V\n"
    for axis, rows in axes.items():
        if rules.channel is not None and rules.channel.section:
            text += rules.channel.section.replace("{n}", str(axis)) + "\n"
        section = ""
        for (own, code), value in sorted(rows.items()):
            if rules.section and section != own:
                text += f"* {own}\n"
            section = own
            text += {
                "keyed": f"{code} = {value} mm\n",
                "by heading": f"{code};{value}\n",
                "by column": f"{code};{axis};{own};{value}\n",
                "fixed": f"{axis:<2} {own:4} {code:4} {value:>7}\n",
            }[name]
    return text


@given(
    st.sampled_from(sorted(AXES)),
    st.dictionaries(st.integers(1, 3), OF_AXIS, min_size=2),
    st.data(),
)
def test_values_of_one_axis_are_put_in_and_the_others_stay(
    name: str, axes: Mapping[int, dict[tuple[str, str], int]], data: st.DataObject
) -> None:
    rules = AXES[name]
    form = FORMATS[rules.format]
    axis = data.draw(st.sampled_from(sorted(axes)))
    codes = sorted(axes[axis])
    values = data.draw(st.dictionaries(st.sampled_from(codes), st.integers(-99, 9999)))
    content = form.write_back(
        _of_axes(name, axes).encode(),
        {"/".join(code): value for code, value in values.items()},
        file="a", dialect=rules, channel=axis,
    )  # fmt: skip
    wanted = {**axes, axis: {**axes[axis], **values}}
    for number, rows in wanted.items():
        found = form.read(content, file="a", dialect=rules, channel=number)
        assert found.skipped == ()
        assert {e.code: e.written for e in found.entries} == {
            "/".join(code): value for code, value in rows.items()
        }
    if name != "fixed":  # where columns are filled up
        assert content.decode() == _of_axes(name, wanted)
