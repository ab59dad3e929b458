"""Files of a vault that a power cut left empty or full of garbage: told, and what to do about it.

What an empty file looks like after a crash is that of a file whose name was written and whose
content was not (common with delayed allocation; from memory).
"""

from __future__ import annotations

import os
import re
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Outcome
from vault.model.errors import Damaged
from vault.store.proof.witness import read_witness
from vault.store.vault import Vault
from webui.app import create_app

BY = "Mira Okafor <mira@tileworks.example>"
Cli = Callable[..., Outcome]
Take = Callable[..., Any]
Export = Callable[..., str]
Git = Callable[..., str]
BRANCH, HEAD = "refs/heads/main", "HEAD"
GARBAGE = (b"", b"\0" * 41, b"garbage\n", b"\xff\xfe\n")
READING = (
    ["axis", "list"], ["show", "m1/lift"], ["history", "m1/lift"], ["drift"], ["check", "m1/lift"],
    ["find", "lim/lag"], ["reindex"], ["sync", "list"], ["site", "show"],
)  # fmt: skip


@pytest.fixture
def closed(vault: Vault, take: Take, export_text: Export, tmp_path: Path) -> Path:
    """Folder of a vault with three snapshots, its branch in a file of its own."""
    for day in range(1, 4):
        take(export_text(str(day)), f"2026-03-0{day}")
    vault.close()
    assert (tmp_path / "plant" / BRANCH).is_file()
    return tmp_path / "plant"


@pytest.mark.parametrize("content", [*GARBAGE, None, b"1" * 40 + b"\n"])
@pytest.mark.parametrize("name", [BRANCH, HEAD])
def test_a_branch_that_says_nothing_is_damage_and_verify_says_what_to_restore(
    closed: Path, cli: Cli, name: str, content: bytes | None
) -> None:
    if content is None and name == HEAD:
        pytest.skip("without HEAD it is no git repository")
    tip = (closed / BRANCH).read_text().strip()
    good = {each: (closed / each).read_bytes() for each in (BRANCH, HEAD)}
    if content is None:
        (closed / name).unlink()
    else:
        (closed / name).write_bytes(content)
    if name == HEAD and content == b"1" * 40 + b"\n":
        return  # nobody goes by it
    for command in READING:
        done = cli(*command)
        assert done.code == 5, command
        assert "axisvault verify says what to restore from where" in done.stderr
        assert done.stderr.count("\n") == 1
        assert "Traceback" not in done.stderr
    told = cli("verify")
    assert told.code == 5
    assert f"The newest state that is whole here is {tip} of" in told.stdout
    assert "axisvault recover FILE NEW-FOLDER" in told.stdout
    said = cli("verify", "--json").json
    assert (said["ok"], said["problems"][0]["kind"]) == (False, "branch")
    # Doing what it says makes it whole.
    head, branch = re.findall(r"the line '([^']+)'", told.stdout)
    (closed / HEAD).write_text(f"{head}\n")
    (closed / BRANCH).write_text(f"{branch}\n")
    assert {each: (closed / each).read_bytes() for each in good} == good
    assert cli("reindex").code == 0
    assert cli("verify").code == 0


@pytest.mark.parametrize("content", [*GARBAGE[1:], b"0" * 39 + b"g refs/heads/main\n"])
def test_a_list_of_branches_that_is_garbage_is_damage_and_verify_says_what_to_do(
    closed: Path, cli: Cli, git: Git, content: bytes
) -> None:
    tip = (closed / BRANCH).read_text().strip()
    git("-C", str(closed), "pack-refs", "--all")
    assert not (closed / BRANCH).exists()
    (closed / "packed-refs").write_bytes(content)
    done = cli("axis", "list")
    assert done.code == 5
    assert f"{closed / 'packed-refs'}" in done.stderr
    told = cli("verify")
    assert told.code == 5
    assert f"move {closed / 'packed-refs'} out of the way" in told.stdout
    # Doing what it says makes it whole.
    (closed / "packed-refs").rename(closed.parent / "aside")
    (closed / BRANCH).write_text(f"{tip}\n")
    assert cli("reindex").code == 0
    assert cli("verify").code == 0


@pytest.mark.parametrize("content", GARBAGE)
def test_no_page_falls_over_such_a_branch(closed: Path, content: bytes) -> None:
    app = create_app(closed, is_local=True)
    client = app.test_client()
    assert client.get("/").status_code == 200
    good = (closed / BRANCH).read_bytes()
    (closed / BRANCH).write_bytes(content)
    for page in ("/", "/machine/m1", "/axis/m1/lift", "/health", "/api/v1/health"):
        answer = client.get(page)
        assert answer.status_code == 500, page
        assert "branch" in answer.text
        assert "went wrong in the viewer itself" not in answer.text
    (closed / BRANCH).write_bytes(good)
    assert client.get("/").status_code == 200  # and goes on by itself


