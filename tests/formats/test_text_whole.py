"""A table that lost its last rows is told where anything in the file can tell. Invented tables."""

from __future__ import annotations

import codecs

import pytest

from vault.formats import delimited
from vault.formats.registry import format_named
from vault.model.errors import Unreadable
from vault.model.export import Listing
from vault.model.export_dialect import ExportDialect

DIALECT = ExportDialect(
    format="delimited",
    delimiter=";",
    columns={"code": "Code", "value": "Value"},
    comment="#",
)
TABLE = "Parameters;3\nCode;Value\nA1;5\nA2;6\nA3;7\n"


def read(text: str) -> Listing:
    return delimited.read(text.encode(), file="x.csv", dialect=DIALECT, channel=None)


def test_a_table_with_as_many_rows_as_it_says_raises_no_doubt() -> None:
    assert read(TABLE).remarks == ()


def test_fewer_rows_than_the_count_above_them_are_told() -> None:
    (remark,) = read(TABLE.removesuffix("A3;7\n")).remarks
    assert remark.reason == "2 of 3 rows are there: the file seems cut off"
    assert (remark.line, remark.text) == (1, "Parameters;3")


def test_a_row_that_was_left_out_counts_as_there() -> None:
    assert read(TABLE.replace("A2;6", "A2")).remarks == ()


def test_a_last_line_without_its_end_is_told() -> None:
    found = read(TABLE.rstrip())
    assert [(r.line, r.text) for r in found.remarks] == [(5, "A3;7")]
    assert found.ends == frozenset()


@pytest.mark.parametrize(
    ("closing", "ends"),
    [("", {"last line"}), ("# end\n", {"last line", "closing comment"}), ("\n\n", {"last line"})],
)
def test_the_marks_of_a_whole_file_are_known(closing: str, ends: set[str]) -> None:
    assert read(TABLE + closing).ends == ends


def test_a_row_that_breaks_off_in_its_empty_cells_is_told() -> None:
    dialect = DIALECT.model_copy(update={"delimiter": "\t"})
    text = TABLE.replace(";", "\t")
    for more, remarks in (("\t", 1), ("\t\t", 1), ("  ", 0), ("\t\n", 0), ("# a\tb", 0)):
        content = f"{text}{more}".encode()
        found = delimited.read(content, file="x.csv", dialect=dialect, channel=None)
        assert len(found.remarks) == remarks, more


def test_a_comment_among_the_rows_is_no_end() -> None:
    assert read(TABLE.replace("A2;6\n", "A2;6\n# note\n")).ends == {"last line"}


WHOLE = {
    "keyed": (
        ExportDialect(
            format="keyed", comment=";", section="[{name}]", unit_in_value=True,
            nameplate={"Drive": "drive"},
        ),
        "Drive = HZ\r\n[Sp]\r\nK1 = 30 mm ; lag\r\nK2 = ä\r\n[T]\r\nK3 = 0x1F\r\n",
    ),
    "fixed": (
        ExportDialect(
            format="fixed", section="* {name}", unit_in_value=True, nameplate={"Drive": "drive"},
            columns={"code": "1-4", "value": "6-12", "name": "14-"},
        ),
        "Drive: HZ\r\n* Sp\r\nK1     30 mm Lag ä\r\n* T\r\nK2       0x1 Mask\r\n",
    ),
    "delimited": (
        DIALECT.model_copy(update={"section": "[{name}]", "unit_in_value": True}),
        "Parameters;2\r\nCode;Value\r\n[Sp]\r\nA1;30 mm\r\n[T]\r\nA2;ä\r\n",
    ),
}  # fmt: skip


@pytest.mark.parametrize("form", sorted(WHOLE))
@pytest.mark.parametrize("codec", ["utf-8", "utf-16-le"])
def test_a_file_that_is_cut_anywhere_but_behind_a_line_is_told(form: str, codec: str) -> None:
    rules, text = WHOLE[form]
    mark = codecs.BOM_UTF16_LE if codec == "utf-16-le" else b""
    content = mark + text.encode(codec)
    reader = format_named(form)
    whole = reader.read(content, file="x", dialect=rules, channel=None)
    assert (whole.skipped, whole.remarks) == ((), ())
    for cut in range(len(mark), len(content)):
        part = content[:cut]
        try:
            found = reader.read(part, file="x", dialect=rules, channel=None)
        except Unreadable:
            continue
        is_behind_a_line = "last line" in found.ends
        assert found.remarks or found.skipped or is_behind_a_line, part
        if is_behind_a_line:  # then what is there is as it was
            assert found.entries == whole.entries[: len(found.entries)]
