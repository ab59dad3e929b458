"""Verifying only what is new: as strict about that as the whole is, and no more than that read."""

from __future__ import annotations

import json
import re
from collections.abc import Callable, Collection
from pathlib import Path
from typing import Any

import pytest

from example_machines import traces as example
from tests.conftest import BY, Outcome
from tests.jobs.verify.test_verify import forged, rewritten
from vault.jobs.baseline.golden import approve
from vault.jobs.restore.plan import make_plan
from vault.jobs.restore.plan_folder import write_plan
from vault.jobs.restore.request import PlanRequest
from vault.jobs.trials.add import add_trial
from vault.jobs.trials.trace import add_trace
from vault.jobs.verify import incremental
from vault.jobs.verify.incremental import remember_verified, verify_and_remember, verify_new
from vault.jobs.verify.outcome import Verified
from vault.jobs.verify.verify import verify, verify_axes
from vault.model.names import Address
from vault.store.git._program import GitProgram
from vault.store.vault import Vault

LIFT = "machines/m1/lift"
Git = Callable[..., str]
Take = Callable[..., Any]
Export = Callable[..., str]


@pytest.fixture
def good(vault: Vault, take: Take, export_text: Export) -> Vault:
    for day in (1, 2, 4):
        take(export_text(str(day)), f"2026-03-0{day}T08:00:00+00:00", name=f"{day}.csv")
    assert verify(vault).ok
    remember_verified(vault)
    return vault


def found(vault: Vault) -> Any:
    with Vault.open(vault.repository.path) as again:
        return verify_new(again)


def test_nothing_new_is_nothing_to_do(good: Vault) -> None:
    outcome = found(good)
    assert (outcome.ok, outcome.snapshots) == (True, 0)
    assert "not looked at again" in outcome.remarks[0]