@pytest.mark.parametrize("content", GARBAGE)
def test_a_witness_that_is_garbage_is_told_and_pages_stand(
    closed: Path, cli: Cli, content: bytes, tmp_path: Path, export_text: Export
) -> None:
    file = closed / "axisvault/witness.jsonl"
    good = file.read_bytes()
    (tmp_path / "kept.jsonl").write_bytes(good)
    file.write_bytes(content)
    for page in ("/", "/machine/m1", "/health", "/api/v1/health"):
        assert create_app(closed, is_local=True).test_client().get(page).status_code == 200, page
    assert "no witness of ours" in create_app(closed, is_local=True).test_client().get(
        "/health").text  # fmt: skip
    assert cli("axis", "list").code == 0
    told = cli("verify")
    assert told.code == 5
    assert "A witness that is whole comes from a copy" in told.stdout
    (tmp_path / "a.csv").write_text(export_text("9"))
    done = cli("ingest", "a.csv", "--to", "m1/lift", "--taken-at", "2026-03-09")
    assert done.code == 5
    assert "the change is recorded, but the witness is empty or garbage" in done.stderr
    assert file.read_bytes() == content  # what is left of it is not written over
    file.write_bytes((tmp_path / "kept.jsonl").read_bytes())
    assert cli("verify").code == 0
    with Vault.open(closed) as vault:
        found = read_witness(file)
        assert found is not None and len(found.lines) == len(good.splitlines())
        assert vault.index.count() == 4


def remove_object(folder: Path, name: str) -> None:
    path = folder / "objects" / name[:2] / name[2:]
    path.chmod(0o644)
    path.unlink()


@pytest.mark.parametrize("place", ["machines", "machines/m1", "machines/m1/lift", ""])
def test_a_tree_that_is_gone_is_damage_and_verify_says_what_to_restore(
    closed: Path, cli: Cli, git: Git, unpack: Callable[[], None], place: str
) -> None:
    before = git("rev-parse", "main~1").strip()
    unpack()
    remove_object(closed, git("rev-parse", f"main:{place}").strip())
    for command in (["axis", "list"], ["verify"], ["golden", "show", "m1/lift"], ["reindex"]):
        done = cli(*command)
        assert (done.code, "Traceback" in done.stderr) == (5, False), command
    told = cli("verify").stdout
    assert f"The newest state that is whole here is {before} of" in told
    assert "What was recorded after it is not whole here" in told
    assert "axisvault recover FILE NEW-FOLDER" in told
    client = create_app(closed, is_local=True).test_client()
    for page in ("/", "/machine/m1", "/health"):
        assert "went wrong in the viewer itself" not in client.get(page).text


def test_settings_that_lost_the_name_of_the_witness_are_told(
    closed: Path, cli: Cli, git: Git
) -> None:
    good = (closed / "config").read_text()
    (closed / "config").write_bytes(b"")  # as a power cut leaves it
    done = cli("verify")
    assert done.code == 0
    assert "do not name its witness" in done.stdout
    git(*re.findall(r"git --git-dir VAULT (config \S+ \w+)", done.stdout)[0].split())
    assert "do not name its witness" not in cli("verify").stdout
    assert good.split("witness =")[1] == (closed / "config").read_text().split("witness =")[1]


def test_settings_that_are_garbage_are_damage(closed: Path, cli: Cli) -> None:
    (closed / "config").write_bytes(b"\0" * 100)
    assert cli("axis", "list").code == 5
    assert "axisvault recover FILE NEW-FOLDER" in cli("verify").stdout


def test_a_repository_that_never_was_a_vault_is_called_so(
    cli: Cli, tmp_path: Path, git: Git
) -> None:
    git("init", "--quiet", "--bare", str(tmp_path / "plant"))
    done = cli("axis", "list")
    assert (done.code, "but no vault" in done.stderr) == (2, True)


def test_temporary_packs_that_were_left_go_with_the_next_writing(
    closed: Path, cli: Cli, tmp_path: Path, export_text: Export
) -> None:
    old = time.time() - 3 * 24 * 3600
    left = [
        closed / "objects/pack" / name
        for name in ("tmp_pack_a1b2c3", "tmp_idx_a1b2c3", ".tmp-77-pack-aa.pack")
    ]
    left.append(closed / "fast_import_crash_77")
    for file in left:
        file.write_bytes(b"left by a process that was killed")
        os.utime(file, (old, old))
    being_written = closed / "objects/pack/tmp_pack_now"
    being_written.write_bytes(b"somebody writes this")
    (tmp_path / "a.csv").write_text(export_text("9"))
    assert cli("ingest", "a.csv", "--to", "m1/lift", "--taken-at", "2026-03-09").code == 0
    assert not [file for file in left if file.exists()]
    assert being_written.exists()


def test_opening_says_damage_and_not_wrong_usage(closed: Path) -> None:
    (closed / BRANCH).write_bytes(b"")
    with pytest.raises(Damaged):
        Vault.open(closed)
