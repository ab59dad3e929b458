"""One box for everything. The family hazel is invented; so are people, machines and numbers."""

from __future__ import annotations

import shutil
import sqlite3
from collections.abc import Callable
from pathlib import Path
from typing import Any
from unicodedata import normalize

import pytest

from tests.conftest import BY
from vault.jobs.baseline.golden import approve
from vault.jobs.faults.log import add_fault, parse_fault
from vault.jobs.inspect.search import Hits, search
from vault.jobs.records.machines import set_machine
from vault.jobs.records.rename import rename_axis, rename_machine
from vault.jobs.records.retire import retire_machine
from vault.model.names import Address
from vault.model.restore import RestoreRecord
from vault.store.clock import parse_time
from vault.store.files import layout
from vault.store.files.restore_text import restore_text
from vault.store.index.texts import plain, rank
from vault.store.vault import Vault

Take = Callable[..., Any]
Export = Callable[..., str]
LIFT = Address("m1", "lift")
RECORD = "schema: axisvault/axis/1\ntitle: Hub der Glasur-Linie Möhre\nnameplate: {drive: HZ-04}\n"


@pytest.fixture
def searched(vault: Vault, take: Take, export_text: Export) -> Vault:
    """A lift whose drive was swapped once, and a belt."""
    take(export_text("9", serial="SN-100"), "2026-03-01", work_order="WO-7", to="m1/lift")
    swap = {"override_reason": "drive swapped", "by": "Tomas Quillfeather <t@x.example>"}
    take(export_text("2", serial="SN-200"), "2026-03-02", to="m1/lift", **swap)
    take(export_text("3", serial="SN-300"), "2026-03-01", to="m2/belt", override_reason="a twin")
    describe(vault, RECORD)
    return vault


def describe(vault: Vault, record: str) -> None:
    """Write the axis record of the lift as it is, right or not."""
    with vault.writing():
        vault.write_files({layout.axis_file(LIFT): record.encode()}, "lift described\n", BY)


def found(vault: Vault, text: str) -> dict[str, str]:
    return {hit.axis: hit.why for hit in search(vault, text).axes}


def machines(vault: Vault, text: str) -> dict[str, str]:
    return {hit.machine: hit.why for hit in search(vault, text).machines}


@pytest.mark.parametrize("text", ["lift", "m1/lift", "LIF", "1/l", "lift m1"])
def test_an_axis_is_found_by_its_name_its_begin_and_its_words_in_any_order(
    text: str, searched: Vault
) -> None:
    assert found(searched, text) == {"m1/lift": "its name"}


@pytest.mark.parametrize("text", ["möhre", "MOHRE", "glasur", "linie mohre"])
def test_a_title_is_found_without_regard_to_accents_and_capitals(
    text: str, searched: Vault
) -> None:
    assert found(searched, text) == {"m1/lift": "its title"}
    assert search(searched, text).axes[0].title == "Hub der Glasur-Linie Möhre"


def test_a_serial_number_of_an_earlier_snapshot_says_that_it_is_a_former_one(
    searched: Vault,
) -> None:
    assert found(searched, "sn-200") == {"m1/lift": "serial number SN-200"}
    former = "former serial number SN-100: its latest snapshot has another"
    assert found(searched, "SN-100") == {"m1/lift": former}


def test_a_work_order_leads_to_its_axes(searched: Vault) -> None:
    assert found(searched, "wo-7") == {"m1/lift": "work order WO-7"}


def test_what_an_axis_record_names_is_found_and_called_that(searched: Vault) -> None:
    assert found(searched, "hz-04")["m1/lift"] in (
        "drive HZ-04; drive HZ-04, by the axis record",
        "drive HZ-04, by the axis record; drive HZ-04",
    )


def test_a_machine_says_how_many_axes_it_has(searched: Vault) -> None:
    [machine] = search(searched, "m2").machines
    assert (machine.machine, machine.axes) == ("m2", 1)


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("lim/lag", "code"),
        ("following err", "name"),
        ("Schleppfehlerfenster", "its role goes by 'Schleppfehlerfenster'"),
    ],
)
def test_a_parameter_is_found_by_code_name_and_the_trades_words_for_its_role(
    text: str, why: str, searched: Vault
) -> None:
    first = search(searched, text).parameters[0]
    assert (first.code, first.family, first.why) == ("lim/lag", "hazel", why)


