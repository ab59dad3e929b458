"""Signed commits: made with an SSH key, checked by git and OpenSSH, missed where required."""

from __future__ import annotations

import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import BY, Outcome
from vault.jobs.intake.ingest_tree import ingest_tree
from vault.jobs.records.edit import set_signers, set_site
from vault.jobs.verify.incremental import remember_verified, verify_new
from vault.jobs.verify.outcome import Verified
from vault.jobs.verify.verify import verify
from vault.model.errors import Unavailable, Unreadable
from vault.store.git.signing import VARIABLE
from vault.store.vault import Vault

pytestmark = pytest.mark.skipif(
    shutil.which("ssh-keygen") is None, reason="no ssh-keygen: install openssh-client"
)
Git = Callable[..., str]
Take = Callable[..., Any]
Export = Callable[..., str]
POLICY = "schema: axisvault/vault/1\nsite: Tile works\nsigning: {required: true}\n"


def new_key(folder: Path, name: str) -> Path:
    key = folder / name
    subprocess.run(
        ["ssh-keygen", "-q", "-t", "ed25519", "-N", "", "-C", name, "-f", str(key)], check=True
    )
    return key


def allow(vault: Vault, folder: Path, *keys: Path) -> None:
    lines = [f"{k.name}@tileworks.example {k.with_suffix('.pub').read_text()}" for k in keys]
    (folder / "signers").write_text("# who may sign\n" + "".join(lines))
    set_signers(vault, folder / "signers", BY)


@pytest.fixture
def key(tmp_path: Path) -> Path:
    return new_key(tmp_path, "mira")


@pytest.fixture
def signed(
    vault: Vault, key: Path, take: Take, export_text: Export, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> Vault:  # fmt: skip
    """A vault that has unsigned snapshots from before, and requires signatures since."""
    take(export_text("1"), "2026-03-01T08:00:00+00:00", name="1.csv")
    monkeypatch.setenv(VARIABLE, str(key))
    allow(vault, tmp_path, key)
    (tmp_path / "vault.yaml").write_text(POLICY)
    set_site(vault, tmp_path / "vault.yaml", BY)
    take(export_text("2"), "2026-03-03T08:00:00+00:00", name="2.csv")
    return vault


def kinds(outcome: Verified) -> list[str]:
    return sorted({problem.kind for problem in outcome.problems})


def test_what_is_signed_is_good_by_git_itself(signed: Vault, git: Git, tmp_path: Path) -> None:
    assert verify(signed).problems == []
    (tmp_path / "allowed").write_text(git("show", "main:allowed_signers"))
    option = ("-c", f"gpg.ssh.allowedSignersFile={tmp_path / 'allowed'}")
    told = git(*option, "log", "--format=%G? %GS", "-2", "main").split("\n")
    assert told[:2] == ["G mira@tileworks.example"] * 2
    assert git("fsck", "--strict", "--no-dangling") == ""


def test_a_late_entry_and_its_merge_are_signed_too(
    signed: Vault, take: Take, export_text: Export, git: Git
) -> None:
    take(export_text("3"), "2026-03-02T08:00:00+00:00", name="3.csv")
    assert "\ngpgsig -----BEGIN SSH SIGNATURE-----" in git("cat-file", "commit", "main")
    assert "\ngpgsig -----BEGIN SSH SIGNATURE-----" in git("cat-file", "commit", "main^2")
    assert verify(signed).problems == []


def test_an_unsigned_commit_is_named_where_a_signature_is_required(
    signed: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    remember_verified(signed)
    monkeypatch.delenv(VARIABLE)
    found = take(export_text("4"), "2026-03-04T08:00:00+00:00", name="4.csv")
    for outcome in (verify(signed), verify_new(signed)):
        (problem,) = outcome.problems
        assert problem.kind == "signature"
        assert problem.details == "it is not signed, and had to be"
        assert outcome.first_untrusted is not None
        assert outcome.first_untrusted.snapshot == found.snapshot.id


def test_a_stranger_cannot_allow_himself_to_sign(
    signed: Vault, key: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    stranger = new_key(tmp_path, "stranger")
    monkeypatch.setenv(VARIABLE, str(stranger))
    allow(signed, tmp_path, key, stranger)
    (problem,) = verify(signed).problems
    assert problem.details == "it is signed with a key that was not allowed then"


def test_a_key_that_its_owner_allowed_before_may_sign_from_then_on(
    signed: Vault, key: Path, take: Take, export_text: Export, tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> None:  # fmt: skip
    (tmp_path / "new").mkdir()
    second = new_key(tmp_path / "new", "mira")
    allow(signed, tmp_path, key, second)
    monkeypatch.setenv(VARIABLE, str(second))
    take(export_text("4"), "2026-03-04T08:00:00+00:00", name="4.csv")
    assert verify(signed).problems == []


def test_dropping_the_policy_has_to_be_signed_itself(
    signed: Vault, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.delenv(VARIABLE)
    (tmp_path / "vault.yaml").write_text(POLICY.replace("true", "false"))
    set_site(signed, tmp_path / "vault.yaml", BY)
    assert kinds(verify(signed)) == ["signature"]


def test_a_commit_that_was_changed_after_it_was_signed_is_named(signed: Vault, git: Git) -> None:
    text = git("cat-file", "commit", "main").replace("Taken-At: 2026", "Taken-At: 2025")
    forged = git("hash-object", "-t", "commit", "-w", "--stdin", stdin=text.encode()).strip()
    git("update-ref", "refs/heads/main", forged)
    with Vault.open(signed.repository.path) as again:
        problems = verify(again).problems
    assert "its signature is wrong: the commit was changed after it was signed" in [
        problem.details for problem in problems
    ]


def test_a_key_that_is_not_there_stops_before_anything_is_written(
    signed: Vault, take: Take, export_text: Export, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    before = signed.tip
    monkeypatch.setenv(VARIABLE, str(tmp_path / "gone"))
    with pytest.raises(Unavailable, match="there is no signing key at"):
        take(export_text("5"), "2026-03-05T08:00:00+00:00", name="5.csv")
    monkeypatch.setenv(VARIABLE, str(tmp_path / "1.csv"))
    with pytest.raises(Unavailable, match="could not be signed"):
        take(export_text("5"), "2026-03-05T08:00:00+00:00", name="5.csv")
    with Vault.open(signed.repository.path) as again:
        assert again.tip == before
        assert verify(again).problems == []


def test_a_bulk_of_snapshots_is_signed_one_by_one(
    signed: Vault, take: Take, export_text: Export, tmp_path: Path, cli: Callable[..., Outcome],
    git: Git,
) -> None:  # fmt: skip
    for day in (10, 11):
        folder = tmp_path / "tree/m1/lift"
        folder.mkdir(parents=True, exist_ok=True)
        (folder / f"2026-03-{day}.csv").write_text(export_text(str(day)))
    assert ingest_tree(signed, tmp_path / "tree", BY).taken == 2
    assert verify(signed).problems == []
    assert all("\ngpgsig " in git("cat-file", "commit", name) for name in ("main", "main~1"))


@pytest.mark.parametrize("line", ["mira ssh-ed25519", "ssh-ed25519 AAAA", "mira rsa AAAAB3NzaC1"])
def test_what_is_no_allowed_signer_is_refused(vault: Vault, tmp_path: Path, line: str) -> None:
    (tmp_path / "signers").write_text(f"# who\n{line}\n")
    with pytest.raises(Unreadable, match="line 2: this is no allowed signer"):
        set_signers(vault, tmp_path / "signers", BY)
