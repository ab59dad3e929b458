"""Trials and traces that an enemy's copy, or a hand in the vault, made or changed."""

from __future__ import annotations

import re
from collections.abc import Callable
from pathlib import Path

import pytest

from example_machines import traces as example
from tests.conftest import BY, Take
from vault.jobs.sync.incoming import ConsentNeeded
from vault.jobs.sync.sync import take as take_from
from vault.jobs.trials.add import add_trial
from vault.jobs.trials.trace import add_trace
from vault.jobs.trials.trace_kept import trace_names, trace_record
from vault.jobs.verify.verify import verify
from vault.model.errors import WrongUsage
from vault.model.names import Address
from vault.store.files import layout
from vault.store.files.snapshot_text import digest
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
ENEMY = "Nils Vantroe <nils@works.example>"
OTHER = b"abcdef0123" * 4
RECORDING = (example.FOLDER / "kiln-loader-pusher.csv").read_bytes()
WORN = (example.FOLDER / "kiln-loader-pusher-worn.csv").read_bytes()
Export = Callable[..., str]


@pytest.fixture
def lift(vault: Vault, take: Take, export_text: Export) -> Vault:
    take(export_text("2"), "2026-03-01T08:00:00Z")
    return vault


def traced(vault: Vault, taken_at: str = "2026-03-02T08:00:00Z") -> str:
    add_trace(vault, LIFT, RECORDING, "move.csv", BY, None, taken_at)
    return layout.trace_folder(LIFT, trace_names(vault, LIFT)[-1])


def written(vault: Vault, path: str, content: bytes, by: str = ENEMY) -> None:
    with vault.writing():
        vault.write_files({path: content}, "by hand\n", by)


def why_refused(vault: Vault, copy: Path) -> str:
    with pytest.raises(ConsentNeeded) as refused:
        take_from(vault, str(copy), BY)
    return str(refused.value)


def test_a_vault_with_traces_is_as_it_was_recorded(lift: Vault) -> None:
    traced(lift)
    assert not verify(lift).problems


@pytest.mark.parametrize(
    ("name", "content", "said"),
    [
        ("move.csv", WORN, "not the one that was kept"),
        ("trace.yaml", b"schema: axisvault/trace/1\n", "this trace"),
        ("trace.yaml", None, "is no snapshot of this axis"),
    ],
)
def test_a_trace_that_was_tampered_with_is_named(
    lift: Vault, name: str, content: bytes | None, said: str
) -> None:
    folder = traced(lift)
    if content is None:
        before = lift.read_required(f"{folder}/{name}", lift.tip)
        content = re.sub(rb"(?m)^snapshot: \S+", b"snapshot: " + OTHER, before)
    written(lift, f"{folder}/{name}", content)
    found = [problem for problem in verify(lift).problems if problem.kind == "trace"]
    assert [problem.where for problem in found] == [f"{folder}/{name}"]
    assert said in found[0].details


def test_a_trace_of_another_copy_is_taken(lift: Vault, tmp_path: Path) -> None:
    with Vault.copy(tmp_path / "laptop", str(tmp_path / "plant")) as laptop:
        traced(laptop)
    take_from(lift, str(tmp_path / "laptop"), BY)
    assert len(trace_names(lift, LIFT)) == 1


def test_a_trace_that_another_copy_replaced_needs_consent(lift: Vault, tmp_path: Path) -> None:
    folder = traced(lift)
    with Vault.copy(tmp_path / "laptop", str(tmp_path / "plant")) as laptop:
        record = laptop.read_required(f"{folder}/trace.yaml", laptop.tip)
        kept = trace_record(laptop, LIFT, "latest").sha256
        forged = record.replace(kept.encode(), digest(WORN).encode())
        with laptop.writing():
            laptop.write_files(
                {f"{folder}/trace.yaml": forged, f"{folder}/move.csv": WORN}, "by hand\n", BY
            )
    said = why_refused(lift, tmp_path / "laptop")
    assert said.count("it is not the trace that was kept") == 2
    assert "--accept golden" in said


def test_a_file_beside_a_kept_trace_needs_consent(lift: Vault, tmp_path: Path) -> None:
    folder = traced(lift)
    with Vault.copy(tmp_path / "laptop", str(tmp_path / "plant")) as laptop:
        written(laptop, f"{folder}/other.csv", WORN)
    assert "it is not the trace that was kept" in why_refused(lift, tmp_path / "laptop")


def test_a_trace_in_the_name_of_somebody_else_needs_consent(lift: Vault, tmp_path: Path) -> None:
    with Vault.copy(tmp_path / "laptop", str(tmp_path / "plant")) as laptop:
        folder = traced(laptop)
        files = {
            f"{folder}/{name}": laptop.read_required(f"{folder}/{name}", laptop.tip)
            for name in ("trace.yaml", "move.csv")
        }
    with Vault.copy(tmp_path / "enemy", str(tmp_path / "plant")) as enemy, enemy.writing():
        enemy.write_files(files, "by hand\n", ENEMY)
    said = why_refused(lift, tmp_path / "enemy")
    assert f"it names {BY}" in said or "history that is not there" in said


@pytest.mark.parametrize("kind", ["trial", "trace"])
def test_one_of_the_future_needs_consent(lift: Vault, tmp_path: Path, kind: str) -> None:
    """Else it would be the latest of its axis for good."""
    with Vault.copy(tmp_path / "laptop", str(tmp_path / "plant")) as laptop:
        if kind == "trace":
            folder, file = traced(laptop), "trace.yaml"
        else:
            content = b"schema: axisvault/trial/1\njog: {stops: ok}\n"
            name = add_trial(
                laptop, LIFT, content, "trial.yaml", BY, "2026-03-02T08:00:00Z"
            ).trial.name
            folder, file = layout.trial_folder(LIFT, name), "trial.yaml"
        later = folder.replace("2026-03-02", "2099-03-02")
        text = laptop.read_required(f"{folder}/{file}", laptop.tip)
        lines = [
            line.replace(b"2026-03-02", b"2099-03-02") if line.startswith(b"taken_at") else line
            for line in text.splitlines(keepends=True)
        ]
        files = {f"{later}/{file}": b"".join(lines)}
        if kind == "trace":
            files[f"{later}/move.csv"] = RECORDING
        with laptop.writing():
            laptop.write_files(files, "by hand\n", BY)
    assert "yet to come" in why_refused(lift, tmp_path / "laptop")


@pytest.mark.parametrize("kind", ["trial", "trace"])
def test_one_side_of_an_axis_is_not_tried(lift: Vault, kind: str) -> None:
    """It would be held against the controller's set, and kept below an axis that has it not."""
    with pytest.raises(WrongUsage, match="is one side of an axis, and this is of the whole"):
        if kind == "trace":
            add_trace(lift, LIFT.controller, RECORDING, "move.csv", BY)
        else:
            content = b"schema: axisvault/trial/1\njog: {stops: ok}\n"
            add_trial(lift, LIFT.controller, content, "trial.yaml", BY)
