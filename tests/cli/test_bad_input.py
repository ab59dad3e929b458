"""Bad files, names, disks and calls: one line that says what, where and what next; nothing written.

The exports are invented.
"""

from __future__ import annotations

import ctypes
import json
import os
import random
import resource
import shutil
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from vault.store.vault import Vault

pytestmark = pytest.mark.sweep(2)

Cli = Callable[..., Any]
Export = Callable[..., str]
Git = Callable[..., str]


@pytest.fixture
def plant(vault: Vault, take: Callable[..., Any], export_text: Export, git: Git) -> Iterator[Vault]:
    """A vault with one snapshot of m1/lift; it must be as before after the test."""
    take(export_text("1"), "2026-03-01")
    vault.close()
    before = git("for-each-ref")
    yield vault
    assert git("for-each-ref") == before
    assert git("fsck", "--strict", "--no-dangling") == ""
    with Vault.open(vault.repository.path) as again:
        assert again.index.count() == 1


def refused(
    cli: Cli, *arguments: object, code: int, line: int | None = None, said: str, **how: Any
) -> dict[str, Any]:
    """Run a command that must fail, in both forms; returns the error object."""
    done = cli(*arguments, **how)
    assert (done.code, done.stdout) == (code, ""), done.stderr
    assert done.stderr.startswith("axisvault: ")
    assert done.stderr.count("\n") == 1, "one line"
    assert said in done.stderr
    if line is not None:
        assert f", line {line}: " in done.stderr
    as_json = cli(*arguments, "--json", **how)
    assert (as_json.code, as_json.stderr) == (code, done.stderr)
    error: dict[str, Any] = json.loads(as_json.stdout)["error"]
    assert set(error) == {"code", "message", "file", "line", "hint", "problems"}
    assert (error["code"], error["line"]) == (code, line)
    return error


FILES: list[tuple[str, Callable[[str], str | bytes], int | None, str]] = [
    ("empty", lambda good: "", 1, "the file is empty"),
    ("blank", lambda good: " \r\n\r\n", 1, "the file is empty"),
    ("binary", lambda good: random.Random(1).randbytes(5000), 1, "a file of another program"),
    ("zeros", lambda good: bytes(5000), 1, "a file of another program"),
    ("cut in a row", lambda good: good[: good.index("mov/speed") + 20], 4, "cut off"),
    ("cut in a quote", lambda good: good.replace("Homing", '"Homing', 1), 5, "quote"),
    ("unknown unit", lambda good: good.replace(";mm/s", ";zorks/s"), 4, "zorks/s"),
    ("unit of another kind", lambda good: good.replace(";mm/s", ";N"), 4, "does not fit"),
    ("letters", lambda good: good.replace(";100;", ";1O0;"), 4, "'1O0' is not a number"),
    ("no value", lambda good: good.replace(";100;", ";;"), 4, "no value"),
    ("duplicate", lambda good: good + "lim/lag;Again;1;mm\r\n", 27, "given already in line 3"),
    ("too large a value", lambda good: good.replace(";100;", ";429496729,6;"), 4, "UNSIGNED32"),
    ("below its type", lambda good: good.replace(";100;", ";-1;"), 4, "lies outside"),
    ("between two steps", lambda good: good.replace(";100;", ";0,05;"), 4, "no multiple"),
    ("too few columns", lambda good: good.replace(";100;mm/s", ""), 4, "too few columns"),
    ("NUL characters", lambda good: good.replace("Homing", "Ho\0ming"), 1, "no export"),
    ("no rows", lambda good: good[: good.index("lim/lag")], 1, "no parameter"),
]


@pytest.mark.parametrize(
    ("make", "line", "said"), [case[1:] for case in FILES], ids=[case[0] for case in FILES]
)
def test_a_bad_file_is_refused_with_file_and_line(
    plant: Vault,
    cli: Cli,
    tmp_path: Path,
    export_text: Export,
    make: Callable[[str], str | bytes],
    line: int,
    said: str,
) -> None:
    content = make(export_text())
    path = tmp_path / "bad.csv"
    path.write_bytes(content if isinstance(content, bytes) else content.encode())
    error = refused(cli, "ingest", path, "--to", "m1/lift", code=4, line=line, said=said)
    assert error["file"] == str(path)


def test_a_file_of_another_family_is_refused(
    plant: Vault, cli: Cli, tmp_path: Path, export_text: Export
) -> None:
    path = tmp_path / "other.csv"
    path.write_text(export_text().replace("HZ-04", "YW-9"))
    error = refused(cli, "ingest", path, "--to", "m1/lift", code=2, said="no family of the vault")
    assert error["file"] == str(path)
    path.write_text(export_text().replace("/", "."))
    command = ("ingest", path, "--to", "m1/lift", "--family", "hazel")
    refused(cli, *command, code=4, line=3, said="not in family hazel")


