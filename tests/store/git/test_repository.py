"""The vault's git repository, seen by the git program itself (source: git's own documentation)."""

from __future__ import annotations

import os
import random
import subprocess
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from vault.model.errors import Damaged, Unavailable, WrongUsage
from vault.store.git.repository import BRANCH, Repository, commit_text
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
Git = Callable[..., str]


def write(vault: Vault, files: dict[str, bytes]) -> str:
    with vault.writing():
        return vault.write_files(files, "Some files\n", BY)


def test_a_new_vault_is_a_bare_repository_with_one_branch(vault: Vault, git: Git) -> None:
    assert git("rev-parse", "--is-bare-repository") == "true\n"
    assert git("for-each-ref", "--format=%(refname)") == "refs/heads/main\n"
    assert git("symbolic-ref", "HEAD") == "refs/heads/main\n"
    assert git("fsck", "--strict") == ""


def test_a_plain_clone_shows_the_files(vault: Vault, tmp_path: Path) -> None:
    write(vault, {"machines/m1/machine.yaml": b"title: Glaze line\n"})
    subprocess.run(
        ["git", "clone", "-q", tmp_path / "plant", tmp_path / "copy"], check=True, timeout=60
    )
    assert (tmp_path / "copy/machines/m1/machine.yaml").read_bytes() == b"title: Glaze line\n"


@pytest.mark.parametrize("name", ["ö ü.csv", 'a"b.csv', "back\\slash.csv", "two  blanks.csv"])
def test_git_shows_a_file_of_any_name_as_it_was_written(vault: Vault, git: Git, name: str) -> None:
    content = b"\x00\xff\r\nno line end"
    commit = write(vault, {f"export/{name}": content})
    assert vault.read(f"export/{name}") == content
    listed = git("ls-tree", "-r", "-z", "--name-only", "main").split("\0")
    assert f"export/{name}" in listed
    assert [e.path for e in vault.repository.list(commit, "export")] == [f"export/{name}"]


def test_what_is_not_there_is_none(vault: Vault) -> None:
    repository = vault.repository
    assert repository.read(BRANCH, "no such file") is None
    assert repository.blob("0123456789012345678901234567890123456789") is None
    assert repository.resolve("no/such branch") is None
    assert repository.list(BRANCH, "no such folder") == []
    assert repository.read(BRANCH, "families") is None, "a folder is no file"


def test_what_is_read_ahead_is_what_is_read(vault: Vault) -> None:
    first = write(vault, {"machines/m1/a.txt": b"old", "machines/m1/b.txt": b"same"})
    last = write(vault, {"machines/m1/a.txt": b"new", "machines/m1/c.txt": b"same"})
    paths = [f"machines/m1/{name}.txt" for name in "abcd"]
    pairs = [(commit, path) for commit in (first, last) for path in paths]
    with vault.repository.reading_ahead([f"{commit}:{path}" for commit, path in pairs]):
        for _ in range(2):
            found = [vault.repository.read(*pair) for pair in pairs]
            assert found == [b"old", b"same", None, None, b"new", b"same", b"same", None]
    with vault.repository.reading_ahead([f"{last}:{paths[3]}", f"{last}:machines/m1"]):
        assert vault.read(paths[3]) is None


