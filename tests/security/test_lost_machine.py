"""A machine is lost: what its backup brings back, and what no damaged or foreign file does.

Channels, accounts and exports are invented.
"""

from __future__ import annotations

import io
import json
import os
import shutil
import sqlite3
import stat
import tarfile
import threading
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from tests.conftest import Outcome
from tests.sweeps import part_of
from vault.jobs.accounts.accounts import add_account, log_in, log_of_accounts
from vault.jobs.backup.backup import back_up
from vault.jobs.backup.contents import opened_backup
from vault.jobs.backup.recover import recover
from vault.model.errors import Refused, Unreadable, VaultError
from vault.store.local.accounts import Accounts
from vault.store.local.outbox import Outbox
from vault.store.proof.witness import expected_id, read_witness
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
PASSWORD = "plum tea loom kettle"
Cli = Callable[..., Outcome]
Take = Callable[..., Any]
Export = Callable[..., str]
Git = Callable[..., str]
SITE = """\
schema: axisvault/vault/1
reads: 2
site: Tile works (invented)
alerts:
- {name: log, kind: file, path: PLACE/log}
- {name: lost, kind: file, path: PLACE/no/where/log}
"""


@pytest.fixture
def busy(vault: Vault, take: Take, export_text: Export, cli: Cli, tmp_path: Path) -> Vault:
    """A vault with all that a clone does not have: accounts, a message that waits, a sync, …"""
    (tmp_path / "site.yaml").write_text(SITE.replace("PLACE", str(tmp_path)))
    assert cli("site", "set", "site.yaml").code == 0
    add_account(vault.state, "mira", BY, "approver", PASSWORD, by=BY)
    with Accounts(vault.state) as accounts:
        accounts.make_token("mira", "the press", by=BY)
    take(export_text("1"), "2026-03-01")
    assert cli("golden", "approve", "m1/lift", "--reason", "tried").code == 0
    vault.refresh()
    take(export_text("2"), "2026-03-02")
    assert cli("drift", "--alert").code in (0, 1)
    assert cli("sync", "give", tmp_path / "stick.bundle").code == 0
    vault.refresh()
    return vault


def dump(file: Path) -> dict[str, list[tuple[Any, ...]]]:
    """Every row of a database."""
    with sqlite3.connect(file) as database:
        names = [
            n for (n,) in database.execute("SELECT name FROM sqlite_master WHERE type='table'")
        ]
        return {name: sorted(database.execute(f"SELECT * FROM {name}"), key=repr) for name in names}


def test_what_the_machine_knew_is_there_again(
    busy: Vault, cli: Cli, tmp_path: Path, take: Take, export_text: Export
) -> None:
    with Accounts(busy.state) as accounts:
        account, session = log_in(accounts, "mira", PASSWORD, "192.0.2.1")
        token = accounts.make_token("mira", "the kiln", by=BY)
        assert accounts.of_session(session) == account
    before = {name: dump(busy.state / name) for name in ("accounts.sqlite", "alerts.sqlite")}
    witness = read_witness(busy.repository.path / "axisvault/witness.jsonl")
    syncs, tip = (busy.state / "sync.jsonl").read_bytes(), busy.tip
    assert cli("backup", "safe/plant.axisbackup").code == 0
    busy.close()
    shutil.rmtree(tmp_path / "plant")  # the machine is lost

    done = cli("recover", "safe/plant.axisbackup", "again", "--json")
    assert done.code == 0, done.stderr
    assert done.json["unconfirmed"] == ["log", "lost"]
    assert (done.json["accounts"], done.json["waiting"] > 0) == (1, True)
    assert done.json["verification"]["ok"]
    with Vault.open(tmp_path / "again") as again:
        assert again.tip == tip
        assert read_witness(tmp_path / "again/axisvault/witness.jsonl") == witness
        assert witness is not None and expected_id(again.repository) == witness.id
        with Accounts(again.state) as accounts:
            assert accounts.of_token(token) == account
            assert accounts.of_session(session) is None  # nobody is logged in to it
            log_in(accounts, "mira", PASSWORD, "192.0.2.1")
        log = log_of_accounts(again.state)
        assert log.broken is None
        assert [change.what for change in log.changes][-1] == "brought back"
        assert (again.state / "sync.jsonl").read_bytes().startswith(syncs)
        after = {name: dump(again.state / name) for name in before}
        assert after["alerts.sqlite"]["messages"] == before["alerts.sqlite"]["messages"]
        assert after["alerts.sqlite"]["told"] == before["alerts.sqlite"]["told"]
        assert after["accounts.sqlite"]["accounts"] == before["accounts.sqlite"]["accounts"]
        assert after["accounts.sqlite"]["keys"] == before["accounts.sqlite"]["keys"]
        first = before["accounts.sqlite"]["log"]
        assert after["accounts.sqlite"]["log"][: len(first)] == first
        take(export_text("3"), "2026-03-03", into=again)  # and its witness goes on
        grown = read_witness(tmp_path / "again/axisvault/witness.jsonl")
        assert grown is not None and grown.lines[: len(witness.lines)] == witness.lines
        assert grown.tips[-1].tip == again.tip
    assert cli("--vault", "again", "verify").code == 0


