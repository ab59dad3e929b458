"""The short form of the campaign: fifty kills, and that it would notice a loss."""

from __future__ import annotations

import shutil
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any

from tests.conftest import ROOT
from tests.kills.campaign import _problems
from vault.store.vault import Vault


def test_nothing_is_lost_and_verify_finds_nothing(clean: dict[str, str], tmp_path: Path) -> None:
    # In a process of its own: it forks, and threads of other tests must not be in the way.
    done = subprocess.run(
        [sys.executable, "-m", "tests.kills", "--count", "50"],
        env={**clean, "TMPDIR": str(tmp_path)}, cwd=ROOT, capture_output=True, text=True,
        check=False, timeout=600,
    )  # fmt: skip
    assert done.returncode == 0, done.stdout + done.stderr
    assert "50 kills" in done.stdout


def test_what_is_lost_or_bent_is_noticed(
    vault: Vault, take: Callable[..., Any], export_text: Callable[..., str]
) -> None:
    digest = take(export_text("1")).snapshot.record.export_sha256
    assert list(_problems(vault.repository.path, {digest})) == []
    assert list(_problems(vault.repository.path, {"f" * 64})) == [f"an export is lost: {'f' * 64}"]
    shutil.rmtree(vault.repository.path / "axisvault")
    assert list(_problems(vault.repository.path, {digest})) != []
