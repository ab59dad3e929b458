"""What the tests of store, jobs and command line share. The family hazel is invented."""

from __future__ import annotations

import json
import os
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from contextlib import redirect_stderr, redirect_stdout
from dataclasses import dataclass
from io import StringIO
from pathlib import Path
from typing import Any

import pytest
from argon2 import PasswordHasher

from vault import cli as vault_cli
from vault.jobs.accounts import accounts
from vault.jobs.demo.demo import build_demo
from vault.jobs.intake.ingest import ingest
from vault.jobs.intake.report import Ingested
from vault.jobs.intake.visit import parse_visit
from vault.jobs.records.edit import add_family
from vault.model.names import Address
from vault.store.index.rows import Snapshot
from vault.store.vault import Vault

pytest_plugins = ["tests.sweeps"]

ROOT = Path(__file__).parents[1]
BY = "Mira Okafor <mira@tileworks.example>"


_HEAD = """\
schema: axisvault/family/1
name: hazel
title: Hazel drives (invented, for tests)
export:
  format: delimited
  delimiter: ";"
  decimal: ","
  columns: {code: Code, name: Name, value: Value, unit: Unit}
  nameplate: {Drive: drive, Serial: serial, Saved: taken_at}
  recognise: {drive: ^HZ-}
parameters:
  lim/lag: {name: Following error window, role: following_error_window, type: UNSIGNED32, scale: 0.01, unit: mm}
  mov/speed: {name: Profile velocity, role: profile_velocity, type: UNSIGNED32, scale: 0.1, unit: mm/s}
  ref/way: {name: Homing method, role: homing_method, type: INTEGER8}
  now/place: {name: Actual position, role: position_actual_value, type: INTEGER32, unit: mm, volatile: true}
"""  # noqa: E501


@pytest.fixture(scope="session")
def family_text() -> str:
    """Dictionary of the invented family hazel: four parameters with a role, twenty without."""
    plain = (f"  set/{n}: {{name: Setting {n}, type: INTEGER16}}\n" for n in range(1, 21))
    return _HEAD + "".join(plain)


def _export(
    lag: str = "2,5",
    speed: str = "100",
    *,
    serial: str = "",
    saved: str = "",
    way: str = "1",
    place: str = "0",
    settings: int = 7,
) -> str:
    nameplate = ["Drive;HZ-04;;"]
    nameplate += [f"Serial;{serial};;"] if serial else []
    nameplate += [f"Saved;{saved};;"] if saved else []
    rows = [
        "Code;Name;Value;Unit",
        f"lim/lag;Following error window;{lag};mm",
        f"mov/speed;Profile velocity;{speed};mm/s",
        f"ref/way;Homing method;{way};",
        f"now/place;Actual position;{place};mm",
        *(f"set/{n};Setting {n};{settings + n};" for n in range(1, 21)),
    ]
    return "\r\n".join([*nameplate, *rows, ""])


@pytest.fixture(scope="session")
def export_text() -> Callable[..., str]:
    """Writes an export of family hazel; `lag` in mm and `speed` in mm/s as text."""
    return _export


@pytest.fixture(scope="session", autouse=True)
def quick_passwords() -> Iterator[PasswordHasher]:
    """Hashes passwords at the least cost that Argon2id takes; gives what hashes them in earnest."""
    earnest = accounts._HASHER
    with pytest.MonkeyPatch.context() as patch:
        quick = PasswordHasher(time_cost=1, memory_cost=8, parallelism=1)
        patch.setattr(accounts, "_HASHER", quick)
        yield earnest


