"""Verification names whatever somebody changed behind the vault's back, with git alone."""

from __future__ import annotations

import random
import re
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from vault.jobs.export import parameter_set
from vault.jobs.export.read_export import read_export
from vault.jobs.intake import read_for_axis
from vault.jobs.verify.outcome import Verified
from vault.jobs.verify.verify import verify
from vault.model.names import Address
from vault.store.files.parameters_text import parameters_text
from vault.store.files.snapshot_text import digest, snapshot_text
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
LIFT = Address("m1", "lift")
FOLDER = "machines/m1/lift"
Git = Callable[..., str]
Take = Callable[..., Any]
Export = Callable[..., str]


@pytest.fixture
def filled(vault: Vault, take: Take, export_text: Export) -> Vault:
    """Three snapshots of the lift, the middle one a late entry, and one of the belt."""
    take(export_text("1"), "2026-03-01", name="1.csv")
    take(export_text("3"), "2026-03-03", name="3.csv")
    take(export_text("2"), "2026-03-02", name="2.csv")
    take(export_text("7", settings=900), "2026-03-05", to="m1/belt")
    return vault


def forged(git: Git, base: str, path: str, old: str, new: str) -> str:
    """Tree of a commit with one file changed; `old` must be in it."""
    content = git("show", f"{base}:{path}")
    assert old in content
    blob = git("hash-object", "-w", "--stdin", stdin=content.replace(old, new, 1).encode()).strip()
    git("read-tree", base)
    git("update-index", "--add", "--cacheinfo", f"100644,{blob},{path}")
    return git("write-tree").strip()


def rewritten(git: Git, commit: str, tree: str) -> str:
    """The same commit with another tree: message, people, times and parents stay."""
    head, message = git("cat-file", "commit", commit).split("\n\n", 1)
    lines = [f"tree {tree}" if line.startswith("tree ") else line for line in head.split("\n")]
    text = "\n".join(lines) + "\n\n" + message
    return git("hash-object", "-t", "commit", "-w", "--stdin", stdin=text.encode()).strip()


def moved(git: Git, vault: Vault, commit: str) -> Verified:
    """Move the branch by hand and verify, as another process would."""
    git("update-ref", "refs/heads/main", commit)
    with Vault.open(vault.repository.path) as again:
        return verify(again)


def kinds(outcome: Verified) -> set[str]:
    return {problem.kind for problem in outcome.problems}


def test_an_untouched_vault_is_as_it_was_recorded(filled: Vault) -> None:
    seen: list[tuple[int, int]] = []
    outcome = verify(filled, lambda *step: seen.append(step))
    assert (outcome.ok, outcome.problems, outcome.remarks) == (True, [], [])
    assert outcome.snapshots == 4
    assert seen == [(n, 4) for n in range(1, 5)]


def test_dictionaries_and_axis_records_may_change(filled: Vault, family_text: str) -> None:
    newer = family_text.replace("scale: 0.01", "scale: 0.001")
    with filled.writing():
        filled.write_files({"families/hazel.yaml": newer.encode()}, "Family\n", BY)
        filled.write_files({f"{FOLDER}/axis.yaml": b"schema: axisvault/axis/1\n"}, "Axis\n", BY)
    assert verify(filled).problems == []


def test_packing_changes_nothing(filled: Vault) -> None:
    filled.reindex()
    assert verify(filled).problems == []


TAMPERED = [
    ("export", "export/7", "lim/lag;Following error window;7", "lim/lag;Following error window;9"),
    ("parameters", "parameters.yaml", "unit: mm, raw: 700", "unit: mm, raw: 900"),
    ("record", "snapshot.yaml", "schema: axisvault", "schema:  axisvault"),
    ("message", "snapshot.yaml", "occasion: routine", "occasion: as-left"),
    ("message", "snapshot.yaml", "Mira Okafor", "Maro Okifar"),
    ("family", "families", "Following error window", "Followed error window"),
]  # fmt: skip


@pytest.mark.parametrize(("kind", "place", "old", "new"), TAMPERED)
def test_a_snapshot_that_was_rewritten_is_named(
    filled: Vault, git: Git, kind: str, place: str, old: str, new: str
) -> None:
    path = {
        "export/7": "machines/m1/belt/export/lift.csv",
        "families": "families/hazel.yaml",
    }.get(place, f"machines/m1/belt/{place}")
    commit = rewritten(git, "main", forged(git, "main", path, old, new))
    outcome = moved(git, filled, commit)
    assert kind in kinds(outcome)
    named = next(problem for problem in outcome.problems if problem.kind == kind)
    assert named.where == f"m1/belt@{commit[:10]}"
    assert outcome.snapshots == 4, "the others are still checked"


