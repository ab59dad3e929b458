"""How exports read: which keys a format takes, and which programs know them."""

from __future__ import annotations

import pytest

from vault.model.errors import Unreadable
from vault.model.export_dialect import ExportDialect, positions
from vault.model.families import Family
from vault.store.files.edited_files import read_family

# An invented family.
TABLE = """\
schema: axisvault/family/1
name: hazel
title: Hazel (invented)
export:
  format: delimited
  columns: {code: Code, value: Value}
parameters:
  A.1: {name: Window, type: INTEGER32}
"""


def family(old: str = "", new: str = "") -> Family:
    assert old in TABLE
    return read_family(TABLE.replace(old, new, 1).encode(), "hazel.yaml")


OF_TABLES = ["unit_in_value: true", "hex_and_binary: true", 'section: "[{name}]"']
OF_OTHERS = ['assign: "="', "record: A/B", "sheet: Main", "header: Code Value"]


@pytest.mark.parametrize(
    ("form", "key"),
    [*(("delimited", key) for key in OF_OTHERS), *(("dcf", key) for key in OF_TABLES + OF_OTHERS)],
)
def test_a_key_that_a_format_does_not_read_is_refused(form: str, key: str) -> None:
    with pytest.raises(Unreadable, match=f"export.{key.partition(':')[0]}: is a key of"):
        family("format: delimited", f"format: {form}\n  {key}")


@pytest.mark.parametrize("key", OF_TABLES)
def test_a_table_as_text_takes_them_in_a_vault_of_format_2(key: str) -> None:
    assert family("format: delimited", f"format: delimited\n  {key}").vault_format == 2


def test_a_section_is_a_column_of_a_table_in_a_vault_of_format_2() -> None:
    assert family("value: Value", "value: Value, section: Group").vault_format == 2


def test_a_section_is_no_column_of_a_dcf() -> None:
    text = TABLE.replace("delimited", "dcf").replace("{code: Code,", "{section: Group, code: Code,")
    with pytest.raises(Unreadable, match=r"export.columns.section: is no column of this format"):
        read_family(text.encode(), "hazel.yaml")


def test_keys_of_text_under_a_dcf_are_passed_over_as_ever() -> None:
    assert family("format: delimited", 'format: dcf\n  delimiter: ";"').export.format == "dcf"


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("format: delimited", "format: sheet"),
        ("type: INTEGER32", "type: DECIMAL"),
        ("type: INTEGER32}", "type: INTEGER32}\nvariants:\n- {firmware: '>=2', parameters: "
         "{A.1: {type: DECIMAL}}}"),
        ("type: INTEGER32", "suggest: jog_velocity"),
        ("title:", "open: true\ntitle:"),
    ],
)  # fmt: skip
def test_what_older_programs_do_not_read_needs_a_vault_of_format_2(old: str, new: str) -> None:
    assert family(old, new).vault_format == 2


OF_THE_FIRST = {
    "format", "encoding", "delimiter", "quote", "decimal", "thousands", "holds", "columns",
    "nameplate", "nameplate_separator", "comment", "channel", "recognise", "line_end",
    "time_format",
}  # fmt: skip


@pytest.mark.parametrize("key", ExportDialect.model_fields)
def test_a_key_that_the_first_programs_do_not_know_needs_a_vault_of_format_2(key: str) -> None:
    stated = ExportDialect.model_construct({key}, format="delimited")
    assert stated.is_of_format_2 == (key not in OF_THE_FIRST)


def test_what_older_programs_read_does_not() -> None:
    assert family().vault_format == 1


def test_positions_count_from_1_and_both_ends_are_in_them() -> None:
    assert "abcdefgh"[positions("3-5")] == "cde"
    assert "abcdefgh"[positions("6-")] == "fgh"


@pytest.mark.parametrize("place", ["0-3", "5-3", "3", "a-b", "-4"])
def test_other_positions_are_refused(place: str) -> None:
    with pytest.raises(ValueError, match="no positions"):
        positions(place)
