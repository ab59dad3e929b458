"""Whoever changes the past is found out, and the first snapshot that cannot be trusted is named.

The forger knows git: everything here is done with git's own commands, or with our own program on a
vault of his own.
"""

from __future__ import annotations

import json
import random
import shutil
import zlib
from collections.abc import Callable
from datetime import datetime, timedelta, tzinfo
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Outcome, every_snapshot
from tests.sweeps import part_of
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.visit import parse_visit
from vault.jobs.records.edit import add_family
from vault.jobs.verify.outcome import Verified
from vault.jobs.verify.verify import verify
from vault.model.names import Address
from vault.store import clock
from vault.store.git.object_check import checking_objects
from vault.store.proof.witness import FILE
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
Git = Callable[..., str]
Take = Callable[..., Any]
Export = Callable[..., str]
LIFT = "machines/m1/lift"


@pytest.fixture
def filled(vault: Vault, take: Take, export_text: Export) -> Vault:
    """Four snapshots of the lift, taken in in their order, and one of the belt."""
    for day in (1, 2, 3, 4):
        take(export_text(str(day)), f"2026-03-0{day}T08:00:00+00:00", name=f"{day}.csv")
    take(export_text("7", settings=900), "2026-03-05T08:00:00+00:00", to="m1/belt")
    return vault


def again(vault: Vault, against: Path | None = None) -> Verified:
    """Verify as another process would."""
    with Vault.open(vault.repository.path) as opened:
        return verify(opened, against=against)


def kinds(outcome: Verified) -> set[str]:
    return {problem.kind for problem in outcome.problems}


def ids(vault: Vault) -> list[str]:
    """Snapshots of the lift, oldest first."""
    return [s.id for s in every_snapshot(vault) if s.address == Address("m1", "lift")]


def forge(git: Git, vault: Vault, commits: list[str], change: Callable[[str], None]) -> str:
    """Write commits anew on the parent of the first; `change` alters the index of the first."""
    parent = git("rev-parse", f"{commits[0]}^").strip()
    for number, commit in enumerate(commits):
        if number == 0:
            git("read-tree", commit)
            change(commit)
            tree = git("write-tree").strip()
        else:
            tree = git("rev-parse", f"{commit}^{{tree}}").strip()
        head, message = git("cat-file", "commit", commit).split("\n\n", 1)
        kept = [ln for ln in head.split("\n") if not ln.startswith(("tree ", "parent "))]
        text = "\n".join([f"tree {tree}", f"parent {parent}", *kept]) + "\n\n" + message
        parent = git("hash-object", "-t", "commit", "-w", "--stdin", stdin=text.encode()).strip()
    git("update-ref", "refs/heads/main", parent)
    return parent


def put(git: Git, path: str, content: bytes) -> None:
    blob = git("hash-object", "-w", "--stdin", stdin=content).strip()
    git("update-index", "--add", "--cacheinfo", f"100644,{blob},{path}")


def since(git: Git, commit: str) -> list[str]:
    """A commit and all that were made on it."""
    return git("rev-list", "--reverse", f"{commit}^..main").split()


@pytest.mark.parametrize(
    ("path", "old", "new", "kind"),
    [
        (f"{LIFT}/export/2.csv", b"Profile velocity;100", b"Profile velocity;999", "export"),
        (f"{LIFT}/parameters.yaml", b"value: 2,", b"value: 9,", "parameters"),
        ("families/hazel.yaml", b"scale: 0.01", b"scale: 0.001", "family"),
        (f"{LIFT}/snapshot.yaml", b"Mira Okafor", b"Pavo Drost", "message"),
        (f"{LIFT}/snapshot.yaml", b"2026-03-02", b"2026-03-01", "message"),
    ],
    ids=["export", "parameters", "dictionary", "person", "back-dated"],
)  # fmt: skip
def test_one_file_that_was_forged_in_the_past_is_named(
    path: str, old: bytes, new: bytes, kind: str, filled: Vault, git: Git
) -> None:
    second = ids(filled)[1]

    def change(commit: str) -> None:
        content = filled.read(path, commit) or b""
        assert old in content
        put(git, path, content.replace(old, new, 1))

    forge(git, filled, since(git, second), change)
    outcome = again(filled)
    assert {kind, "witness"} <= kinds(outcome)
    first = outcome.first_untrusted
    assert first is not None
    assert (first.snapshot, first.axis) == (second, "m1/lift")
    assert first.taken_at is not None
    assert first.taken_at.startswith("2026-03-02")


