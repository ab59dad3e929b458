"""Git checks its objects while everything else is checked."""

from __future__ import annotations

from collections.abc import Callable
from subprocess import PIPE, Popen
from typing import Any

import pytest

from vault.jobs.verify import verify as verify_module
from vault.jobs.verify.verify import verify
from vault.store.git._program import Outcome
from vault.store.vault import Vault

Take = Callable[..., Any]
Export = Callable[..., str]


def test_git_checks_its_objects_no_longer_than_we_go_on(
    vault: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    started: list[Popen[bytes]] = []

    def long(*arguments: str) -> Popen[bytes]:
        assert arguments[0] == "fsck"
        started.append(Popen(["sleep", "20"], stdin=PIPE, stdout=PIPE, stderr=PIPE))
        return started[0]

    def stopped(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr(vault.repository.git, "start", long)
    monkeypatch.setattr(verify_module, "check_witness", stopped)
    with pytest.raises(KeyboardInterrupt):
        verify(vault)
    assert started[0].returncode not in (None, 0)


def test_what_git_says_of_its_objects_is_waited_for_and_told_first(
    vault: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    take(export_text("1"), "2026-03-01")
    vault.index._database.execute("DELETE FROM value_changes")
    monkeypatch.setattr(vault.repository.git, "start", failing(vault))
    lines = "\n".join(f"object {n}" for n in range(1, 7))
    answer = Outcome(3, "\n", lines)
    asked = vault.repository.git.outcome

    def outcome(*words: str, **more: Any) -> Outcome:
        return answer if words[0] == "fsck" else asked(*words, **more)

    monkeypatch.setattr(vault.repository.git, "outcome", outcome)
    found = verify(vault).problems
    assert [problem.kind for problem in found] == ["git", "index"]
    assert found[0].details == "object 1; object 2; object 3; object 4; object 5"
    answer = Outcome(4, "", "")
    assert verify(vault).problems[0].details == "git fsck ended with 4"


def test_a_pack_that_was_joined_meanwhile_is_no_damage(
    vault: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    take(export_text("1"), "2026-03-01")
    monkeypatch.setattr(vault.repository.git, "start", failing(vault))
    assert verify(vault).problems == [], "git was asked once more, and found nothing"


def failing(vault: Vault) -> Callable[..., Popen[bytes]]:
    """Starts git, whose check of objects takes a while and then complains."""
    original = vault.repository.git.start

    def start(*arguments: str) -> Popen[bytes]:
        if arguments[0] != "fsck":
            return original(*arguments)
        script = "sleep 0.5; echo packfile cannot be accessed >&2; exit 3"
        return Popen(["sh", "-c", script], stdin=PIPE, stdout=PIPE, stderr=PIPE)

    return start