def test_an_author_date_that_is_not_when_the_export_was_taken_is_named(
    filled: Vault, git: Git
) -> None:
    text = git("cat-file", "commit", "main")
    line = next(one for one in text.split("\n") if one.startswith("author "))
    before, seconds, zone = line.rsplit(" ", 2)
    text = text.replace(line, f"{before} {int(seconds) + 1} {zone}")
    commit = git("hash-object", "-t", "commit", "-w", "--stdin", stdin=text.encode()).strip()
    (problem,) = (p for p in moved(git, filled, commit).problems if p.kind == "message")
    assert problem.details == "the commit's author date is not when the export was taken"


def test_a_record_that_was_rewritten_breaks_the_chain(
    filled: Vault, take: Take, export_text: Export, git: Git
) -> None:
    """Even if the commit tells the same story."""
    last = take(export_text("8", settings=900), "2026-03-06", to="m1/belt").snapshot.id
    record = "machines/m1/belt/snapshot.yaml"
    text = git("show", f"{last}^:{record}")
    tree = forged(git, f"{last}^", record, "export:\n  name: lift.csv", "export:\n  name: left.csv")
    assert "left.csv" not in text
    first = rewritten(git, f"{last}^", tree)
    head, message = git("cat-file", "commit", last).split("\n\n", 1)
    text = head.replace(git("rev-parse", f"{last}^").strip(), first) + "\n\n" + message
    last = git("hash-object", "-t", "commit", "-w", "--stdin", stdin=text.encode()).strip()
    outcome = moved(git, filled, last)
    broken = [problem.where for problem in outcome.problems if problem.kind == "chain"]
    assert f"m1/belt@{last[:10]}" in broken


def test_a_late_entry_that_stands_on_a_later_one_is_named(
    vault: Vault, take: Take, export_text: Export, git: Git
) -> None:
    """Its record names the later one, and all else fits together."""
    take(export_text("1"), "2026-03-01")
    later = take(export_text("3"), "2026-03-03").snapshot
    late = take(export_text("2"), "2026-03-02").snapshot
    linked = snapshot_text(replace(late.record, previous=digest(later.text)))
    tree = forged(git, late.id, f"{FOLDER}/snapshot.yaml", late.text.decode(), linked.decode())
    head, message = git("cat-file", "commit", late.id).split("\n\n", 1)
    kept = [one for one in head.split("\n") if not one.startswith(("tree ", "parent "))]
    text = "\n".join([f"tree {tree}", f"parent {later.id}", *kept]) + "\n\n" + message
    side = git("hash-object", "-t", "commit", "-w", "--stdin", stdin=text.encode()).strip()
    merge = git("commit-tree", "main^{tree}", "-p", "main^1", "-p", side, "-m", "late").strip()
    problems = [(p.kind, p.where) for p in moved(git, vault, merge).problems]
    assert ("chain", f"m1/lift@{side[:10]}") in problems
    assert {kind for kind, _ in problems} == {"chain", "witness"}


def test_a_link_that_was_forged_after_a_late_entry_is_named(
    filled: Vault, take: Take, export_text: Export, git: Git
) -> None:
    take(export_text("4"), "2026-03-04")
    record = f"{FOLDER}/snapshot.yaml"
    commit = rewritten(git, "main", forged(git, "main", record, *another_link(git, record)))
    broken = {p.where for p in moved(git, filled, commit).problems if p.kind == "chain"}
    assert f"m1/lift@{commit[:10]}" in broken


def another_link(git: Git, record: str) -> tuple[str, str]:
    """The hash by which the newest record names the one before it, and a wrong one."""
    (link,) = re.findall(r'^previous: "?([0-9a-f]{64})"?$', git("show", f"main:{record}"), re.M)
    return link, link[:-1] + ("1" if link.endswith("0") else "0")


