"""What others record while a vault is verified is no damage."""

from __future__ import annotations

import shutil
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from vault.jobs.verify import incremental
from vault.jobs.verify import verify as verifying
from vault.jobs.verify.incremental import last_verified, verify_and_remember
from vault.jobs.verify.outcome import Verified
from vault.jobs.verify.verify import verify
from vault.jobs.verify.witness import check_witness
from vault.model.errors import Unavailable
from vault.store.vault import Vault

Take = Callable[..., Any]
Export = Callable[..., str]


def test_an_export_that_is_taken_in_meanwhile_is_no_damage(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("1"), "2026-03-01")
    with Vault.open(vault.repository.path) as other:

        def progress(done: int, total: int) -> None:
            if done == total == 1:
                take(export_text("2"), "2026-03-02", name="2.csv", into=other)
                take(export_text("3"), "2026-03-03", to="m1/belt", name="3.csv", into=other)

        outcome = verify_and_remember(vault, progress, only_new=False)
        assert outcome.problems == []
        assert outcome.snapshots == 1
        tip = outcome.tip
        again = verify(vault)
        assert (again.problems, again.snapshots, again.tip) == ([], 3, other.tip)
        last = last_verified(vault)
        assert last is not None
        assert last[0] == tip != other.tip


def test_what_comes_while_only_what_is_new_is_verified_is_no_damage_either(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("1"), "2026-03-01")
    assert verify_and_remember(vault, lambda done, total: None, only_new=False).ok
    take(export_text("2"), "2026-03-02", name="2.csv")
    with Vault.open(vault.repository.path) as other:
        # It goes on from what was recorded when it begins, not from when the vault was opened.
        take(export_text("3"), "2026-03-03", name="3.csv", into=other)

        def progress(done: int, total: int) -> None:
            if done == total == 2:
                take(export_text("4"), "2026-03-04", name="4.csv", into=other)

        outcome = verify_and_remember(vault, progress, only_new=True)
        assert (outcome.problems, outcome.snapshots) == ([], 2)
        assert outcome.tip != other.tip
        again = verify_and_remember(vault, progress, only_new=True)
        assert (again.problems, again.snapshots, again.tip) == ([], 1, other.tip)


@pytest.mark.parametrize("only_new", [False, True])
def test_what_the_witness_has_of_it_is_no_lost_history(
    vault: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch, only_new: bool
) -> None:
    take(export_text("1"), "2026-03-01")
    assert verify_and_remember(vault, lambda done, total: None, only_new=False).ok
    with Vault.open(vault.repository.path) as other:

        def late(vault: Vault, against: Path | None, outcome: Verified) -> None:
            take(export_text("2"), "2026-03-02", name="2.csv", into=other)
            shutil.copy(vault.state / "witness.jsonl", tmp := vault.state / "copy.jsonl")
            check_witness(vault, tmp, outcome)

        for module in (verifying, incremental):
            monkeypatch.setattr(module, "check_witness", late)
        outcome = verify_and_remember(vault, lambda done, total: None, only_new=only_new)
        assert (outcome.problems, outcome.lost) == ([], None)
        assert not any("witness" in remark for remark in outcome.remarks)


def test_what_was_recorded_just_before_is_verified_too(
    vault: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Another one records between the look at the branch and the look at the index."""
    take(export_text("1"), "2026-03-01")
    with Vault.open(vault.repository.path) as other:
        refresh, looks = vault.refresh, []

        def slowly() -> None:
            refresh()
            looks.append(vault.tip)
            if len(looks) == 1:
                take(export_text("2"), "2026-03-02", name="2.csv", into=other)

        monkeypatch.setattr(vault, "refresh", slowly)
        outcome = verify(vault)
        assert (outcome.problems, outcome.snapshots, len(looks)) == ([], 2, 2)


def test_where_others_record_all_the_time_it_says_so(
    vault: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    with Vault.open(vault.repository.path) as other:
        refresh, looks = vault.refresh, []

        def overtaken() -> None:
            refresh()
            looks.append(vault.tip)
            name = f"{len(looks)}.csv"
            take(export_text(f"{len(looks)}"), f"2026-03-{len(looks):02}", name=name, into=other)

        monkeypatch.setattr(vault, "refresh", overtaken)
        with pytest.raises(Unavailable, match="record all the time"):
            verify(vault)
        monkeypatch.undo()
        vault.refresh()
        assert verifying.verify(vault).ok
