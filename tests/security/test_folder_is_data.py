"""A vault that came on a stick: nothing in its folder runs, and it shows nothing but itself.

What git runs by settings is from its documentation (git-config, githooks, gitrepository-layout).
"""

from __future__ import annotations

import os
import shutil
import subprocess
from collections.abc import Callable
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.conftest import Outcome
from vault.jobs.sync.sync import take as sync_take
from vault.model.errors import Damaged, Refused, VaultError
from vault.store.git.folder import check_folder, check_settings
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
Cli = Callable[..., Outcome]
Git = Callable[..., str]
Take = Callable[..., object]

PROGRAMS = (
    "core.hooksPath", "core.fsmonitor", "core.sshCommand", "core.editor", "core.pager",
    "core.askPass", "core.gitProxy", "core.alternateRefsCommand", "core.worktree",
    "core.attributesFile", "core.excludesFile", "gpg.program", "gpg.ssh.program",
    "gpg.openpgp.program", "gpg.ssh.allowedSignersFile", "gpg.ssh.defaultKeyCommand",
    "diff.external", "diff.hazel.textconv", "diff.hazel.command", "filter.hazel.clean",
    "credential.helper", "credential.https://tileworks.example.helper", "protocol.ext.allow",
    "protocol.allow", "include.path", "includeIf.gitdir:/.path", "alias.log", "alias.cat-file",
    "uploadpack.packObjectsHook", "remote.origin.uploadpack", "remote.origin.receivepack",
    "remote.origin.vcs", "remote.origin.proxy", "remote.origin.promisor", "remote.other.url",
    "url.ext::sh.insteadOf", "extensions.partialClone", "extensions.worktreeConfig",
    "http.proxy", "fetch.fsck.skipList", "sequence.editor", "trailer.hazel.command",
    "pager.log", "merge.hazel.driver", "safe.directory", "receive.procReceiveRefs",
    "user.signingKey", "log.showSignature", "gc.recentObjectsHook",
)  # fmt: skip


@pytest.fixture
def trap(tmp_path: Path) -> Path:
    """A program that leaves `trap.ran` behind where anything runs it."""
    path = tmp_path / "trap"
    path.write_text(f"#!/bin/sh\ntouch '{tmp_path / 'trap.ran'}'\ncat\n")
    path.chmod(0o755)
    return path


def set_in(folder: Path, key: str, value: str) -> int:
    """Set a key as git writes it; the line that it lies on."""
    subprocess.run(["git", "config", "--file", folder / "config", key, value], check=True)
    lines = (folder / "config").read_text().splitlines()
    return next(number for number, line in enumerate(lines, 1) if value in line)


@pytest.mark.parametrize("key", PROGRAMS)
def test_a_setting_that_could_run_something_is_refused_with_its_line(
    vault: Vault, cli: Cli, trap: Path, tmp_path: Path, key: str
) -> None:
    line = set_in(tmp_path / "plant", key, str(trap))
    done = cli("axis", "list")
    assert done.code == 3
    assert f"config, line {line}: a vault has no setting" in done.stderr
    assert done.stderr.count("\n") == 1
    assert not (tmp_path / "trap.ran").exists()


@pytest.mark.parametrize(
    "text",
    [
        "[core] fsmonitor = evil",
        "[CORE]\n\tfsMonitor=evil",
        "[core]\n\tbare = true\\\n[core]fsmonitor=evil",
        "[core]\n\tbare = true \\\n fsmonitor = evil",
        '[diff "x"]\ttextconv=evil',
        "[diff.x]\n\ttextconv = evil",
        "\ufeff[core]\nfsmonitor=evil",
        "[core]\r\n\tfsmonitor = evil\r\n",
        "# a remark\\\n[core]\nfsmonitor=evil",
        "[core]\nfsmonitor",
        '[include]\npath="evil"',
        '[remote "origin"]\nuploadpack = evil',
        '[core "x]\n"]\nfsmonitor=evil',
    ],
)
def test_no_way_of_writing_hides_a_key(tmp_path: Path, text: str) -> None:
    file = tmp_path / "config"
    file.write_bytes(text.encode())
    with pytest.raises((Refused, Damaged)) as caught:
        check_settings(file)
    assert caught.value.line