def test_what_a_parameter_is_called_goes_before_a_word_for_its_role(searched: Vault) -> None:
    """`home` begins a name of the trade for other roles; here a parameter is named so."""
    whys = [hit.why for hit in search(searched, "homing").parameters]
    assert whys[0] == "name"
    assert whys == sorted(whys, key=lambda why: why.startswith("its role"))


def test_people_are_found_with_what_they_did(searched: Vault) -> None:
    approve(searched, "m1/lift", "Abena Lorn <a@x.example>", "as accepted")
    assert [(p.person, p.axes, p.why) for p in search(searched, "quill").people] == [
        ("Tomas Quillfeather", ("m1/lift",), "took exports of 1 axis")
    ]
    [abena] = search(searched, "abena lorn").people
    assert abena.why == "approved 1 axis"


def test_a_fault_that_was_noted_goes_before_those_that_only_the_standard_has(
    searched: Vault,
) -> None:
    """8611h is a following error: CiA 402, from memory."""
    add_fault(searched, LIFT, parse_fault("8611h", BY, at="2026-03-02", note="belt slipped"))
    noted = search(searched, "8611").faults[0]
    assert (noted.code, noted.name, noted.axes) == (
        "8611h", "Following error too large", ("m1/lift",)
    )  # fmt: skip
    names = [fault.code for fault in search(searched, "following error").faults]
    assert names[0] == "8611h"
    over = search(searched, "0x3210").faults[0]
    assert (over.name, over.why) == ("DC-link over-voltage", "code, noted on no axis")
    assert found(searched, "slipped") == {"m1/lift": "note of a fault belt slipped"}


def test_a_family_is_found_by_name_and_title(searched: Vault) -> None:
    assert [hit.family for hit in search(searched, "hazel").families] == ["hazel"]


def test_a_snapshot_is_found_by_seven_digits_of_its_id_and_not_by_six(searched: Vault) -> None:
    latest = searched.latest(LIFT)
    assert latest is not None
    assert [one.id for one in search(searched, latest.id[:7].upper()).snapshots] == [latest.id]
    assert search(searched, latest.id[:6]).snapshots == ()


@pytest.mark.parametrize(
    ("text", "meant"),
    [("Folowing eror window", "Following error window"), ("lifft", "lift"), ("Hazle", "hazel")],
)
def test_where_nothing_is_found_what_may_have_been_meant_is_told(
    text: str, meant: str, searched: Vault
) -> None:
    hits = search(searched, text)
    assert hits.count == 0
    assert meant in hits.meant


@pytest.mark.parametrize("text", ["", "   ", "?!", "/"])
def test_a_text_without_a_letter_or_digit_finds_nothing(text: str, searched: Vault) -> None:
    assert search(searched, text) == Hits(text)


def test_a_title_that_was_changed_is_found_by_the_new_one_alone(searched: Vault) -> None:
    assert found(searched, "glasur")
    describe(searched, RECORD.replace("Glasur", "Brenn"))
    assert found(searched, "brenn linie") == {"m1/lift": "its title"}
    assert found(searched, "glasur") == {}


def test_an_axis_record_that_people_broke_hides_no_other_axis(searched: Vault) -> None:
    describe(searched, "title: [\n")
    assert found(searched, "lift") == {"m1/lift": "its name"}
    assert found(searched, "belt") == {"m2/belt": "its name"}


def test_an_index_that_was_built_anew_finds_the_same(searched: Vault) -> None:
    texts = ("lift", "SN-100", "WO-7", "quill", "lim/lag", "möhre")
    before = [search(searched, text) for text in texts]
    searched.reindex()
    assert [search(searched, text) for text in texts] == before


def test_a_damaged_text_of_the_index_is_answered_from_git(searched: Vault) -> None:
    path = searched.state / "index.sqlite"
    assert found(searched, "SN-300") == {"m2/belt": "serial number SN-300"}
    with sqlite3.connect(path) as database:
        database.execute("UPDATE texts SET text = 'SN-301' WHERE text = 'SN-300'")
    assert found(searched, "SN-300") == {"m2/belt": "serial number SN-300"}


