"""Adding trials: what is refused with its line, where one is kept, which set it belongs to."""

from __future__ import annotations

import json
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome, Take
from tests.trial_answers import filled
from vault.jobs.audit.audit import audit
from vault.jobs.audit.evidence import write_evidence
from vault.jobs.audit.question import Question
from vault.jobs.logbook.book import logbook
from vault.jobs.records.edit import set_axis
from vault.jobs.trials.add import add_trial
from vault.jobs.trials.kept import result_of, results_of, trial_named, trial_names
from vault.jobs.trials.template import trial_template
from vault.jobs.verify.verify import verify
from vault.model.errors import Refused, Unreadable, WrongUsage
from vault.model.names import Address
from vault.store.clock import parse_time
from vault.store.files import layout
from vault.store.files.trial_text import Trial
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
OTHER = b"abcdef0123" * 4
HEAD = "schema: axisvault/trial/1\n"
Export = Callable[..., str]


@pytest.fixture
def lift(vault: Vault, take: Take, export_text: Export) -> Vault:
    """An axis with two sets, of March the 1st and the 3rd."""
    take(export_text("2"), "2026-03-01T08:00:00Z")
    take(export_text("3"), "2026-03-03T08:00:00Z")
    return vault


def add(vault: Vault, text: str, taken_at: str | None = "2026-03-04T08:00:00Z") -> Trial:
    return add_trial(vault, LIFT, (HEAD + text).encode(), "trial.yaml", BY, taken_at).trial


@pytest.mark.parametrize(
    ("text", "line", "said"),
    [
        ("jog: {stops: okay}\n", 2, "jog.stops: 'okay' is none of"),
        ("note: x\njog:\n  stop: ok\n", 4, "jog.stop: no such key; did you mean stops?"),
        ("moves:\n- {commanded: 10 mm, measured: 9}\n", 3, "moves.0.measured"),
        ("moves:\n- {measured: 9 mm}\n", 3, "moves.0.commanded: needs what was commanded"),
        ("moves:\n- {commanded: 10 mm, measured: 9 deg}\n", 3, "in lengths or in angles"),
        ("stops:\n- {from: 0 mm/s, way: 1 mm}\n", 3, "stops.0.from: '0 mm/s' is not more"),
        ("drop: -1 mm\n", 2, "drop: '-1 mm' is less than zero"),
        ("taken_at: yesterday\njog: {stops: ok}\n", 2, "taken_at: 'yesterday' is no date"),
        ("remarks: {jog.goes: far}\njog: {stops: ok}\n", 2, "there is no check 'jog.goes'"),
        ("snapshot: abc\njog: {stops: ok}\n", 2, "is written by the program alone"),
        ("jog: {}\n", 1, "nothing of it is answered"),
    ],
)
def test_what_is_wrong_is_told_with_its_line(lift: Vault, text: str, line: int, said: str) -> None:
    with pytest.raises(Unreadable) as refused:
        add(lift, text)
    assert refused.value.line == line
    assert said in refused.value.message
    assert trial_names(lift, LIFT) == []


def test_what_cannot_be_of_the_axis_is_told_with_its_line(lift: Vault, tmp_path: Path) -> None:
    (tmp_path / "axis.yaml").write_text(
        "schema: axisvault/axis/1\nmechanics: {kind: ball_screw, lead: 10 mm}\n"
    )
    set_axis(lift, LIFT, tmp_path / "axis.yaml", BY)
    with pytest.raises(Unreadable, match=r"drop: '2 deg' is an angle; needed here: length") as told:
        add(lift, "note: x\ndrop: 2 deg\n")
    assert told.value.line == 3


def test_a_trial_belongs_to_the_set_that_was_in_force(lift: Vault) -> None:
    newest, first = lift.index.nth_latest(LIFT, 0), lift.index.first(LIFT)
    assert newest is not None
    assert first is not None
    assert add(lift, "jog: {stops: ok}\n").snapshot == newest.id
    assert add(lift, "jog: {stops: ok}\n", "2026-03-02T08:00:00Z").snapshot == first.id
    with pytest.raises(WrongUsage, match="has no snapshot of"):
        add(lift, "jog: {stops: ok}\n", "2026-02-01T08:00:00Z")


def test_who_and_when_are_those_of_the_file(lift: Vault) -> None:
    text = 'taken_at: 2026-03-04T09:00:00+00:00\nby: "Yara <yara@x.example>"\njog: {stops: ok}\n'
    trial = add(lift, text, None)
    assert trial.taken_at == parse_time("2026-03-04T09:00:00Z")
    assert trial.by == "Yara <yara@x.example>"
    assert trial.name == "2026-03-04T090000Z"
    author = lift.repository.commit_header(lift.tip).author
    assert author == BY  # who added it


def test_a_time_has_one_trial_and_none_lies_in_the_future(lift: Vault) -> None:
    add(lift, "jog: {stops: ok}\n")
    with pytest.raises(Refused, match="has a trial of"):
        add(lift, "jog: {stops: failed}\n")
    with pytest.raises(Refused, match="lies in the future"):
        add(lift, "jog: {stops: ok}\n", "2199-01-01")


