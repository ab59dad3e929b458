"""What is drawn is written in the words that the program reads: keys, units, names of roles."""

from __future__ import annotations

from tests.oracle.cases import draw
from vault.model import role_table, role_table_drive
from vault.model.axis import AxisRecord


def names(tables: dict[str, str]) -> set[str]:
    return {row.split()[0] for rows in tables.values() for row in rows.splitlines() if row.strip()}


def test_every_drawn_record_is_an_axis_record() -> None:
    for case in draw(1, 300):
        record = AxisRecord.model_validate({"schema": "axisvault/axis/1", **case.record})
        assert not record.unknown


def test_every_setting_is_a_role_the_standard_has_no_object_for() -> None:
    drawn = {role.partition(".")[0] for case in draw(1, 300) for role in case.settings}
    assert drawn <= names(role_table_drive.ROWS)


def test_every_object_is_one_of_the_standard() -> None:
    known = set()
    for rows in role_table.ROWS.values():
        for row in filter(str.strip, rows.splitlines()):
            index, _, sub = row.split()[1].partition(":")
            known.add(f"0x{index}:{int(sub or 0):02X}")
    drawn = {address for case in draw(1, 300) for address in case.objects}
    assert drawn <= known
