"""Traces in logbook, audit, verify and sync, and on the restore's sheet, as trials are."""

from __future__ import annotations

import re
import shutil
import subprocess
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from example_machines import traces as example
from tests.conftest import BY
from vault.jobs.audit.audit import audit
from vault.jobs.audit.evidence import write_evidence
from vault.jobs.audit.question import Question
from vault.jobs.baseline.golden import approve
from vault.jobs.logbook.book import logbook
from vault.jobs.sync.incoming import ConsentNeeded
from vault.jobs.sync.sync import look, take
from vault.jobs.trials.add import add_trial
from vault.jobs.trials.trace import add_trace
from vault.jobs.trials.trace_documents import trace_document
from vault.jobs.trials.trace_kept import beside, trace_record, trace_records, trace_result
from vault.jobs.trials.trace_told import reference_trace, trace_told
from vault.jobs.verify.verify import verify
from vault.model.errors import Damaged
from vault.model.names import Address
from vault.store.clock import parse_time
from vault.store.files import layout
from vault.store.git._program import GitProgram
from vault.store.git.repository import Repository
from vault.store.vault import Vault

PUSHER = Address("kiln-loader", "pusher")
NEW, WORN = "kiln-loader-pusher.csv", "kiln-loader-pusher-worn.csv"
BEFORE, AFTER = "2025-10-16T10:00:00Z", "2025-12-01T10:00:00Z"
NAME = "2025-10-16T100000Z"
RECORD, RECORDING = layout.trace_file(PUSHER, NAME), f"{layout.trace_folder(PUSHER, NAME)}/{NEW}"


@pytest.fixture
def plant(works: Path, tmp_path: Path) -> Iterator[Vault]:
    shutil.copytree(works, tmp_path / "plant")
    with Vault.open(tmp_path / "plant") as vault:
        yield vault


def add(vault: Vault, name: str, taken_at: str, move: str = "there and back") -> None:
    add_trace(vault, PUSHER, (example.FOLDER / name).read_bytes(), name, BY, move, taken_at)


def write(vault: Vault, files: dict[str, bytes | None]) -> None:
    with vault.writing():
        kept = {path: content for path, content in files.items() if content is not None}
        vault.write_files(kept, "by hand", BY, [path for path in files if path not in kept])


def read(vault: Vault, path: str) -> bytes:
    content = vault.read(path)
    assert content is not None
    return content


def test_a_trace_stands_in_the_logbook_with_what_became_of_the_axis(plant: Vault) -> None:
    add(plant, NEW, BEFORE)
    add(plant, WORN, AFTER)
    book = logbook(plant, PUSHER, ["trace"])
    after, before = book.entries
    assert (after.kind, after.by, after.at) == ("trace", BY, parse_time(AFTER))
    assert before.sentences[0].endswith("It is the first trace of the move “there and back”.")
    assert "The axis does not move as it did" in after.sentences[0]
    assert any(change.startswith("dry friction from 0.31") for change in after.changes)
    assert ("trace", "2025-12-01T100000Z") in [(link.kind, link.target) for link in after.links]
    assert book.counts["trace"] == 2


def test_a_trace_stands_in_the_timeline_and_the_evidence_of_an_audit(
    plant: Vault, tmp_path: Path
) -> None:
    add(plant, NEW, BEFORE)
    add(plant, WORN, AFTER)
    question = Question(
        str(PUSHER),
        start=parse_time("2025-10-01T00:00:00Z"),
        end=parse_time("2025-11-30T00:00:00Z"),
    )
    answer = audit(plant, question)
    (told,) = [e for e in answer.entries if getattr(e, "title", "").startswith("trace")]
    assert told.at == parse_time(BEFORE)
    folder = tmp_path / "evidence"
    write_evidence(plant, answer, folder)
    for path in (RECORD, RECORDING):
        assert (folder / path).read_bytes() == plant.read(path)
    assert not (folder / layout.trace_folder(PUSHER, "2025-12-01T100000Z")).exists()
    commands = [
        line.removeprefix("$ ")
        for line in (folder / "HOW-TO-CHECK.txt").read_text("utf-8").splitlines()
        if line.startswith("$ ") and (RECORD in line or RECORDING in line or "clone" in line)
    ]
    assert len(commands) == 4  # both against the history, and the recording against its record
    for command in commands:
        subprocess.run(["sh", "-c", command], cwd=folder, check=True)
    (folder / RECORDING).write_bytes(b"another\n")
    grep = next(command for command in commands if command.startswith("grep"))
    assert subprocess.run(["sh", "-c", grep], cwd=folder, check=False).returncode != 0


OTHER = b"ab" * 20


