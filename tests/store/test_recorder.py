"""Recording snapshots: what git holds afterwards, and all of them or none."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from vault.jobs.intake.read_for_axis import read_for_axis
from vault.jobs.intake.take_in import take_in
from vault.jobs.intake.visit import parse_visit
from vault.model.errors import Unavailable
from vault.model.names import Address
from vault.store.recorder import recording
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
LIFT = Address("m1", "lift")
Git = Callable[..., str]
Take = Callable[..., Any]
Export = Callable[..., str]


def snapshot_yaml(git: Git, revision: str = "main") -> str:
    return git("show", f"{revision}:machines/m1/lift/snapshot.yaml")


def previous(text: str) -> str | None:
    lines = [line for line in text.splitlines() if line.startswith("previous: ")]
    return lines[0].partition(" ")[2].strip('"') if lines else None


def sha256(text: str) -> str:
    return hashlib.sha256(text.encode()).hexdigest()


def test_git_shows_the_export_byte_for_byte(
    vault: Vault, take: Take, export_text: Export, git: Git, tmp_path: Path
) -> None:
    take(export_text())
    shown = git("show", "main:machines/m1/lift/export/lift.csv")
    assert shown.encode() == (tmp_path / "lift.csv").read_bytes()
    assert "\r\n" in shown


def test_the_commit_carries_who_when_and_why(
    vault: Vault, take: Take, export_text: Export, git: Git
) -> None:
    found = take(
        export_text(),
        "2025-07-01T14:30:00+02:00",
        by="Ada Lindqvist <ada@tileworks.example>",
        occasion="as-left",
        work_order="WO-1182",
        note="Window\n\nwas doubled",
    )
    shown = git("log", "-1", "--format=%H%n%an <%ae>%n%aI%n%cn%n%s", "main").splitlines()
    assert shown == [
        found.snapshot.id,
        "Ada Lindqvist <ada@tileworks.example>",
        "2025-07-01T14:30:00+02:00",
        "axisvault",
        "m1/lift: as-left",
    ]
    trailers = git("log", "-1", "--format=%(trailers:only)", "main").strip().splitlines()
    export = git("show", "main:machines/m1/lift/export/lift.csv")
    assert trailers == [
        "Occasion: as-left",
        "Work-Order: WO-1182",
        "Taken-At: 2025-07-01T14:30:00+02:00",
        f"Export-SHA256: {sha256(export)}",
        "Family: hazel",
    ]
    assert "Window\n\nwas doubled" in git("log", "-1", "--format=%b", "main")


def test_each_record_carries_the_hash_of_the_one_before(
    vault: Vault, take: Take, export_text: Export, git: Git
) -> None:
    for day in ("01", "02", "03"):
        take(export_text(day), f"2026-03-{day}")
    texts = [snapshot_yaml(git, f"main~{n}") for n in (2, 1, 0)]
    assert [previous(t) for t in texts] == [None, sha256(texts[0]), sha256(texts[1])]


def test_only_the_latest_export_lies_at_the_tip(
    vault: Vault, take: Take, export_text: Export, git: Git
) -> None:
    take(export_text(), "2026-03-01", name="old name.csv")
    take(export_text("3"), "2026-03-02", name="new name.csv")
    folder = "machines/m1/lift/export/"
    assert git("ls-tree", "--name-only", "main", folder) == f"{folder}new name.csv\n"
    assert git("ls-tree", "--name-only", "main^", folder) == f"{folder}old name.csv\n"


def test_a_late_entry_leaves_the_tip_as_it_is(
    vault: Vault, take: Take, export_text: Export, git: Git
) -> None:
    take(export_text("1"), "2026-03-01")
    take(export_text("3"), "2026-03-03")
    before = git("ls-tree", "-r", "main")
    late = take(export_text("2"), "2026-03-02").snapshot.id
    after = git("ls-tree", "-r", "main")
    changed = {line.split("\t")[1] for line in set(before.splitlines()) ^ set(after.splitlines())}
    assert changed == {"machines/m1/lift/snapshot.yaml"}
    assert git("rev-parse", "main^2").strip() == late, "a merge, with the late entry at its side"
    first, last = snapshot_yaml(git, "main^1~1"), snapshot_yaml(git)
    assert previous(snapshot_yaml(git, late)) == sha256(first)
    assert previous(last) == sha256(snapshot_yaml(git, late))


def test_an_entry_before_the_first_stands_on_nothing(
    vault: Vault, take: Take, export_text: Export, git: Git
) -> None:
    take(export_text("3"), "2026-03-03")
    late = take(export_text("2"), "2026-03-02").snapshot.id
    assert git("rev-list", "--parents", "-1", late).split() == [late]
    names = git("ls-tree", "-r", "--name-only", late).split()
    assert "families/hazel.yaml" in names, "it can be read by itself"
    assert git("fsck", "--strict") == ""


def test_the_dictionary_of_its_day_stays_with_a_snapshot(
    vault: Vault, take: Take, export_text: Export, git: Git, family_text: str
) -> None:
    first = take(export_text(), "2026-03-02").snapshot.id
    newer = family_text.replace("Homing method", "Way of homing").encode()
    with vault.writing():
        vault.write_files({"families/hazel.yaml": newer}, "Family hazel\n", BY)
    late = take(export_text(), "2026-03-01").snapshot.id
    assert git("show", f"{first}:families/hazel.yaml") == family_text
    assert git("show", f"{late}:families/hazel.yaml").encode() == newer
    assert git("show", "main:families/hazel.yaml").encode() == newer


def test_many_snapshots_become_visible_together_or_not_at_all(
    vault: Vault, export_text: Export, tmp_path: Path, git: Git
) -> None:
    before = git("rev-parse", "main")
    path = tmp_path / "a.csv"
    path.write_text(export_text())

    def record_and_fail() -> None:
        with vault.writing(), recording(vault) as recorder:
            for day in ("02", "01"):
                who = parse_visit(BY, taken_at=f"2026-03-{day}")
                export = read_for_axis(vault, LIFT, path.read_bytes(), str(path), who)
                take_in(vault, recorder, LIFT, export, who)
            assert vault.index.count(LIFT) == 2
            raise RuntimeError("the caller gave up")

    with pytest.raises(RuntimeError):
        record_and_fail()
    assert git("rev-parse", "main") == before
    assert vault.index.count(LIFT) == 0


def test_a_branch_that_was_moved_meanwhile_stays_where_it_is(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path, git: Git
) -> None:
    take(export_text("1"), "2026-03-01")
    path = tmp_path / "a.csv"
    path.write_text(export_text("2"))
    who = parse_visit(BY, taken_at="2026-03-02")

    def record_while_somebody_moves() -> None:
        with vault.writing():
            export = read_for_axis(vault, LIFT, path.read_bytes(), str(path), who)
            with recording(vault) as recorder:
                take_in(vault, recorder, LIFT, export, who)
                tree = git("rev-parse", "main^{tree}").strip()
                other = git("commit-tree", tree, "-p", "main", "-m", "By hand").strip()
                git("update-ref", "refs/heads/main", other)

    with pytest.raises(Unavailable, match="could not be moved"):
        record_while_somebody_moves()
    assert git("log", "-1", "--format=%s", "main") == "By hand\n"
    take(export_text("2"), "2026-03-02")
    assert vault.index.count(LIFT) == 2