def test_a_snapshot_that_was_taken_out_is_named(filled: Vault, git: Git) -> None:
    second, third = ids(filled)[1:3]
    rest = since(git, third)
    git("update-ref", "refs/heads/main", git("rev-parse", f"{second}^").strip())
    parent = git("rev-parse", "main").strip()
    for commit in rest:
        tree = git("rev-parse", f"{commit}^{{tree}}").strip()
        parent = git("commit-tree", tree, "-p", parent, "-m", "moved up").strip()
    git("update-ref", "refs/heads/main", parent)
    outcome = again(filled)
    assert {"chain", "witness"} <= kinds(outcome)
    assert outcome.first_untrusted is not None
    assert outcome.first_untrusted.snapshot == second


def test_snapshots_in_another_order_are_named(filled: Vault, git: Git) -> None:
    second, third, fourth = ids(filled)[1:]
    parent = git("rev-parse", f"{second}^").strip()
    for commit in (third, second, fourth):
        tree = git("rev-parse", f"{commit}^{{tree}}").strip()
        head, message = git("cat-file", "commit", commit).split("\n\n", 1)
        kept = [ln for ln in head.split("\n") if not ln.startswith(("tree ", "parent "))]
        text = "\n".join([f"tree {tree}", f"parent {parent}", *kept]) + "\n\n" + message
        parent = git("hash-object", "-t", "commit", "-w", "--stdin", stdin=text.encode()).strip()
    git("update-ref", "refs/heads/main", parent)
    assert {"chain", "witness"} <= kinds(again(filled))


def test_a_history_that_our_own_program_wrote_anew_is_known_to_the_witness_alone(
    filled: Vault, family_text: str, export_text: Export, git: Git, tmp_path: Path
) -> None:
    """Everything in it fits together; it is only not what was."""
    (tmp_path / "hazel.yaml").write_text(family_text)
    with Vault.create(tmp_path / "forged", "Tile works (invented)", BY) as forged:
        add_family(forged, tmp_path / "hazel.yaml", BY)
        for day, lag in enumerate("1934", 1):
            (tmp_path / f"{day}.csv").write_text(export_text(lag))
            who = parse_visit(BY, taken_at=f"2026-03-0{day}T08:00:00+00:00")
            ingest(forged, tmp_path / f"{day}.csv", Address("m1", "lift"), who)
        assert verify(forged).ok
    second = ids(filled)[1]
    git("fetch", "--quiet", str(tmp_path / "forged"), "+main:refs/heads/main")
    outcome = again(filled)
    assert kinds(outcome) - {"index"} == {"witness"}
    assert outcome.first_untrusted is not None
    said = outcome.first_untrusted
    assert said.axis == "m1/lift"
    assert "the history was rewritten or cut short" in said.why
    assert second not in git("rev-list", "main")


def test_a_witness_that_was_changed_is_named_with_its_line(filled: Vault) -> None:
    path = filled.repository.path / FILE
    lines = path.read_bytes().splitlines(keepends=True)
    third = json.loads(lines[2])
    third["tip"] = "0" * 40
    forged = json.dumps(third, separators=(",", ":")).encode() + b"\n"
    path.write_bytes(b"".join([*lines[:2], forged, *lines[3:]]))
    details = " ".join(p.details for p in again(filled).problems if p.kind == "witness")
    assert "line 4 is not as it was written" in details  # names a line that is another one now


def test_a_witness_that_was_deleted_or_exchanged_is_named(filled: Vault, tmp_path: Path) -> None:
    path = filled.repository.path / FILE
    kept = path.read_bytes()
    path.unlink()
    assert "the witness is gone" in again(filled).problems[0].details
    with Vault.create(tmp_path / "other", "Works", BY) as other:
        path.write_bytes((other.repository.path / FILE).read_bytes())
    details = [p.details for p in again(filled).problems]
    assert "this is the witness of another vault" in details
    path.write_bytes(kept)
    assert again(filled).ok