def test_no_channel_that_was_confirmed_on_the_lost_machine_is_used_on_another(
    busy: Vault, cli: Cli, tmp_path: Path
) -> None:
    with Outbox(busy.state) as outbox:
        assert set(outbox.confirmations()) == {"log", "lost"}
    cli("backup", "plant.axisbackup")
    (tmp_path / "log").unlink(missing_ok=True)
    cli("recover", "plant.axisbackup", "again")
    with Outbox(tmp_path / "again/axisvault") as outbox:
        assert outbox.confirmations() == {}
    cli("--vault", "again", "alerts", "send", "--now")
    assert not (tmp_path / "log").exists()
    with Outbox(busy.state) as outbox:  # the backup took nothing away from where it was made
        assert set(outbox.confirmations()) == {"log", "lost"}
    assert cli("--vault", "again", "alerts", "confirm", "log").code == 0
    cli("--vault", "again", "alerts", "send", "--now")
    assert (tmp_path / "log").exists()


def test_only_its_owner_may_read_it_and_it_says_what_is_in_it(
    busy: Vault, cli: Cli, tmp_path: Path
) -> None:
    mask = os.umask(0)
    try:
        done = cli("backup", "plant.axisbackup")
    finally:
        os.umask(mask)
    assert stat.S_IMODE((tmp_path / "plant.axisbackup").stat().st_mode) == 0o600
    assert "Hashes of passwords and tokens are in it" in done.stdout
    assert PASSWORD.encode() not in (tmp_path / "plant.axisbackup").read_bytes()
    cli("recover", "plant.axisbackup", "again")
    mode = (tmp_path / "again/axisvault/accounts.sqlite").stat().st_mode
    assert stat.S_IMODE(mode) == 0o600
    assert not [path for path in tmp_path.iterdir() if path.name.startswith(".plant")]