LINES = st.lists(
    st.one_of(
        st.sampled_from(
            [
                "[core]", "[core] ", "bare = true", "bare=true\\", "\tfsmonitor = x", "fsmonitor",
                '[diff "a"]', "[diff.a]", "textconv = x", "# fsmonitor = x", "; [core]", '"',
                "bare = \"true", "[axisvault]", "witness = 1", "\\", "[", "]", "=", " ", "\x0b",
                '[core "a\\"]"]', "[include]", "path = x", "bare = a#b;c", "\r", "[core]bare",
            ]
        ),
        st.text("[]=\"\\#; \tabcore.fsmnit\r\x00", max_size=12),
    ),
    max_size=8,
)  # fmt: skip


@given(LINES)
def test_whatever_git_reads_in_a_text_is_seen_here(lines: list[str]) -> None:
    """Git itself says which keys a text sets: each that is none of a vault's is refused."""
    import tempfile

    with tempfile.TemporaryDirectory() as name:
        file = Path(name) / "config"
        file.write_bytes("\n".join(lines).encode())
        listed = subprocess.run(
            ["git", "config", "--file", file, "--no-includes", "--list", "--name-only", "-z"],
            capture_output=True, check=False,
        )  # fmt: skip
        if listed.returncode != 0:
            return
        keys = {key.split("\n")[0] for key in listed.stdout.decode().split("\0") if key}
        strange = {key for key in keys if key != "core.bare" and not key.startswith("axisvault.")}
        if strange:
            with pytest.raises((Refused, Damaged)):
                check_settings(file)


@pytest.mark.parametrize(
    "name",
    ["objects/info/alternates", "objects/info/http-alternates", "commondir", "shallow",
     "info/grafts", "config.worktree"],
)  # fmt: skip
def test_a_file_that_leads_outside_is_refused(
    vault: Vault, cli: Cli, tmp_path: Path, name: str
) -> None:
    elsewhere = tmp_path / "elsewhere"
    shutil.copytree(tmp_path / "plant", elsewhere)
    file = tmp_path / "plant" / name
    file.parent.mkdir(exist_ok=True)
    file.write_text(f"{elsewhere / 'objects'}\n")
    done = cli("axis", "list")
    assert done.code == 3
    assert name in done.stderr
    with Vault.open(elsewhere) as other, pytest.raises(Refused):
        sync_take(other, str(tmp_path / "plant"), BY)


HOOKS = (
    "reference-transaction", "post-update", "pre-receive", "update", "post-receive",
    "proc-receive", "pre-auto-gc", "post-commit", "pre-push", "post-checkout", "post-rewrite",
    "push-to-checkout", "fsmonitor-watchman", "pre-commit", "commit-msg",
)  # fmt: skip


def set_hooks(folder: Path, trap: Path) -> None:
    (folder / "hooks").mkdir(exist_ok=True)
    for hook in HOOKS:
        shutil.copy(trap, folder / "hooks" / hook)


def test_no_hook_of_a_vault_runs(
    vault: Vault, cli: Cli, trap: Path, tmp_path: Path, export_text: Callable[..., str], git: Git
) -> None:
    set_hooks(tmp_path / "plant", trap)
    (tmp_path / "a.csv").write_text(export_text())
    assert cli("ingest", "a.csv", "--to", "m1/lift", "--taken-at", "2026-03-01").code == 0
    assert cli("create", "copy", "--copy", "plant").code == 0
    set_hooks(tmp_path / "copy", trap)
    (tmp_path / "a.csv").write_text(export_text("1"))
    assert cli("ingest", "a.csv", "--to", "m1/lift", "--taken-at", "2026-03-02").code == 0
    assert cli("sync", "give", "copy").code == 0
    assert cli("--vault", "copy", "sync", "take", "plant").code == 0
    assert cli("reindex").code == 0
    assert cli("verify").code == 0
    assert not (tmp_path / "trap.ran").exists()
    git("update-ref", "refs/heads/x", vault.tip)  # the trap is one: git by itself runs into it
    assert (tmp_path / "trap.ran").exists()


