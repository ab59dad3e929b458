"""What an open dictionary makes of parameters that it does not know. All of it is invented."""

from __future__ import annotations

from collections.abc import Callable
from decimal import Decimal

import pytest

from vault.jobs.export.parameter_set import Export
from vault.jobs.export.read_export import read_export
from vault.jobs.verify.recompute import Recomputer
from vault.model.errors import Unreadable
from vault.model.normalise import reads_as_today
from vault.store.files.edited_files import family_problems, read_family
from vault.store.vault import FamilyFile

SHORT = """\
schema: axisvault/family/1
name: hazel
title: Hazel drives (invented)
open: true
export:
  format: delimited
  delimiter: ";"
  decimal: ","
  columns: {code: Code, name: Name, value: Value, unit: Unit, low: Min, high: Max, access: Access, type: Type}
  nameplate: {Drive: drive}
parameters:
  lim/lag: {name: Following error window, role: following_error_window, type: DECIMAL, unit: mm}
"""  # noqa: E501
HEAD = "Drive;HZ-04;;;;;;\nCode;Name;Value;Unit;Min;Max;Access;Type\n"
LAG = "lim/lag;Window;2,5;mm;;;;"

Read = Callable[..., Export]


def read(*rows: str, text: str = SHORT, partial: bool = False, version: int = 4) -> Export:
    content = (HEAD + "".join(f"{row}\n" for row in rows)).encode()
    family = FamilyFile("hazel", text.encode())
    return read_export(content, "a.csv", family, partial=partial, version=version)


def test_a_parameter_that_it_does_not_know_has_name_and_unit_as_stated_and_no_role() -> None:
    export = read(LAG, "run/fast;Fast run;1,10;m/s;;;;")
    found = export.parameters["run/fast"]
    assert (found.name, found.value, found.unit) == ("Fast run", Decimal("1.1"), "m/s")
    assert (found.role, found.raw, found.label) == (None, Decimal("1.1"), None)
    assert b"run/fast: {name: Fast run, value: 1.1, unit: m/s, raw: 1.1}" in export.parameters_text


def test_nothing_is_said_of_parameters_that_it_does_not_know() -> None:
    export = read(LAG, *(f"new/{n};N;{n};V;;;;" for n in range(9)))
    assert (export.warnings, export.skipped) == ((), ())
    assert len(export.parameters) == 10


def test_a_set_of_which_most_is_unknown_is_the_whole_set() -> None:
    coverage = read(LAG, "new/1;N;1;V;;;;", "new/2;N;2;V;;;;").coverage
    assert (coverage.kind, coverage.may_lack) == ("complete", False)


def test_a_line_that_cannot_be_read_still_makes_it_a_part() -> None:
    rows = (LAG, "new/1;N;1;V;;;;", "new/1;N;2;V;;;;")
    with pytest.raises(Unreadable, match="new/1 is given already"):
        read(*rows)
    assert read(*rows, partial=True).coverage.kind == "partial"


def test_an_export_that_has_none_of_its_codes_is_that_of_another_family() -> None:
    with pytest.raises(Unreadable, match="2 of 2 codes are not in family hazel"):
        read("new/1;N;1;V;;;;", "new/2;N;2;V;;;;")


def test_one_that_knows_no_parameter_yet_takes_everything() -> None:
    empty = SHORT.partition("parameters:")[0] + "parameters: {}\n"
    assert list(read("new/1;N;1;V;;;;", text=empty).parameters) == ["new/1"]


def test_an_object_address_alone_is_no_role() -> None:
    """CiA 402: 6065h is the following error window; from memory. A table does not say it is."""
    row = "0x6065:00;Something;7;;;;;"
    assert read(LAG, row).parameters["0x6065:00"].role is None
    closed = SHORT.replace("open: true\n", "")
    known = read(LAG, row, text=closed).parameters["0x6065:00"]
    assert known.role == "following_error_window"


def test_a_number_with_a_stated_type_is_not_held_to_a_step_that_nobody_knows() -> None:
    found = read(LAG, "new/1;N;2,5;mm;;;;INTEGER16").parameters["new/1"]
    assert (found.value, found.unit) == (Decimal("2.5"), "mm")


def test_a_text_with_a_stated_type_stays_a_text() -> None:
    assert read(LAG, "new/1;N;0012;;;;;VISIBLE_STRING").parameters["new/1"].value == "0012"


def test_a_unit_that_nobody_knows_is_kept_as_it_is_spelled() -> None:
    export = read(LAG, "new/1;N;2,5;turns of hand;;;;")
    assert export.parameters["new/1"].unit == "turns of hand"
    assert export.definitions["new/1"].unit == "turns of hand"


def test_range_and_access_that_the_export_states_count_for_it() -> None:
    export = read(LAG, "new/1;N;2,5;mm;0;2,0;ro;")
    assert export.warnings == ("new/1 N: 2.5 mm lies outside its range 0 to 2",)
    assert export.definitions["new/1"].access == "ro"
    assert not export.definitions["new/1"].is_known
    assert export.definitions["lim/lag"].is_known


def test_by_the_rules_of_before_it_reads_as_a_closed_one_did() -> None:
    row = "0x6065:00;Something;7;;;;;"
    assert read(LAG, row, version=3).parameters["0x6065:00"].role == "following_error_window"
    family = read_family(SHORT.encode(), "hazel.yaml")
    closed = read_family(SHORT.replace("open: true\n", "").encode(), "hazel.yaml")
    assert not reads_as_today(3, family)
    assert reads_as_today(3, closed)
    assert reads_as_today(4, family)
    assert not reads_as_today(2, closed)


@pytest.mark.parametrize("rows", [(LAG, "new/1;N;1,10;V;;;;", "new/2;N;x;;;;;"), (LAG,)])
def test_lines_met_before_give_the_same_set(rows: tuple[str, ...]) -> None:
    export = read(*rows)
    family = FamilyFile("hazel", SHORT.encode())
    recomputer, table = Recomputer(), export.content
    for _ in range(2):
        text = recomputer._from_lines(table, family, export.version)
        assert text == export.parameters_text


def test_it_may_ask_for_codes_that_it_does_not_describe() -> None:
    text = SHORT.replace("parameters:", "always: [new/1]\nparameters:")
    assert family_problems(read_family(text.encode(), ""), text.encode()) == ()
    closed = text.replace("open: true\n", "")
    (problem,) = family_problems(read_family(closed.encode(), ""), closed.encode())
    assert "new/1 must always be there, and is no parameter" in problem.reason


def test_an_object_address_is_known_however_an_export_spells_it() -> None:
    text = (
        SHORT + "  '0x6065': {name: Lag, role: max_profile_velocity, type: DECIMAL, unit: mm/s}\n"
    )
    for spelled in ("0x6065", "0x6065:0", "0x6065:00"):
        export = read(LAG, f"{spelled};Lag;2,5;mm/s;;;;", text=text)
        found = export.parameters[spelled]
        assert (found.role, found.name, found.code) == ("max_profile_velocity", "Lag", spelled)