def test_a_file_that_is_far_too_large_is_refused_unread(
    plant: Vault, cli: Cli, tmp_path: Path
) -> None:
    path = tmp_path / "huge.csv"
    with path.open("wb") as stream:
        stream.truncate(100 * 2**20)
    said = "100 MiB: exports up to 32 MiB"
    error = refused(cli, "ingest", path, "--to", "m1/lift", code=4, line=1, said=said)
    assert error["file"] == str(path)


def test_a_file_that_is_missing_or_a_folder_is_named(
    plant: Vault, cli: Cli, tmp_path: Path
) -> None:
    path = tmp_path / "nowhere.csv"
    said = "No such file"
    error = refused(cli, "ingest", path, "--to", "m1/lift", code=4, said=said)
    assert error["file"] == str(path)
    refused(cli, "ingest", tmp_path, "--to", "m1/lift", code=4, said="a folder")


@pytest.mark.parametrize(
    ("address", "said"),
    [
        ("../x", "cannot name a machine"), ("m1/../x", "cannot name a"), ("m1/con", "reserved"),
        ("nul/lift", "reserved"), ("m1/com1.old", "reserved"), ("m1/Lift", "upper and lower case"),
        ("M1/lift", "upper and lower case"), ("M1/belt", "upper and lower case"),
        ("m1", "machine/axis"), ("m1/.git", "cannot name a"), ("m1/" + "a" * 65, "at most 64"),
        ("m1/a b", "cannot name a"), ("m1/x.lock", "reserved"), ("m1/ö", "cannot name a"),
        ("", "machine/axis"), ("m1/a\nb", "cannot name a"), ("-/-", "cannot name a"),
    ],
)  # fmt: skip
def test_a_name_that_some_system_cannot_hold_is_refused(
    plant: Vault, cli: Cli, tmp_path: Path, export_text: Export, address: str, said: str
) -> None:
    (tmp_path / "good.csv").write_text(export_text())
    refused(cli, "ingest", "good.csv", f"--to={address}", code=2, said=said)


@pytest.mark.parametrize(
    "arguments",
    [
        (), ("good.csv",), ("good.csv", "more", "--to", "m1/lift"),
        ("good.csv", "--to", "m1/lift", "--occasion", "sometimes"),
        ("good.csv", "--to", "m1/lift", "--taken-at", "soon"),
        ("good.csv", "--to", "m1/lift", "--taken-at", "1969-12-31"),
        ("good.csv", "--to", "m1/lift", "--taken-at", "2026-03-01T08:00:00+15:00"),
        ("good.csv", "--to", "m1/lift", "--by", "Nobody <"),
        ("good.csv", "--to", "m1/lift", "--channel", "two"),
        ("good.csv", "--to", "m1/lift", "--channel", "2"),
        ("good.csv", "--to", "m1/lift", "--colour", "red"),
        ("good.csv", "--to", "m1/lift", "--family", "yew"),
    ],
)  # fmt: skip
def test_wrong_usage_says_what_to_do(
    plant: Vault, cli: Cli, tmp_path: Path, export_text: Export, arguments: tuple[str, ...]
) -> None:
    (tmp_path / "good.csv").write_text(export_text())
    refused(cli, "ingest", *arguments, code=2, said="axisvault: ")


def test_an_unknown_command_gets_the_nearest_as_a_hint(plant: Vault, cli: Cli) -> None:
    refused(cli, "injest", code=2, said="did you mean ingest?")


def test_a_guard_refuses_with_a_code_of_its_own(
    vault: Vault, take: Callable[..., Any], cli: Cli, tmp_path: Path, export_text: Export
) -> None:
    take(export_text(serial="S-1"), "2026-03-01")
    path = tmp_path / "lift.csv"
    error = refused(cli, "ingest", path, "--to", "m1/belt", code=3, said="last seen at m1/lift")
    assert error["file"] == str(path)
    assert error["hint"] is not None
    assert "--even-so" in error["hint"]


