"""Half of a verification by a second process: what is found is the same. Exports are invented."""

from __future__ import annotations

from collections.abc import Callable
from subprocess import Popen
from typing import Any

import pytest

from vault.jobs.verify import second as verify_second
from vault.jobs.verify.axes import Axes
from vault.jobs.verify.outcome import Verified
from vault.jobs.verify.verify import verify
from vault.store.vault import Vault

Take = Callable[..., Any]
Export = Callable[..., str]
Git = Callable[..., str]
AXES = [f"m{n}/lift" for n in range(1, 6)]


@pytest.fixture
def fleet(vault: Vault, take: Take, export_text: Export) -> Vault:
    """Five axes with two snapshots each, one of them a late entry."""
    for number, axis in enumerate(AXES):
        take(export_text("1", settings=number), "2026-03-02", to=axis)
        take(export_text("2", settings=number), f"2026-03-0{1 + 2 * (number % 2)}", to=axis)
    vault.index.fill_values()
    return vault


@pytest.fixture
def started(monkeypatch: pytest.MonkeyPatch) -> list[Popen[bytes]]:
    """Has every verification shared with a second process; those that were started."""
    processes: list[Popen[bytes]] = []
    real = verify_second._started

    def kept() -> Popen[bytes] | None:
        process = real()
        assert process is not None
        processes.append(process)
        return process

    monkeypatch.setattr(verify_second, "_LEAST", 1)
    monkeypatch.setattr(verify_second, "_started", kept)
    monkeypatch.setattr(verify_second, "_processors", lambda: 2)
    return processes


@pytest.fixture
def own(monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """Axes that this process checked itself."""
    axes: list[str] = []
    real = Axes.check

    def noted(self: Axes, address: Any, *rest: Any) -> Any:
        axes.append(str(address))
        return real(self, address, *rest)

    monkeypatch.setattr(Axes, "check", noted)
    return axes


def told(outcome: Verified) -> tuple[Any, ...]:
    """All that an outcome says."""
    problems = [
        (p.kind, p.where, p.details, p.snapshot and p.snapshot.id) for p in outcome.problems
    ]
    return outcome.snapshots, problems, outcome.remarks


def damage(vault: Vault, git: Git) -> None:
    """Values that no snapshot explains, on the first and the last axis, and a stale index."""
    with vault.writing():
        for axis in (AXES[0], AXES[-1]):
            path = f"machines/{axis}/parameters.yaml"
            forged = (vault.read(path) or b"").replace(b"raw: 100", b"raw: 101")
            vault.write_files({path: forged}, "tidied up\n", "X <x@x.example>")
    database = vault.index._database
    for axis in ("m2", "m5"):
        seq = "(SELECT max(seq) FROM snapshots WHERE machine = ?)"
        database.execute(f"UPDATE snapshots SET text = x'00' WHERE seq = {seq}", (axis,))
        database.execute(f"DELETE FROM turns WHERE seq = {seq}", (axis,))


@pytest.mark.parametrize("is_damaged", [False, True])
def test_two_find_what_one_finds(
    fleet: Vault, git: Git, started: list[Popen[bytes]], own: list[str], is_damaged: bool,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    if is_damaged:
        damage(fleet, git)
    shared = told(verify(fleet))
    assert (len(started), own) == (1, AXES[:2]), "the other three were not checked here"
    assert started[0].poll() is not None
    monkeypatch.setattr(verify_second, "_LEAST", 1000)
    alone = told(verify(fleet))
    assert (len(started), own[2:]) == (1, AXES)
    assert shared == alone
    assert bool(shared[1]) == is_damaged
    assert shared[0] == 10


@pytest.mark.parametrize(
    "program",
    [
        "raise SystemExit(3)",
        "print('no pickle')",
        "import sys; sys.stdin.buffer.read(); sys.stdout.buffer.write(b'\\x80\\x05'); sys.exit()",
        "import os, sys; os.close(0); os.close(1); import time; time.sleep(0.2)",
    ],
)
def test_what_the_second_does_not_get_done_the_first_does(
    fleet: Vault, started: list[Popen[bytes]], own: list[str], program: str,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    monkeypatch.setattr(verify_second, "_PROGRAM", program)
    outcome = verify(fleet)
    assert (outcome.problems, outcome.snapshots, own, len(started)) == ([], 10, AXES, 1)


def test_where_no_process_can_be_started_one_does_all(
    fleet: Vault, own: list[str], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(verify_second, "_LEAST", 1)
    monkeypatch.setattr(verify_second, "_processors", lambda: 2)
    monkeypatch.setattr("sys.executable", "/nowhere/python")
    outcome = verify(fleet)
    assert (outcome.problems, outcome.snapshots, own) == ([], 10, AXES)


def test_on_one_processor_one_process_does_all(
    fleet: Vault, started: list[Popen[bytes]], monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(verify_second, "_processors", lambda: 1)
    assert verify(fleet).ok
    assert started == []


def test_progress_counts_what_both_have_done(fleet: Vault, started: list[Popen[bytes]]) -> None:
    steps: list[tuple[int, int]] = []
    verify(fleet, lambda *step: steps.append(step))
    assert [done for done, _ in steps] == sorted(done for done, _ in steps)
    assert steps[-1] == (10, 10)
    assert {total for _, total in steps} == {10}


def test_whoever_stops_stops_the_second_too(fleet: Vault, started: list[Popen[bytes]]) -> None:
    def stop(done: int, total: int) -> None:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        verify(fleet, stop)
    assert started[0].poll() is not None


def test_of_a_few_axes_one_process_checks_all(fleet: Vault, started: list[Popen[bytes]]) -> None:
    assert verify(fleet, only=fleet.index.axes()).ok
    assert started == []