def test_what_is_given_to_by_an_address_of_a_folder_runs_no_hook(
    vault: Vault, cli: Cli, trap: Path, tmp_path: Path, git: Git
) -> None:
    server = tmp_path / "server"
    git("init", "--quiet", "--bare", "--initial-branch=main", str(server))
    set_hooks(server, trap)
    assert cli("sync", "give", f"file://{server}").code == 0
    assert git("rev-parse", "main", where=server).strip() == vault.tip
    assert cli("sync", "take", f"file://{server}").code == 0
    assert not (tmp_path / "trap.ran").exists()
    set_in(server, "receive.procReceiveRefs", "refs")
    assert cli("sync", "give", f"file://{server}").code == 3


@pytest.mark.parametrize("address", ["{}", "file://{}"])
@pytest.mark.parametrize("key", ["uploadpack.packObjectsHook", "core.fsmonitor", "include.path"])
def test_a_partner_that_has_such_a_setting_is_refused_with_its_line(
    vault: Vault, cli: Cli, trap: Path, tmp_path: Path, address: str, key: str
) -> None:
    shutil.copytree(tmp_path / "plant", tmp_path / "stick")
    line = set_in(tmp_path / "stick", key, str(trap))
    for command in ("look", "take", "give"):
        done = cli("sync", command, address.format(tmp_path / "stick"))
        assert (done.code, f"config, line {line}:" in done.stderr) == (3, True), done.stderr
    assert cli("create", "copy", "--copy", address.format(tmp_path / "stick")).code == 3
    assert not (tmp_path / "trap.ran").exists()


def test_a_setting_that_comes_while_the_vault_is_open_is_seen(
    vault: Vault, trap: Path, tmp_path: Path
) -> None:
    vault.repository.read("main", "vault.yaml")
    set_in(tmp_path / "plant", "core.fsmonitor", str(trap))
    with pytest.raises(Refused):
        vault.repository.list("main", "", recursive=True)


def test_no_object_or_parent_stands_in_for_another_one(
    vault: Vault, take: Take, export_text: Callable[..., str], tmp_path: Path, git: Git
) -> None:
    take(export_text("1"), "2026-03-01")
    first = vault.tip
    take(export_text("2"), "2026-03-02")
    path = "machines/m1/lift/parameters.yaml"
    true = vault.read(path)
    git("replace", vault.tip, first)
    assert git("show", f"main:{path}").encode() != true  # git by itself is taken in
    with Vault.open(tmp_path / "plant") as again:
        assert again.read(path) == true
        assert again.read(path, f"{again.tip}^{{commit}}") == true


def test_a_signature_of_another_kind_starts_no_program(
    vault: Vault, cli: Cli, trap: Path, tmp_path: Path, git: Git
) -> None:
    from vault.store.git.signatures import signatures

    raw = git("cat-file", "commit", "main").replace(
        "\n\n", "\ngpgsig -----BEGIN PGP SIGNATURE-----\n \n x\n -----END PGP SIGNATURE-----\n\n", 1
    )
    commit = git("hash-object", "-t", "commit", "-w", "--stdin", stdin=raw.encode()).strip()
    for name in ("gpg", "gpgsm"):
        shutil.copy(trap, tmp_path / name)
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("PATH", f"{tmp_path}{os.pathsep}{os.environ['PATH']}")
        found = list(signatures(vault.repository, [commit], b""))
        assert not (tmp_path / "trap.ran").exists()
        assert found[0].verdict != "G"
        git("log", "-1", "--format=%G?", commit)  # the trap is one
    assert (tmp_path / "trap.ran").exists()


