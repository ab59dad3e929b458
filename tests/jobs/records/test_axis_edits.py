"""Edits of an axis record: what one changes, and the history of them. Everything is invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome, Take
from vault.jobs.records.axis_edits import axis_edits
from vault.jobs.records.edit import RecordAdded, set_axis
from vault.model.names import Address
from vault.store.files import layout
from vault.store.vault import Vault

LIFT, BELT = Address("m1", "lift"), Address("m1", "belt")
Cli = Callable[..., Outcome]
Export = Callable[..., str]
Set = Callable[..., RecordAdded]


@pytest.fixture
def put(vault: Vault, tmp_path: Path) -> Set:
    """Sets the record of an axis to some lines."""

    def put(lines: str, axis: Address = LIFT, by: str = BY) -> RecordAdded:
        path = tmp_path / "axis.yaml"
        path.write_text(f"schema: axisvault/axis/1\n{lines}\n")
        return set_axis(vault, axis, path, by)

    return put


def test_an_edit_tells_who_changed_what_and_what_follows(vault: Vault, put: Set) -> None:
    first = put("cabinet: {address_switches: '23'}")
    put("cabinet: {address_switches: '23'}", BELT)
    second = put("cabinet: {address_switches: '32'}", by="Pavo Drostmaa <pavo@x.example>")
    edits = list(axis_edits(vault, LIFT))
    assert [edit.commit for edit in edits] == [first.commit, second.commit]
    assert [edit.is_first for edit in edits] == [True, False]
    assert edits[1].by == "Pavo Drostmaa <pavo@x.example>"
    (change,) = edits[1].changes
    assert (change.path, change.left, change.right) == ("cabinet.address_switches", "23", "32")
    assert change.consequence == "link"
    assert "23 became 32" in change.explanation
    assert second.changes == edits[1].changes, "what axis set said is what history says"


def test_setting_the_same_record_commits_nothing(vault: Vault, put: Set) -> None:
    put("title: Lift")
    before = vault.tip
    again = put("title: Lift")
    assert (again.unchanged, again.changes, vault.tip) == (True, (), before)


def test_only_a_comment_is_said_to_change_nothing(put: Set, tmp_path: Path, cli: Cli) -> None:
    assert not put("title: Hoist").is_reworded
    assert not put("title: Lift").is_reworded
    (tmp_path / "axis.yaml").write_text("schema: axisvault/axis/1\ntitle: Lift  # of line 1\n")
    done = cli("axis", "set", LIFT, "axis.yaml")
    assert "is in the vault. Nothing that it says changed." in done.stdout


def test_titles_and_notes_are_told_in_the_history(vault: Vault, put: Set) -> None:
    put("title: Lift")
    put("title: Lift of line 1\nnote: Hangs.\nfollows: m1/belt")
    found = {c.path: c.consequence for c in list(axis_edits(vault, LIFT))[1].changes}
    assert found == {"title": "record", "note": "record", "follows": "record"}


def test_an_address_is_a_hazard_while_another_axis_of_the_machine_has_it(
    vault: Vault, put: Set
) -> None:
    """The history tells what was so at the time of the edit."""
    put("controller_link: {node_address: 7}", BELT)
    put("controller_link: {node_address: 7}", Address("m2", "belt"))
    put("controller_link: {node_address: 5}")
    clash = put("controller_link: {node_address: '0x07'}")
    assert [c.consequence for c in clash.changes] == ["hazard"]
    assert "belt of this machine has it too" in clash.changes[0].explanation
    assert clash.remarks == ("m1/belt has node address 0x07 too: on one bus, one of them is wrong",)
    put("controller_link: {node_address: 8}", BELT)
    away = put("controller_link: {node_address: 9}")
    assert ([c.consequence for c in away.changes], away.remarks) == (["link"], ())
    told = [[c.consequence for c in edit.changes] for edit in axis_edits(vault, LIFT)]
    assert told[1:] == [["hazard"], ["link"]]


def test_a_new_cabinet_section_is_told_setting_by_setting(put: Set) -> None:
    put("title: Lift")
    added = put("title: Lift\ncabinet: {sto_bridge: fitted, address_switches: '23'}")
    assert [(c.path, c.consequence) for c in added.changes] == [
        ("cabinet.sto_bridge", "hazard"), ("cabinet.address_switches", "link"),
    ]  # fmt: skip


def test_a_record_that_nobody_can_read_can_be_mended(vault: Vault, put: Set) -> None:
    put("mechanics: {kind: belt, moving_mass: 60 kg}")
    with vault.writing():
        vault.write_files({layout.axis_file(LIFT): b"mechanics: [\n"}, "by hand\n", "X <x>")
    mended = put("mechanics: {kind: belt, moving_mass: 61 kg}")
    assert not mended.unchanged
    assert "could not be read" in mended.remarks[0]
    edits = list(axis_edits(vault, LIFT))
    assert [c.path for c in edits[-1].changes] == ["mechanics.moving_mass"]


def test_a_neighbour_that_nobody_can_read_stops_no_edit(vault: Vault, put: Set) -> None:
    put("controller_link: {node_address: 5}")
    with vault.writing():
        vault.write_files({layout.axis_file(BELT): b"mechanics: [\n"}, "by hand\n", "X <x>")
    added = put("controller_link: {node_address: 6}")
    assert ([c.consequence for c in added.changes], added.remarks) == (["link"], ())


def test_a_record_that_is_gone_is_an_edit(vault: Vault, put: Set) -> None:
    put("cabinet: {address_switches: '23'}")
    with vault.writing():
        vault.write_files({}, "gone\n", "X <x>", removed=[layout.axis_file(LIFT)])
    (change,) = list(axis_edits(vault, LIFT))[-1].changes
    assert (change.left, change.right, change.consequence) == ("23", None, "link")


def test_the_history_reads_no_other_axis(
    vault: Vault, put: Set, monkeypatch: pytest.MonkeyPatch
) -> None:
    for number in range(5):
        put(f"controller_link: {{node_address: {number}}}", Address("m1", f"axis-{number}"))
    for mass in (60, 61, 62):
        machine = f"mechanics: {{kind: belt, moving_mass: {mass} kg}}"
        put(f"{machine}\ncontroller_link: {{node_address: 9}}")
    read: list[str] = []
    real = vault.read
    monkeypatch.setattr(vault, "read", lambda path, *more: read.append(path) or real(path, *more))
    assert len(list(axis_edits(vault, LIFT))) == 3
    assert set(read) == {layout.axis_file(LIFT)}


def test_the_log_book_puts_edits_among_snapshots(
    vault: Vault, put: Set, take: Take, export_text: Export, cli: Cli
) -> None:
    put("cabinet: {address_switches: '23'}")
    take(export_text(), "2020-01-01T08:00:00+00:00")
    put("cabinet: {address_switches: '32'}")
    take(export_text("3"), "now")
    told = cli("history", LIFT).stdout
    places = [
        told.index(part)
        for part in (
            "became 3 mm",
            "axis as built changed, by Mira Okafor",
            ":: cabinet, address",
            "2020-01-01",
        )
    ]
    assert places == sorted(places)
    document = cli("history", LIFT, "--json").json
    first, second = document["edits"]
    assert set(second) >= {"commit", "at", "by", "changes"}
    assert second["changes"][0].keys() == {"path", "left", "right", "consequence", "explanation"}
    assert first["changes"][0]["consequence"] == "link"
