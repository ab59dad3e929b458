"""A link in a vault's folder leads nobody to another file."""

from __future__ import annotations

import json
from pathlib import Path

from vault.jobs.verify.incremental import last_verified, remember_verified
from vault.store.vault import Vault


def test_what_is_noted_after_verifying_is_written_into_no_other_file(
    vault: Vault, tmp_path: Path
) -> None:
    victim = tmp_path / "victim"
    victim.write_text("kept")
    for name in ("verified.json", "verified.json.new"):
        (vault.state / name).symlink_to(victim)
    remember_verified(vault)
    assert victim.read_text() == "kept"
    noted = last_verified(vault)
    assert noted is not None
    assert noted[0] == vault.tip
    assert json.loads((vault.state / "verified.json").read_text())["tip"] == vault.tip