@pytest.fixture(scope="session")
def whole(works: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A backup of a small vault, for reading only."""
    folder = tmp_path_factory.mktemp("whole")
    with Vault.create(folder / "plant", "Tile works (invented)", BY) as made:
        add_account(made.state, "mira", BY, "approver", PASSWORD, by=BY)
        back_up(made, folder / "plant.axisbackup")
    return folder / "plant.axisbackup"


def refused_whole(content: bytes, folder: Path) -> bool:
    """Whether a file is refused, with nothing left of it."""
    file = folder / "bad.axisbackup"
    file.write_bytes(content)
    try:
        with opened_backup(file):
            return False
    except (Unreadable, Refused):
        return True


@settings(max_examples=part_of(300, 2), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_any_byte_that_was_changed_is_noticed(
    whole: Path, tmp_path: Path, data: st.DataObject
) -> None:
    content = bytearray(whole.read_bytes())
    place = data.draw(st.integers(0, len(content) - 1))
    content[place] ^= data.draw(st.integers(1, 255))
    assert refused_whole(bytes(content), tmp_path)


@settings(max_examples=part_of(150, 2), suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(st.data())
def test_one_that_is_cut_short_or_longer_is_noticed(
    whole: Path, tmp_path: Path, data: st.DataObject
) -> None:
    content = whole.read_bytes()
    written = len(content.rstrip(b"\0"))  # what tar fills up with says nothing
    cut = data.draw(st.integers(0, written - 1))
    assert refused_whole(content[:cut], tmp_path)
    assert refused_whole(content + data.draw(st.binary(min_size=1).filter(any)), tmp_path)


def test_a_damaged_one_leaves_no_folder(whole: Path, cli: Cli, tmp_path: Path) -> None:
    content = whole.read_bytes()
    (tmp_path / "bad").write_bytes(content[: len(content) // 2])
    done = cli("recover", "bad", "again")
    assert done.code == 4
    assert "bad: it is no backup, or damaged, or cut short" in done.stderr
    assert not (tmp_path / "again").exists()
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".again")] == []
    assert cli("recover", "nothing", "again").code == 4


def forged(whole: Path, change: Callable[[dict[str, Any], dict[str, bytes]], None]) -> bytes:
    """A file in which everything fits together, that somebody changed before."""
    from hashlib import sha256

    with tarfile.open(whole) as archive:
        files = {m.name: archive.extractfile(m).read() for m in archive}  # type: ignore[union-attr]
    del files["whole.sha256"]
    said = json.loads(files.pop("manifest.json"))
    change(said, files)
    for one in said["files"]:
        if one["name"] in files:
            content = files[one["name"]]
            one |= {"size": len(content), "sha256": sha256(content).hexdigest()}
    out = io.BytesIO()
    with tarfile.open(fileobj=out, mode="w", format=tarfile.GNU_FORMAT) as archive:
        for name, content in {"manifest.json": json.dumps(said).encode(), **files}.items():
            head = tarfile.TarInfo(name)
            head.size = len(content)
            archive.addfile(head, io.BytesIO(content))
        end = f"{sha256(out.getvalue()[: archive.offset]).hexdigest()}\n".encode()
        head = tarfile.TarInfo("whole.sha256")
        head.size = len(end)
        archive.addfile(head, io.BytesIO(end))
    return out.getvalue()


@pytest.mark.parametrize(
    "name", ["../out.txt", "/tmp/out.txt", "axisvault/../../out.txt", "config", "hooks/update"]
)
def test_no_file_gets_out_of_the_folder_that_it_is_made_in(
    whole: Path, cli: Cli, tmp_path: Path, name: str
) -> None:
    def change(said: dict[str, Any], files: dict[str, bytes]) -> None:
        said["files"].append({"name": name, "size": 3, "sha256": ""})
        files[name] = b"out"

    (tmp_path / "bad").write_bytes(forged(whole, change))
    assert cli("recover", "bad", "in/again").code == 4
    assert not list(tmp_path.rglob("out.txt"))
    assert not (tmp_path / "in/again").exists()


@pytest.mark.parametrize(
    ("key", "value", "code"),
    [("tip", "0" * 40, 4), ("schema", "axisvault/backup/2", 3), ("schema", "other/1", 4),
     ("made_at", "yesterday", 4), ("files", [], 4), ("snapshots", "many", 4),
     ("snapshots", float("inf"), 4)],
)  # fmt: skip
def test_one_that_says_something_else_than_it_holds_makes_nothing(
    whole: Path, cli: Cli, tmp_path: Path, key: str, value: object, code: int
) -> None:
    (tmp_path / "bad").write_bytes(forged(whole, lambda said, _: said.update({key: value})))
    assert cli("recover", "bad", "again").code == code
    assert not (tmp_path / "again").exists()
    (tmp_path / "good").write_bytes(forged(whole, lambda said, files: None))
    assert cli("recover", "good", "again").code == 0  # it is the change that is refused


def test_a_history_that_was_changed_does_not_come_in(whole: Path, cli: Cli, tmp_path: Path) -> None:
    def change(_: object, files: dict[str, bytes]) -> None:
        content = bytearray(files["vault.bundle"])
        content[-30] ^= 1
        files["vault.bundle"] = bytes(content)

    (tmp_path / "bad").write_bytes(forged(whole, change))
    done = cli("recover", "bad", "again")
    assert (done.code, (tmp_path / "again").exists()) == (4, False)


def test_a_history_that_was_rewritten_is_told_by_the_witness_in_it(
    busy: Vault, take: Take, export_text: Export, cli: Cli, git: Git, tmp_path: Path
) -> None:
    old = git("rev-parse", "main~1").strip()
    busy.close()
    git("update-ref", "refs/heads/main", old)
    assert cli("backup", "plant.axisbackup").code == 0
    done = cli("recover", "plant.axisbackup", "again")
    assert done.code == 5
    assert "the history was rewritten or cut short" in done.stdout


def test_nothing_else_is_replaced(busy: Vault, cli: Cli, tmp_path: Path, whole: Path) -> None:
    def backup(name: str = "there") -> int:
        return cli("backup", name).code

    there = tmp_path / "there"
    for content in (b"", b"a shopping list", whole.read_bytes(), b"cut"):
        there.write_bytes(content)
        assert (backup(), there.read_bytes()) == (3, content)
    there.unlink()
    there.mkdir()
    assert backup() == 3
    there.rmdir()
    (tmp_path / "elsewhere").write_text("of somebody")
    there.symlink_to(tmp_path / "elsewhere")
    assert (backup(), (tmp_path / "elsewhere").read_text()) == (3, "of somebody")
    there.unlink()
    assert backup() == 0
    first = there.read_bytes()
    there.write_bytes(first[:-20000])  # half a backup is none
    assert backup() == 3
    there.write_bytes(first)
    assert backup() == 0
    assert cli("backup", "plant/inside").code == 2


def test_an_older_one_is_replaced_and_a_newer_or_another_copys_is_not(
    busy: Vault, take: Take, export_text: Export, cli: Cli, git: Git, tmp_path: Path
) -> None:
    old = busy.tip
    assert cli("backup", "there").code == 0
    take(export_text("4"), "2026-03-04")
    assert cli("backup", "there").code == 0
    with opened_backup(tmp_path / "there") as backup:
        assert backup.manifest.tip == busy.tip
    assert cli("create", "copy", "--copy", "plant").code == 0
    assert cli("--vault", "copy", "backup", "there").code == 3  # it has other accounts
    git("update-ref", "refs/heads/main", old)
    assert cli("backup", "there").code == 3


def test_one_that_is_made_while_others_write_fits_together(
    busy: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    stop = threading.Event()
    made: list[Path] = []

    def keep_backing_up() -> None:
        with Vault.open(tmp_path / "plant") as own:
            while not stop.is_set() or not made:
                made.append(back_up(own, tmp_path / f"there-{len(made)}").file)

    thread = threading.Thread(target=keep_backing_up)
    thread.start()
    for day in range(4, 10):
        take(export_text(str(day)), f"2026-03-{day:02}")
    stop.set()
    thread.join()
    for number, file in enumerate((made[0], made[len(made) // 2], made[-1])):
        recovered = recover(file, tmp_path / f"again-{number}", BY)
        assert recovered.verified.problems == []


def test_a_vault_with_a_broken_witness_can_be_backed_up_and_recovered(
    busy: Vault, cli: Cli, tmp_path: Path
) -> None:
    file = tmp_path / "plant/axisvault/witness.jsonl"
    content = file.read_bytes()
    for broken in (b"", b"garbage\n", content.replace(b'"n":1,', b'"n":7,')):
        file.write_bytes(broken)
        assert cli("backup", f"there-{len(broken)}").code == 0
        done = cli("recover", f"there-{len(broken)}", f"again-{len(broken)}")
        assert (done.code, "witness" in done.stdout) == (5, True)
    file.unlink()
    assert cli("backup", "gone").code == 0
    done = cli("recover", "gone", "again-gone")
    assert (done.code, "the witness is gone" in done.stdout) == (5, True)


def test_what_a_backup_left_that_was_killed_goes_with_the_next_one(
    busy: Vault, cli: Cli, tmp_path: Path
) -> None:
    left, new, of_others = (tmp_path / f".there-{end}" for end in ("old", "new", "x"))
    for folder, name in ((left, "accounts.sqlite"), (new, "draft"), (of_others, "letters.txt")):
        folder.mkdir()
        (folder / name).write_bytes(b"something")
    for folder in (left, of_others):
        os.utime(folder, (0, 0))
    assert cli("backup", "there").code == 0
    assert [folder.exists() for folder in (left, new, of_others)] == [False, True, True]


def test_a_folder_that_holds_something_is_left_alone(busy: Vault, cli: Cli, tmp_path: Path) -> None:
    cli("backup", "there")
    assert cli("recover", "there", "plant").code == 2
    assert cli("verify").code == 0


def test_a_damaged_database_is_said_and_makes_no_backup(
    busy: Vault, cli: Cli, tmp_path: Path
) -> None:
    (busy.state / "accounts.sqlite").write_bytes(b"SQLite format 3\0" + b"x" * 5000)
    done = cli("backup", "there")
    assert done.code == 6
    assert not (tmp_path / "there").exists()
    with pytest.raises(VaultError):
        back_up(busy, tmp_path / "there")


def test_no_vault_is_made_within_a_vault(busy: Vault, cli: Cli, whole: Path) -> None:
    inside = busy.repository.path / "objects/again"
    for command in (["recover", str(whole), str(inside)], ["create", str(inside), "--site", "S"]):
        done = cli(*command)
        assert done.code == 2
        assert f"{inside} lies in the vault {busy.repository.path}" in done.stderr
    assert not inside.exists()


def test_a_list_of_its_parts_without_end_is_none(whole: Path, cli: Cli, tmp_path: Path) -> None:
    (tmp_path / "bad").write_bytes(
        forged(whole, lambda said, files: said.update({"more": "x" * 70_000}))
    )
    assert cli("recover", "bad", "again").code == 4
    many = forged(whole, lambda said, files: files.update({f"f{n}": b"" for n in range(200)}))
    (tmp_path / "bad").write_bytes(many)
    done = cli("recover", "bad", "again")
    assert (done.code, "it is no backup" in done.stderr) == (4, True)
