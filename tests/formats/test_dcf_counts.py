"""What only says how many entries an object has is no parameter.

Sub-index 0 of an array or record holds the highest sub-index supported (CiA 301 and CiA 306, from
memory). What is such a count is also held against the library canopen. All objects are invented.
"""

from __future__ import annotations

import io
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import canopen
import pytest
from canopen.objectdictionary import ODArray, ODRecord, ODVariable
from canopen.objectdictionary.eds import export_dcf

from example_machines import EXPORTS, FAMILIES
from tests.formats.test_dcf import AXES, COMPACT, HEAD, NUMBERS, read, variable
from tests.jobs.verify.test_verify import forged, moved, rewritten
from vault.formats import dcf
from vault.jobs.export.parameter_set import Export
from vault.jobs.export.read_export import read_export
from vault.jobs.intake import read_for_axis
from vault.jobs.records.edit import add_family
from vault.jobs.verify.verify import verify
from vault.model.export import Listing
from vault.model.families import Family
from vault.model.normalise import VERSION, normalise
from vault.store.files.edited_files import read_family
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
Take = Callable[..., Any]
Git = Callable[..., str]


def with_subs(index: str, access: str | None = "ro", *, kind: int = 9, subs: int = 2) -> str:
    """An object of two entries and sub-index 0, which counts them."""
    count = variable(f"{index}sub0", "UNSIGNED8", str(subs))
    line = "" if access is None else f"AccessType={access}\n"
    count = count.replace("AccessType=rw\n", line)
    members = (variable(f"{index}sub{sub}", "INTEGER16", str(sub)) for sub in range(1, subs + 1))
    head = f"[{index}]\nParameterName=Many\nObjectType={kind}\nSubNumber={subs + 1}\n"
    return head + count + "".join(members)


def counts(content: Listing) -> set[str]:
    """Codes that are no parameters but counts."""
    return {entry.code for entry in content.entries if entry.is_count}


def codes(content: Listing, family: Family | None = None, version: int = VERSION) -> set[str]:
    """Codes of the parameters that an export gives."""
    return set(normalise(content, family, version).parameters)


MEMBERS = {"0x2010:01", "0x2010:02"}


# Which entries count.


@pytest.mark.parametrize("access", ["ro", "RO", "const"])
@pytest.mark.parametrize("kind", [8, 9])
def test_a_read_only_sub_index_0_of_an_array_or_record_counts(access: str, kind: int) -> None:
    content = read(with_subs("2010", access, kind=kind))
    assert not content.skipped
    assert counts(content) == {"0x2010:00"}
    assert {entry.code for entry in content.entries} == {"0x2010:00", *MEMBERS}


@pytest.mark.parametrize("access", ["rw", "rww", "rwr", "wo", None])
def test_a_sub_index_0_that_can_be_written_is_a_setting(access: str | None) -> None:
    """As that of a mapping of process data, which says how much of it is in use."""
    assert counts(read(with_subs("1A00", access))) == set()


@pytest.mark.parametrize("access", ["ro", "const", "rw"])
def test_a_variable_counts_nothing(access: str) -> None:
    text = variable("2001", "UNSIGNED8", "2").replace("AccessType=rw", f"AccessType={access}")
    assert counts(read(text + with_subs("2010"))) == {"0x2010:00"}


def test_what_follows_sub_index_0_counts_nothing_however_it_may_be_read() -> None:
    text = with_subs("2010").replace("AccessType=rw", "AccessType=ro")
    assert counts(read(text)) == {"0x2010:00"}


@pytest.mark.parametrize("spelling", ["2010sub0", "2010sub00", "2010SUB0", "2010 Sub 0"])
def test_sub_index_0_counts_however_its_heading_is_spelled(spelling: str) -> None:
    text = with_subs("2010").replace("[2010sub0]", f"[{spelling}]")
    assert counts(read(text)) == {"0x2010:00"}


def test_a_count_that_is_only_a_default_counts() -> None:
    text = with_subs("2010").replace("ParameterValue=2", "DefaultValue=2", 1)
    assert counts(read(text)) == {"0x2010:00"}


def test_the_number_of_sub_objects_of_a_compact_object_counts_and_they_do_not() -> None:
    """They are all read-only there."""
    content = read(COMPACT)
    assert counts(content) == {"0x2050:00"}
    assert len(content.entries) == 4


def test_a_count_of_another_axis_counts_at_the_address_of_the_first() -> None:
    # CiA 402: axis n at 6000h + n x 800h.
    text = AXES + with_subs("7010") + with_subs("6010", "rw")
    assert counts(read(text, channel=2)) == {"0x6010:00"}
    assert counts(read(text, channel=0)) == set()


@pytest.mark.parametrize("kind", [8, 9])
def test_the_sub_index_0_of_an_object_without_entries_counts(kind: int) -> None:
    assert counts(read(with_subs("2010", kind=kind, subs=0))) == {"0x2010:00"}


# Against the library canopen, which knows arrays and records on its own.