def test_no_more_than_what_is_new_is_read(
    good: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Growing with the whole history, the number of reads would be more each time."""
    counts = []
    ask = GitProgram._ask
    for day in (5, 6, 7):
        take(export_text(str(day)), f"2026-03-0{day}T08:00:00+00:00", name=f"{day}.csv")
        asked: list[str] = []

        def count(self: GitProgram, *question: Any, asked: list[str] = asked) -> Any:
            asked.append(question[-1])
            return ask(self, *question)

        with monkeypatch.context() as patch:
            patch.setattr(GitProgram, "_ask", count)
            outcome = verify_new(good)
        assert (outcome.ok, outcome.snapshots) == (True, 1)
        counts.append(len(asked))
        remember_verified(good)
    assert counts[0] == counts[1] == counts[2] > 0


@pytest.fixture
def whole_axes(monkeypatch: pytest.MonkeyPatch) -> list[set[str]]:
    """Axes whose every snapshot was checked, once for each time."""
    axes: list[set[str]] = []

    def noted(vault: Vault, addresses: Collection[Address]) -> Verified:
        axes.append(set(map(str, addresses)))
        return verify_axes(vault, addresses)

    monkeypatch.setattr(incremental, "verify_axes", noted)
    return axes


def test_a_late_entry_has_its_whole_axis_checked_and_no_other(
    good: Vault, take: Take, export_text: Export, whole_axes: list[set[str]]
) -> None:
    take(export_text("7", settings=900), "2026-03-05", to="m1/belt")
    take(export_text("3"), "2026-03-03T08:00:00+00:00", name="3.csv")
    steps: list[tuple[int, int]] = []
    with Vault.open(good.repository.path) as again:
        outcome = verify_new(again, lambda *step: steps.append(step))
    assert (outcome.problems, outcome.snapshots) == ([], 2)
    assert whole_axes == [{"m1/lift"}]
    assert steps == [(1, 2), (2, 2)]


def test_where_nothing_was_merged_no_axis_is_checked_whole(
    good: Vault, take: Take, export_text: Export, whole_axes: list[set[str]]
) -> None:
    take(export_text("5"), "2026-03-05T08:00:00+00:00", name="5.csv")
    assert found(good).ok
    assert whole_axes == []


def late_entry(git: Git, take: Take, export_text: Export, to: str = "m1/lift") -> str:
    """Take a late entry in; returns its commit, which the merge at the tip took in."""
    late: str = take(
        export_text("3"), "2026-03-03T08:00:00+00:00", to, "3.csv", override_reason="late"
    ).snapshot.id
    assert git("rev-parse", "main^2").strip() == late
    return late


def merged(git: Git, tree: str, *parents: str) -> None:
    """Move the branch to a merge with this tree, as by hand."""
    of = [word for parent in parents for word in ("-p", parent)]
    git("update-ref", "refs/heads/main", git("commit-tree", tree, *of, "-m", "by hand").strip())


def test_a_late_entry_that_was_forged_is_named_once(
    good: Vault, take: Take, export_text: Export, git: Git
) -> None:
    late = late_entry(git, take, export_text)
    path = f"{LIFT}/export/3.csv"
    side = rewritten(git, late, forged(git, late, path, "velocity;100", "velocity;999"))
    merged(git, "main^{tree}", "main^1", side)
    problems = [p for p in found(good).problems if p.kind == "export"]
    assert [p.where for p in problems] == [f"m1/lift@{side[:10]}"]


def test_a_merge_that_hides_what_it_takes_in_is_named(
    good: Vault, take: Take, export_text: Export, git: Git
) -> None:
    late = late_entry(git, take, export_text)
    merged(git, "main^1^{tree}", "main^1", late)
    assert ("chain", "m1/lift") in [(p.kind, p.where) for p in found(good).problems]


def test_a_merge_that_changes_another_axis_beside_is_named(
    good: Vault, take: Take, export_text: Export, git: Git
) -> None:
    """The next snapshot of that axis is linked to the forged record, and closes the chain."""
    take(export_text("7", settings=900), "2026-03-04", "m1/belt")
    remember_verified(good)
    late_entry(git, take, export_text, "m1/belt")
    tree = forged(git, "main", f"{LIFT}/snapshot.yaml", "Mira Okafor", "Pavo Drost")
    merged(git, tree, "main^1", "main^2")
    with Vault.open(good.repository.path) as again:
        newest = take(export_text("5"), "2026-03-05T08:00:00+00:00", into=again).snapshot
    broken = [(p.kind, p.where) for p in found(good).problems]
    assert ("chain", f"m1/lift@{newest.id[:10]}") in broken


@pytest.mark.parametrize(
    ("path", "old", "new", "kind"),
    [
        (f"{LIFT}/export/5.csv", "Profile velocity;100", "Profile velocity;999", "export"),
        (f"{LIFT}/parameters.yaml", "value: 5,", "value: 9,", "parameters"),
        (f"{LIFT}/snapshot.yaml", "2026-03-05", "2026-03-06", "message"),
        (f"{LIFT}/snapshot.yaml", "previous: ", "previous: 0", "chain"),
    ],
)
def test_what_was_forged_since_is_named(
    path: str, old: str, new: str, kind: str, good: Vault, take: Take, export_text: Export, git: Git
) -> None:
    newest = take(export_text("5"), "2026-03-05T08:00:00+00:00", name="5.csv").snapshot
    assert found(good).ok
    commit = rewritten(git, newest.id, forged(git, newest.id, path, old, new))
    git("update-ref", "refs/heads/main", commit)
    outcome = found(good)
    assert {kind, "witness"} <= {problem.kind for problem in outcome.problems}


def test_a_commit_on_top_that_is_no_snapshot_is_named(
    good: Vault, take: Take, export_text: Export, git: Git
) -> None:
    take(export_text("5"), "2026-03-05T08:00:00+00:00", name="5.csv")
    tree = forged(git, "main", f"{LIFT}/parameters.yaml", "value: 5,", "value: 9,")
    git("update-ref", "refs/heads/main",
        git("commit-tree", tree, "-p", "main", "-m", "by hand").strip())  # fmt: skip
    assert [problem.kind for problem in found(good).problems] == ["tip"]


def test_an_object_that_the_disk_damaged_is_named(
    good: Vault, take: Take, export_text: Export, unpack: Callable[[], None]
) -> None:
    newest = take(export_text("5"), "2026-03-05T08:00:00+00:00", name="5.csv").snapshot
    unpack()
    blob = good.repository.resolve(f"{newest.id}:{LIFT}/export/5.csv") or ""
    path = good.repository.path / "objects" / blob[:2] / blob[2:]
    path.chmod(0o644)
    content = bytearray(path.read_bytes())
    content[len(content) // 2] ^= 0x40
    path.write_bytes(content)
    outcome = found(good)
    assert blob[:10] in {problem.where for problem in outcome.problems}


def test_a_history_that_was_rewritten_is_looked_at_as_a_whole(
    good: Vault, take: Take, export_text: Export, git: Git
) -> None:
    git("update-ref", "refs/heads/main", "main~1")
    outcome = found(good)
    assert "Nothing was verified before, so everything was." in outcome.remarks
    assert [problem.kind for problem in outcome.problems] == ["witness"]


@pytest.mark.parametrize("note", ["", "junk", "{}", '{"tip": "0", "at": "x"}', "[]"])
def test_a_note_that_says_nothing_means_everything(good: Vault, note: str) -> None:
    (good.state / "verified.json").write_text(note)
    assert found(good).snapshots == 3


def test_the_command_notes_only_what_was_good(
    good: Vault, take: Take, export_text: Export, git: Git, cli: Callable[..., Outcome]
) -> None:
    (good.state / "verified.json").unlink()
    assert cli("verify").code == 0
    noted = json.loads((good.state / "verified.json").read_text())
    assert noted["tip"] == good.tip
    take(export_text("5"), "2026-03-05T08:00:00+00:00", name="5.csv")
    tree = forged(git, "main", f"{LIFT}/parameters.yaml", "value: 5,", "value: 9,")
    git("update-ref", "refs/heads/main",
        git("commit-tree", tree, "-p", "main", "-m", "by hand").strip())  # fmt: skip
    assert cli("verify", "--new").code == 5
    assert json.loads((good.state / "verified.json").read_text()) == noted


OTHER = b"ab" * 20
NAME = "2026-03-05T080000Z"
TRIAL, TRACE = (
    f"{LIFT}/trials/{NAME}/trial.yaml", f"{LIFT}/trials/traces/{NAME}/trace.yaml",
)  # fmt: skip


@pytest.fixture
def told(good: Vault, tmp_path: Path) -> Vault:
    """With a baseline, a plan, a trial and a trace since what was verified."""
    lift = Address("m1", "lift")
    approve(good, "m1/lift", "Yara Okonjel <yara@tileworks.example>", "as it is")
    write_plan(make_plan(good, PlanRequest("m1/lift")), tmp_path / "plan", BY)
    asked = b"schema: axisvault/trial/1\njog: {stops: ok}\n"
    add_trial(good, lift, asked, "trial.yaml", BY, "2026-03-05T08:00:00Z")
    recording = (example.FOLDER / "kiln-loader-pusher.csv").read_bytes()
    add_trace(good, lift, recording, "move.csv", BY, None, "2026-03-05T08:00:00Z")
    return good


def test_what_people_added_since_is_as_it_was_recorded(told: Vault) -> None:
    assert found(told).problems == []
    assert verify(told).problems == []


def named_otherwise(text: bytes) -> bytes:
    """An id is quoted where YAML would take it for a number."""
    changed, count = re.subn(rb'\b(snapshot: "?)[0-9a-f]{40}', rb"\g<1>" + OTHER, text)
    assert count
    return changed


@pytest.mark.parametrize(
    ("kind", "path", "forge"),
    [
        ("trial", TRIAL, named_otherwise),
        ("trial", TRIAL, lambda _: b"what\n"),
        ("trace", TRACE, named_otherwise),
        ("trace", TRACE, None),
        ("trace", f"{LIFT}/trials/traces/{NAME}/move.csv", lambda text: text + b"\n"),
        ("trace", f"{LIFT}/trials/traces/{NAME}/more.csv", lambda _: b"x"),
        ("golden", f"{LIFT}/golden.yaml", named_otherwise),
        ("restore", f"{LIFT}/restore.yaml", named_otherwise),
        ("restore", f"{LIFT}/restore/sheet.html", lambda text: text + b"\n"),
    ],
)
def test_what_was_forged_beside_the_chain_since_is_named_as_the_whole_names_it(
    told: Vault, kind: str, path: str, forge: Callable[[bytes], bytes] | None
) -> None:
    with told.writing():
        if forge is None:
            told.write_files({}, "by hand", BY, [path])
        else:
            told.write_files({path: forge(told.read(path) or b"")}, "by hand", BY)
    outcome = verify_and_remember(told, lambda done, total: None, only_new=True)
    assert [problem.kind for problem in outcome.problems] == [kind]
    assert outcome.problems == verify(told).problems
    assert found(told).problems, "the tip was not noted as good"


def test_what_was_removed_whole_is_no_damage(told: Vault) -> None:
    with told.writing():
        told.write_files({}, "by hand", BY, [TRIAL, f"{LIFT}/golden.yaml"])
    assert found(told).problems == verify(told).problems == []
