"""What a bundle would make of plans, notes, dictionaries and records; all of it is invented."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path
from typing import Any

import pytest

from tests.security.hostile_copies import (
    BY,
    LIFT,
    MALLORY,
    STRICT,
    YARA,
    drifting,
    place,
    refused,
    write,
)
from vault.jobs.alerts.deliver import waiting
from vault.jobs.baseline.drift import drift_of
from vault.jobs.baseline.golden import approve
from vault.jobs.faults.log import add_fault, parse_fault
from vault.jobs.intake.visit import parse_node_id
from vault.jobs.records.edit import set_site
from vault.jobs.records.notes import add_note
from vault.jobs.state.selectors import resolve
from vault.jobs.sync.incoming import ConsentNeeded
from vault.jobs.sync.sync import take as sync_take
from vault.jobs.verify.verify import verify
from vault.model.corrections import Correction
from vault.model.errors import Damaged, Refused, VaultError, WrongUsage
from vault.model.restore import Adapted, RestoreRecord, SheetMark
from vault.model.visible_text import one_line
from vault.store.clock import now, parse_time
from vault.store.files import layout
from vault.store.files.corrections_text import corrections_text, read_corrections
from vault.store.files.fault_log_text import fault_log_text
from vault.store.files.golden_text import golden_text
from vault.store.files.restore_text import read_restore, restore_text
from vault.store.files.vault_format import format_of, with_format
from vault.store.vault import Vault

Take = Callable[..., Any]
Export = Callable[..., str]
AT = parse_time("2026-03-03T08:00:00+00:00")


def plan(vault: Vault, by: str = YARA, snapshot: str | None = None) -> str:
    latest = vault.latest(LIFT)
    assert latest is not None
    adapted = (Adapted("lim/lag", "900", "so"),)
    record = RestoreRecord("2026-03-03-ab12", AT, by, snapshot or latest.id, adapted=adapted)
    return restore_text(record).decode()


def notes(*entries: Correction) -> str:
    return corrections_text(entries).decode()


def redating(
    vault: Vault, by: str = YARA, when: str = "2020-01-01", text: str = "so"
) -> Correction:
    latest = vault.latest(LIFT)
    assert latest is not None
    return Correction("taken-at", by, AT, "so", latest.id, parse_time(when))


def test_a_plan_by_whom_it_names_comes_and_a_forged_one_needs_consent(
    vault: Vault,
    other: Vault,
) -> None:
    path = layout.restore_file(LIFT)
    write(other, path, plan(other), MALLORY)
    assert f"it names {YARA}" in str(refused(vault, other, "golden"))
    write(other, path, plan(other), YARA)
    told = str(refused(vault, other, "golden"))
    assert MALLORY in told, "the plan of that number was written by somebody else first"


def test_ticks_come_by_whom_they_name_and_leave_the_plan_as_it_was(
    vault: Vault,
    other: Vault,
) -> None:
    path = layout.restore_file(LIFT)
    write(other, path, plan(other), YARA)
    sync_take(vault, place(other), BY)
    made = read_restore(plan(other).encode(), path)
    ticked = replace(made, marks=(SheetMark("load.0", MALLORY, AT),))
    write(other, path, restore_text(ticked).decode(), MALLORY)
    sync_take(vault, place(other), BY)
    forged = replace(ticked, marks=(*ticked.marks, SheetMark("move.0", YARA, AT)))
    write(other, path, restore_text(forged).decode(), MALLORY)
    assert f"its sheet is ticked by {YARA}" in str(refused(vault, other, "golden"))
    bent = replace(ticked, adapted=())
    write(other, path, restore_text(bent).decode(), MALLORY)
    assert "it is not the plan that was made" in str(refused(vault, other, "golden"))


def test_a_plan_for_what_is_no_snapshot_needs_consent_and_an_honest_one_none(
    vault: Vault,
    other: Vault,
) -> None:
    path = layout.restore_file(LIFT)
    write(other, path, plan(other).replace("ab12", "cd34"), YARA)
    sync_take(vault, place(other), BY)
    write(other, path, plan(other, snapshot=other.tip), YARA)
    assert "no snapshot of this axis" in str(refused(vault, other, "golden"))


def test_verify_tells_a_plan_or_a_baseline_of_what_is_no_snapshot(
    vault: Vault, take: Take, export_text: Export
) -> None:
    tip = vault.tip
    take(export_text("1"))
    write(vault, layout.restore_file(LIFT), plan(vault, snapshot=tip), YARA)
    assert [problem.kind for problem in verify(vault).problems] == ["restore"]
    write(vault, layout.restore_file(LIFT), plan(vault), YARA)
    assert verify(vault).problems == []
    approve(vault, "m1/lift", YARA, "tried")
    golden = vault.golden(LIFT)
    assert golden.approval is not None
    for change, said in (
        ({"vault_at": "0" * 40}, "no commit of this vault"),
        ({"snapshot": tip}, "no snapshot of this axis"),
    ):
        bent = replace(golden, approval=replace(golden.approval, **change))
        write(vault, layout.golden_file(LIFT), golden_text(bent).decode(), YARA)
        (problem,) = verify(vault).problems
        assert problem.kind == "golden"
        assert said in problem.details


def test_a_note_counts_by_whom_it_names(vault: Vault, other: Vault) -> None:
    path = layout.corrections_file(LIFT)
    write(other, path, notes(redating(other)), MALLORY)
    assert f"a note names {YARA}" in str(refused(vault, other, "golden"))


def test_an_honest_note_comes_by_itself(vault: Vault, other: Vault) -> None:
    add_note(other, "m1/lift@latest", "clock", YARA, "2020-01-01")
    sync_take(vault, place(other), BY)
    assert [note.by for note in vault.corrections(LIFT)] == [YARA]


def test_notes_stand_in_the_order_of_their_making_each_once(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("1"))
    for text in ("one", "two"):
        add_note(vault, "m1/lift", text, BY)
    path = layout.corrections_file(LIFT)
    one, two = vault.corrections(LIFT)
    for entries in ((two, one), (one, one, two)):
        with pytest.raises(Damaged, match="in the order of their making"):
            read_corrections(corrections_text(entries), path)


def test_what_is_said_last_holds_though_the_clock_was_put_back(
    vault: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    take(export_text("1"))
    add_note(vault, "m1/lift@latest", "so", BY, "2021-01-01")
    monkeypatch.setattr("vault.jobs.records.notes.now", lambda: now() - timedelta(days=9))
    add_note(vault, "m1/lift@latest", "rather so", BY, "2022-01-01")
    latest = vault.latest(LIFT)
    assert latest is not None
    assert latest.record.taken_at == parse_time("2022-01-01")
    assert verify(vault).problems == []


@pytest.mark.parametrize("when", ["2099-01-01", "9999-12-31T23:59:59-14:00"])
def test_a_time_that_is_yet_to_come_moves_nothing_and_is_told(
    vault: Vault, take: Take, export_text: Export, when: str
) -> None:
    take(export_text("1"), "2026-03-01T08:00:00+00:00")
    text = notes(redating(vault, when="2098-01-01"))
    write(vault, layout.corrections_file(LIFT), text.replace("2098-01-01", when[:10]), YARA)
    if when.startswith("9999"):
        text = text.replace(text.split('taken-at: "')[1].split('"')[0], when)
        write(vault, layout.corrections_file(LIFT), text, YARA)
    latest = vault.latest(LIFT)
    assert latest is not None
    assert latest.record.taken_at == parse_time("2026-03-01T08:00:00+00:00")
    assert "corrections" in {problem.kind for problem in verify(vault).problems}
    assert drift_of(vault, LIFT).axis == "m1/lift"


def test_an_entry_that_no_commit_of_its_own_made_is_told(
    vault: Vault, take: Take, export_text: Export
) -> None:
    first = take(export_text("1")).snapshot.id
    take(export_text("2"), "2026-03-02T08:00:00+00:00")
    with vault.writing(), vault.repository.start_writing() as writer:
        from vault.store.git.repository import commit_text

        text = notes(redating(vault)).encode()
        tip = writer.commit(
            commit_text("by hand\n", MALLORY), {layout.corrections_file(LIFT): text},
            parent=vault.tip, merged=first,
        )  # fmt: skip
    with vault.writing():
        vault.advance(tip)
        vault.refresh()
    assert [p.kind for p in verify(vault).problems] == []  # a merge has no version: none is asked
    vault.reindex()
    latest = vault.latest(LIFT)
    assert latest is not None
    assert latest.redated is None, "and nobody is shown it"


def test_a_snapshot_of_the_future_is_not_taken(
    vault: Vault, other: Vault, take: Take, export_text: Export,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setattr("vault.jobs.state.moments.now", lambda: now() + timedelta(days=9000))
    take(export_text("3"), "2040-03-02T08:00:00+00:00", into=other)
    monkeypatch.undo()
    with pytest.raises(Refused, match="yet to come"):
        sync_take(vault, place(other), BY)


@pytest.mark.parametrize(
    ("text", "needs"),
    [
        ("schema: axisvault/axis/1\nfollows: m1/belt\n", "golden"),
        ("schema: axisvault/axis/1\nexport_every: 36500 d\n", "policy"),
    ],
)
def test_a_record_that_bends_baseline_or_interval_needs_consent(
    vault: Vault, other: Vault, take: Take, export_text: Export, text: str, needs: str,
) -> None:  # fmt: skip
    take(export_text("7"), to="m1/belt", into=other)
    write(other, layout.axis_file(LIFT), text, YARA)
    refused(vault, other, needs)
    sync_take(vault, place(other), BY, "here")
    assert vault.read(layout.axis_file(LIFT)) is None


def test_a_record_that_is_broken_here_hides_no_change_of_whose_baseline_holds(
    vault: Vault, other: Vault
) -> None:
    write(vault, layout.axis_file(LIFT), "follows: [m1/belt\n", BY)
    write(other, layout.axis_file(LIFT), "schema: axisvault/axis/1\ntitle: Lift\n", YARA)
    with pytest.raises(Refused, match="changed here and in other"):
        sync_take(vault, place(other), BY)
    with pytest.raises(ConsentNeeded, match="whose baseline holds"):
        sync_take(vault, place(other), BY, "there")


def test_an_old_record_that_is_out_of_bounds_keeps_no_copies_apart(
    vault: Vault, other: Vault
) -> None:
    text = "schema: axisvault/axis/1\nmechanics: {kind: ball_screw, lead: 0 mm}\n"
    write(other, layout.axis_file(LIFT), text, YARA)
    assert layout.axis_file(LIFT) in sync_take(vault, place(other), BY).files


def test_what_was_accepted_is_not_asked_for_again(
    vault: Vault, other: Vault, family_text: str
) -> None:
    write(other, layout.VAULT, STRICT + "open_reading: true\n", MALLORY)
    changed = family_text.replace("scale: 0.01", "scale: 0.1")
    write(other, layout.family_file("hazel"), changed, MALLORY)
    with pytest.raises(ConsentNeeded) as caught:
        sync_take(vault, place(other), BY, accepted=["golden"])
    assert "1 change needs the consent of somebody here: open reading" in str(caught.value)
    assert "--accept golden" not in str(caught.value)


def test_a_dictionary_that_means_otherwise_needs_consent(
    vault: Vault,
    other: Vault,
    family_text: str,
) -> None:
    path = layout.family_file("hazel")
    for changed in (
        family_text.replace("scale: 0.01", "scale: 0.1"),
        family_text.replace(", role: following_error_window", ""),
        family_text.replace('decimal: ","', 'decimal: "."'),
        family_text.replace("parameters:", "always: [lim/lag]\nparameters:"),
    ):
        assert changed != family_text
        write(other, path, changed, MALLORY)
        assert "what is meant by" in str(refused(vault, other, "golden"))
    write(other, path, None, MALLORY)
    refused(vault, other, "policy")
    more = family_text.replace("Following error window", "Error window")
    write(other, path, more + "  set/99: {name: Setting 99, type: INTEGER16}\n", YARA)
    sync_take(vault, place(other), BY)
    assert b"set/99" in (vault.read(path) or b"")


def test_a_dictionary_stands_under_its_own_name(
    vault: Vault, other: Vault, family_text: str
) -> None:
    write(other, layout.family_file("aaaa"), family_text, MALLORY)
    with pytest.raises(Damaged, match="calls itself hazel"):
        sync_take(vault, place(other), BY)


def test_faults_and_plans_are_not_taken_away(vault: Vault, other: Vault) -> None:
    add_fault(other, LIFT, parse_fault("8611h", YARA))
    write(other, layout.restore_file(LIFT), plan(other), YARA)
    sync_take(vault, place(other), BY)
    write(other, layout.fault_file(LIFT), fault_log_text([]).decode(), MALLORY)
    assert "1 fault is gone there" in str(refused(vault, other, "policy"))
    write(other, layout.restore_file(LIFT), None, MALLORY)
    refused(vault, other, "policy")


@pytest.mark.parametrize("name", ["golden.yaml", "m1/golden.yaml", "m1/lift/x/golden.yaml"])
def test_a_baseline_at_an_odd_place_ends_in_no_traceback(
    vault: Vault,
    other: Vault,
    name: str,
) -> None:
    write(other, f"machines/{name}", "schema: axisvault/golden/1\n", MALLORY)
    try:
        sync_take(vault, place(other), BY)
    except VaultError:
        vault.refresh()
    assert vault.golden(LIFT).approval is None


def test_a_key_that_is_spelled_with_an_escape_is_the_key(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    take(export_text("2,5"))
    site = STRICT + f"alerts: [{{name: log, kind: file, path: {tmp_path}/log.jsonl}}]\n"
    (tmp_path / "site.yaml").write_text(site)
    set_site(vault, tmp_path / "site.yaml", BY)
    write(vault, layout.VAULT, site.replace("alerts:", '"\\u0061lerts":'), MALLORY)
    drifting(vault, take, export_text)
    assert [channel.name for channel in vault.site_record.alerts] == ["log"]
    raised = waiting(vault.state, vault.site_record.alerts)
    assert [(one.message.channel, one.message.alert.axis) for one in raised] == [("log", "m1/lift")]


@pytest.mark.parametrize(
    "line", ['"reads": 99', "reads: 9999999999", "? reads\n: 99", '"\\u0072eads": 99']
)
def test_a_format_is_known_however_it_is_written(vault: Vault, line: str) -> None:
    site = f"schema: axisvault/vault/1\n{line}\nsite: Tile works\n".encode()
    assert format_of(site) in (99, 9999999999)
    assert with_format(site) == site


def test_a_drive_that_was_redated_is_judged_by_its_latest_snapshot(
    vault: Vault, take: Take, export_text: Export
) -> None:
    good = take(export_text("2,5"), "2026-03-01T08:00:00+00:00").snapshot.id
    approve(vault, f"m1/lift@{good}", YARA, "tried")
    take(export_text("9"), "2026-03-02T08:00:00+00:00")
    again = take(export_text("2,5"), "2026-03-03T08:00:00+00:00").snapshot.id
    assert drift_of(vault, LIFT).count == 0
    add_note(vault, f"m1/lift@{again}", "clock", BY, "2026-02-01")
    assert drift_of(vault, LIFT).count == 1


@pytest.mark.parametrize("text", ["２３", "٣", "1_2", "0b101", "0", "128", "1e1", "-3", "0xZ"])
def test_a_node_id_is_a_plain_number(text: str) -> None:
    with pytest.raises(WrongUsage, match="no node id"):
        parse_node_id(text)
    assert (parse_node_id("0x17"), parse_node_id("23")) == (23, 23)


@pytest.mark.parametrize("text", ["２０２４-01-01", "9999-12-31", "9999-12-31T23:59:59-14:00"])
def test_a_date_is_plain_and_one_that_every_clock_can_show(text: str) -> None:
    with pytest.raises(WrongUsage):
        parse_time(text)


@pytest.mark.parametrize(
    "text", ["\u034f", "\ufe0f\u17b5", "\u0301", "\u2800", "\u3164", "\u115f \uffa0", "\u200b"]
)
def test_a_reason_that_shows_nothing_is_none(text: str) -> None:
    assert one_line(text) == ""


def test_a_branch_that_is_called_like_an_id_is_followed_by_nobody(
    vault: Vault, take: Take, export_text: Export
) -> None:
    commit = take(export_text("1")).snapshot.id
    vault.repository.git.run("update-ref", "refs/heads/deadbeef", commit)
    with pytest.raises(WrongUsage, match="has no snapshot"):
        resolve(vault, "m1/lift@deadbeef")


def test_a_load_file_that_was_made_elsewhere_needs_consent(vault: Vault, other: Vault) -> None:
    record = replace(
        read_restore(plan(other).encode(), "restore.yaml"),
        load_file="lift.dcf",
        load_file_sha256="1" * 64,
    )
    write(other, layout.restore_file(LIFT), restore_text(record).decode(), YARA)
    assert "goes into a drive" in str(refused(vault, other, "golden"))
    assert sync_take(vault, place(other), BY, accepted=("golden",)).partner


def test_files_of_a_plan_are_not_taken_away(vault: Vault, other: Vault) -> None:
    path = f"{layout.plan_folder(LIFT)}/plan.json"
    write(other, path, "{}", YARA)
    sync_take(vault, place(other), BY, accepted=("golden", "policy"))
    write(other, path, None, MALLORY)
    assert "it is gone there" in str(refused(vault, other, "policy"))


def test_a_load_file_has_a_plain_name(other: Vault) -> None:
    for name in ("../../home/x/.bashrc", "a/b", "C:\\x", "a\nb", ".."):
        record = replace(read_restore(plan(other).encode(), "restore.yaml"), load_file=name)
        with pytest.raises(Damaged):
            read_restore(restore_text(record), "restore.yaml")


def test_floors_that_are_dropped_there_need_consent(vault: Vault, other: Vault) -> None:
    path = layout.axis_file(LIFT)
    held = "schema: axisvault/axis/1\nmargins: {stop_room: 1.2}\n"
    for one in (vault, other):
        write(one, path, held, YARA)
    sync_take(vault, place(other), BY, keep="here")
    write(other, path, "schema: axisvault/axis/1\n", MALLORY)
    assert "what the axis is held to" in str(refused(vault, other, "policy"))


def test_how_a_site_writes_numbers_comes_with_consent_alone(vault: Vault, other: Vault) -> None:
    said = (other.read(layout.VAULT) or b"").decode() + "written: {decimal: comma}\n"
    write(other, layout.VAULT, said, MALLORY)
    assert "written" in str(refused(vault, other, "policy"))
