"""Roles are confirmed in a vault: a new version of the dictionary, by the one who said so."""

from __future__ import annotations

import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome
from vault.jobs.families.confirm_roles import (
    confidence_words,
    confirm_roles,
    newest_values,
    parse_roles,
    roles_to_confirm,
)
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.jobs.records.edit import add_family, add_new_family
from vault.model.errors import Unreadable, WrongUsage
from vault.model.names import Address
from vault.store.clock import now
from vault.store.vault import Vault

ODA = "Oda Reed <oda@tileworks.example>"


@pytest.fixture
def suggested(vault: Vault, tmp_path: Path, family_text: str) -> Vault:
    """The vault, with roles that wait for three parameters of the family hazel."""
    text = family_text
    for number, role, sure in (
        (1, "velocity_gain", "0.97"),
        (2, "brake_used", "0.97"),
        (3, "quick_stop_deceleration", "0.50"),
    ):
        line = f"  set/{number}: {{name: Setting {number}, type: INTEGER16}}\n"
        assert line in text
        new = f"  set/{number}: {{name: S {number}, suggest: {role}, type: INTEGER16}}"
        text = text.replace(line, f"{new}  # {sure}: its name\n")
    (tmp_path / "hazel.yaml").write_text(text)
    add_family(vault, tmp_path / "hazel.yaml", BY)
    return vault


def taken(vault: Vault, folder: Path, export: str, axis: str, day: int) -> None:
    (folder / "a.csv").write_text(export)
    who = parse_visit(BY, taken_at=f"2026-03-{day:02}T08:00:00+00:00")
    ingest(vault, folder / "a.csv", Address.parse(axis), who)


def test_a_confirmed_role_is_a_commit_of_the_person_who_said_so(suggested: Vault) -> None:
    added = confirm_roles(suggested, "hazel", {"set/1": "velocity_gain", "set/2": None}, ODA)
    file = suggested.family_file("hazel")
    assert file.family.parameters["set/1"].role == "velocity_gain"
    assert file.family.parameters["set/2"].suggest is None
    assert f"# 0.97: its name; role confirmed by Oda Reed, {now().date()}" in file.content.decode()
    told = subprocess.run(
        ["git", "-C", suggested.repository.path, "log", "-1", "--format=%an <%ae>%n%s"],
        check=True, capture_output=True, text=True,
    ).stdout  # fmt: skip
    assert told.splitlines() == [ODA, "Family hazel: roles of set/1, set/2"]
    assert added.commit == suggested.tip


def test_the_reason_stands_beside_the_role_and_in_the_commit_and_gives_way_to_the_next(
    suggested: Vault,
) -> None:
    confirm_roles(suggested, "hazel", {"set/1": "velocity_gain"}, ODA, "manual,\np. 7")
    confirmed = f"role confirmed by Oda Reed, {now().date()}"
    assert f"{confirmed}: manual, p. 7\n" in suggested.family_file("hazel").content.decode()
    told = subprocess.run(
        ["git", "-C", suggested.repository.path, "log", "-1", "--format=%B"],
        check=True, capture_output=True, text=True,
    ).stdout  # fmt: skip
    assert told.strip() == "Family hazel: roles of set/1\n\nmanual, p. 7"
    confirm_roles(suggested, "hazel", {"set/1": "position_gain"}, BY)
    assert "manual" not in suggested.family_file("hazel").content.decode()


@pytest.mark.parametrize(
    ("words", "none", "message"),
    [
        (["set/1"], [], "'set/1' says no role of a parameter"),
        (["=velocity_gain"], [], "says no role of a parameter"),
        (["set/1="], [], "'set/1=' says no role of a parameter"),
        (["set/1=velocity_gain"], ["set/1"], "two roles are said of set/1"),
        (["0x6065:0=x", "0x6065:00=y"], [], "two roles are said of 0x6065:00"),
        ([], [], "nothing was said of any role"),
    ],
)
def test_words_that_say_no_role_or_two_are_refused(
    words: list[str], none: list[str], message: str
) -> None:
    with pytest.raises(WrongUsage, match=message):
        parse_roles(words, none)


def test_a_code_with_an_equals_sign_keeps_it() -> None:
    assert parse_roles(["a=b=velocity_gain"], ["c"]) == {"a=b": "velocity_gain", "c": None}


def test_the_command_settles_roles_and_shows_what_the_parameters_are_now(
    suggested: Vault, tmp_path: Path, export_text: Callable[..., str], cli: Callable[..., Outcome]
) -> None:
    taken(suggested, tmp_path, export_text("2", settings=40), "m1/lift", 3)
    done = cli(
        "family", "confirm", "hazel", "set/1=velocity_gain", "--none", "set/2", "--reason", "p. 7",
        "--by", ODA,
    )  # fmt: skip
    assert done.code == 0, done.stderr
    assert "set/1 S 1: velocity_gain" in done.stdout
    assert "role before: none; suggested velocity_gain; a change of it counts as" in done.stdout
    assert "now m1/lift: 41" in done.stdout
    assert "set/2 S 2: no role" in done.stdout
    assert "2 roles settled in hazel" in done.stdout
    suggested.refresh()
    file = suggested.family_file("hazel")
    assert file.family.parameters["set/1"].role == "velocity_gain"
    assert f"no role, says Oda Reed, {now().date()}: p. 7" in file.content.decode()