@pytest.mark.parametrize(
    ("kind", "path", "old", "new"),
    [
        ("tip", f"{FOLDER}/parameters.yaml", "raw: 300", "raw: 301"),
        ("tip", f"{FOLDER}/export/3.csv", "lag", "log"),
        ("chain", f"{FOLDER}/snapshot.yaml", "", ""),
    ],
)
def test_a_commit_on_top_that_is_no_snapshot_is_named(
    filled: Vault, git: Git, kind: str, path: str, old: str, new: str
) -> None:
    tree = forged(git, "main", path, *((old, new) if old else another_link(git, path)))
    commit = git("commit-tree", tree, "-p", "main", "-p", "main~1", "-m", "By hand").strip()
    outcome = moved(git, filled, commit)
    assert kind in kinds(outcome)
    assert any("lift" in problem.where for problem in outcome.problems)


def test_a_second_export_at_the_tip_is_named(filled: Vault, git: Git) -> None:
    blob = git("hash-object", "-w", "--stdin", stdin=b"more").strip()
    git("read-tree", "main")
    git("update-index", "--add", "--cacheinfo", f"100644,{blob},{FOLDER}/export/more.csv")
    tree = git("write-tree").strip()
    commit = git("commit-tree", tree, "-p", "main", "-m", "By hand").strip()
    outcome = moved(git, filled, commit)
    assert [(p.kind, p.where) for p in outcome.problems] == [("tip", f"{FOLDER}/export")]


def test_an_axis_that_was_deleted_is_named(filled: Vault, git: Git) -> None:
    git("read-tree", "main")
    listed = git("ls-tree", "-r", "main", f"{FOLDER}/")
    gone = "".join(f"0 {'0' * 40}\t{line.split(chr(9))[1]}\n" for line in listed.splitlines())
    git("update-index", "--index-info", stdin=gone.encode())
    commit = git("commit-tree", git("write-tree").strip(), "-p", "main", "-m", "Gone").strip()
    outcome = moved(git, filled, commit)
    assert {"chain", "tip"} <= kinds(outcome)
    assert {p.where for p in outcome.problems if p.kind == "chain"} == {"m1/lift"}


def test_values_without_a_snapshot_are_named(filled: Vault, git: Git) -> None:
    blob = git("hash-object", "-w", "--stdin", stdin=b"schema: x\n").strip()
    git("read-tree", "main")
    for name in ("parameters.yaml", "axis.yaml"):
        git("update-index", "--add", "--cacheinfo", f"100644,{blob},machines/m1/crane/{name}")
    commit = git("commit-tree", git("write-tree").strip(), "-p", "main", "-m", "Odd").strip()
    outcome = moved(git, filled, commit)
    assert [(p.kind, p.where) for p in outcome.problems] == [("tip", "machines/m1/crane")]


def test_a_snapshot_that_was_cut_off_at_the_end_is_known_to_the_witness_only(
    filled: Vault, git: Git, tmp_path: Path
) -> None:
    """A chain proves what is left of it; that its end is missing, only a witness can tell."""
    outcome = moved(git, filled, "main~1")
    assert kinds(outcome) == {"witness"}
    assert outcome.first_untrusted is not None
    assert outcome.first_untrusted.axis == "m1/belt"
    git("clone", "--bare", "--quiet", str(tmp_path / "plant"), str(tmp_path / "copy"))
    with Vault.open(tmp_path / "copy") as copy:
        assert verify(copy).ok


def test_a_record_that_cannot_be_read_is_named_and_the_others_checked(
    filled: Vault, git: Git
) -> None:
    path = "machines/m1/belt/snapshot.yaml"
    commit = rewritten(git, "main", forged(git, "main", path, "schema", "schame"))
    outcome = moved(git, filled, commit)
    where = {problem.where for problem in outcome.problems if problem.kind == "record"}
    assert where == {f"m1/belt@{commit[:10]}"}
    assert outcome.snapshots == 4


def test_two_snapshots_in_one_commit_are_named(filled: Vault, git: Git) -> None:
    listing = git("ls-tree", "-r", "main").replace("machines/m1/", "machines/m2/")
    git("read-tree", "--empty")
    git("update-index", "--index-info", stdin=listing.encode())
    commit = git("commit-tree", git("write-tree").strip(), "-p", "main", "-m", "Renamed").strip()
    outcome = moved(git, filled, commit)
    assert not outcome.ok
    wheres = {problem.where for problem in outcome.problems}
    assert {f"m2/lift@{commit[:10]}", f"m2/belt@{commit[:10]}"} <= wheres
    details = {problem.details for problem in outcome.problems}
    assert "its commit records another axis too" in details