@pytest.mark.skipif(os.geteuid() != 0, reason="only root can give a folder to somebody else")
class TestOwner:
    """A folder that somebody else owns counts where this user said so."""

    @pytest.fixture(autouse=True)
    def given_away(self, vault: Vault, tmp_path: Path) -> None:
        vault.close()
        os.chown(tmp_path / "plant", 65534, 65534)

    def test_it_is_refused_with_what_to_do(self, cli: Cli, tmp_path: Path) -> None:
        done = cli("axis", "list")
        assert done.code == 3
        assert "belongs to another user" in done.stderr
        assert str(tmp_path / ".config/axisvault/trusted_folders") in done.stderr
        assert "AXISVAULT_TRUSTED_FOLDERS" in done.stderr

    @pytest.mark.parametrize(
        ("line", "code"), [("{}", 0), ("*", 0), ("# {}", 3), ("{}/..", 3), ("plant", 3), ("", 3)]
    )
    def test_what_the_list_names_counts(
        self, cli: Cli, tmp_path: Path, clean: dict[str, str], line: str, code: int
    ) -> None:
        text = line.format(tmp_path / "plant")
        with pytest.MonkeyPatch.context() as patch:
            patch.setitem(clean, "AXISVAULT_TRUSTED_FOLDERS", text)
            assert cli("axis", "list").code == (code if not text.startswith("#") else 3)
        file = tmp_path / ".config/axisvault/trusted_folders"
        file.parent.mkdir(parents=True)
        file.write_text(f"/somewhere\n{text}\n")
        assert cli("axis", "list").code == code

    def test_who_became_root_by_sudo_is_still_the_owner(
        self, cli: Cli, clean: dict[str, str]
    ) -> None:
        clean["SUDO_UID"] = "65534"
        assert cli("axis", "list").code == 0
        clean["SUDO_UID"] = "1"
        assert cli("axis", "list").code == 3

    def test_a_partner_too(self, cli: Cli, tmp_path: Path, clean: dict[str, str]) -> None:
        shutil.copytree(tmp_path / "plant", tmp_path / "own")  # a copy is mine
        for address in (tmp_path / "plant", f"file://{tmp_path / 'plant'}"):
            assert cli("--vault", "own", "sync", "look", address).code == 3
        clean["AXISVAULT_TRUSTED_FOLDERS"] = str(tmp_path / "plant")
        for address in (tmp_path / "plant", f"file://{tmp_path / 'plant'}"):
            done = cli("--vault", "own", "sync", "look", address)
            assert (done.code, done.stderr) == (0, "")
            assert cli("--vault", "own", "sync", "give", address).code == 0


def test_folders_that_git_itself_makes_go_on(vault: Vault, tmp_path: Path, git: Git) -> None:
    plant = str(tmp_path / "plant")
    for number, how in enumerate((["--bare"], ["--mirror"], [])):
        copy = tmp_path / f"copy-{number}"
        git("clone", "--quiet", "--no-hardlinks", *how, plant, str(copy))
        folder = copy if how else copy / ".git"
        check_folder(folder)
        with Vault.open(folder) as opened:
            assert opened.tip == vault.tip
    shared = tmp_path / "shared"
    git("init", "--quiet", "--bare", "--shared=group", str(shared))
    check_folder(shared)


def test_a_folder_that_is_no_vault_is_no_crash(tmp_path: Path, cli: Cli) -> None:
    for name in ("HEAD", "config"):
        (tmp_path / "plant" / name).parent.mkdir(parents=True, exist_ok=True)
    (tmp_path / "plant/objects").mkdir()
    (tmp_path / "plant/HEAD").write_text("ref: refs/heads/main\n")
    (tmp_path / "plant/config").mkdir()
    with pytest.raises(VaultError):
        Vault.open(tmp_path / "plant")
