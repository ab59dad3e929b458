"""Copies of a vault at the command line. Exports and the family hazel are invented."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import Outcome
from tests.sweeps import part_of
from vault.jobs.verify.verify import verify
from vault.store.vault import Vault
from webui.app import create_app

Cli = Callable[..., Outcome]
Take = Callable[..., Any]
Export = Callable[..., str]


@pytest.fixture
def copied(vault: Vault, take: Take, export_text: Export, cli: Cli) -> Cli:
    """Runs commands; the vault has a copy in `laptop`."""
    take(export_text("1"), "2026-03-01")
    done = cli("create", "laptop", "--copy", "plant")
    assert (done.code, done.stdout.splitlines()[0]) == (
        0,
        "Copied the vault of Tile works (invented) to laptop, with 1 snapshot.",
    )
    return cli


def ingest(cli: Cli, folder: Path, text: str, day: int, vault: str, axis: str = "m1/lift") -> None:
    (folder / "next.csv").write_text(text)
    at = f"2026-03-0{day}T08:00Z"
    done = cli("--vault", vault, "ingest", "next.csv", "--to", axis, "--taken-at", at)
    assert done.code == 0, done.stderr


def test_a_round_between_two_copies(copied: Cli, tmp_path: Path, export_text: Export) -> None:
    ingest(copied, tmp_path, export_text("2"), 2, "plant")
    ingest(copied, tmp_path, export_text("3"), 3, "laptop")
    took = copied("sync", "take", "laptop")
    lines = took.stdout.splitlines()
    assert (took.code, lines[:2]) == (
        0,
        ["Took 1 snapshot of 1 axis and 0 records from laptop.", "  m1/lift"],
    )
    assert lines[3] == "laptop gets it by: axisvault sync give laptop"
    gave = copied("sync", "give", "laptop")
    assert (gave.code, gave.stdout.startswith("laptop has everything now, up to ")) == (0, True)
    assert copied("sync", "take", "laptop").stdout == "laptop has nothing that is not here.\n"
    assert copied("sync", "give", "laptop").stdout == "laptop has everything already.\n"
    told = copied("sync", "list").stdout.splitlines()
    assert [line[18:].partition(", by ")[0] for line in told] == [
        "Sync: 1 snapshot of 1 axis taken from laptop",
        "Sync: everything given to laptop",
    ]
    for vault in ("plant", "laptop"):
        assert copied("--vault", vault, "verify").code == 0


def test_what_has_to_be_decided_is_refused_with_what_to_do(copied: Cli, tmp_path: Path) -> None:
    for vault in ("plant", "laptop"):
        (tmp_path / "axis.yaml").write_text(f"schema: axisvault/axis/1\ntitle: {vault}\n")
        copied("--vault", vault, "axis", "set", "m1/lift", "axis.yaml")
    refused = copied("sync", "take", "laptop", "--json")
    assert refused.code == 3
    assert "machines/m1/lift/axis.yaml" in refused.json["error"]["message"]
    assert "--keep here" in refused.json["error"]["hint"]
    took = copied("sync", "take", "laptop", "--keep", "there", "--json").json
    assert took["kept"] == [{"file": "machines/m1/lift/axis.yaml", "side": "there"}]
    assert "title: laptop" in copied("axis", "show", "m1/lift").stdout


def test_nothing_is_made_where_the_other_one_cannot_be_had(cli: Cli, tmp_path: Path) -> None:
    (tmp_path / "half.bundle").write_bytes(b"# v2 git bundle\n")
    for other, code in (("nowhere", 2), ("half.bundle", 4), ("git://127.0.0.1:1/plant", 6)):
        assert cli("create", "copy", "--copy", other).code == code
        assert not (tmp_path / "copy").exists()
    assert [path.name for path in tmp_path.iterdir()] == ["half.bundle"]
    assert cli("create", "copy").code == 2
    assert cli("create", "copy", "--site", "A", "--copy", "half.bundle").code == 2


def test_a_bundle_of_something_else_is_no_vault(cli: Cli, git: Any, tmp_path: Path) -> None:
    git("init", "-q", "--bare", "--initial-branch=main", str(tmp_path / "other"))
    other = tmp_path / "other"
    tree = git("mktree", where=other, stdin=b"").strip()
    commit = git("commit-tree", tree, "-m", "x", where=other).strip()
    git("update-ref", "refs/heads/main", commit, where=other)
    done = cli("create", "copy", "--copy", "other")
    assert (done.code, "no vault" in done.stderr) == (4, True)
    assert not (tmp_path / "copy").exists()


def test_killed_at_any_moment_the_vault_is_whole(
    copied: Cli, vault: Vault, tmp_path: Path, export_text: Export, clean: dict[str, str]
) -> None:
    """`sync take` in a process of its own, killed later and later, until one gets through."""
    for number in range(12):
        ingest(copied, tmp_path, export_text(str(number)), 2, "laptop", f"m2/axis-{number}")
    ingest(copied, tmp_path, export_text("9"), 3, "plant")
    vault.refresh()
    before = vault.tip
    for step in range(200):
        process = subprocess.Popen(
            [sys.executable, "-m", "vault", "sync", "take", "laptop"],
            env=clean, cwd=tmp_path, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
        )  # fmt: skip
        time.sleep(0.1 + 12 / part_of(200) * step)
        if process.poll() is not None:
            break
        os.kill(process.pid, signal.SIGKILL)
        process.wait()
        with Vault.open(vault.repository.path) as again:
            assert verify(again).problems == []
            if again.tip != before:
                break
    assert copied("sync", "take", "laptop").code == 0
    with Vault.open(vault.repository.path) as again:
        assert verify(again).problems == []
        assert again.index.count() == 14


def test_the_page_of_the_vault_tells_of_syncs(
    copied: Cli, vault: Vault, tmp_path: Path, export_text: Export
) -> None:
    client = create_app(vault.repository.path, is_local=True).test_client()
    assert "was never in step with another copy" in client.get("/health").text
    ingest(copied, tmp_path, export_text("3"), 3, "laptop")
    copied("sync", "take", "laptop")
    assert "1 snapshot of 1 axis taken from laptop" in client.get("/health").text
    (event,) = client.get("/api/v1/health").json["sync"]
    assert (event["what"], event["partner"], event["snapshots"]) == ("took", "laptop", 1)
    assert event == copied("sync", "list", "--json").json["events"][0]