def test_what_was_read_ahead_and_not_read_goes_with_the_block(
    vault: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    name = f"{write(vault, {'a.txt': b'a'})}:a.txt"
    asked: list[str] = []
    git, one = vault.repository.git, vault.repository.git.object
    monkeypatch.setattr(git, "object", lambda name: asked.append(name) or one(name))
    for _ in range(2):
        with vault.repository.reading_ahead([name]):
            pass
    assert (vault.repository.blob(name), asked) == (b"a", [name])


def test_a_commit_says_who_when_and_what(vault: Vault, git: Git) -> None:
    commit = write(vault, {"a": b"1"})
    header = vault.repository.commit_header(commit)
    assert header.author == BY
    assert header.message == "Some files\n"
    assert header.parents == (git("rev-parse", f"{commit}^").strip(),)
    assert header.authored == git("log", "-1", "--date=raw", "--format=%ad", commit).strip()


def test_a_commit_that_is_none_is_damage(vault: Vault) -> None:
    with pytest.raises(Damaged, match="cannot be read"):
        vault.repository.commit_header("0123456789012345678901234567890123456789")


def test_the_branch_moves_only_from_where_it_was(vault: Vault, git: Git) -> None:
    first = vault.tip
    second = write(vault, {"a": b"1"})
    with vault.repository.start_writing() as writer:
        other = writer.commit(commit_text("Other\n", BY), {"b": b"2"}, parent=first)
    with pytest.raises(Unavailable, match="could not be moved"):
        vault.repository.advance(first, other)
    assert git("rev-parse", "main").strip() == second


def test_a_write_that_fails_moves_nothing(vault: Vault, git: Git) -> None:
    before = git("rev-parse", "main")

    def half_way() -> None:
        with vault.repository.start_writing() as writer:
            writer.commit(commit_text("Half\n", BY), {"a": b"1"}, parent=vault.tip)
            raise RuntimeError("the caller gave up")

    with pytest.raises(RuntimeError):
        half_way()
    assert git("rev-parse", "main") == before
    assert git("fsck", "--strict", "--no-dangling") == ""
    write(vault, {"a": b"2"})
    assert git("show", "main:a") == "2"


@pytest.mark.parametrize("damage", [lambda old: b"", lambda old: b"junk", lambda old: old[:50_000]])
def test_git_can_be_asked_again_after_one_object_is_damaged(
    vault: Vault, tmp_path: Path, unpack: Callable[[], None], damage: Callable[[bytes], bytes]
) -> None:
    write(vault, {"good": b"good", "bad": random.Random(3).randbytes(100_000)})
    blob = vault.repository.resolve(f"{BRANCH}:bad")
    assert blob is not None
    unpack()
    path = tmp_path / "plant/objects" / blob[:2] / blob[2:]
    path.chmod(0o644)
    path.write_bytes(damage(path.read_bytes()))
    vault.repository.close()
    with pytest.raises(Damaged, match="git cannot read this"):
        vault.read("bad")
    assert vault.read("good") == b"good"
    assert vault.repository.commit_header(vault.tip).author == BY


@pytest.mark.parametrize("damaged", ["machines", "machines/m1", "machines/m1/machine.yaml"])
def test_what_lies_in_a_damaged_folder_is_not_called_absent(
    vault: Vault, tmp_path: Path, unpack: Callable[[], None], damaged: str
) -> None:
    write(vault, {"machines/m1/machine.yaml": b"title: Glaze line\n"})
    found = vault.repository.resolve(f"{BRANCH}:{damaged}")
    assert found is not None
    unpack()
    (tmp_path / "plant/objects" / found[:2] / found[2:]).unlink()
    vault.repository.close()
    with pytest.raises(Damaged, match="git cannot read this"):
        vault.read("machines/m1/machine.yaml")
    assert vault.read("machines-of-old.yaml") is None


def test_the_folder_above_all_lists_names_as_git_does(vault: Vault, git: Git) -> None:
    write(vault, {"a": b"1", "b/c": b"2"})
    listed = git("ls-tree", "-z", "--name-only", "main").split("\0")[:-1]
    assert [entry.path for entry in vault.repository.list(vault.tip, "")] == listed


@pytest.mark.parametrize(
    "name",
    ["HEAD.lock", "packed-refs.lock", "refs/heads/main.lock", "refs/axisvault/incoming.lock"],
)
def test_a_lock_left_by_a_power_cut_is_put_away(
    vault: Vault, tmp_path: Path, git: Git, name: str
) -> None:
    lock = tmp_path / "plant" / name
    lock.parent.mkdir(exist_ok=True)
    lock.touch()
    an_hour_ago = time.time() - 3600
    os.utime(lock, (an_hour_ago, an_hour_ago))
    commit = write(vault, {"a": b"1"})
    assert git("rev-parse", "main").strip() == commit
    assert not lock.exists()


@pytest.mark.parametrize("goes", [True, False], ids=["that goes on", "that was killed too"])
def test_the_git_of_somebody_who_was_just_killed_is_waited_for(
    vault: Vault, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, goes: bool
) -> None:
    """It took the lock after the others were looked for, and lets it go, or does not."""
    lock, sleeps = tmp_path / "plant/HEAD.lock", []

    def sleep(seconds: float) -> None:
        sleeps.append(seconds)
        if goes and len(sleeps) == 2:
            lock.unlink()

    monkeypatch.setattr("vault.store.git.repository.sleep", sleep)
    first = vault.tip
    commit = write(vault, {"a": b"1"})
    vault.repository.advance(commit, first)
    lock.touch()
    vault.repository.advance(first, commit)
    assert vault.repository.tip() == commit
    assert len(sleeps) == 2 if goes else sum(sleeps) == pytest.approx(3)


HOSTILE = """
[log]
\tshowRoot = false
\tfollow = true
\tshowSignature = true
\tdate = relative
\tdecorate = full
\tdiffMerges = on
[core]
\tquotePath = true
\tabbrev = 4
\tlogAllRefUpdates = always
[color]
\tui = always
\tdiff = always
[diff]
\trenames = copies
\texternal = false
\tnoprefix = true
\trelative = true
\torderFile = /dev/null
[fetch]
\tfsckObjects = true
[i18n]
\tlogOutputEncoding = UTF-16
\tcommitEncoding = latin1
[commit]
\tgpgSign = true
[format]
\tpretty = oneline
[init]
\tdefaultBranch = trunk
\ttemplateDir = /nonexistent
[safe]
\tbareRepository = explicit
"""


def test_the_settings_of_a_user_do_not_disturb(
    tmp_path: Path, family_text: str, cli: Any, export_text: Any
) -> None:
    (tmp_path / ".gitconfig").write_text(HOSTILE)
    (tmp_path / "hazel.yaml").write_text(family_text)
    assert cli("create", "plant", "--site", "Works").code == 0
    assert cli("family", "add", "hazel.yaml").code == 0
    for day, lag in (("03", "2,5"), ("01", "1"), ("02", "2")):  # with late entries
        (tmp_path / "ö lift.csv").write_text(export_text(lag))
        done = cli("ingest", "ö lift.csv", "--to", "m1/lift", "--taken-at", f"2026-03-{day}")
        assert done.code == 0, done.stderr
    (tmp_path / "plant/axisvault/index.sqlite").unlink()
    seen = cli("history", "m1/lift", "--json").json["snapshots"]
    assert [entry["taken_at"][:10] for entry in seen] == ["2026-03-01", "2026-03-02", "2026-03-03"]
    verified = cli("verify")
    assert (verified.code, verified.stderr) == (0, ""), verified.stdout


LEAKS = {
    "GIT_DIR": "/nonexistent",
    "GIT_INDEX_FILE": "/nonexistent/index",
    "GIT_WORK_TREE": "/nonexistent",
    "GIT_OBJECT_DIRECTORY": "/nonexistent",
    "GIT_ALTERNATE_OBJECT_DIRECTORIES": "/nonexistent",
    "GIT_COMMON_DIR": "/nonexistent",
    "GIT_NAMESPACE": "elsewhere",
    "GIT_QUARANTINE_PATH": "/nonexistent",
    "GIT_DEFAULT_HASH": "sha256",
    "GIT_LITERAL_PATHSPECS": "1",
    "GIT_SHALLOW_FILE": "/nonexistent",
    "GIT_CONFIG_PARAMETERS": "'log.showroot=false'",
    "GIT_CONFIG_COUNT": "1",
    "GIT_CONFIG_KEY_0": "core.bare",
    "GIT_CONFIG_VALUE_0": "false",
    "GIT_TRACE": "1",
    "GIT_EXTERNAL_DIFF": "false",
    "GIT_AUTHOR_DATE": "nonsense",
    "GIT_COMMITTER_NAME": "",
}


def test_a_call_from_within_a_git_hook_reaches_our_vault(
    tmp_path: Path, family_text: str, cli: Any, git: Git, export_text: Any
) -> None:
    (tmp_path / "hazel.yaml").write_text(family_text)
    for day in ("02", "01"):
        (tmp_path / f"{day}.csv").write_text(export_text(day))
    for arguments in (
        ("create", "plant", "--site", "Works"),
        ("family", "add", "hazel.yaml"),
        ("ingest", "02.csv", "--to", "m1/lift", "--taken-at", "2026-03-02"),
        ("ingest", "01.csv", "--to", "m1/lift", "--taken-at", "2026-03-01"),
        ("verify",),
        ("reindex",),
    ):
        done = cli(*arguments, environment=LEAKS)
        assert (done.code, done.stderr) == (0, ""), done.stdout
    assert git("fsck", "--strict", "--no-dangling") == ""
    assert git("rev-list", "--count", "main") == "5\n"


def test_a_taken_place_gets_no_vault(tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    (tmp_path / "there/file").touch()
    with pytest.raises(WrongUsage, match="not empty"):
        Vault.create(tmp_path / "there", "Works", BY)
    assert [path.name for path in tmp_path.iterdir()] == ["there"], (
        "nothing half-made is left behind"
    )


def test_an_empty_folder_may_become_a_vault(tmp_path: Path) -> None:
    (tmp_path / "there").mkdir()
    with Vault.create(tmp_path / "there", "Works", BY) as made:
        assert made.site == "Works"


def test_a_folder_that_is_no_vault_is_said_to_be_none(tmp_path: Path) -> None:
    with pytest.raises(WrongUsage, match="is no vault"):
        Repository.open(tmp_path)
    with pytest.raises(WrongUsage, match="there is no vault"):
        Repository.open(tmp_path / "nowhere")
    with pytest.raises(WrongUsage, match="there is no vault"):
        Repository.open(tmp_path / ("long" * 100))


def test_another_git_repository_is_no_vault(tmp_path: Path) -> None:
    subprocess.run(["git", "init", "-q", "--bare", tmp_path / "other"], check=True, timeout=60)
    with pytest.raises(WrongUsage, match="but no vault"):
        Repository.open(tmp_path / "other")
