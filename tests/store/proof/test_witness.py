"""The witness: appended to only, chained, missed when it is gone. Hashes against hashlib."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from itertools import pairwise
from pathlib import Path
from typing import Any

import pytest

from vault.jobs.sync.sync import take as sync_take
from vault.jobs.verify.verify import verify
from vault.model.errors import Damaged, Unavailable
from vault.store.proof import witness
from vault.store.proof.witness import FILE, expected_id, read_witness
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
Take = Callable[..., Any]


def lines(vault: Vault) -> list[bytes]:
    return (vault.repository.path / FILE).read_bytes().splitlines()


def test_every_tip_is_there_and_each_line_names_the_one_before(
    vault: Vault, take: Take, export_text: Callable[..., str]
) -> None:
    tips = [vault.tip]
    for day in (1, 3, 2):  # the last one is a late entry
        take(export_text("2"), f"2026-03-0{day}")
        tips.append(vault.tip)
    found = lines(vault)
    assert [json.loads(line).get("tip") for line in found[-4:]] == tips
    for before, line in pairwise(found):
        assert json.loads(line)["before"] == hashlib.sha256(before).hexdigest()
    read = read_witness(vault.repository.path / FILE)
    assert read is not None
    assert (read.id, read.broken) == (expected_id(vault.repository), None)
    assert read.head == hashlib.sha256(found[-1]).hexdigest()


def test_a_vault_is_witnessed_from_its_first_commit(tmp_path: Path) -> None:
    with Vault.create(tmp_path / "new", "Works", BY) as made:
        assert [json.loads(line).get("tip") for line in lines(made)] == [None, made.tip]


def test_a_copy_that_sync_makes_and_what_it_takes_are_witnessed(
    vault: Vault, take: Take, export_text: Callable[..., str], tmp_path: Path
) -> None:
    with Vault.copy(tmp_path / "laptop", str(vault.repository.path)) as laptop:
        tips = [laptop.tip]
        take(export_text("2"), "2026-03-01")
        sync_take(laptop, str(vault.repository.path), BY)
        tips.append(laptop.tip)
        assert [json.loads(line).get("tip") for line in lines(laptop)] == [None, *tips]
        assert tips[1] == vault.tip != tips[0]


def test_a_line_that_was_left_unfinished_is_cut_off_and_no_alarm(
    vault: Vault, take: Take, export_text: Callable[..., str]
) -> None:
    """A process that is killed while it appends."""
    path = vault.repository.path / FILE
    whole = path.read_bytes()
    path.write_bytes(whole + b'{"n":99,"at":"20')
    assert verify(vault).ok
    take(export_text("2"))
    assert path.read_bytes().startswith(whole)
    assert len(lines(vault)) == len(whole.splitlines()) + 1
    assert verify(vault).problems == []


def test_a_process_killed_before_it_could_append_is_no_alarm(
    vault: Vault, take: Take, export_text: Callable[..., str], monkeypatch: pytest.MonkeyPatch
) -> None:
    with monkeypatch.context() as patch:
        patch.setattr(witness, "remember", lambda repository, tip: None)
        take(export_text("2"))
    outcome = verify(vault)
    assert outcome.ok
    assert any("not in the witness yet" in said for said in outcome.remarks)
    take(export_text("3"), "2026-03-02")
    again = verify(vault)
    assert (again.ok, again.remarks) == (True, [])


def test_a_copy_has_none_and_begins_its_own(
    vault: Vault, git: Callable[..., str], tmp_path: Path
) -> None:
    git("clone", "--bare", "--quiet", str(vault.repository.path), str(tmp_path / "copy"))
    with Vault.open(tmp_path / "copy") as copy:
        outcome = verify(copy)
        assert outcome.ok
        assert "There is no witness here" in outcome.remarks[0]
        with copy.writing():
            copy.write_files({"vault.yaml": b"schema: axisvault/vault/1\nsite: C\n"}, "C\n", BY)
        assert expected_id(copy.repository) not in (None, expected_id(vault.repository))
        assert verify(copy).remarks == []


def test_one_that_was_deleted_is_not_begun_anew(
    vault: Vault, take: Take, export_text: Callable[..., str]
) -> None:
    path = vault.repository.path / FILE
    path.unlink()
    take(export_text("2"))
    assert not path.exists()
    assert ["the witness is gone" in p.details for p in verify(vault).problems] == [True]


@pytest.mark.parametrize(
    "content",
    [b"", b"junk\n", b"{}\n", b'{"n":1}\n', b"[]\n", b"\xff\xfe\n", b'{"n":0,"at":"x"}\n'],
)
def test_what_is_no_witness_is_named(vault: Vault, content: bytes) -> None:
    path = vault.repository.path / FILE
    path.write_bytes(content)
    with pytest.raises(Damaged, match="no witness of ours"):
        read_witness(path)
    assert [p.kind for p in verify(vault).problems] == ["witness"]


def test_a_disk_that_cannot_be_written_is_told(
    vault: Vault, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(descriptor: int) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(witness.os, "fsync", full)
    with pytest.raises(Unavailable, match="the witness cannot be written"):
        witness.remember(vault.repository, "0" * 40)


def test_an_index_that_is_deleted_or_rebuilt_is_none_of_its_business(vault: Vault) -> None:
    before = lines(vault)
    vault.reindex()
    assert lines(vault) == before
    vault.index.close()
    for path in (vault.repository.path / "axisvault").glob("index*"):
        path.unlink()
    with Vault.open(vault.repository.path) as again:
        assert verify(again).ok


def test_a_tip_that_is_remembered_again_gets_no_second_line(vault: Vault) -> None:
    before = lines(vault)
    witness.remember(vault.repository, vault.tip)
    assert lines(vault) == before


def test_a_long_line_that_was_left_unfinished_leaves_nothing_behind(vault: Vault) -> None:
    path = vault.repository.path / FILE
    whole = path.read_bytes()
    path.write_bytes(whole + b'{"n":99,"at":"' + b"2" * 700)
    witness.remember(vault.repository, "1" * 40)
    content = path.read_bytes()
    assert content.startswith(whole)
    assert content.endswith(b"\n")
    assert json.loads(content[len(whole) :])["tip"] == "1" * 40


@pytest.mark.parametrize("separators", [(", ", ": "), (",", ": ")])
def test_a_line_that_says_the_same_in_another_spelling_is_not_as_it_was_written(
    vault: Vault, separators: tuple[str, str]
) -> None:
    path = vault.repository.path / FILE
    *kept, last = lines(vault)
    respelled = json.dumps(json.loads(last), separators=separators).encode()
    path.write_bytes(b"".join(line + b"\n" for line in [*kept, respelled]))
    read = read_witness(path)
    assert read is not None
    assert read.broken == f"line {len(kept) + 1} is not as it was written"
    assert len(read.lines) == len(kept)