NOISE = random.Random(7).randbytes(40_000).hex()


@pytest.mark.parametrize("share", [0.3, 0.6])
def test_a_pack_that_the_disk_damaged_is_named_with_the_axis_it_holds(
    filled: Vault, take: Take, export_text: Export, tmp_path: Path, share: float
) -> None:
    commit = take(
        f"{export_text(settings=900)}set/99;{NOISE};1;\r\n", "2026-03-06", to="m1/belt"
    ).snapshot.id
    packs = (tmp_path / "plant/objects/pack").glob("*.pack")
    path = max(packs, key=lambda pack: pack.stat().st_size)
    content = bytearray(path.read_bytes())
    place = int(share * len(content))
    content[place : place + 100] = b"\xff" * 100
    path.chmod(0o644)
    path.write_bytes(content)
    filled.repository.close()
    outcome = verify(filled)
    assert "git" in kinds(outcome)
    assert {p.where for p in outcome.problems if "@" in p.where} == {f"m1/belt@{commit[:10]}"}


@pytest.mark.parametrize("share", [0.0, 0.3, 0.9])
def test_an_object_that_the_disk_damaged_is_named(
    filled: Vault,
    take: Take,
    export_text: Export,
    tmp_path: Path,
    unpack: Callable[[], None],
    share: float,
) -> None:
    take(export_text(settings=900) + f"set/99;{NOISE};1;\r\n", "2026-03-06", to="m1/belt")
    unpack()
    blob = filled.repository.resolve("main:machines/m1/belt/export/lift.csv")
    assert blob is not None
    path = tmp_path / "plant/objects" / blob[:2] / blob[2:]
    content = path.read_bytes()
    path.chmod(0o644)
    path.write_bytes(content[: int(share * len(content))] + b"\xff" * 100)
    filled.repository.close()
    outcome = verify(filled)
    assert "git" in kinds(outcome)
    wheres = {problem.where for problem in outcome.problems if problem.kind == "export"}
    latest = filled.latest(Address("m1", "belt"))
    assert latest is not None
    assert wheres == {f"m1/belt@{latest.id[:10]}"}


def test_an_index_that_tells_something_else_is_named(filled: Vault) -> None:
    filled.index._database.execute("DELETE FROM snapshots WHERE axis = 'belt'")
    assert kinds(verify(filled)) == {"index"}
    filled.index.rebuild()
    assert verify(filled).ok


@pytest.fixture
def written_by_version_0(
    vault: Vault, export_text: Export, monkeypatch: pytest.MonkeyPatch, take: Take
) -> Callable[[str, str], None]:
    """Records the lift as older rules would: with other words in parameters.yaml."""

    def record(old: str, new: str) -> None:
        def older(export: parameter_set.Export) -> bytes:
            text = parameters_text(export.parameters).decode()
            assert old in text
            return text.replace(old, new).encode()

        def reader(*given: Any, **named: Any) -> parameter_set.Export:
            return replace(read_export(*given, **named), version=0)

        with monkeypatch.context() as patch:
            patch.setattr(parameter_set.Export, "parameters_text", property(older))
            patch.setattr(read_for_axis, "read_export", reader)
            take(export_text("5"))

    return record


def test_what_older_rules_wrote_is_compared_by_meaning(
    vault: Vault, written_by_version_0: Callable[[str, str], None]
) -> None:
    written_by_version_0("name: Following error window", "name: Following error limit")
    outcome = verify(vault)
    assert outcome.problems == []
    (remark,) = outcome.remarks
    assert "version 0 of the rules; its values mean the same today" in remark


def test_what_older_rules_wrote_and_somebody_changed_is_named(
    vault: Vault, written_by_version_0: Callable[[str, str], None]
) -> None:
    written_by_version_0("value: 5, unit: mm, raw: 500", "value: 6, unit: mm, raw: 600")
    (problem,) = verify(vault).problems
    assert problem.kind == "parameters"
    assert "version 0" in problem.details


def test_what_older_rules_wrote_and_nobody_can_read_is_named(
    vault: Vault, written_by_version_0: Callable[[str, str], None]
) -> None:
    written_by_version_0("value: 5, unit: mm", "value: 5, unit mm")
    (problem,) = verify(vault).problems
    assert problem.kind == "parameters"
