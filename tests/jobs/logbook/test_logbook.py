"""The logbook of an axis: what stands in it, in which order, and how much is read for a page."""

from __future__ import annotations

from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome, Take, git_of
from vault.jobs.baseline.golden import approve, waive, withdraw
from vault.jobs.baseline.waiver_request import parse_waiver_request
from vault.jobs.faults.log import add_fault, parse_fault
from vault.jobs.logbook.book import logbook
from vault.jobs.logbook.entries import LogEntry
from vault.jobs.records.edit import set_axis
from vault.jobs.records.notes import add_note
from vault.jobs.records.rename import rename_axis
from vault.model.alert_channels import FileChannel
from vault.model.alerts import Alert
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.model.remembered import Remembered
from vault.store import clock
from vault.store.local.outbox import Outbox
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
ABE = "Abena Lorn <abena@tileworks.example>"
Export = Callable[..., str]
Cli = Callable[..., Outcome]


def entries(vault: Vault, *kinds: str, axis: Address = LIFT) -> list[LogEntry]:
    return list(logbook(vault, axis, kinds).entries)


@pytest.fixture
def lift(vault: Vault, take: Take, export_text: Export) -> Vault:
    take(export_text("2,5"), "2026-03-01T08:00:00+00:00", note="after the overhaul")
    take(export_text("3"), "2026-03-11T08:00:00+00:00", work_order="WO-9")
    return vault


def waived(vault: Vault, code: str = "lim/lag", until: str = "2099-12-31") -> None:
    asked = parse_waiver_request(code, allow="..6 mm", until=until, reason="worn screw")
    waive(vault, LIFT, asked, ABE)


def test_everything_stands_in_it_newest_first(lift: Vault, tmp_path: Path) -> None:
    (tmp_path / "axis.yaml").write_text("schema: axisvault/axis/1\ntitle: Lift\n")
    set_axis(lift, LIFT, tmp_path / "axis.yaml", BY)
    approve(lift, f"{LIFT}@first", ABE, "as delivered")
    waived(lift)
    withdraw(lift, LIFT, ABE, "mended", "lim/lag")
    withdraw(lift, LIFT, ABE, "all wrong")
    add_fault(lift, LIFT, parse_fault("8611h", BY, at="2026-03-05T10:00:00Z", note="at night"))
    add_note(lift, f"{LIFT}@first", "the laptop clock was off", BY)
    book = logbook(lift, LIFT)
    assert book.counts == {
        "snapshot": 2, "approval": 2, "waiver": 2, "record": 1, "fault": 1, "note": 1,
    }  # fmt: skip
    assert (book.matching, book.older, book.problems) == (9, 0, ())
    times = [entry.at for entry in book.entries]
    assert times == sorted(times, reverse=True)
    titles = [entry.title for entry in book.entries]
    assert titles[-3:] == ["routine", "fault 8611h: Following error too large", "routine"]
    assert set(titles[:-3]) == {
        f"note on snapshot {book.entries[-1].snapshot[:10]}", "axis as built recorded",
        "golden baseline approved", "lim/lag waived", "waiver for lim/lag withdrawn",
        "golden baseline withdrawn",
    }  # fmt: skip


def test_an_act_tells_who_why_and_what_it_is_about(lift: Vault) -> None:
    approve(lift, f"{LIFT}@first", ABE, "as delivered")
    waived(lift)
    (approval,), (waiver,) = entries(lift, "approval"), entries(lift, "waiver")
    assert (approval.by, waiver.by) == (ABE, ABE)
    first = lift.index.first(LIFT)
    assert first is not None
    assert approval.sentences == (f"Snapshot {first.id[:10]}.", "Reason: as delivered")
    assert {(link.kind, link.target) for link in approval.links} == {
        ("snapshot", first.id), ("baseline", "m1/lift"),
    }  # fmt: skip
    assert waiver.sentences == ("It may be ..6 mm until 2099-12-31: worn screw",)
    assert ("parameter", "lim/lag") in {(link.kind, link.target) for link in waiver.links}


def test_a_snapshot_tells_order_note_changes_and_what_was_added(lift: Vault) -> None:
    add_note(lift, f"{LIFT}@first", "the laptop clock was off", BY)
    last, first = entries(lift, "snapshot")
    assert last.sentences == ("Work order WO-9.",)
    assert last.changes[0].startswith("Following error window: 2.5 mm became 3 mm")
    named = {(link.text, link.kind, link.target) for link in last.links}
    assert {
        ("Following error window", "parameter", "lim/lag"), ("WO-9", "order", "WO-9"),
    } < named  # fmt: skip
    assert first.sentences == ("after the overhaul",)
    assert first.changes == ("The first snapshot of this axis.",)
    assert [note.text for note in first.addenda] == ["the laptop clock was off"]


