"""What people add afterwards: notes, and when a snapshot was really taken. Exports are invented."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from tests.conftest import Outcome
from tests.sweeps import part_of
from vault.jobs.audit.audit import audit
from vault.jobs.audit.evidence import write_evidence
from vault.jobs.audit.question import Question
from vault.jobs.inspect.history import history, parameter_history
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.jobs.records.notes import add_note
from vault.jobs.sync.sync import take as sync_take
from vault.jobs.verify.incremental import remember_verified, verify_new
from vault.jobs.verify.verify import verify
from vault.model.errors import Damaged, Refused, WrongUsage
from vault.model.names import Address
from vault.store.clock import now, parse_time
from vault.store.files import layout
from vault.store.files.corrections_text import corrections_text
from vault.store.files.vault_format import format_of
from vault.store.index.recorded_order import in_recorded_order
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
LIFT = Address("m1", "lift")
Take = Callable[..., Any]
Export = Callable[..., str]


@pytest.fixture
def three(vault: Vault, take: Take, export_text: Export) -> list[str]:
    """Ids of three snapshots of the lift, of three days in March 2026, with windows 1, 2, 3 mm."""
    return [
        take(export_text(str(lag)), f"2026-03-0{lag}T08:00:00+00:00").snapshot.id
        for lag in (1, 2, 3)
    ]


def order(vault: Vault) -> list[str]:
    return [snapshot.id for snapshot in vault.index.snapshots(LIFT)]


def lags(vault: Vault) -> list[str]:
    """The window in snapshot after snapshot, as the index of values tells it."""
    steps = parameter_history(vault, LIFT, "following_error_window")
    return [str(step.parameter.value) for step in steps if step.parameter is not None]


def sound(vault: Vault) -> None:
    found = verify(vault)
    assert not found.problems, found.problems


def test_a_note_is_about_an_axis_or_a_snapshot_and_is_told(
    vault: Vault, three: list[str], cli: Callable[..., Outcome], tmp_path: Path
) -> None:
    first = cli("note", "add", "m1/lift", "The cabinet door is bent", "--json")
    second = cli("note", "add", "m1/lift@2026-03-02", "Taken after the\nbelt was changed", "--json")
    assert (first.code, second.code) == (0, 0), first.stderr + second.stderr
    assert first.json["snapshot"] is None
    assert second.json["snapshot"] == three[1]
    told = cli("history", "m1/lift", "--json").json["notes"]
    assert [(note["text"], note["snapshot"], note["by"]) for note in told] == [
        ("The cabinet door is bent", None, BY),
        ("Taken after the\nbelt was changed", three[1], BY),
    ]
    text = cli("history", "m1/lift").stdout
    assert "The cabinet door is bent" in text
    assert f"note on snapshot {three[1][:10]}" in text
    assert cli("note", "list", "m1/lift", "--json").json["notes"] == told
    vault.refresh()
    sound(vault)
    asked = audit(vault, Question("m1/lift"))
    assert [entry.title for entry in asked.entries if getattr(entry, "title", "").startswith("note")
            ] == ["note", f"note on snapshot {three[1][:10]}"]  # fmt: skip
    write_evidence(vault, asked, tmp_path / "evidence")
    kept = tmp_path / "evidence" / layout.corrections_file(LIFT)
    assert kept.read_bytes() == vault.read(layout.corrections_file(LIFT))
    assert f"git -C check.git show {vault.tip}:{layout.corrections_file(LIFT)} | cmp - " in (
        tmp_path / "evidence/HOW-TO-CHECK.txt"
    ).read_text().replace("'", "")


def test_an_addendum_stands_beside_its_snapshot_and_the_record_stays(
    vault: Vault, three: list[str], cli: Callable[..., Outcome], tmp_path: Path
) -> None:
    record = vault.read(layout.snapshot_file(LIFT), three[1])
    add_note(vault, f"m1/lift@{three[1]}", "The work order was WO-7, not WO-1", BY)
    beside = "by Mira Okafor: The work order was WO-7, not WO-1"
    for command in (
        f"show m1/lift@{three[1]}",
        "history m1/lift",
        "audit m1/lift --from 2026-01-01",
    ):
        assert beside in " ".join(cli(*command.split()).stdout.split()), command
    shown = cli("show", f"m1/lift@{three[1]}", "--json").json
    assert [one["text"] for one in shown["addenda"]] == ["The work order was WO-7, not WO-1"]
    assert cli("show", "m1/lift", "--json").json["addenda"] == []
    audited = cli("audit", "m1/lift", "--from", "2026-01-01", "--json")
    for entries in (
        cli("history", "m1/lift", "--json").json["snapshots"],
        [e for e in audited.json["entries"] if e["kind"] == "snapshot"],
    ):
        assert [len(one["addenda"]) for one in entries] == [0, 1, 0]
    asked = audit(vault, Question("m1/lift", parse_time("2026-01-01")))
    write_evidence(vault, asked, tmp_path / "evidence")
    assert beside in (tmp_path / "evidence/report.html").read_text()
    assert vault.read(layout.snapshot_file(LIFT), three[1]) == record
    sound(vault)


def test_order_and_latest_follow_a_time_put_right_and_the_record_stays(
    vault: Vault, three: list[str], cli: Callable[..., Outcome]
) -> None:
    texts = {one: vault.read(layout.snapshot_file(LIFT), one) for one in three}
    tip_files = {path: vault.read(path) for path in
                 (layout.snapshot_file(LIFT), layout.parameters_file(LIFT))}  # fmt: skip
    remember_verified(vault)
    done = cli("note", "add", "m1/lift@latest", "The clock was wrong",
               "--taken-at", "2020-05-01T10:00:00+02:00")  # fmt: skip
    assert done.code == 0, done.stderr
    assert f"snapshot {three[2][:10]} was taken 2020-05-01 10:00 +02:00, not 2026-03-03 08:00" in (
        done.stdout
    )
    vault.refresh()
    assert order(vault) == [three[2], three[0], three[1]]
    assert lags(vault) == ["3", "1", "2"]
    shown = cli("show", "m1/lift", "--json").json
    assert shown["snapshot"] == three[1]
    redated = cli("show", "m1/lift@first", "--json").json
    assert (redated["snapshot"], redated["taken_at"], redated["taken_at_from"]) == (
        three[2], "2020-05-01T10:00:00+02:00", "corrected",
    )  # fmt: skip
    assert cli("show", "m1/lift@2021-01-01", "--json").json["snapshot"] == three[2]
    assert "put right afterwards" in cli("history", "m1/lift").stdout
    assert {one: vault.read(layout.snapshot_file(LIFT), one) for one in three} == texts
    assert {path: vault.read(path) for path in tip_files} == tip_files
    sound(vault)
    assert not verify_new(vault).problems
    vault.reindex()
    assert order(vault) == [three[2], three[0], three[1]]
    assert lags(vault) == ["3", "1", "2"]
    sound(vault)


def test_an_index_that_forgot_that_times_were_put_right_is_told(
    vault: Vault, three: list[str]
) -> None:
    add_note(vault, f"m1/lift@{three[2]}", "clock", BY, "2020-05-01")
    assert vault.index.is_redated(LIFT)
    vault.index._database.execute("UPDATE state SET redated = 0")
    assert "index" in {problem.kind for problem in verify(vault).problems}
    vault.reindex()
    assert vault.index.is_redated(LIFT)
    sound(vault)


def test_what_comes_in_afterwards_goes_to_its_place(
    vault: Vault, three: list[str], take: Take, export_text: Export
) -> None:
    add_note(vault, f"m1/lift@{three[2][:8]}", "really", BY, "2026-03-01T12:00:00+00:00")
    late = take(export_text("7"), "2026-03-02T12:00:00+00:00").snapshot.id  # chain: before three[2]
    new = take(export_text("8"), "2026-03-04T08:00:00+00:00").snapshot.id
    assert order(vault) == [three[0], three[2], three[1], late, new]
    assert lags(vault) == ["1", "3", "2", "7", "8"]
    entries = list(history(vault, LIFT))
    assert [entry.comparison is None for entry in entries] == [True, False, False, False, False]
    sound(vault)
    vault.reindex()
    assert order(vault) == [three[0], three[2], three[1], late, new]
    assert lags(vault) == ["1", "3", "2", "7", "8"]


def test_the_last_note_about_a_snapshot_holds_and_can_give_its_own_time_back(
    vault: Vault, three: list[str]
) -> None:
    for when in ("2026-03-05T08:00:00+00:00", "2020-01-01T08:00:00+00:00"):
        add_note(vault, f"m1/lift@{three[0]}", "really", BY, when)
    assert order(vault) == three
    add_note(vault, f"m1/lift@{three[0]}", "no", BY, "2026-03-09T08:00:00+00:00")
    assert order(vault) == [three[1], three[2], three[0]]
    sound(vault)


def test_the_same_export_again_is_known_by_the_time_it_was_recorded_with(
    vault: Vault, three: list[str], cli: Callable[..., Outcome], export_text: Export, tmp_path: Path
) -> None:
    folder = tmp_path / "in"
    (folder / "m1/lift").mkdir(parents=True)
    (folder / "m1/lift/a.csv").write_text(export_text("4", saved="2026-03-06T08:00:00+00:00"))
    assert "1 export" in cli("ingest-tree", folder).stdout
    vault.refresh()
    add_note(vault, "m1/lift@latest", "really", BY, "2020-03-06T08:00:00+00:00")
    assert "1 was in the vault already" in cli("ingest-tree", folder).stdout


@pytest.mark.parametrize(
    ("selector", "text", "taken_at", "kind", "said"),
    [
        ("m1/lift", "x", "2020-01-01", WrongUsage, "the time of which snapshot"),
        ("m1/lift@2026-03-02", " ", None, WrongUsage, "'text' is empty"),
        ("m1/lift@2019-01-01", "x", None, WrongUsage, "has no snapshot"),
        ("m1/belt", "x", None, WrongUsage, "there is no axis"),
        ("m1/lift@first", "x", "yesterday", WrongUsage, "no date or time"),
        ("m1/lift@first", "x", "2999-01-01", Refused, "lies in the future"),
    ],
)
def test_a_note_that_cannot_be_is_refused_and_nothing_is_written(
    vault: Vault, three: list[str], selector: str, text: str, taken_at: str | None,
    kind: type[Exception], said: str,
) -> None:  # fmt: skip
    tip = vault.tip
    with pytest.raises(kind, match=said):
        add_note(vault, selector, text, BY, taken_at)
    vault.refresh()
    assert vault.tip == tip


def test_today_means_until_now(vault: Vault, three: list[str]) -> None:
    added = add_note(vault, "m1/lift@first", "today", BY, f"{now():%Y-%m-%d}")
    assert added.entry.taken_at is not None
    assert abs(added.entry.taken_at - now()) < timedelta(minutes=5)


def test_the_first_note_raises_the_format_of_an_older_vault(vault: Vault, three: list[str]) -> None:
    site = (vault.read(layout.VAULT) or b"").replace(b"reads: 2\n", b"")
    with vault.writing():
        vault.write_files({layout.VAULT: site}, "as it was\n", BY)
    assert format_of(vault.read(layout.VAULT) or b"") == 1
    add_note(vault, "m1/lift", "x", BY)
    assert format_of(vault.read(layout.VAULT) or b"") == 2


@pytest.mark.parametrize(
    ("change", "said"),
    [
        (lambda entries: entries[1:], "is gone or not as it was written"),
        (lambda entries: None, "the file was removed"),
        (lambda entries: b"schema: axisvault/corrections/1\nentries: 7\n", "corrections"),
    ],
)
def test_verify_tells_when_an_entry_is_gone(
    vault: Vault, three: list[str], change: Callable[[Any], Any], said: str
) -> None:
    add_note(vault, "m1/lift", "one", BY)
    add_note(vault, "m1/lift", "two", BY)
    remember_verified(vault)
    path = layout.corrections_file(LIFT)
    wanted = change(vault.corrections(LIFT))
    with vault.writing():
        if wanted is None:
            vault.write_files({}, "gone\n", BY, removed=[path])
        else:
            text = wanted if isinstance(wanted, bytes) else corrections_text(wanted)
            vault.write_files({path: text}, "rewritten\n", BY)
    problems = [problem for problem in verify(vault).problems if problem.kind == "corrections"]
    assert len(problems) == 1
    assert said in problems[0].details
    if wanted is not None:
        assert "corrections" in {problem.kind for problem in verify_new(vault).problems}


def test_verify_tells_an_entry_about_another_axis(
    vault: Vault, three: list[str], take: Take, export_text: Export
) -> None:
    other = take(export_text("5", serial="77"), to="m1/belt").snapshot.id
    added = add_note(vault, f"m1/belt@{other}", "x", BY)
    with vault.writing():
        files = {layout.corrections_file(LIFT): corrections_text([added.entry])}
        vault.write_files(files, "wrong place\n", BY)
    said = [problem.details for problem in verify(vault).problems]
    assert said == [f"it is about {other}, which is no snapshot of this axis"]


def test_two_copies_keep_the_notes_of_both_and_see_one_order(
    vault: Vault, three: list[str], tmp_path: Path
) -> None:
    with Vault.copy(tmp_path / "laptop", str(vault.repository.path)) as laptop:
        add_note(vault, f"m1/lift@{three[2]}", "here", BY, "2020-01-01T08:00:00+00:00")
        add_note(laptop, f"m1/lift@{three[1]}", "there", BY, "2019-01-01T08:00:00+00:00")
        sync_take(vault, str(laptop.repository.path), BY)
        sync_take(laptop, str(vault.repository.path), BY)
        assert order(vault) == order(laptop) == [three[1], three[2], three[0]]
        assert [note.text for note in vault.corrections(LIFT)] == ["here", "there"]
        assert vault.corrections(LIFT) == laptop.corrections(LIFT)
        sound(vault)
        sound(laptop)


def test_a_copy_whose_entries_are_gone_is_not_taken(
    vault: Vault, three: list[str], tmp_path: Path
) -> None:
    add_note(vault, "m1/lift", "one", BY)
    path = layout.corrections_file(LIFT)
    with Vault.copy(tmp_path / "laptop", str(vault.repository.path)) as laptop:
        with laptop.writing():
            laptop.write_files({}, "gone\n", BY, removed=[path])
        with pytest.raises(Damaged, match="entries are only ever added"):
            sync_take(vault, str(laptop.repository.path), BY)
    assert vault.corrections(LIFT)


START = datetime.fromisoformat("2026-01-01T00:00:00+00:00")
DAYS = st.integers(0, 6)


@settings(max_examples=part_of(12))
@given(steps=st.lists(st.tuples(st.booleans(), DAYS, st.integers(0, 5)), min_size=2, max_size=9))
def test_any_mix_of_late_entries_and_times_put_right_is_one_order(
    tmp_path_factory: pytest.TempPathFactory, with_hazel: Path, export_text: Export,
    steps: list[tuple[bool, int, int]],
) -> None:  # fmt: skip
    folder = tmp_path_factory.mktemp("mix")
    with Vault.copy(folder / "plant", str(with_hazel / "plant")) as vault:
        taken: dict[str, datetime] = {}
        values: dict[str, str] = {}
        for number, (is_note, day, which) in enumerate(steps):
            moment = START + timedelta(days=day)
            if is_note and taken:
                commit = list(taken)[which % len(taken)]
                add_note(vault, f"m1/lift@{commit}", "so", BY, moment.isoformat())
            else:
                path = folder / f"{number}.csv"
                path.write_text(export_text(str(number + 1)))
                visit = parse_visit(BY, taken_at=moment.isoformat())
                commit = ingest(vault, path, LIFT, visit).snapshot.id
                values[commit] = str(number + 1)
            taken[commit] = moment
        shown = list(vault.index.snapshots(LIFT))
        moments = [snapshot.record.taken_at for snapshot in shown]
        assert moments == sorted(moments)
        assert {snapshot.id: snapshot.record.taken_at for snapshot in shown} == taken
        assert lags(vault) == [values[snapshot.id] for snapshot in shown]
        sound(vault)
        found = in_recorded_order(vault.index, vault.repository, LIFT)
        vault.reindex()
        assert [one.id for one in vault.index.snapshots(LIFT)] == [one.id for one in shown]
        anew = in_recorded_order(vault.index, vault.repository, LIFT)
        assert anew[-1].text == found[-1].text
        sound(vault)


def test_a_time_is_read_as_everywhere(vault: Vault, three: list[str]) -> None:
    added = add_note(vault, "m1/lift@first", "a day is its end", BY, "2025-07-01")
    assert added.entry.taken_at == parse_time("2025-07-01")