def test_a_witness_that_was_cut_short_shows_against_a_copy(
    filled: Vault, git: Git, tmp_path: Path
) -> None:
    """The forger cuts history and witness alike; the auditor's stick has both."""
    path = filled.repository.path / FILE
    stick = tmp_path / "stick.jsonl"
    stick.write_bytes(path.read_bytes())
    assert again(filled, stick).ok
    lines = path.read_bytes().splitlines(keepends=True)
    git("update-ref", "refs/heads/main", json.loads(lines[-3])["tip"])
    path.write_bytes(b"".join(lines[:-2]))
    assert kinds(again(filled)) <= {"index"}
    outcome = again(filled, stick)
    details = " ".join(p.details for p in outcome.problems)
    assert f"the vault's witness ends at line {len(lines) - 2}; the copy goes on" in details
    assert outcome.first_untrusted is not None
    assert outcome.first_untrusted.axis == "m1/lift"


def test_a_tip_on_paper_is_enough_to_tell(
    filled: Vault, git: Git, tmp_path: Path, cli: Callable[..., Outcome]
) -> None:
    paper = tmp_path / "paper.txt"
    paper.write_text(f"Tip of 2026-03-06: {filled.tip}\n")
    assert again(filled, paper).ok
    git("update-ref", "refs/heads/main", "main~2")
    shutil.rmtree(filled.repository.path / "axisvault")
    done = cli("verify", "--against", "paper.txt", "--json")
    assert done.code == 5
    assert done.json["first_untrusted"]["axis"] == "m1/lift"
    paper.write_text("nothing of use")
    assert cli("verify", "--against", "paper.txt").code == 4


def test_what_is_no_tampering_is_no_alarm(
    filled: Vault, git: Git, take: Take, export_text: Export, tmp_path: Path
) -> None:
    stick = tmp_path / "stick.jsonl"
    stick.write_bytes((filled.repository.path / FILE).read_bytes())
    git("repack", "-adfq")
    git("gc", "--quiet", "--prune=now")
    assert again(filled, stick).ok
    shutil.rmtree(tmp_path / "copy", ignore_errors=True)
    git("clone", "--bare", "--quiet", str(tmp_path / "plant"), str(tmp_path / "copy"))
    with Vault.open(tmp_path / "copy") as copy:
        assert verify(copy, against=stick).ok
    filled.index.close()
    for path in (filled.repository.path / "axisvault").glob("index*"):
        path.unlink()
    assert again(filled, stick).ok


def test_a_clock_that_was_set_back_is_no_alarm(
    filled: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    class Slow(datetime):
        @classmethod
        def now(cls, tz: tzinfo | None = None) -> Slow:
            early = datetime.now(tz) - timedelta(hours=1)
            return cls.fromtimestamp(early.timestamp(), tz)

    with monkeypatch.context() as patch:
        patch.setattr(clock, "datetime", Slow)
        take(export_text("5"), "2026-03-06T08:00:00+00:00", name="5.csv")
    assert again(filled).ok


def test_flipped_bits_in_object_files_are_found(filled: Vault, unpack: Callable[[], None]) -> None:
    """Git names an object by the hash of its content: what reads otherwise has another name."""
    unpack()
    files = sorted(path for path in (filled.repository.path / "objects").glob("??/*"))
    assert len(files) > 30
    draw = random.Random(20260301)
    missed = []
    for _ in range(part_of(1000)):
        path = draw.choice(files)
        content = bytearray(path.read_bytes())
        place = draw.randrange(len(content) * 8)
        content[place // 8] ^= 1 << place % 8
        kept = path.read_bytes()
        path.chmod(0o644)
        path.write_bytes(content)
        with checking_objects(filled.repository) as found:
            is_found = found() is not None
        if not is_found:
            # The last byte of packed data has bits that mean nothing (RFC 1951): the same object.
            assert zlib.decompress(bytes(content)) == zlib.decompress(kept)
            missed.append((path.name, place))
        path.write_bytes(kept)
    assert len(missed) < part_of(20)


@pytest.mark.parametrize("seed", range(5))
def test_a_flipped_bit_is_named_with_the_object(
    seed: int, filled: Vault, unpack: Callable[[], None]
) -> None:
    unpack()
    files = sorted((filled.repository.path / "objects").glob("??/*"))
    draw = random.Random(seed)
    path = draw.choice(files)
    content = bytearray(path.read_bytes())
    content[draw.randrange(2, len(content))] ^= 0x10
    path.chmod(0o644)
    path.write_bytes(content)
    outcome = verify(filled)
    assert not outcome.ok
    told = " ".join(p.where + p.details for p in outcome.problems)
    assert path.parent.name + path.name[:8] in told
