"""The short form of the campaign: fifty kills, and that it would notice a loss."""

from __future__ import annotations

import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import ROOT
from tests.kills.campaign import problems_of
from tests.kills.full_disk import can_mount
from tests.sweeps import part_of
from vault.model.names import Address
from vault.store.vault import Vault


def test_nothing_is_lost_and_verify_finds_nothing(clean: dict[str, str], tmp_path: Path) -> None:
    kills = part_of(50)
    # In a process of its own: it forks, and threads of other tests must not be in the way.
    done = subprocess.run(
        [sys.executable, "-m", "tests.kills", "--count", str(kills)],
        env={**clean, "TMPDIR": str(tmp_path)}, cwd=ROOT, capture_output=True, text=True,
        check=False, timeout=600,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert f"{kills} killed" in done.stdout


@pytest.mark.skipif(not can_mount(), reason="a small file system cannot be mounted here")
def test_a_full_disk_loses_nothing_and_leaves_nothing_behind(
    clean: dict[str, str], tmp_path: Path
) -> None:
    done = subprocess.run(
        [sys.executable, "-m", "tests.kills", "--full-disk", "6"],
        env={**clean, "TMPDIR": str(tmp_path)}, cwd=ROOT, capture_output=True, text=True,
        check=False, timeout=600,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr


def test_approving_many_that_is_killed_leaves_whole_approvals_only(
    vault: Vault,
    take: Callable[..., Any],
    export_text: Callable[..., str],
    clean: dict[str, str],
    tmp_path: Path,
) -> None:
    axes = [f"m1/axis-{number}" for number in range(12)]
    for axis in axes:
        take(export_text(serial=axis), to=axis)
    command = [sys.executable, "-m", "vault", "golden", "approve", "m1/*", "--reason", "kills"]
    approved = 0
    for tenth in range(1, 40):
        begun = subprocess.Popen(
            command, env=clean, cwd=tmp_path, stdout=subprocess.PIPE, stderr=subprocess.PIPE,
            start_new_session=True,
        )  # fmt: skip
        try:
            begun.communicate(timeout=tenth / 10)
        except subprocess.TimeoutExpired:
            os.killpg(begun.pid, signal.SIGKILL)
            begun.communicate()
        assert list(problems_of(vault.repository.path, set())) == []
        vault.refresh()
        there = [vault.golden(Address.parse(axis)).approval is not None for axis in axes]
        approved = sum(there)
        assert approved in (0, len(axes)), "the branch moves once"
        if approved and begun.returncode == 0:
            break
    assert approved == len(axes)


def test_what_is_lost_or_bent_is_noticed(
    vault: Vault, take: Callable[..., Any], export_text: Callable[..., str]
) -> None:
    digest = take(export_text("1")).snapshot.record.export_sha256
    assert list(problems_of(vault.repository.path, {digest})) == []
    assert list(problems_of(vault.repository.path, {"f" * 64})) == [
        f"an export is lost: {'f' * 64}"
    ]
    shutil.rmtree(vault.repository.path / "axisvault")
    assert list(problems_of(vault.repository.path, {digest})) != []
