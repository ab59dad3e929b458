"""How a vault is packed, against what the program git makes of it."""

from __future__ import annotations

import os
import subprocess
from collections.abc import Callable
from pathlib import Path
from random import Random

import pytest

from vault.model.errors import Unavailable
from vault.store.clock import now
from vault.store.git import packing
from vault.store.git.packing import sorted_line
from vault.store.git.repository import Repository
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
ID = "0123456789abcdef0123456789abcdef01234567"
PLACE = "machines/m1/lift"
Git = Callable[..., str]


def write(vault: Vault, content: bytes) -> None:
    with vault.writing():
        vault.write_files({"a": content}, "A file\n", BY)


def name(path: str) -> str:
    return sorted_line(f"{ID} {path}").removeprefix(f"{ID} ")


def test_a_line_without_a_path_stays_as_it_is() -> None:
    assert sorted_line(ID) == ID


def test_exports_of_one_axis_share_a_name_whatever_they_are_called() -> None:
    assert name(f"{PLACE}/export/2024-05-01.csv") == name(f"{PLACE}/export/lift after fault.dcf")


@pytest.mark.parametrize(
    "other",
    ["machines/m1/hoist/parameters.yaml", "machines/m2/lift/parameters.yaml", f"{PLACE}/axis.yaml"],
)
def test_another_axis_or_another_file_has_another_name(other: str) -> None:
    assert name(other) != name(f"{PLACE}/parameters.yaml")


def test_the_id_is_kept_and_the_name_is_one_word() -> None:
    line = sorted_line(f"{ID} {PLACE}/export/my export; of today.csv")
    assert line.split(" ")[0] == ID
    assert len(line.split(" ")) == 2


def test_git_finds_the_versions_of_an_axis_among_many_of_equal_size(tmp_path: Path) -> None:
    """Source: the sizes that `git pack-objects` reaches with and without our names."""

    def git(*arguments: str, given: bytes = b"") -> bytes:
        return subprocess.run(
            ["git", *arguments], cwd=tmp_path, input=given, capture_output=True, check=True
        ).stdout

    git("init", "--quiet", "--bare")
    lines = []
    chance = Random(1)
    for axis in range(60):
        text = bytearray(chance.randbytes(2000))
        for _ in range(5):
            text[chance.randrange(2000)] ^= 1
            written = git("hash-object", "-w", "--stdin", given=bytes(text)).decode().strip()
            lines.append(f"{written} machines/m1/axis-{axis}/parameters.yaml")

    def packed(listed: list[str]) -> int:
        git("pack-objects", "-q", "pack", given="\n".join(listed).encode())
        size = sum(path.stat().st_size for path in tmp_path.glob("pack-*.pack"))
        for path in tmp_path.glob("pack-*"):
            path.unlink()
        return size

    chance.shuffle(lines)
    assert packed([sorted_line(line) for line in lines]) < packed(lines) / 2


def test_many_writings_leave_few_packs(
    vault: Vault, git: Git, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(packing, "_MANY_PACKS", 10)
    packs, most = tmp_path / "plant/objects/pack", 0
    before = int(git("rev-list", "--count", "main"))
    for number in range(26):
        write(vault, b"%d" % number)
        most = max(most, len(list(packs.glob("*.pack"))))
    assert 8 < most <= 11
    assert int(git("rev-list", "--count", "main")) == before + 26
    assert git("fsck", "--strict", "--no-dangling") == ""


def test_what_was_written_stays_where_packs_cannot_be_joined(
    vault: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(repository: Repository) -> None:
        raise Unavailable("the disk is full")

    monkeypatch.setattr(packing, "gather_packs", full)
    write(vault, b"1")
    assert vault.read("a") == b"1"


def test_housekeeping_keeps_every_byte(vault: Vault, git: Git, tmp_path: Path) -> None:
    for number in range(5):
        write(vault, b"%d" % number)
    before = git("rev-list", "--objects", "main")
    leftover = tmp_path / "plant/objects/pack/tmp_pack_Left1"
    leftover.touch()
    os.utime(leftover, (0, 0))
    packing.housekeeping(vault.repository)
    assert git("rev-list", "--objects", "main") == before
    assert git("count-objects", "-v").startswith("count: 0\n")
    assert git("fsck", "--strict") == ""
    assert not leftover.exists(), "left by a writer that died long ago"


@pytest.mark.parametrize(("hours", "stays"), [(0, True), (23, True), (25, False)])
def test_the_files_of_a_writer_that_is_at_work_stay(
    vault: Vault, tmp_path: Path, hours: int, stays: bool
) -> None:
    moment = now().timestamp() - hours * 3600
    places = ["pack/tmp_idx_Young1", "12/tmp_obj_Young1", "info/commit-graphs/a.lock"]
    for place in places:
        path = tmp_path / "plant/objects" / place
        path.parent.mkdir(exist_ok=True)
        path.touch()
        os.utime(path, (moment, moment))
    packing.housekeeping(vault.repository)
    there = [place for place in places if (tmp_path / "plant/objects" / place).exists()]
    assert there == (places if stays else [])