def test_partial_takes_the_rest_and_records_what_was_left_out(
    vault: Vault, cli: Cli, tmp_path: Path, export_text: Export
) -> None:
    text = export_text("2,5 or so").replace("set/3;Setting 3;10;", "set/3;Setting 3;ten;")
    (tmp_path / "half.csv").write_text(text)
    done = cli("ingest", "half.csv", "--to", "m1/lift", "--partial", "--json")
    assert done.code == 0, done.stderr
    found = done.json
    assert found["parameters"] == 22
    assert [skipped["line"] for skipped in found["skipped"]] == [3, 9]
    shown = cli("show", "m1/lift", "--json").json
    assert {"lim/lag", "set/3"}.isdisjoint(p["code"] for p in shown["parameters"])
    vault.tip = vault.index.follow()
    assert "2,5 or so" in str(vault.read("machines/m1/lift/snapshot.yaml"))
    assert cli("verify").code == 0


def test_a_file_without_any_good_line_is_refused_even_in_part(
    plant: Vault, cli: Cli, tmp_path: Path
) -> None:
    path = tmp_path / "bad.csv"
    path.write_text("Drive;HZ-04;;\nCode;Name;Value;Unit\nlim/lag;Window;x;mm\n")
    command = ("ingest", path, "--to", "m1/lift", "--partial")
    refused(cli, *command, code=4, line=1, said="no parameter")


def test_a_vault_path_that_is_no_vault_is_said_to_be_none(
    cli: Cli, tmp_path: Path, export_text: Export
) -> None:
    (tmp_path / "good.csv").write_text(export_text())
    (tmp_path / "folder").mkdir()
    for place, said in (
        ("nowhere", "there is no vault"), ("folder", "is no vault"), ("good.csv", "is no vault"),
        ("x" * 300, "there is no vault"), ("good.csv/x", "there is no vault"),
    ):  # fmt: skip
        for command in (("ingest", "good.csv", "--to", "m1/lift"), ("verify",)):
            refused(cli, "--vault", place, *command, code=2, said=said)
    assert sorted(path.name for path in tmp_path.iterdir()) == ["folder", "good.csv"]
    assert list((tmp_path / "folder").iterdir()) == []


def test_a_vault_whose_branch_is_gone_is_no_vault(vault: Vault, cli: Cli, tmp_path: Path) -> None:
    vault.close()
    (tmp_path / "plant/refs/heads/main").unlink()
    done = cli("verify")
    assert done.code in (2, 5)
    assert done.stderr.count("\n") == 1


def limited(size: int) -> Callable[[], None]:
    """Run in the child: no file may grow beyond a size, as on a disk that is nearly full."""
    return lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (size, size))


@pytest.mark.parametrize("size", [0, 1000, 20_000, 60_000])
def test_a_full_disk_leaves_the_vault_as_it_was(
    plant: Vault, cli: Cli, tmp_path: Path, export_text: Export, size: int
) -> None:
    noise = random.Random(5).randbytes(100_000).hex()
    (tmp_path / "good.csv").write_text(export_text() + f"set/99;{noise};1;\r\n")
    done = cli(
        "ingest", "good.csv", "--to", "m1/lift", "--note", "x" * 30_000, preexec_fn=limited(size)
    )
    assert done.code == 6, done.stderr
    assert done.stderr.startswith("axisvault: ")
    assert done.stderr.count("\n") == 1


def test_the_next_ingest_works_after_a_full_disk(
    vault: Vault, cli: Cli, tmp_path: Path, export_text: Export, git: Git
) -> None:
    (tmp_path / "good.csv").write_text(export_text())
    assert cli("ingest", "good.csv", "--to", "m1/lift", preexec_fn=limited(100)).code == 6
    assert cli("ingest", "good.csv", "--to", "m1/lift").code == 0
    assert cli("verify").code == 0
    assert git("fsck", "--strict", "--no-dangling") == ""


SHIM = """#!{python}
import os, sys
if {command!r} in sys.argv:
    sys.exit("fatal: write error: No space left on device")
os.execv({git!r}, ["git", *sys.argv[1:]])
"""


@pytest.mark.parametrize("command", ["fast-import", "update-ref"])
def test_a_git_that_cannot_write_is_told_in_its_own_words(
    plant: Vault, cli: Cli, tmp_path: Path, export_text: Export, command: str
) -> None:
    (tmp_path / "good.csv").write_text(export_text())
    shim = tmp_path / "bin/git"
    shim.parent.mkdir()
    shim.write_text(SHIM.format(python=sys.executable, command=command, git=shutil.which("git")))
    shim.chmod(0o755)
    path = f"{shim.parent}{os.pathsep}{os.environ['PATH']}"
    said = "No space left on device"
    command_line = ("ingest", "good.csv", "--to", "m1/lift")
    refused(cli, *command_line, code=6, said=said, environment={"PATH": path})


