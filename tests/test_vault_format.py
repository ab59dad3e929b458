"""The page of the vault's format says what lies in a vault, and how to read it with git alone."""

from __future__ import annotations

import re
import shutil
import subprocess
from hashlib import sha256
from pathlib import Path

import pytest

from vault.store.files import layout, yaml_text
from vault.store.files.golden_text import read_golden
from vault.store.files.snapshot_text import read_snapshot
from vault.store.vault import Vault

ROOT = Path(__file__).parents[1]
RECORDS = ("snapshot.yaml", "golden.yaml", "restore.yaml", "faults.yaml")
PAGE = (ROOT / "vault/manual/vault-format.md").read_text(encoding="utf-8")


@pytest.fixture(scope="module")
def old(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A vault that has everything a vault can have, for reading only."""
    place = tmp_path_factory.mktemp("old") / "plant"
    shutil.unpack_archive(ROOT / "tests/old_vaults/format_1.tar.xz", place)
    return place


def git(place: Path, *arguments: str) -> bytes:
    return subprocess.run(
        ["git", "-C", str(place), *arguments], capture_output=True, check=True
    ).stdout


def described_paths() -> list[re.Pattern[str]]:
    """The paths of the page's first table; what stands in capitals there may be any name."""
    rows = re.findall(r"^\| `([\w./]+)` \|", PAGE.split("### Text of")[0], re.MULTILINE)
    return [re.compile(re.sub(r"\b[A-Z]+\b", "[^/]+", re.escape(row))) for row in rows]


def test_every_file_of_the_tree_is_on_the_page(old: Path) -> None:
    paths = git(old, "ls-tree", "-r", "--name-only", "main").decode().splitlines()
    assert not [p for p in paths if not any(row.fullmatch(p) for row in described_paths())]


def test_every_path_of_the_page_is_one_that_the_program_uses() -> None:
    from vault.model.names import Address

    address = Address("m", "a")
    ours = {
        layout.VAULT, layout.SIGNERS, layout.family_file("f"), layout.axis_file(address),
        layout.parameters_file(address), layout.snapshot_file(address),
        layout.export_file(address, "e"), layout.golden_file(address),
        layout.restore_file(address), layout.fault_file(address),
        layout.corrections_file(address),
    }  # fmt: skip
    assert not [row for row in described_paths() if not any(row.fullmatch(path) for path in ours)]


def test_everything_beside_the_repository_is_on_the_page(old: Path) -> None:
    with Vault.open(old):
        names = {path.name for path in (old / "axisvault").iterdir()}
    kept = {name for name in names if Path(name).suffix in (".sqlite", ".json", ".jsonl")}
    assert not [name for name in kept if f"| `{name}` |" not in PAGE]


def test_every_key_of_the_records_is_on_the_page(old: Path) -> None:
    keys: set[str] = set()
    for commit in git(old, "rev-list", "main").decode().split():
        for path in git(old, "ls-tree", "-r", "--name-only", commit).decode().splitlines():
            if path.rsplit("/")[-1] in (
                "snapshot.yaml",
                "golden.yaml",
                "restore.yaml",
                "faults.yaml",
            ):
                keys |= yaml_text.read_mapping(git(old, "show", f"{commit}:{path}"), path).keys()
    assert not [key for key in keys if f"`{key}`" not in PAGE]


def test_each_record_names_the_one_before_it_by_its_hash(old: Path) -> None:
    axis = "machines/glaze-line-2/lift/snapshot.yaml"
    log = ["log", "--first-parent", "--format=%H", "main", "--", axis]
    commits = git(old, *log).decode().split()
    texts = [git(old, "show", f"{commit}:{axis}") for commit in commits]
    linked = [read_snapshot(text, axis).previous for text in texts]
    assert len(texts) > 2
    assert linked == [*(sha256(text).hexdigest() for text in texts[1:]), None]


def test_the_kept_export_has_the_hash_of_its_record_by_git_and_sha256_alone(old: Path) -> None:
    record = git(old, "show", "main:machines/kiln-loader/hoist/snapshot.yaml").decode()
    name = re.search(r"^  name: (.*)$", record, re.MULTILINE)
    wanted = re.search(r'^  sha256: "?([0-9a-f]{64})"?$', record, re.MULTILINE)
    assert name is not None
    assert wanted is not None
    path = f"main:machines/kiln-loader/hoist/export/{name[1].strip(chr(34))}"
    assert sha256(git(old, "show", path)).hexdigest() == wanted[1]


def test_a_baseline_names_a_commit_that_records_its_axis(old: Path) -> None:
    text = git(old, "show", "main:machines/glaze-line-1/lift/golden.yaml")
    approval = read_golden(text, "golden.yaml").approval
    assert approval is not None
    changed = git(old, "show", "--name-only", "--format=", approval.snapshot).decode().split()
    assert "machines/glaze-line-1/lift/snapshot.yaml" in changed


def test_every_key_that_needs_format_2_is_on_the_page() -> None:
    from vault.model import axis, families

    keys = {*axis._SINCE_2, *families._SINCE_2, "suggest"}
    keys |= {*axis.Duty.model_fields, *axis.Move.model_fields, *axis.ControllerRule.model_fields}
    assert [key for key in sorted(keys) if f"`{key}`" not in PAGE] == []