def test_what_was_added_is_found_again_newest_first(lift: Vault) -> None:
    one = add(lift, "jog: {stops: ok}\n", "2026-03-04T08:00:00Z")
    two = add(lift, "jog: {stops: failed}\nnote: twice\n", "2026-03-05T08:00:00Z")
    found = list(results_of(lift, LIFT))
    assert [result.trial.name for result in found] == [two.name, one.name]
    assert [result.verdict.standing for result in found] == ["failed", "open"]
    assert trial_named(lift, LIFT, "latest").record.note == "twice"
    with pytest.raises(WrongUsage, match="has no trial '2020'"):
        trial_named(lift, LIFT, "2020")


def test_a_trial_keeps_the_axis_as_it_was_recorded_then(lift: Vault, tmp_path: Path) -> None:
    trial = add(lift, "jog: {stops: ok}\n")
    before = result_of(lift, LIFT, trial).verdict
    (tmp_path / "axis.yaml").write_text(
        "schema: axisvault/axis/1\nmechanics: {kind: rotary}\nbrake: {fitted: true}\n"
    )
    set_axis(lift, LIFT, tmp_path / "axis.yaml", BY)
    assert result_of(lift, LIFT, trial).verdict == before
    later = add(lift, "jog: {stops: ok}\n", "2026-03-05T08:00:00Z")
    asked = [one.key for one in result_of(lift, LIFT, later).verdict.open]
    assert "brake.holds" in asked


def test_a_trial_stands_in_the_logbook(lift: Vault) -> None:
    trial = add(lift, "jog: {stops: failed}\nnote: at night\n")
    book = logbook(lift, LIFT, ["trial"])
    (entry,) = book.entries
    assert (entry.kind, entry.by, entry.at) == ("trial", BY, trial.taken_at)
    assert "at night" in entry.sentences
    assert entry.changes == ("The axis does not stop when the jog button is let go.",)
    assert ("trial", trial.name) in [(link.kind, link.target) for link in entry.links]
    assert book.counts["trial"] == 1


def test_a_trial_stands_in_the_timeline_and_the_evidence_of_an_audit(
    lift: Vault, tmp_path: Path
) -> None:
    trial = add(lift, "jog: {stops: failed}\n")
    answer = audit(lift, Question("m1/lift", start=parse_time("2026-03-01T00:00:00Z")))
    (told,) = [e for e in answer.entries if getattr(e, "title", "").startswith("trial")]
    assert told.at == trial.taken_at
    write_evidence(lift, answer, tmp_path / "evidence")
    kept = tmp_path / "evidence" / layout.trial_file(LIFT, trial.name)
    assert kept.read_bytes() == lift.read(layout.trial_file(LIFT, trial.name))
    assert str(layout.trial_file(LIFT, trial.name)) in (
        tmp_path / "evidence" / "HOW-TO-CHECK.txt"
    ).read_text("utf-8")


@pytest.mark.parametrize(
    ("damage", "said"),
    [
        (lambda text: text.replace(b"stops: ok", b"stops: right"), "jog.stops: 'right' is none of"),
        (lambda text: text.replace(b"jog:\n", b"jog:   \n"), "not as it was written"),
        (lambda text: text.replace(b"T08:", b"T09:"), "it lies under 2026-03-04T080000Z"),
        (lambda _: b"what\n", "not as it was written"),
    ],
)
def test_verify_names_a_trial_that_is_damaged(
    lift: Vault, damage: Callable[[bytes], bytes], said: str
) -> None:
    trial = add(lift, "jog: {stops: ok}\n")
    assert verify(lift).problems == []
    path = layout.trial_file(LIFT, trial.name)
    content = lift.read(path)
    assert content is not None
    with lift.writing():
        lift.write_files({path: damage(content)}, "by hand", BY)
    (problem,) = verify(lift).problems
    assert (problem.kind, problem.where) == ("trial", path)
    assert said in problem.details
    book = logbook(lift, LIFT)
    assert any(path in told for told in book.problems)


def test_verify_names_a_trial_of_no_snapshot(lift: Vault) -> None:
    trial = add(lift, "jog: {stops: ok}\n")
    path = layout.trial_file(LIFT, trial.name)
    content = lift.read(path)
    assert content is not None
    with lift.writing():
        named = re.sub(rb"(?m)^snapshot: \S+", b"snapshot: " + OTHER, content)
        lift.write_files({path: named}, "by hand", BY)
    assert [p.details for p in verify(lift).problems] == [
        f"{OTHER.decode()} is no snapshot of this axis"
    ]


def test_the_commands_go_from_the_form_to_the_verdict(
    lift: Vault, cli: Callable[..., Outcome], tmp_path: Path
) -> None:
    assert cli("trial", "template", "m1/lift", "--out", "trial.yaml").code == 0
    path = tmp_path / "trial.yaml"
    path.write_text(filled(path.read_text("utf-8")), "utf-8")
    added = json.loads(cli("trial", "add", "m1/lift", "trial.yaml", "--json").stdout)
    assert added["standing"] == "passed"
    assert added["address"] == f"/axis/m1/lift/trial/{added['trial']}"
    (listed,) = json.loads(cli("trial", "list", "m1/lift", "--json").stdout)["trials"]
    assert listed["summary"] == added["summary"]
    shown = cli("trial", "show", "m1/lift").stdout
    assert "ok The emergency stop takes the drive's power." in shown
    assert trial_template(lift, LIFT).decode().startswith("# A trial of m1/lift")
