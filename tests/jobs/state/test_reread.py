"""Snapshots read again by today's dictionary, which changed since. All of it is invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome, Take
from vault.jobs.records.edit import add_family
from vault.jobs.state.compare import compare_by_one_dictionary, compare_states
from vault.jobs.state.reread import reread_by_today, versions_of
from vault.jobs.state.selectors import resolve
from vault.jobs.verify.verify import verify
from vault.model.errors import Unreadable, WrongUsage
from vault.store.files.snapshot_text import digest
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
Export = Callable[..., str]
Edit = Callable[[str, str], str]
LIFT, NEXT = "m1/lift", "2026-03-02T08:00:00+00:00"
FAST = "mov/speed: {name: Profile velocity, role: profile_velocity, type: UNSIGNED32, scale: 0.1, "
PLAIN_FAST = "mov/speed: {name: Profile velocity, type: UNSIGNED32, scale: 0.1, "


@pytest.fixture
def edit(vault: Vault, tmp_path: Path) -> Edit:
    """Puts another text of dictionary hazel into the vault; gives its SHA-256."""

    def change(old: str, new: str) -> str:
        path = tmp_path / "hazel.yaml"
        text = path.read_text()
        assert text.count(old) == 1, old
        path.write_text(text.replace(old, new))
        add_family(vault, path, BY)
        return digest(path.read_bytes())

    return change


def test_a_snapshot_is_shown_by_todays_dictionary_and_recorded_as_it_was(
    vault: Vault, take: Take, export_text: Export, edit: Edit, cli: Cli
) -> None:
    taken = take(export_text())
    today = edit(
        "set/1: {name: Setting 1, ", "set/1: {name: Jog speed, role: jog_velocity, unit: mm/s, "
    )
    before, after = cli("show", LIFT, "--json").json, cli("show", LIFT, "--reread", "--json").json

    def role_of(document: dict[str, list[dict[str, str]]]) -> str:
        return next(one["role"] for one in document["parameters"] if one["code"] == "set/1")

    assert (before["reread"], role_of(before)) == (False, None)
    assert (after["reread"], role_of(after)) == (True, "jog_velocity")
    recorded = taken.snapshot.record.family_sha256
    assert before["dictionary"] == {"recorded": recorded, "today": today}
    assert after["snapshot"] == before["snapshot"] == taken.snapshot.id
    assert verify(vault).problems == []


def test_it_is_said_that_it_is_read_by_another_one(
    vault: Vault, take: Take, export_text: Export, edit: Edit, cli: Cli
) -> None:
    take(export_text())
    same = " ".join(cli("show", LIFT, "--reread").stdout.split())
    assert "dictionary hazel, which is the one that it was taken with." in same
    today = edit("name: Setting 1,", "name: Setting one,")
    text = " ".join(cli("show", LIFT, "--reread").stdout.split())
    assert f"Read by today's dictionary hazel ({today[:10]}), not by the one" in text
    assert "Setting one" in text
    assert "today's dictionary" not in cli("show", LIFT).stdout


def test_coverage_and_nameplate_are_those_of_the_reading(
    vault: Vault, take: Take, export_text: Export, edit: Edit
) -> None:
    take(export_text(serial="S-1"))
    edit("Serial: serial, ", "")
    state = resolve(vault, LIFT)
    assert state.nameplate["serial"] == "S-1"
    assert "serial" not in reread_by_today(state).nameplate
    assert reread_by_today(state).coverage.is_whole


def test_a_dictionary_that_refuses_lines_that_were_taken_does_not_show_a_part(
    vault: Vault, take: Take, export_text: Export, edit: Edit, cli: Cli
) -> None:
    take(export_text())
    edit("set/20: {name: Setting 20, type: INTEGER16}", "set/20: {name: Setting 20, type: BOOLEAN}")
    with pytest.raises(Unreadable, match="today's dictionary refuses 1 line, the first: 27 lies"):
        reread_by_today(resolve(vault, LIFT))
    done = cli("show", LIFT, "--reread", "--json")
    assert (done.code, done.json["error"]["problems"][0]["line"]) == (4, 26)


def test_what_was_left_out_when_it_was_taken_may_be_left_out_again(
    vault: Vault, take: Take, export_text: Export, edit: Edit
) -> None:
    take(export_text("fast"), partial=True)
    edit("name: Setting 1,", "name: Setting one,")
    assert reread_by_today(resolve(vault, LIFT)).coverage.kind == "partial"


def test_what_has_no_dictionary_cannot_be_read_by_another(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    (tmp_path / "x.csv").write_text(export_text())
    with pytest.raises(WrongUsage, match="read by today's dictionary as it is"):
        reread_by_today(resolve(vault, f"file:{tmp_path / 'x.csv'}"))
    assert versions_of(resolve(vault, f"file:{tmp_path / 'x.csv'}")) is None


def test_a_self_describing_export_says_that_it_needs_none(plant: Vault) -> None:
    names = [str(axis) for axis in plant.axes()]
    without = [name for name in names if resolve(plant, name).family_name is None]
    for name in without:
        with pytest.raises(WrongUsage, match="read without a dictionary"):
            reread_by_today(resolve(plant, name))


# Comparing.


def test_a_role_that_was_confirmed_since_is_no_change_and_counts_on_both_sides(
    vault: Vault, take: Take, export_text: Export, edit: Edit
) -> None:
    edit(FAST, PLAIN_FAST)
    take(export_text(speed="100"))
    edit(PLAIN_FAST, FAST)
    take(export_text(speed="120"), NEXT)
    sides = resolve(vault, f"{LIFT}@first"), resolve(vault, LIFT)
    (plain,) = compare_states(*sides).comparison.news
    assert plain.left is not None
    assert plain.left.role is None
    compared = compare_by_one_dictionary(*sides)
    (change,) = compared.comparison.news
    assert change.left is not None
    assert (change.left.role, change.consequence) == ("profile_velocity", "dynamics")
    assert compared.rereading is not None
    assert (compared.rereading.left, compared.rereading.right) == (True, False)
    assert "the left side is read again by today's" in compared.rereading.sentence


def test_a_step_that_was_put_right_is_neither_changed_nor_restated(
    vault: Vault, take: Take, export_text: Export, edit: Edit
) -> None:
    take(export_text())
    edit(FAST, FAST.replace("0.1", "0.01"))
    take(export_text(), NEXT)
    sides = resolve(vault, f"{LIFT}@first"), resolve(vault, LIFT)
    assert [one.kind for one in compare_states(*sides).comparison.changes] == ["restated"]
    assert compare_by_one_dictionary(*sides).comparison.changes == ()


def test_both_are_read_again_where_it_changed_once_more(
    vault: Vault, take: Take, export_text: Export, edit: Edit
) -> None:
    take(export_text())
    edit("name: Setting 1,", "name: Setting one,")
    take(export_text("3,1"), NEXT)
    edit("name: Setting 2,", "name: Setting two,")
    compared = compare_by_one_dictionary(resolve(vault, f"{LIFT}@first"), resolve(vault, LIFT))
    assert compared.rereading is not None
    assert (compared.rereading.left, compared.rereading.right) == (True, True)
    assert "both sides are read again" in compared.rereading.sentence
    assert [one.shown.code for one in compared.comparison.news] == ["lim/lag"]


def test_where_one_version_read_both_todays_counts_for_both(
    vault: Vault, take: Take, export_text: Export, edit: Edit
) -> None:
    take(export_text())
    take(export_text("3,1"), NEXT)
    sides = resolve(vault, f"{LIFT}@first"), resolve(vault, LIFT)
    assert compare_by_one_dictionary(*sides).rereading is None
    edit("role: following_error_window, ", "")
    compared = compare_by_one_dictionary(*sides)
    assert compared.rereading is not None
    assert "changed since the two were taken: both sides are read" in compared.rereading.sentence
    (change,) = compared.comparison.news
    assert (change.shown.code, change.shown.role) == ("lim/lag", None)


def test_a_file_is_compared_with_a_snapshot_by_the_same_dictionary(
    vault: Vault, take: Take, export_text: Export, edit: Edit, tmp_path: Path
) -> None:
    take(export_text())
    edit(FAST, FAST.replace("0.1", "0.01"))
    (tmp_path / "x.csv").write_text(export_text())
    file = resolve(vault, f"file:{tmp_path / 'x.csv'}")
    for sides in ((file, resolve(vault, LIFT)), (resolve(vault, LIFT), file)):
        compared = compare_by_one_dictionary(*sides)
        assert compared.comparison.changes == ()
        assert compared.rereading is not None
        assert compared.rereading.left != compared.rereading.right


def test_where_todays_does_not_read_a_side_both_stay_as_recorded_and_it_is_said(
    vault: Vault, take: Take, export_text: Export, edit: Edit, cli: Cli
) -> None:
    take(export_text())
    edit("set/20: {name: Setting 20, type: INTEGER16}", "set/20: {name: Setting 20, type: BOOLEAN}")
    take(export_text("3,1").replace("set/20;Setting 20;27", "set/20;Setting 20;1"), NEXT)
    sides = f"{LIFT}@first", LIFT
    done = cli("compare", *sides)
    text = " ".join(done.stdout.split())
    assert "each is read by its own. m1/lift@first: today's dictionary refuses 1 line" in text
    found = cli("compare", *sides, "--json").json
    assert (found["reread"]["left"], found["reread"]["right"]) == (False, False)
    assert "refuses 1 line" in found["reread"]["explanation"]
    assert {one["code"] for one in found["changes"]} == {"lim/lag", "set/20"}


def test_where_the_dictionary_is_gone_both_stay_as_recorded(
    vault: Vault, take: Take, export_text: Export, edit: Edit
) -> None:
    take(export_text())
    edit("name: Setting 1,", "name: Setting one,")
    take(export_text("3,1"), NEXT)
    with vault.writing():
        vault.write_files({}, "gone\n", BY, removed=["families/hazel.yaml"])
    compared = compare_by_one_dictionary(resolve(vault, f"{LIFT}@first"), resolve(vault, LIFT))
    assert compared.rereading is not None
    assert compared.rereading.sentence.endswith("The vault has it no more.")
    assert [one.shown.code for one in compared.comparison.news] == ["lim/lag"]
    with pytest.raises(WrongUsage, match="no dictionary hazel any more"):
        reread_by_today(resolve(vault, LIFT))


def test_a_comparison_says_that_it_read_again_and_its_document_too(
    vault: Vault, take: Take, export_text: Export, edit: Edit, cli: Cli
) -> None:
    take(export_text())
    today = edit("name: Setting 1,", "name: Setting one,")
    take(export_text("3,1"), NEXT)
    sides = f"{LIFT}@first", LIFT
    text = " ".join(cli("compare", *sides).stdout.split())
    assert "The dictionary of hazel changed between the two: the left side is read" in text
    found = cli("compare", *sides, "--json").json["reread"]
    assert (found["family"], found["left"], found["right"], found["today"]) == (
        "hazel", True, False, today,
    )  # fmt: skip
    assert cli("compare", LIFT, LIFT, "--json").json["reread"] is None


def test_check_and_margins_say_that_the_dictionary_has_learnt_since(
    vault: Vault, take: Take, export_text: Export, edit: Edit, cli: Cli
) -> None:
    def told(command: str) -> str:
        return " ".join(cli(command, LIFT).stdout.split())

    says = "The dictionary of hazel has changed since this was taken"
    take(export_text())
    assert says not in told("check") + told("margins")
    edit("name: Setting 1,", "name: Setting one,")
    assert says in told("check")
    assert says in told("margins")
    take(export_text(), NEXT)
    assert says not in told("check")