@pytest.mark.sweep(3)
@pytest.mark.parametrize(
    ("path", "damage", "where", "said"),
    [
        (RECORDING, lambda text: text + b"\n", RECORDING, "not the one that was kept"),
        (RECORDING, lambda _: None, RECORDING, "not the one that was kept"),
        (RECORD, lambda text: text.replace(b"T10:", b"T11:"), RECORD, f"it lies under {NAME}"),
        (RECORD, lambda _: b"what\n", RECORD, "trace"),
        (RECORD, lambda _: None, RECORD, "trace.yaml"),
        (RECORD, lambda text: re.sub(rb"(?m)^snapshot: \S+", b"snapshot: " + OTHER, text), RECORD,
         "is no snapshot of this axis"),
        (RECORD, lambda text: re.sub(rb"(?m)^vault_at: \S+", b"vault_at: " + OTHER, text), RECORD,
         "is no commit of this vault"),
    ],
)  # fmt: skip
def test_verify_names_a_trace_that_is_damaged(
    plant: Vault, path: str, damage: Callable[[bytes], bytes | None], where: str, said: str
) -> None:
    add(plant, NEW, BEFORE)
    assert verify(plant).problems == []
    write(plant, {path: damage(read(plant, path))})
    problems = [p for p in verify(plant).problems if p.kind == "trace"]
    assert problems[0].where == where
    assert said in problems[0].details, problems


def test_verify_names_what_belongs_to_no_trace(plant: Vault) -> None:
    add(plant, NEW, BEFORE)
    stray = f"{layout.trace_folder(PUSHER, NAME)}/more.csv"
    write(plant, {stray: b"x", layout.trace_file(PUSHER, "yesterday"): b"x"})
    assert {(p.where, p.details) for p in verify(plant).problems} == {
        (stray, "it is no file of this trace"),
        (layout.trace_file(PUSHER, "yesterday"), "it lies under a name that no trace has"),
    }


def test_a_damaged_trace_is_told_in_the_logbook(plant: Vault) -> None:
    add(plant, NEW, BEFORE)
    write(plant, {RECORD: b"what\n"})
    assert any(RECORD in told for told in logbook(plant, PUSHER).problems)


def damaged(vault: Vault, path: str) -> Address:
    """Three traces of a move, of which the first one, or its recording, is not as it was kept."""
    add(vault, NEW, BEFORE)
    add(vault, NEW, "2025-11-01T10:00:00Z", "jog")
    add(vault, WORN, AFTER)
    write(vault, {path: b"what\n"})
    return PUSHER


@pytest.mark.parametrize("path", [RECORD, RECORDING])
def test_a_damaged_earlier_trace_is_told_wherever_the_later_one_is(plant: Vault, path: str) -> None:
    address = damaged(plant, path)
    found = beside(plant, trace_result(plant, address, trace_record(plant, address, "latest")))
    assert found.comparison is None
    assert found.problem is not None
    assert path in found.problem
    assert trace_document(found)["problem"] == found.problem
    told = trace_told(plant, address, found.result.record)
    assert found.problem in told.summary
    entry = logbook(plant, address, ["trace"]).entries[0]
    assert found.problem in entry.sentences[0]
    assert reference_trace(plant, address) == told