def test_a_late_entry_and_an_overridden_guard_are_told(
    lift: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    now = clock.now()
    monkeypatch.setattr("vault.store.recorder.now", lambda: now + timedelta(hours=1))
    take(export_text("9"), "2026-03-06T08:00:00+00:00", override_reason="it was found in a drawer")
    late = next(entry for entry in entries(lift, "snapshot") if entry.at.day == 6)
    assert any(said.startswith("Late entry: recorded ") for said in late.sentences)
    others = [entry for entry in entries(lift, "snapshot") if entry.at.day != 6]
    assert not any("Late entry" in said for entry in others for said in entry.sentences)


def test_a_page_goes_on_where_the_one_before_ended(
    vault: Vault, take: Take, export_text: Export
) -> None:
    for day in range(1, 8):
        take(export_text(f"{day},5"), f"2026-03-0{day}T08:00:00+00:00")
    pages = [logbook(vault, LIFT, (), skip, 3) for skip in (0, 3, 6, 9)]
    assert [[entry.at.day for entry in page.entries] for page in pages] == [
        [7, 6, 5], [4, 3, 2], [1], [],
    ]  # fmt: skip
    assert [page.older for page in pages] == [4, 1, 0, 0]


def test_no_more_is_compared_than_stands_on_the_page(
    vault: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    for day in range(1, 8):
        take(export_text(f"{day},5"), f"2026-03-0{day}T08:00:00+00:00")
    compared = []
    from vault.jobs.inspect import told_changes
    from vault.jobs.logbook import book

    compare = told_changes.compare

    def counting(left: object, right: object) -> object:
        compared.append((left, right))
        return compare(left, right)  # type: ignore[arg-type]

    monkeypatch.setattr(told_changes, "compare", counting)
    for module in (told_changes, book):  # another test may have made the same commits
        monkeypatch.setattr(module, "_TOLD", Remembered(100))
    logbook(vault, LIFT, (), 2, 2)
    assert len(compared) == 2
    logbook(vault, LIFT, (), 2, 2)
    assert len(compared) == 2


def test_a_kind_that_none_is_of_is_refused(lift: Vault) -> None:
    with pytest.raises(WrongUsage, match="no entry is of kind 'gossip'"):
        logbook(lift, LIFT, ("gossip",))


def test_a_waiver_that_ended_is_told_also_where_an_approval_dropped_it(
    lift: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    approve(lift, f"{LIFT}@first", ABE, "as it is")
    tomorrow = clock.now() + timedelta(days=1)
    waived(lift, until=f"{tomorrow:%Y-%m-%d}")
    assert [entry.title for entry in entries(lift, "waiver")] == ["lim/lag waived"]
    later = tomorrow + timedelta(days=2)
    for module in ("baseline.golden", "logbook.acts"):
        monkeypatch.setattr(f"vault.jobs.{module}.now", lambda: later)
    approve(lift, f"{LIFT}@latest", ABE, "as it is")
    assert lift.golden(LIFT).waivers == ()
    ended, _ = entries(lift, "waiver")
    assert (ended.title, ended.by) == ("waiver for lim/lag ended", "")
    assert ended.at.date() == tomorrow.date()
    assert "until" in ended.sentences[0]


def test_a_waiver_that_was_taken_back_did_not_end(
    lift: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    approve(lift, f"{LIFT}@first", ABE, "as it is")
    waived(lift, until=f"{clock.now() + timedelta(days=1):%Y-%m-%d}")
    withdraw(lift, LIFT, ABE, "mended", "lim/lag")
    later = clock.now() + timedelta(days=5)
    monkeypatch.setattr("vault.jobs.logbook.acts.now", lambda: later)
    assert not [entry for entry in entries(lift, "waiver") if entry.title.endswith("ended")]


def test_an_alert_is_told_with_its_channels_and_no_address_of_them(
    lift: Vault, tmp_path: Path
) -> None:
    when = datetime.fromisoformat("2026-03-12T08:00:00+00:00")
    alert = Alert("a1", "m1/lift", "drifted", when, "hazard", "m1/lift: 1 parameter drifted",
                  ("[hazard] The window is wide.",))  # fmt: skip
    channel = FileChannel(name="log", kind="file", path=str(tmp_path / "secret-place"))
    with Outbox(lift.state) as outbox:
        outbox.announce("m1/lift", "{}", [alert], [channel])
    (told,) = entries(lift, "alert")
    assert (told.at, told.title) == (when, "alert: 1 parameter drifted")
    assert told.sentences == ("log: waits.",)
    assert "secret-place" not in str(told)
    with Outbox(lift.state) as outbox:
        outbox.mark_sent(outbox.due(early=True)[0])
    (told,) = entries(lift, "alert")
    assert told.sentences[0].startswith("log: sent ")


def test_acts_of_an_axis_that_was_renamed_stay_in_its_logbook(lift: Vault) -> None:
    approve(lift, f"{LIFT}@first", ABE, "as it is")
    rename_axis(lift, LIFT, "hoist", BY)
    axis = lift.require_axis(lift.address("m1/hoist"))
    assert [entry.title for entry in entries(lift, "approval", axis=axis)] == [
        "golden baseline approved"
    ]


def test_acts_are_those_that_git_has(lift: Vault, tmp_path: Path) -> None:
    """Held against `git log` on the files themselves."""
    approve(lift, f"{LIFT}@first", ABE, "as it is")
    waived(lift)
    withdraw(lift, LIFT, ABE, "wrong")
    approve(lift, f"{LIFT}@latest", ABE, "as it is")
    git = git_of(tmp_path)
    path = "machines/m1/lift/golden.yaml"
    logged = git("log", "--format=%H %an <%ae>", "main", "--", path, where=lift.repository.path)
    told = {f"{entry.commit} {entry.by}" for entry in entries(lift, "approval", "waiver")}
    assert told == set(logged.split("\n")) - {""}
    lift.reindex()
    again = {f"{entry.commit} {entry.by}" for entry in entries(lift, "approval", "waiver")}
    assert again == told


def test_the_command_passes_over_newer_ones_and_says_how_many_are_older(
    lift: Vault, cli: Cli
) -> None:
    approve(lift, f"{LIFT}@first", ABE, "as it is")
    told = cli("history", "m1/lift", "--most", "1", "--skip", "1").stdout
    assert told.startswith("2026-03-11")
    assert "In the logbook: snapshots 2, approvals 1." in told
    assert "1 older entry: --skip 2" in told
    found = cli("history", "m1/lift", "--kind", "approval", "--json").json
    assert [entry["kind"] for entry in found["log"]] == ["approval"]
    assert len(found["snapshots"]) == 2
