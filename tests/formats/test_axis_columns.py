"""Exports with a column of values for each axis. All are invented."""

from __future__ import annotations

import io
from decimal import Decimal
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl import Workbook, load_workbook
from pydantic import ValidationError

from vault.formats import delimited, fixed, records, sheet
from vault.formats.registry import format_named
from vault.model.errors import Unreadable, WrongUsage
from vault.model.export import Listing
from vault.model.export_dialect import ExportDialect

TABLE = "Code;Unit;Axis 1;Axis 2\nP1;mm;10;20\nP2;;3;\n"


def dialect(form: str = "delimited", **more: Any) -> ExportDialect:
    keys: dict[str, Any] = {
        "format": form,
        "delimiter": ";",
        "columns": {"code": "Code", "unit": "Unit"},
        "channel": {"values": {1: "Axis 1", 2: "Axis 2"}},
    }
    if form != "delimited":
        del keys["delimiter"]
    return ExportDialect.model_validate({**keys, **more})


LAYOUT = dialect()
PRINTED = dialect(
    "fixed",
    header="Code Unit Axis 1 Axis 2",
    columns={"code": "1-5", "unit": "7-10"},
    channel={"values": {1: "12-17", 2: "19-"}},
)
TREE = dialect(
    "records",
    record="items[]",
    columns={"code": "id"},
    channel={"values": {1: "axis1", 2: "axis2"}},
)
LIST = b'{"items": [{"id": "P1", "axis1": 10, "axis2": 20}, {"id": "P2", "axis1": 3}]}'
PAGE = b"Code  Unit Axis 1 Axis 2\nP1    mm   10     20\nP2         3\n"


def said(listing: Listing) -> dict[str, object]:
    return {entry.code: entry.written for entry in listing.entries}


def read(content: bytes, layout: ExportDialect, channel: int | None) -> Listing:
    form = format_named(layout.format)
    return form.read(content, file="a", dialect=layout, channel=channel)


@pytest.mark.parametrize(
    ("content", "layout"), [(TABLE.encode(), LAYOUT), (PAGE, PRINTED), (LIST, TREE)]
)
def test_each_axis_has_the_values_of_its_own_column(content: bytes, layout: ExportDialect) -> None:
    first, second = read(content, layout, 1), read(content, layout, 2)
    assert (said(first), said(second)) == ({"P1": 10, "P2": 3}, {"P1": 20})
    assert first.channels == second.channels == (1, 2)
    assert (first.channel, second.channel) == (1, 2)


def test_an_axis_is_asked_for_where_there_are_several() -> None:
    with pytest.raises(WrongUsage, match="channels 1, 2"):
        read(TABLE.encode(), LAYOUT, None)


def test_a_cell_that_an_axis_leaves_empty_is_told() -> None:
    assert [bad.reason for bad in read(TABLE.encode(), LAYOUT, 2).skipped] == ["no value"]


def test_an_axis_whose_column_is_not_there_is_none() -> None:
    content = b"Code;Unit;Axis 2\nP1;mm;20\n"
    assert delimited.matches(content, LAYOUT)
    assert read(content, LAYOUT, None).channels == (2,)


def test_a_table_without_any_of_the_columns_is_no_export_of_it() -> None:
    content = b"Code;Unit;Value\nP1;mm;20\n"
    assert not delimited.matches(content, LAYOUT)
    with pytest.raises(Unreadable):
        read(content, LAYOUT, None)


def test_a_value_is_put_into_the_column_of_its_axis() -> None:
    new: dict[str, Any] = {"values": {"P1": 25}, "file": "a", "channel": 2}
    assert (
        delimited.write_back(TABLE.encode(), dialect=LAYOUT, **new)
        == TABLE.replace("20", "25").encode()
    )
    assert fixed.write_back(PAGE, dialect=PRINTED, **new) == PAGE.replace(b"20", b"25")
    assert records.write_back(LIST, dialect=TREE, **new) == LIST.replace(b"20", b"25")


def test_a_value_is_put_into_the_cell_of_its_axis() -> None:
    book = Workbook()
    for row in (("Code", "Unit", "Axis 1", "Axis 2"), ("P1", "mm", 10, 20)):
        book.worksheets[0].append(row)
    book.save(stream := io.BytesIO())
    layout = dialect("sheet")
    new = sheet.write_back(stream.getvalue(), {"P1": 25}, file="a", dialect=layout, channel=2)
    assert [cell.value for cell in load_workbook(io.BytesIO(new)).worksheets[0][2]] == [
        "P1", "mm", 10, 25,
    ]  # fmt: skip
    assert sheet.matches(new, layout)


VALUES = st.decimals(-(10**6), 10**6, places=3).map(lambda one: Decimal(one))


@given(
    st.dictionaries(
        st.from_regex(r"\AP[0-9]{1,4}\Z"), st.tuples(VALUES, VALUES), min_size=1, max_size=8
    ),
    VALUES,
    st.sampled_from((1, 2)),
)
def test_what_is_put_back_is_read_again_and_the_other_axis_stays(
    rows: dict[str, tuple[Decimal, Decimal]], new: Decimal, axis: int
) -> None:
    lines = [f"{code};mm;{first};{second}" for code, (first, second) in rows.items()]
    content = "\n".join(("Code;Unit;Axis 1;Axis 2", *lines, "")).encode()
    code, other = next(iter(rows)), 3 - axis
    put = delimited.write_back(content, {code: new}, file="a", dialect=LAYOUT, channel=axis)
    assert said(read(put, LAYOUT, axis)) == {
        **{one: pair[axis - 1] for one, pair in rows.items()}, code: new
    }  # fmt: skip
    assert said(read(put, LAYOUT, other)) == said(read(content, LAYOUT, other))
    listing = read(put, LAYOUT, axis)
    again = read(delimited.write(listing, dialect=LAYOUT), LAYOUT, axis)
    assert said(again) == said(listing)
    assert again.channels == (axis,)


def test_an_axis_without_a_column_is_not_written() -> None:
    listing = Listing(format="delimited", entries=(), channel=3)
    with pytest.raises(WrongUsage, match="axis 3"):
        delimited.write(listing, dialect=LAYOUT)


@pytest.mark.parametrize(
    "more",
    [
        {"columns": {"code": "Code", "value": "Value"}},
        {"channel": {"values": {1: "Axis 1", 2: "Axis 1"}}},
        {"channel": {"values": {1: "Axis 1"}, "column": "Axis"}},
        {"format": "keyed", "delimiter": ",", "columns": {}},
    ],
)
def test_columns_of_axes_that_contradict_are_refused(more: dict[str, Any]) -> None:
    with pytest.raises(ValidationError):
        dialect(**more)


def test_columns_of_axes_ask_for_a_vault_of_format_2() -> None:
    assert LAYOUT.is_of_format_2