def library_counts(dictionary: Any) -> set[str]:
    """Sub-index 0 of arrays and records that cannot be written, as the library has them."""
    return {
        f"0x{index:04X}:00"
        for index, thing in dictionary.items()
        if isinstance(thing, ODArray | ODRecord)
        and 0 in thing.subindices
        and thing.subindices[0].access_type in ("ro", "const")
    }


def put(thing: Any, index: int, sub: int, access: str) -> None:
    entry = ODVariable(f"Entry {index:04X} {sub}", index, sub)
    entry.data_type, entry.access_type, entry.value = NUMBERS["UNSIGNED8"], access, 2
    (thing.add_member if isinstance(thing, ODArray | ODRecord) else thing.add_object)(entry)


def test_a_file_of_the_library_has_the_counts_that_it_put_in() -> None:
    dictionary: Any = canopen.ObjectDictionary
    made = dictionary()
    made.node_id = 5
    for index in range(0x2000, 0x2008):  # variables
        put(made, index, 0, ("ro", "rw", "const", "wo")[index % 4])
    for index in range(0x2100, 0x2110):  # arrays and records by turns
        thing = (ODArray if index % 2 else ODRecord)(f"Object {index:04X}", index)
        made.add_object(thing)
        for sub in range(3):
            put(thing, index, sub, ("ro", "ro", "rw", "const")[index // 2 % 4])
    text = io.StringIO()
    export_dcf(made, text, {})  # else it adds the head of an export before
    content = read(text.getvalue())
    assert len(content.entries) == 8 + 16 * 3
    assert len(library_counts(made)) == 12
    assert counts(content) == library_counts(made)


@pytest.mark.parametrize(
    "file", sorted(EXPORTS.rglob("*.dcf")), ids=lambda f: f"{f.parent.name}-{f.stem}"
)
def test_an_example_file_has_the_counts_that_the_library_finds_in_it(file: Path) -> None:
    content = dcf.read(file.read_bytes(), file=file.name, dialect=None, channel=None)
    theirs = library_counts(canopen.import_od(str(file)))
    assert len(theirs) > 10
    assert counts(content) == theirs


def test_the_library_knows_the_count_of_a_compact_object_too() -> None:
    source: Any = io.StringIO(HEAD + COMPACT)
    source.name = "a.dcf"
    thing = canopen.import_od(source)[0x2050]
    assert isinstance(thing, ODArray)
    assert counts(read(HEAD + COMPACT)) == {f"0x{thing.index:04X}:{0:02X}"}
    assert 0 in thing.subindices


# What normalisation makes of them.

TEXT = with_subs("2010") + with_subs("1A00", "rw") + variable("2001", "UNSIGNED8", "9")
SETTINGS = {"0x2001:00", *MEMBERS, "0x1A00:00", "0x1A00:01", "0x1A00:02"}
ELM = """\
schema: axisvault/family/1
name: elm
title: Elm drives (invented, for tests)
export: {format: dcf, recognise: {vendor: ^Invented}}
parameters:
  "0x2001:00": {name: Any, type: UNSIGNED8}
"""
LISTED = ELM + '  "0x2010:00": {name: Steps in use, type: UNSIGNED8, access: ro}\n'


def family(text: str) -> Family:
    return read_family(text.encode(), "elm.yaml")


def test_counts_are_no_parameters() -> None:
    normalised = normalise(read(TEXT + COMPACT), None)
    members = {"0x2050:01", "0x2050:02", "0x2050:03"}
    assert set(normalised.parameters) == SETTINGS | members
    assert (normalised.skipped, normalised.warnings) == ((), ())


def test_counts_are_no_parameters_of_a_family_that_does_not_list_them() -> None:
    assert codes(read(TEXT), family(ELM)) == SETTINGS


def test_a_count_that_the_family_lists_is_a_parameter() -> None:
    normalised = normalise(read(TEXT), family(LISTED))
    assert set(normalised.parameters) == SETTINGS | {"0x2010:00"}
    assert normalised.parameters["0x2010:00"].name == "Steps in use"


def test_a_count_that_another_firmware_of_the_family_has_is_no_parameter() -> None:
    count = '    "0x2010:00": {name: Steps in use, type: UNSIGNED8}\n'
    text = f'{ELM}variants:\n- firmware: ">=2"\n  parameters:\n{count}'
    plates = (variable("100A", "VISIBLE_STRING", version) for version in ("1.0", "2.0"))
    found = ["0x2010:00" in codes(read(TEXT + plate), family(text)) for plate in plates]
    assert found == [False, True]


@pytest.mark.parametrize("dictionary", [None, ELM, LISTED])
def test_version_1_of_the_rules_keeps_counts(dictionary: str | None) -> None:
    known = None if dictionary is None else family(dictionary)
    assert codes(read(TEXT), known, version=1) == SETTINGS | {"0x2010:00"}


def test_the_versions_differ_in_counts_alone() -> None:
    for name in ("lift", "belt-feed", "spray-carriage"):
        for file in sorted((EXPORTS / "glaze-line-1" / name).glob("*.dcf")):
            known = read_family((FAMILIES / "alder.yaml").read_bytes(), "alder.yaml")
            content = dcf.read(
                file.read_bytes(), file=file.name, dialect=known.export, channel=None
            )
            older = dict(normalise(content, known, 1).parameters)
            newer = dict(normalise(content, known, 2).parameters)
            assert older.keys() - newer.keys() == counts(content)
            assert {code: older[code] for code in newer} == newer


# Snapshots that were recorded by version 1.


@pytest.fixture
def take_by(take: Take, monkeypatch: pytest.MonkeyPatch) -> Callable[..., Any]:
    """Takes the lift in by the rules of one version, and has the record say which."""

    def record(text: str, rules: int, stated: int | None = None, **more: Any) -> Any:
        def reader(*given: Any, **named: Any) -> Export:
            export = read_export(*given, **named, version=rules)
            return replace(export, version=rules if stated is None else stated)

        with monkeypatch.context() as patch:
            patch.setattr(read_for_axis, "read_export", reader)
            return take(text, name="lift.dcf", **more)

    return record


PATH = "machines/m1/lift/parameters.yaml"
LINE = "  0x2010:00: {name: A name, value: 2, raw: 2}\n"


def test_a_snapshot_of_version_1_holds_by_the_rules_it_was_recorded_with(
    vault: Vault, take_by: Take, git: Git
) -> None:
    commit = take_by(TEXT, 1).snapshot.id
    assert LINE in git("show", f"{commit}:{PATH}")
    outcome = verify(vault)
    assert (outcome.snapshots, outcome.problems, outcome.remarks) == (1, [], [])


def test_snapshots_of_both_versions_hold_beside_each_other(vault: Vault, take_by: Take) -> None:
    for day, rules in enumerate((1, 2, 1), 1):
        take_by(TEXT, rules, taken_at=f"2026-03-0{day}")
    outcome = verify(vault)
    assert (outcome.snapshots, outcome.problems, outcome.remarks) == (3, [], [])


def test_a_snapshot_of_version_1_whose_family_lists_the_count_holds(
    vault: Vault, take_by: Take, tmp_path: Path
) -> None:
    (tmp_path / "elm.yaml").write_text(LISTED)
    add_family(vault, tmp_path / "elm.yaml", BY)
    assert take_by(HEAD + TEXT, 1).snapshot.record.family == "elm"
    assert verify(vault).problems == []


TAMPERED = [
    pytest.param("value: 9, raw: 9", "value: 8, raw: 8", id="a value"),
    pytest.param(LINE, LINE.replace("2, raw: 2", "3, raw: 3"), id="a count"),
    pytest.param(LINE, "", id="a count that was taken out"),
]
UNSEEN = [
    pytest.param(
        "value: 7, unit: increments, raw: 7",
        "value: 6, unit: increments, raw: 6",
        id="a live value",
    ),
    pytest.param("name: Plain name", "name: Other name", id="a name"),
]


def tampered(vault: Vault, git: Git, commit: str, old: str, new: str) -> list[tuple[str, str]]:
    """Problems that are found once a snapshot's values were changed with git alone."""
    written = rewritten(git, commit, forged(git, commit, PATH, old, new))
    assert written != commit
    outcome = moved(git, vault, written)
    return [(p.kind, p.details) for p in outcome.problems if written[:10] in p.where]


@pytest.mark.parametrize(("old", "new"), TAMPERED)
def test_a_snapshot_of_version_1_that_was_tampered_with_is_named(
    vault: Vault, take_by: Take, git: Git, old: str, new: str
) -> None:
    commit = take_by(TEXT, 1).snapshot.id
    reason = "parameters.yaml is not what the export and the dictionary give"
    assert tampered(vault, git, commit, old, new) == [("parameters", reason)]


@pytest.mark.parametrize(("old", "new"), UNSEEN)
def test_what_means_the_same_but_is_not_what_version_1_gives_is_named(
    vault: Vault, take_by: Take, git: Git, old: str, new: str
) -> None:
    """The rules of version 1 are still there: they give the file byte for byte."""
    place = variable("6063", "INTEGER32", "7").replace("A name", "Plain name")
    commit = take_by(TEXT + place, 1).snapshot.id
    assert [kind for kind, _ in tampered(vault, git, commit, old, new)] == ["parameters"]


@pytest.mark.parametrize(("rules", "stated"), [(1, 2), (2, 1)])
def test_a_snapshot_that_states_other_rules_than_it_was_made_by_is_named(
    vault: Vault, take_by: Take, rules: int, stated: int
) -> None:
    take_by(TEXT, rules, stated)
    assert [problem.kind for problem in verify(vault).problems] == ["parameters"]


def test_an_export_that_is_taken_in_again_by_newer_rules_changed_nothing(take_by: Take) -> None:
    take_by(TEXT, 1, taken_at="2026-03-01")
    again = take_by(TEXT, 2, taken_at="2026-03-02")
    assert [change.shown.code for change in again.comparison.news] == []
