"""A table that lost its last rows is told where anything in the file can tell. Invented tables."""

from __future__ import annotations

import pytest

from vault.formats import delimited
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