def test_a_machine_without_git_is_told(plant: Vault, cli: Cli, tmp_path: Path) -> None:
    (tmp_path / "bin").mkdir()
    environment = {"PATH": str(tmp_path / "bin")}
    refused(cli, "verify", code=6, said="git is not installed", environment=environment)


def without_privilege() -> None:
    """Run in the child: root, too, may do only what the modes of files allow (Linux)."""
    if os.getuid() == 0:
        prctl = ctypes.CDLL(None, use_errno=True).prctl
        for capability in (1, 2, 3):  # DAC_OVERRIDE, DAC_READ_SEARCH, FOWNER: capabilities(7)
            if prctl(24, capability, 0, 0, 0) != 0:  # PR_CAPBSET_DROP: prctl(2)
                raise OSError(ctypes.get_errno(), "a privilege cannot be given up")


@pytest.fixture
def read_only(
    plant: Vault, export_text: Export, tmp_path: Path
) -> Iterator[tuple[Path, dict[str, Any]]]:
    """A folder with a copy of the plant that may be read only, and how to run there."""
    folder = tmp_path / "shelf"
    shutil.copytree(plant.repository.path, folder / "plant")
    (folder / "good.csv").write_text(export_text())
    for path in [folder, *folder.rglob("*")]:
        path.chmod(0o555 if path.is_dir() else 0o444)
    environment = {"AXISVAULT": str(folder / "plant")}
    yield folder, {"cwd": folder, "environment": environment, "preexec_fn": without_privilege}
    for path in [folder, *folder.rglob("*")]:
        path.chmod(0o755)


def test_a_read_only_vault_can_be_read(read_only: tuple[Path, dict[str, Any]], cli: Cli) -> None:
    _, how = read_only
    for command in (("history", "m1/lift"), ("show", "m1/lift"), ("axis", "list"), ("verify",)):
        done = cli(*command, **how)
        assert (done.code, done.stderr) == (0, "")
        assert done.stdout != ""


def test_a_read_only_vault_is_not_written(read_only: tuple[Path, dict[str, Any]], cli: Cli) -> None:
    folder, how = read_only
    before = {path: path.stat().st_mtime_ns for path in folder.rglob("*")}
    said = "cannot be written"
    refused(cli, "ingest", "good.csv", "--to", "m1/lift", code=6, said=said, **how)
    refused(cli, "reindex", code=6, said=said, **how)
    assert {path: path.stat().st_mtime_ns for path in folder.rglob("*")} == before


def test_a_read_only_vault_without_index_can_be_read(
    read_only: tuple[Path, dict[str, Any]], cli: Cli
) -> None:
    folder, how = read_only
    (folder / "plant").chmod(0o755)
    (folder / "plant/axisvault").chmod(0o755)
    shutil.rmtree(folder / "plant/axisvault")
    (folder / "plant").chmod(0o555)
    done = cli("history", "m1/lift", **how)
    assert (done.code, done.stderr) == (0, "")
    refused(cli, "ingest", "good.csv", "--to", "m1/lift", code=6, said="cannot be written", **how)


@pytest.mark.parametrize("hidden", ["plant", "plant/objects"])
def test_a_vault_that_may_not_be_read_is_told(
    read_only: tuple[Path, dict[str, Any]], cli: Cli, hidden: str
) -> None:
    folder, how = read_only
    (folder / hidden).chmod(0o000)
    done = cli("history", "m1/lift", **how)
    (folder / hidden).chmod(0o755)
    assert done.code in (2, 5, 6)
    assert done.stderr.startswith("axisvault: ")
    assert done.stderr.count("\n") == 1


def test_a_vault_made_where_nothing_can_be_written_is_refused(
    read_only: tuple[Path, dict[str, Any]], cli: Cli
) -> None:
    _, how = read_only
    refused(cli, "create", "other", "--site", "Works", code=6, said="no vault can be made", **how)


def test_an_index_that_may_only_be_read_does_not_stop_an_ingest(
    read_only: tuple[Path, dict[str, Any]], cli: Cli
) -> None:
    folder, how = read_only
    for path in [folder / "plant", *(folder / "plant").rglob("*")]:
        path.chmod(0o777 if path.is_dir() else 0o666)
    (folder / "plant/axisvault").chmod(0o555)
    for path in (folder / "plant/axisvault").glob("index*"):
        path.chmod(0o444)
    done = cli("ingest", "good.csv", "--to", "m1/lift", **how)
    assert (done.code, done.stderr) == (0, "")
    assert len(cli("history", "m1/lift", "--json", **how).json["snapshots"]) == 2
