"""Traces beside an as-left export: what they prove of a restore, and until when. Invented data."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from datetime import timedelta
from pathlib import Path

import pytest

from example_machines import traces as example
from tests.conftest import BY, Outcome, Take
from vault.jobs.baseline.golden import approve, withdraw
from vault.jobs.restore.check import Checked, check_restore, checked_before
from vault.jobs.restore.documents import restore_check_document
from vault.jobs.restore.motion import motion_file
from vault.jobs.restore.plan import make_plan
from vault.jobs.restore.plan_folder import write_plan
from vault.jobs.restore.request import PlanRequest, parse_as_left
from vault.jobs.restore.sign_off import last_check, sign_off
from vault.jobs.trials.trace import add_trace
from vault.model.errors import Refused, Unreadable, WrongUsage
from vault.model.names import Address
from vault.store.clock import now, time_text
from vault.store.files import layout
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
NEW = next(one for one in example.RECORDINGS if one.axis == "pusher")
SLACK = replace(NEW, file="slack.csv", gain=NEW.gain / 2)
"""The same move with half the position loop gain: the axis lags twice as far."""
Recorded = example.Recorded
Export = Callable[..., str]
Cli = Callable[..., Outcome]
Check = Callable[..., Checked]


def traced(vault: Vault, trace: Recorded, taken_at: str, move: str = "stroke") -> None:
    add_trace(vault, LIFT, example.table(trace).encode(), trace.file, BY, move, taken_at)


def spoil(vault: Vault, path: str, content: bytes = b"what\n") -> None:
    with vault.writing():
        vault.write_files({path: content}, "by hand", BY)


@pytest.fixture
def planned(vault: Vault, take: Take, export_text: Export, tmp_path: Path) -> Vault:
    """A plan of an axis that has traces of two moves, of when it was good."""
    take(export_text("2"), "2026-03-01T08:00:00Z")
    approve(vault, "m1/lift", "Yara Okonjel <yara@tileworks.example>", "as it is")
    traced(vault, NEW, "2026-03-01T09:00:00Z")
    traced(vault, NEW, "2026-03-01T10:00:00Z", "jog")
    write_plan(make_plan(vault, PlanRequest("m1/lift")), tmp_path / "plan", BY)
    return vault


@pytest.fixture
def check(planned: Vault, export_text: Export, tmp_path: Path) -> Check:
    """Checks the restore by the export that was wanted, and a trace."""

    def run(
        trace: Recorded, move: str | None = "stroke", taken_at: str = "2026-04-01T08:00:00Z"
    ) -> Checked:
        path = tmp_path / "left.csv"
        path.write_text(f"{export_text('2')}\n")  # not the bytes that the vault has
        recording = tmp_path / trace.file
        recording.write_text(example.table(trace))
        motion = motion_file(planned, LIFT, recording, move, taken_at)
        return check_restore(planned, LIFT, path, parse_as_left(BY, taken_at=taken_at),
                             motion=motion)  # fmt: skip

    return run


def last(vault: Vault) -> Checked:
    checked = last_check(vault, LIFT)
    assert checked is not None
    return checked


def test_a_trace_of_another_move_does_not_answer_for_one_that_is_not_as_it_was(
    planned: Vault, check: Check
) -> None:
    assert not check(SLACK).is_restored
    traced(planned, NEW, "2026-04-01T09:00:00Z", "jog")
    checked = last(planned)
    assert not checked.is_restored
    stroke, jog = checked.motion.sentences
    assert "against the baseline's trace of 2026-03-01 09:00: " in stroke
    assert "'stroke'" in stroke
    assert "does not move as it did" in stroke
    assert "'jog'" in jog
    assert "The axis moves as it did" in jog
    with pytest.raises(Refused, match="is not restored"):
        sign_off(planned, LIFT, BY)
    document = restore_check_document(checked)
    assert [one["move"] for one in document["traces"]] == ["stroke", "jog"]
    assert document["trace"] is not None
    assert document["trace"]["move"] == "stroke"


def test_the_same_move_once_more_answers_however_its_name_is_written(
    planned: Vault, check: Check
) -> None:
    assert not check(SLACK).is_restored
    traced(planned, NEW, "2026-04-01T09:00:00Z", "Stroke")
    assert last(planned).is_restored
    assert len(last(planned).motion.traces) == 1


def test_a_move_that_is_recorded_again_is_not_held_against_itself(
    planned: Vault, check: Check
) -> None:
    """Without a trace of the baseline it is the one before that counts: of before the restore."""
    withdraw(planned, LIFT, BY, "not as it should be")
    check(SLACK)
    traced(planned, SLACK, "2026-04-01T09:00:00Z")
    again = last(planned)
    checked_again = check(SLACK, taken_at="2026-04-02T08:00:00Z")
    for checked in (again, checked_again):
        assert not checked.is_restored
        (said,) = checked.motion.sentences
        assert "against the trace of 2026-03-01 09:00: " in said


def test_an_as_left_state_that_was_approved_is_a_baseline_for_the_next_but_not_for_itself(
    planned: Vault, check: Check
) -> None:
    check(SLACK)
    approve(planned, "m1/lift", "Yara Okonjel <yara@tileworks.example>", "the belt is another")
    traced(planned, SLACK, "2026-04-01T09:00:00Z")
    assert not last(planned).is_restored
    checked = check(SLACK, taken_at="2026-04-02T08:00:00Z")
    assert checked.is_restored
    (said,) = checked.motion.sentences
    assert "against the baseline's trace of 2026-04-01 08:00: " in said


def test_a_clock_that_went_back_takes_no_trace_out_of_what_was_signed(
    planned: Vault, check: Check, monkeypatch: pytest.MonkeyPatch
) -> None:
    check(SLACK)
    before = now() - timedelta(days=400)
    monkeypatch.setattr("vault.jobs.restore.sign_off.now", lambda: before)
    assert sign_off(planned, LIFT, BY, "as agreed").signed_off is not None
    traced(planned, NEW, "2026-06-01T08:00:00Z")
    assert not last(planned).is_restored


def test_what_wears_after_the_signature_does_not_change_the_verdict(
    planned: Vault, check: Check
) -> None:
    check(NEW)
    sign_off(planned, LIFT, BY)
    traced(planned, SLACK, "2026-06-01T08:00:00Z")
    assert last(planned).is_restored


def test_until_somebody_answers_for_it_a_later_trace_counts(planned: Vault, check: Check) -> None:
    check(NEW)
    traced(planned, SLACK, "2026-06-01T08:00:00Z")
    assert not last(planned).is_restored


def test_a_plan_made_since_does_not_change_what_was_signed(
    planned: Vault, check: Check, tmp_path: Path
) -> None:
    snapshot = check(NEW).snapshot
    sign_off(planned, LIFT, BY)
    write_plan(make_plan(planned, PlanRequest("m1/lift")), tmp_path / "next", BY)
    traced(planned, SLACK, "2026-06-01T08:00:00Z")
    assert checked_before(planned, LIFT, snapshot).is_restored


@pytest.mark.parametrize("file", ["trace.yaml", SLACK.file])
def test_a_trace_that_cannot_be_read_is_a_limit_of_the_verdict(
    planned: Vault, check: Check, file: str
) -> None:
    checked = check(SLACK)
    (found,) = checked.motion.traces
    path = f"{layout.trace_folder(LIFT, found.result.record.name)}/{file}"
    spoil(planned, path)
    *_, limit = last(planned).limits
    assert limit.startswith("A trace of this axis cannot be read, and proves nothing: ")
    assert path in limit


def test_a_baseline_trace_that_cannot_be_read_is_a_limit_too(planned: Vault, check: Check) -> None:
    path = f"{layout.trace_folder(LIFT, '2026-03-01T090000Z')}/{NEW.file}"
    spoil(planned, path)
    checked = check(SLACK)
    assert checked.motion.sentences == ()
    *_, limit = checked.limits
    assert limit.startswith("What the move 'stroke' is held against is in doubt: the baseline's")
    assert path in limit


@pytest.mark.parametrize(
    ("move", "taken_at", "refused", "said"),
    [
        ("m" * 81, "2026-04-01T08:00:00Z", WrongUsage, "at most 80 characters"),
        ("stroke", "2099-04-01T08:00:00Z", Refused, "lies in the future"),
        ("stroke", "2026-03-01T09:00:00Z", Refused, "has a trace of 2026-03-01 09:00 already"),
    ],
)
def test_a_trace_that_cannot_be_kept_is_refused_before_the_export_is_taken_in(
    planned: Vault, tmp_path: Path, move: str, taken_at: str, refused: type[Exception], said: str
) -> None:
    recording = tmp_path / NEW.file
    recording.write_text(example.table(NEW))
    with pytest.raises(refused, match=said):
        motion_file(planned, LIFT, recording, move, taken_at)


def test_what_is_no_trace_is_refused_before_the_export_is_taken_in(
    planned: Vault, export_text: Export, tmp_path: Path
) -> None:
    left, recording = tmp_path / "left.csv", tmp_path / "own.csv"
    left.write_text(f"{export_text('2')}\n")
    recording.write_text("Tick;Axis feed\n" + "1;1\n" * 40)
    motion = motion_file(planned, LIFT, recording, None, None)
    with pytest.raises(Unreadable):
        check_restore(planned, LIFT, left, parse_as_left(BY), motion=motion)
    assert planned.index.count() == 1


def test_where_the_export_says_when_it_was_taken_the_move_was_recorded_now(
    planned: Vault, cli: Cli, tmp_path: Path, export_text: Export
) -> None:
    planned.close()
    (tmp_path / "left.csv").write_text(export_text("2", saved=time_text(now())))
    (tmp_path / "own.csv").write_text(example.table(NEW))
    done = cli("restore", "check", "m1/lift", "left.csv", "--trace", "own.csv",
               "--move", "stroke", "--taken-at", "file", "--json")  # fmt: skip
    assert done.code == 0, done.stderr
    assert done.json["trace"]["comparison"]["as_it_did"] is True