def test_an_earlier_trace_that_was_put_right_in_git_is_told_again(
    plant: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Git has it under the id that it had."""
    add(plant, NEW, BEFORE)
    add(plant, WORN, AFTER)
    record, blob = trace_record(plant, PUSHER, "latest"), Repository.blob
    with monkeypatch.context() as damaged:
        damaged.setattr(
            Repository, "blob",
            lambda store, name: None if name.endswith(RECORDING) else blob(store, name),
        )  # fmt: skip
        assert "cannot be read" in trace_told(plant, PUSHER, record).summary
    assert "does not move as it did" in trace_told(plant, PUSHER, record).summary


def test_a_trace_that_may_be_held_against_the_wrong_one_says_so(plant: Vault) -> None:
    add(plant, NEW, "2025-10-15T10:00:00Z")
    address = damaged(plant, RECORD)
    found = beside(plant, trace_result(plant, address, trace_record(plant, address, "latest")))
    assert found.against == "the trace of 2025-10-15 10:00"
    assert found.problem is not None
    told = trace_told(plant, address, found.result.record)
    assert "does not move as it did" in told.summary
    assert told.summary.endswith(f" But {found.problem}.")


def test_a_damaged_later_trace_is_told_with_the_reference_move(plant: Vault) -> None:
    add(plant, NEW, "2025-10-15T10:00:00Z")
    add(plant, NEW, BEFORE)
    write(plant, {RECORD: b"what\n"})
    told = reference_trace(plant, PUSHER)
    assert told is not None
    assert f"a trace cannot be read, of whatever move it is: {RECORD}" in told.summary


def test_the_records_of_an_axis_raise_what_nobody_asked_to_collect(plant: Vault) -> None:
    add(plant, NEW, BEFORE)
    write(plant, {RECORD: b"what\n"})
    with pytest.raises(Damaged):
        list(trace_records(plant, PUSHER))
    problems: list[str] = []
    assert list(trace_records(plant, PUSHER, problems)) == []
    assert RECORD in problems[0]


def test_an_audit_tells_of_a_trial_and_a_trace_that_cannot_be_read(plant: Vault) -> None:
    add(plant, NEW, BEFORE)
    trial = add_trial(
        plant, PUSHER, b"schema: axisvault/trial/1\njog: {stops: ok}\n", "trial.yaml", BY, BEFORE
    ).trial
    of_trial = layout.trial_file(PUSHER, trial.name)
    write(plant, {RECORD: b"what\n", of_trial: b"what\n"})
    start, end = parse_time("2025-10-01T00:00:00Z"), parse_time("2025-11-30T00:00:00Z")
    answer = audit(plant, Question(str(PUSHER), start=start, end=end))
    told = {e.title: e for e in answer.entries if "cannot be read" in getattr(e, "title", "")}
    assert set(told) == {"trial: it cannot be read", "trace: it cannot be read"}
    for path, title in ((of_trial, "trial"), (RECORD, "trace")):
        entry = told[f"{title}: it cannot be read"]
        assert entry.at == parse_time(BEFORE)
        assert path in entry.sentences[0]


def test_a_logbook_does_not_read_all_traces_for_each(
    plant: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    asked = 0
    ask = GitProgram._ask

    def count(self: GitProgram, *question: Any) -> Any:
        nonlocal asked
        asked += 1
        return ask(self, *question)

    counts = []
    for day in range(1, 7):
        add(plant, NEW, f"2025-11-0{day}T10:00:00Z")
        add_trial(
            plant, PUSHER, b"schema: axisvault/trial/1\njog: {stops: ok}\n", "trial.yaml", BY,
            f"2025-11-0{day}T10:00:00Z",
        )  # fmt: skip
        if day % 2:
            continue
        logbook(plant, PUSHER, ["trace", "trial"])  # what can be remembered is known now
        with monkeypatch.context() as patch:
            patch.setattr(GitProgram, "_ask", count)
            asked = 0
            logbook(plant, PUSHER, ["trace", "trial"])
            counts.append(asked)
    assert 0 < counts[2] - counts[1] <= counts[1] - counts[0], counts


@pytest.fixture
def laptop(plant: Vault, tmp_path: Path) -> Iterator[Vault]:
    """A copy of the plant that has its first trace too."""
    add(plant, NEW, BEFORE)
    with Vault.copy(tmp_path / "laptop", str(tmp_path / "plant")) as vault:
        yield vault


def needs(plant: Vault, laptop: Path) -> dict[str, str | None]:
    return {change.path: change.needs for change in look(plant, str(laptop), BY).changes}


def test_a_new_trace_of_another_copy_comes_without_consent(
    plant: Vault, laptop: Vault, tmp_path: Path
) -> None:
    add(laptop, WORN, AFTER)
    looked = look(plant, str(tmp_path / "laptop"), BY)
    assert {(c.kind, c.needs) for c in looked.changes} == {("trace", None)}
    take(plant, str(tmp_path / "laptop"), BY)
    assert logbook(plant, PUSHER).counts["trace"] == 2
    assert verify(plant).problems == []


def test_a_replaced_trace_needs_consent_and_a_removed_one_too(
    plant: Vault, laptop: Vault, tmp_path: Path
) -> None:
    other = tmp_path / "laptop"
    worn = (example.FOLDER / WORN).read_bytes()
    mine, its = (layout_digest(text) for text in (read(laptop, RECORDING), worn))
    record = read(laptop, RECORD).replace(mine, its)
    write(laptop, {RECORDING: worn, RECORD: record})
    assert needs(plant, other) == {RECORDING: "golden", RECORD: "golden"}
    with pytest.raises(ConsentNeeded, match="not the trace that was kept"):
        take(plant, str(other), BY)
    write(laptop, {RECORDING: None, RECORD: None})
    assert needs(plant, other) == {RECORDING: "policy", RECORD: "policy"}
    with pytest.raises(ConsentNeeded):
        take(plant, str(other), BY)
    assert plant.read(RECORDING) == (example.FOLDER / NEW).read_bytes()


def layout_digest(content: bytes) -> bytes:
    from hashlib import sha256  # the reference for what the record holds

    return sha256(content).hexdigest().encode()


def test_a_recording_that_its_record_does_not_name_is_never_taken(
    plant: Vault, laptop: Vault, tmp_path: Path
) -> None:
    add(laptop, WORN, AFTER)
    path = f"{layout.trace_folder(PUSHER, '2025-12-01T100000Z')}/{WORN}"
    write(laptop, {path: b"time [s];position actual [mm]\n"})
    with pytest.raises(Damaged, match="nothing was taken: the recording of this trace"):
        take(plant, str(tmp_path / "laptop"), BY, accepted=("golden", "policy"))
    assert plant.read(path) is None


def test_the_reference_move_is_the_one_that_the_baseline_has_a_trace_of(plant: Vault) -> None:
    assert reference_trace(plant, PUSHER) is None
    add(plant, NEW, BEFORE)
    add(plant, NEW, "2025-10-17T10:00:00Z", "jog")
    add(plant, WORN, AFTER)
    add(plant, NEW, "2025-12-02T10:00:00Z", "jog")
    told = reference_trace(plant, PUSHER)
    assert told is not None
    assert told.record.move == "jog"
    assert told.standing == "as it did"
    approve(plant, str(PUSHER), "Yara Okonjel <yara@tileworks.example>", "as it is")
    told = reference_trace(plant, PUSHER)
    assert told is not None
    assert told.record.move == "jog"
