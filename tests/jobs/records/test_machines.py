"""Records of machines: title, tags, twin and which axes go together. All of it is invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import BY, Outcome
from tests.jobs.records.naming import sound
from vault.jobs.records.machines import machine_summaries, machine_summary, set_machine
from vault.jobs.records.rename import rename_axis, rename_machine
from vault.model.errors import Unreadable, WrongUsage
from vault.model.names import Address
from vault.store.vault import Vault

Take = Callable[..., Any]
Export = Callable[..., str]
HEAD = "schema: axisvault/machine/1\n"


@pytest.fixture
def twins(vault: Vault, take: Take, export_text: Export) -> Vault:
    """Two machines: m1 has a lift and a belt, m2 a lift and a chain."""
    for number, name in enumerate(("m1/lift", "m1/belt", "m2/lift", "m2/chain")):
        take(export_text("1", settings=100 * number), "2026-03-01", name)
    return vault


def put(vault: Vault, machine: str, text: str) -> Any:
    return set_machine(vault, machine, (HEAD + text).encode(), "machine.yaml", BY)


def pairs(vault: Vault, machine: str) -> list[tuple[str, str]]:
    return [(str(one), str(other)) for one, other in machine_summary(vault, machine).pairs]


def test_twins_pair_by_the_record_and_then_by_name(twins: Vault) -> None:
    put(twins, "m1", "title: Press 1\ntags: [hall 2]\ntwin: m2\npairs: {belt: chain}\n")
    assert machine_summary(twins, "m1").twin == "m2"
    assert pairs(twins, "m1") == [("m1/belt", "m2/chain"), ("m1/lift", "m2/lift")]
    sound(twins)


def test_one_record_says_it_for_both(twins: Vault) -> None:
    put(twins, "m1", "twin: m2\npairs: {belt: chain}\n")
    assert machine_summary(twins, "m2").twin == "m1"
    assert pairs(twins, "m2") == [("m2/chain", "m1/belt"), ("m2/lift", "m1/lift")]


def test_a_pairing_holds_after_a_rename(twins: Vault) -> None:
    put(twins, "m1", "twin: m2\npairs: {belt: chain}\n")
    rename_machine(twins, "m2", "press-2", BY)
    rename_axis(twins, Address("m2", "chain"), "feed", BY)
    summary = machine_summary(twins, "m1")
    assert summary.twin == "press-2"
    assert pairs(twins, "m1") == [("m1/belt", "press-2/feed"), ("m1/lift", "press-2/lift")]


def test_a_machine_has_a_record_before_its_first_axis(
    vault: Vault, take: Take, export_text: Export
) -> None:
    assert not put(vault, "press", "title: Press\n").unchanged
    assert put(vault, "press", "title: Press\n").unchanged
    assert [one.name for one in machine_summaries(vault, pytest.fail)] == ["press"]
    assert machine_summary(vault, "press").axes == ()
    assert vault.axes() == []
    take(export_text("1"), "2026-03-01", "press/ram")
    assert [str(axis) for axis in machine_summary(vault, "press").axes] == ["press/ram"]
    sound(vault)


def test_what_a_record_names_and_is_not_there_is_told(twins: Vault) -> None:
    assert put(twins, "m1", "twin: m9\n").remarks == ("twin: there is no machine m9 as yet",)
    assert put(twins, "m1", "twin: m2\npairs: {lift: nothing}\n").remarks == (
        "pairs: there is no axis m2/nothing as yet",
    )


@pytest.mark.parametrize(
    ("text", "reason"),
    [
        ("twin: m1\n", "a machine is no twin of itself"),
        ("twim: m2\n", "twim"),
        ("pairs: {belt: chain}\n", "pairs need the twin"),
        ("twin: m2\npairs: {belt: chain, lift: chain}\n", "goes with one axis only"),
        ("twin: 'no name'\n", "cannot name a machine"),
        ("title: 5\n", "title"),
    ],
)
def test_a_record_that_cannot_be_is_refused_with_its_line(
    twins: Vault, text: str, reason: str
) -> None:
    with pytest.raises(Unreadable, match=reason) as refused:
        put(twins, "m1", text)
    assert refused.value.line is not None


def test_a_machine_that_is_not_there_is_told_with_what_is_near(twins: Vault) -> None:
    with pytest.raises(WrongUsage, match="there is no machine M1; did you mean m1"):
        machine_summary(twins, "M1")
    with pytest.raises(WrongUsage, match="in upper and lower case only"):
        put(twins, "M1", "title: Press\n")


@pytest.mark.parametrize("name", ["machine.yaml", "corrections.yaml"])
def test_no_axis_is_called_as_a_file_of_its_machine(name: str) -> None:
    with pytest.raises(WrongUsage, match="a machine has a file of that name"):
        Address.parse(f"m1/{name}")


def test_the_command_line_sets_shows_and_lists(
    twins: Vault, cli: Callable[..., Outcome], tmp_path: Path
) -> None:
    (tmp_path / "m.yaml").write_text(f"{HEAD}title: Press 1\ntags: [hall 2]\ntwin: m2\n")
    assert cli("machine", "set", "m1", "m.yaml").stdout == "The record of m1 is in the vault.\n"
    shown = cli("machine", "show", "m1")
    assert "Its twin is m2." in shown.stdout
    assert shown.stdout.startswith(HEAD)
    listed = cli("machine", "list").stdout.splitlines()
    assert listed[1].split() == ["m1", "Press", "1", "2", "m2", "hall", "2"]
    told = cli("machine", "show", "m2", "--json").json
    assert (told["twin"], told["pairs"]) == ("m1", [{"axis": "m2/lift", "other": "m1/lift"}])