@pytest.fixture(scope="session", autouse=True)
def no_sender() -> Iterator[None]:
    """Messages stay in the outbox, and no process that sends them outlives the tests."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("vault.jobs.alerts.deliver.start_delivery", lambda folder: None)
        yield


@pytest.fixture(scope="session")
def with_hazel(tmp_path_factory: pytest.TempPathFactory, family_text: str) -> Path:
    """Folder of a vault that has the family hazel and nothing else, for copying only."""
    folder = tmp_path_factory.mktemp("hazel")
    (folder / "hazel.yaml").write_text(family_text)
    with Vault.create(folder / "plant", "Tile works (invented)", BY) as made:
        add_family(made, folder / "hazel.yaml", BY)
    return folder


@pytest.fixture
def vault(tmp_path: Path, with_hazel: Path) -> Iterator[Vault]:
    """An open vault in `tmp_path/plant` that has the family hazel, `tmp_path/hazel.yaml`."""
    shutil.copytree(with_hazel, tmp_path, dirs_exist_ok=True)
    with Vault.open(tmp_path / "plant") as copied:
        yield copied


@pytest.fixture(scope="session")
def works(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """Folder of the vault that `axisvault demo` builds, for reading only, but for its last step.

    The machine whose dictionary was drafted is taken in by `tests/jobs/demo` alone.
    """
    folder = tmp_path_factory.mktemp("works") / "vault"
    build_demo(folder, lambda done, wanted: None)
    built = _tip(folder)
    yield folder
    assert _tip(folder) == built, "some test wrote to the vault that all of them share"


def _tip(folder: Path) -> str:
    with Vault.open(folder) as vault:
        return vault.tip


@pytest.fixture
def plant(works: Path, tmp_path: Path) -> Iterator[Vault]:
    """An open copy of the vault that `axisvault demo` builds, in `tmp_path/plant`."""
    shutil.copytree(works, tmp_path / "plant")
    with Vault.open(tmp_path / "plant") as vault:
        yield vault


def every_snapshot(vault: Vault) -> list[Snapshot]:
    """All snapshots that the index shows, axis by axis."""
    return [found for axis in vault.index.axes() for found in vault.index.snapshots(axis)]


Take = Callable[..., Ingested]


@pytest.fixture
def take(vault: Vault, tmp_path: Path) -> Take:
    """Takes the text of an export into the vault, as a file written for it."""

    def take_in(
        text: str | bytes,
        taken_at: str | None = "2026-03-01T08:00:00+00:00",
        to: str = "m1/lift",
        name: str = "lift.csv",
        *,
        into: Vault | None = None,
        **more: Any,
    ) -> Ingested:
        path = tmp_path / name
        path.write_bytes(text if isinstance(text, bytes) else text.encode())
        visit = parse_visit(more.pop("by", BY), taken_at=taken_at, **more)
        return ingest(into or vault, path, Address.parse(to), visit)

    return take_in


@dataclass(frozen=True)
class Outcome:
    """What a run of the command line left."""

    code: int
    stdout: str
    stderr: str

    @property
    def json(self) -> Any:
        return json.loads(self.stdout)


@pytest.fixture(scope="session")
def compiled(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """Where programs started by tests keep what Python compiles: not beside the sources."""
    return tmp_path_factory.mktemp("compiled")


@pytest.fixture
def clean(tmp_path: Path, compiled: Path) -> dict[str, str]:
    """An environment in which nothing of this machine's counts."""
    return {
        "PATH": os.environ["PATH"],
        "HOME": str(tmp_path),
        "LANG": "C.UTF-8",
        "TZ": "UTC",
        "PYTHONPATH": str(ROOT),
        "PYTHONPYCACHEPREFIX": str(compiled),
        "AXISVAULT": str(tmp_path / "plant"),
        "AXISVAULT_BY": BY,
    }


@pytest.fixture
def program(tmp_path: Path, clean: dict[str, str]) -> Callable[..., Outcome]:
    """Runs `python -m vault` in a process of its own, in `tmp_path`."""

    def run(*arguments: object, environment: dict[str, str] | None = None, **how: Any) -> Outcome:
        # Where a limit is set, half a file of bytecode would be left for the next program.
        reads_only = {"PYTHONDONTWRITEBYTECODE": "1"} if "preexec_fn" in how else {}
        done = subprocess.run(
            [sys.executable, "-m", "vault", *map(str, arguments)],
            env={**clean, **reads_only, **(environment or {})},
            cwd=how.pop("cwd", tmp_path),
            stdin=subprocess.DEVNULL,
            capture_output=True,
            text=True,
            check=False,
            timeout=120,
            **how,
        )
        return Outcome(done.returncode, done.stdout, done.stderr)

    return run


@pytest.fixture
def cli(
    tmp_path: Path, clean: dict[str, str], program: Callable[..., Outcome]
) -> Callable[..., Outcome]:
    """Runs a command line in this process; as `program` does where a test says how to run it."""

    def run(*arguments: object, **how: Any) -> Outcome:
        if how:
            return program(*arguments, **how)
        with (
            pytest.MonkeyPatch.context() as patch,
            redirect_stdout(StringIO()) as out,
            redirect_stderr(StringIO()) as err,
        ):
            patch.setattr(os, "environ", clean)
            patch.chdir(tmp_path)
            code = vault_cli.run([*map(str, arguments)])
        return Outcome(code, out.getvalue(), err.getvalue())

    return run


def git_of(home: Path) -> Callable[..., str]:
    """Runs the git program on `home/plant`, as anybody else would who knows git only."""

    def run(*arguments: str, stdin: bytes | None = None, where: Path | None = None) -> str:
        environment = {
            "PATH": os.environ["PATH"],
            "HOME": str(home),
            "GIT_CONFIG_NOSYSTEM": "1",
            "GIT_AUTHOR_NAME": "Somebody Else",
            "GIT_AUTHOR_EMAIL": "else@tileworks.example",
            "GIT_COMMITTER_NAME": "Somebody Else",
            "GIT_COMMITTER_EMAIL": "else@tileworks.example",
        }
        done = subprocess.run(
            ["git", f"--git-dir={where or home / 'plant'}", *arguments],
            input=stdin,
            env=environment,
            capture_output=True,
            check=False,
        )
        assert done.returncode == 0, done.stderr.decode()
        return done.stdout.decode()

    return run


@pytest.fixture
def git(tmp_path: Path) -> Callable[..., str]:
    """Runs the git program on `tmp_path/plant`."""
    return git_of(tmp_path)


@pytest.fixture
def unpack(tmp_path: Path, git: Callable[..., str]) -> Callable[[], None]:
    """Puts each object of `tmp_path/plant` into a file of its own, as other programs do."""

    def do() -> None:
        packs = tmp_path / "plant/objects/pack"
        contents = [path.read_bytes() for path in packs.glob("*.pack")]
        for path in packs.iterdir():
            path.unlink()
        for content in contents:
            git("unpack-objects", "-q", stdin=content)

    return do
