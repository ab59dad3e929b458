"""A link in a vault's folder leads nobody to another file."""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome
from vault.jobs.verify.incremental import last_verified, remember_verified
from vault.model.errors import Unavailable
from vault.store.local.accounts import Accounts
from vault.store.local.outbox import Outbox
from vault.store.vault import Vault

Cli = Callable[..., Outcome]


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


@pytest.mark.parametrize("ending", ["", "-journal", "-wal"])
@pytest.mark.parametrize(
    ("name", "opened"), [("accounts.sqlite", Accounts), ("alerts.sqlite", Outbox)]
)
@pytest.mark.parametrize("is_there", [True, False])
def test_no_database_that_is_a_link_is_opened_or_made(
    vault: Vault, tmp_path: Path, name: str, opened: type, ending: str, is_there: bool
) -> None:
    victim = tmp_path / "victim"
    if is_there:
        victim.write_bytes(b"kept")
    (vault.state / (name + ending)).symlink_to(victim)
    with pytest.raises(Unavailable, match="is a link to elsewhere"):
        opened(vault.state)
    assert victim.exists() == is_there
    assert not is_there or victim.read_bytes() == b"kept"


def test_an_index_that_is_a_link_is_done_without(vault: Vault, tmp_path: Path, cli: Cli) -> None:
    victim = tmp_path / "victim"
    with sqlite3.connect(victim) as other:
        other.execute("CREATE TABLE others (name TEXT)")
    before = victim.read_bytes()
    folder = vault.repository.path
    vault.close()
    (index,) = folder.glob("axisvault/index*.sqlite")
    index.unlink()
    index.symlink_to(victim)
    assert cli("axis", "list").code == 0
    assert victim.read_bytes() == before


def test_a_database_that_does_something_by_itself_is_none_of_ours(vault: Vault) -> None:
    Accounts(vault.state).close()
    with sqlite3.connect(vault.state / "accounts.sqlite") as database:
        database.execute(
            "CREATE TRIGGER again AFTER DELETE ON accounts BEGIN INSERT INTO accounts "
            "VALUES (old.name, old.person, 'admin', old.password, old.created); END"
        )
    with pytest.raises(Unavailable, match="trigger again is none of ours"):
        Accounts(vault.state)