def test_a_vault_that_cannot_be_written_is_searched_in_memory(
    searched: Vault, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    shutil.copytree(searched.repository.path, tmp_path / "copy")
    with Vault.open(tmp_path / "copy") as copied:
        copied.index.ask(lambda database: database.execute("PRAGMA query_only = ON"))
        assert found(copied, "möhre") == {"m1/lift": "its title"}


@pytest.mark.parametrize(
    ("wanted", "text", "place"),
    [
        ("lift", "Lift", 0),
        ("lift", "Lift of line 1", 1),
        ("line", "Lift of line 1", 2),
        ("ine", "Lift of line 1", 3),
        ("1 lift", "Lift of line 1", 4),
        ("hoist", "Lift of line 1", None),
    ],
)
def test_all_of_a_text_goes_before_its_begin_a_word_a_part_and_words_apart(
    wanted: str, text: str, place: int | None
) -> None:
    assert rank(plain(wanted), plain(text)) == place


def test_letters_are_compared_as_the_standard_folds_them() -> None:
    """Unicode, sections 3.13 (caseless matching) and 5.14: fold, decompose, drop marks."""
    for text in ("Größe", "ÉTAU", "Kühlung ﬁx"):
        decomposed = normalize("NFD", text.casefold())
        assert plain(text) == plain(decomposed) == plain(text.upper())


def test_a_renamed_axis_is_found_by_both_names_and_shown_by_the_present_one(
    searched: Vault,
) -> None:
    search(searched, "lift")
    rename_axis(searched, LIFT, "hoist", BY)
    assert found(searched, "hoist") == {"m1/hoist": "its name"}
    assert found(searched, "lift") == {"m1/hoist": "former name m1/lift"}
    [quill] = search(searched, "quill").people
    assert quill.axes == ("m1/hoist",)
    latest = searched.latest(LIFT)
    assert latest is not None
    assert [str(one.address) for one in search(searched, latest.id).snapshots] == ["m1/hoist"]


def test_a_renamed_machine_and_its_axes_are_found_by_both_names(searched: Vault) -> None:
    search(searched, "m1")
    rename_machine(searched, "m1", "pal-2", BY)
    assert found(searched, "pal-2") == {"pal-2/lift": "its name"}
    assert found(searched, "m1") == {"pal-2/lift": "former name m1/lift"}
    assert machines(searched, "pal-2") == {"pal-2": "its name"}
    assert machines(searched, "m1") == {"pal-2": "its former name m1"}


def test_a_machine_is_found_by_title_and_tags_of_its_record_also_before_its_first_axis(
    searched: Vault,
) -> None:
    search(searched, "m1")
    record = b"schema: axisvault/machine/1\ntitle: Old kiln\ntags: [line-b, spare parts]\n"
    for machine in ("m1", "m9"):
        set_machine(searched, machine, record, "machine.yaml", BY)
    assert machines(searched, "kiln") == dict.fromkeys(("m1", "m9"), "its title Old kiln")
    assert machines(searched, "spare") == dict.fromkeys(("m1", "m9"), "its tag spare parts")
    assert [hit.axes for hit in search(searched, "line-b").machines] == [1, 0]
    assert found(searched, "kiln") == {}


def test_what_is_retired_says_so_and_comes_last(searched: Vault) -> None:
    retire_machine(searched, "m1", BY, "scrapped")
    searched.refresh()
    hits = search(searched, "m").machines
    assert [(hit.machine, hit.retired) for hit in hits] == [("m2", False), ("m1", True)]
    axes = search(searched, "m").axes
    assert [(hit.axis, hit.retired) for hit in axes] == [("m2/belt", False), ("m1/lift", True)]


def test_an_axis_is_found_by_the_number_of_its_restore_plan(plant: Vault) -> None:
    record = RestoreRecord(
        id="3fa2" + "0" * 28,
        made_at=parse_time("2026-11-29T08:00:00Z"),
        by=BY,
        snapshot="1" * 40,
    )
    lift = Address("glaze-line-1", "lift")
    content = restore_text(record)
    with plant.writing():
        plant.write_files({layout.restore_file(lift): content}, "plan made\n", BY)
    for text in ("2026-11-29-3fa2", "3fa2"):
        assert found(plant, text) == {str(lift): "restore plan 2026-11-29-3fa2"}