def test_the_command_as_json_tells_the_commit_and_the_values(
    suggested: Vault, tmp_path: Path, export_text: Callable[..., str], cli: Callable[..., Outcome]
) -> None:
    taken(suggested, tmp_path, export_text("2", settings=40), "m1/lift", 3)
    done = cli("family", "confirm", "hazel", "set/1=velocity_gain", "--by", ODA, "--json")
    (role,) = done.json["roles"]
    assert (role["before"], role["suggested"], role["role"]) == (
        None, "velocity_gain", "velocity_gain",
    )  # fmt: skip
    assert role["values"] == [{"axis": "m1/lift", "value": "41"}]
    suggested.refresh()
    assert done.json["commit"] == suggested.tip


@pytest.mark.parametrize("said", ["set/99=velocity_gain", "set/1=velocity_gian", "set/1"])
def test_the_command_refuses_what_there_is_not_and_stores_nothing(
    said: str, suggested: Vault, cli: Callable[..., Outcome]
) -> None:
    before = suggested.tip
    done = cli("family", "confirm", "hazel", said, "--by", ODA)
    assert done.code == 2
    suggested.refresh()
    assert suggested.tip == before


def test_what_waits_is_sorted_by_what_depends_on_it_and_how_unsure_it_is(suggested: Vault) -> None:
    waiting = roles_to_confirm(suggested, suggested.family_file("hazel"), 10)
    assert [one.role for one in waiting] == [
        "quick_stop_deceleration", "brake_used", "velocity_gain",
    ]  # fmt: skip
    assert waiting[1].consequence == "hazard"
    assert waiting[1].is_hazard
    assert (waiting[0].confidence, waiting[0].reason) == (0.5, "its name")
    assert len(roles_to_confirm(suggested, suggested.family_file("hazel"), 1)) == 1


@pytest.mark.parametrize(
    ("confidence", "words"),
    [
        (0.97, "very likely"), (0.8, "likely"), (0.79, "it may be"), (0.5, "doubtful"),
        (0.36, "a mere guess"), (None, "nobody says how sure"),
    ],
)  # fmt: skip
def test_how_sure_a_suggestion_is_is_said_in_words(confidence: float | None, words: str) -> None:
    assert confidence_words(confidence) == words


def test_values_are_those_of_the_newest_snapshot_of_each_axis_of_the_family(
    suggested: Vault, tmp_path: Path, export_text: Callable[..., str]
) -> None:
    taken(suggested, tmp_path, export_text("2", settings=1), "m1/lift", 1)
    taken(suggested, tmp_path, export_text("2", settings=40), "m1/lift", 3)
    taken(suggested, tmp_path, export_text("2", settings=20), "m1/lift", 2)  # a late one
    taken(suggested, tmp_path, export_text("3,5"), "m1/belt", 1)
    found = newest_values(suggested, "hazel", ["set/1", "lim/lag", "none/such"])
    assert sorted(map(str, found["set/1"])) == ["m1/belt: 8", "m1/lift: 41"]
    assert sorted(map(str, found["lim/lag"])) == ["m1/belt: 3.5 mm", "m1/lift: 2 mm"]
    assert "none/such" not in found
    assert newest_values(suggested, "other", ["set/1"]) == {}


def test_a_role_that_another_parameter_has_is_refused_and_nothing_is_stored(
    suggested: Vault,
) -> None:
    before = suggested.tip
    with pytest.raises(Unreadable, match="has the role profile_velocity, as mov/speed has"):
        confirm_roles(suggested, "hazel", {"set/1": "profile_velocity"}, ODA)
    with pytest.raises(WrongUsage, match="there is no role 'velocity_gian'; did you mean"):
        confirm_roles(suggested, "hazel", {"set/1": "velocity_gian"}, ODA)
    with pytest.raises(WrongUsage, match="no parameter 'set/99'"):
        confirm_roles(suggested, "hazel", {"set/99": None}, ODA)
    suggested.refresh()
    assert suggested.tip == before


def test_roles_can_be_exchanged_in_one_step(suggested: Vault) -> None:
    confirm_roles(suggested, "hazel", {"set/1": "velocity_gain", "set/3": "position_gain"}, ODA)
    confirm_roles(suggested, "hazel", {"set/1": "position_gain", "set/3": "velocity_gain"}, ODA)
    parameters = suggested.family_file("hazel").family.parameters
    assert (parameters["set/1"].role, parameters["set/3"].role) == (
        "position_gain", "velocity_gain",
    )  # fmt: skip


def test_a_role_that_the_unit_speaks_against_is_refused(suggested: Vault) -> None:
    with pytest.raises(Unreadable, match="profile_velocity cannot be in mm"):
        confirm_roles(suggested, "hazel", {"lim/lag": "profile_velocity", "mov/speed": None}, ODA)


def test_a_new_family_takes_no_name_that_there_is(vault: Vault, family_text: str) -> None:
    with pytest.raises(WrongUsage, match="has a family hazel already"):
        add_new_family(vault, family_text.encode(), "hazel.yaml", ODA)
    text = family_text.replace("name: hazel", "name: oak")
    assert add_new_family(vault, text.encode(), "oak.yaml", ODA).name == "oak"
    assert vault.family_names() == ["hazel", "oak"]
