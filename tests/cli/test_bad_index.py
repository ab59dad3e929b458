"""Whatever became of the index, every command prints and records what it does with a good one.

Exports and the family hazel are invented. The index is damaged as files and disks get damaged: put
back, cut, overwritten; its pages are found through SQLite itself (`sqlite_schema.rootpage`).
"""

from __future__ import annotations

import json
import shlex
import shutil
import sqlite3
import subprocess
import time
from collections.abc import Callable, Iterable, Iterator
from contextlib import chdir, closing, redirect_stderr, redirect_stdout
from dataclasses import dataclass, field
from datetime import datetime, tzinfo
from functools import cache, partial
from io import StringIO
from itertools import product
from pathlib import Path
from typing import Any

import click
import pytest

from vault.cli import axisvault, run
from vault.store import clock
from vault.store.index.tables import in_memory
from vault.store.vault import Vault

pytestmark = pytest.mark.sweep(4)

Damage = Callable[[Path], None]
BY = "Mira Okafor <mira@tileworks.example>"
INDEX = "plant/axisvault/index.sqlite"

SHOW, HISTORY, DRIFT = "show m1/lift@previous", "history m1/lift --parameter lim/lag", "drift"
FIND, VERIFY = "find Setting", "verify"
READING = [
    SHOW, "show m1/lift@golden", "history m1/lift", HISTORY, FIND, "spread */lift", "check m1/lift",
    "history m1/lift --parameter now/place", "history m1/lift --parameter profile_velocity",
    "compare m1/lift@first m1/lift --all --exit-code", "compare m1/lift@~1 m2/lift --fault 8611h",
    "compare m1 m2 --pair lift=lift",
    "find following_error_window --value '> 2.2 mm'", "golden show m1/lift", DRIFT, "drift m1/lift",
    VERIFY, "axis list", "axis show m1/lift", "family list", "family show hazel",
    "machine list", "machine show m1",
    "family learn hazel", "site show",
    "family try hazel next.csv",
    "fault list m1/lift", "fault list", "golden waivers --days 9999",
    "audit m1/lift --fault 8611h --at 2026-03-06", "audit m1",
    "axis template m1/lift", "axis template m2/lift", "note list m1/lift",
    "trial template m1/lift", "trial list m1/lift", "trial show m1/lift",
    "margins m1/lift", "margins m1/lift --over-time", "spread */lift --margins",
    "table --out tables", "alerts list", "sync list",
]  # fmt: skip
WITHOUT_OUTBOX = [line for line in READING[:-2] if line != "history m1/lift"]
"""What tells nothing of alerts, which a logbook has too, nor of syncs: these lay in the folder."""
INGEST = "ingest next.csv --to m1/lift --taken-at 2026-04-12"
TRACE = "time [s],position actual [mm]\n" + "".join(f"{n / 100},{n}\n" for n in range(30))
WRITING = [
    INGEST, "ingest next.csv --to m1/lift --taken-at 2026-03-02", "ingest-tree tree",
    "ingest next.csv --to m1/belt --taken-at 2026-04-12", "watch drop --once --settle 0",
    "golden approve m1/lift@previous --reason 'as it was'", "golden withdraw m1/lift --reason gone",
    "golden waive m1/lift lim/lag --allow '..9 mm' --until 2026-12-31 --reason worn", "reindex",
    "family add other.yaml", "family confirm hazel set/1=velocity_gain --none ref/way",
    "axis set m1/lift other-axis.yaml", "site set other-site.yaml",
    "golden approve * --reason 'all as they are'", "golden approve m?/* --only-look",
    "golden waive */lift lim/lag --allow '..9 mm' --until 2026-12-31 --reason worn",
    "axis interval m1/* '30 days'", "axis rename m1/lift hoist",
    "axis retire m1/lift --reason sold", "machine rename m1 press",
    "machine retire m1 --reason sold", "machine set m1 machine.yaml",
    "site signers signers",
    "note add m1/lift 'the door is bent'", "note add m1/lift@first late --taken-at 2026-03-05",
    "alerts confirm log", "sync look there.bundle", "sync take there.bundle",
    "sync give here.bundle",
    "drift --alert", "alerts send --now", "alerts test log",
    "fault add m1/lift --code 8611h --at 2026-03-06T10:00", "fault import m1/lift faults.csv",
    "trial add m1/lift trial.yaml --taken-at 2026-03-11",
    "restore plan m1/lift --out lift-plan", "restore check m1/lift next.csv --moved '9 mm=9.02 mm'",
    "restore list", "trial trace m1/lift move.csv --taken-at 2026-04-11",
]  # fmt: skip
ASKED = (SHOW, HISTORY, FIND, INGEST)
NEEDS_NO_INDEX = dict.fromkeys(
    ("create", "demo", "recover"), "it makes a new vault, with a new index"
)
NEEDS_NO_INDEX["family roles"] = "it tells what the program knows"
NEEDS_NO_INDEX["manual"] = "it is read without a vault"
NEEDS_NO_INDEX["family draft"] = "it reads files on disk"
NEEDS_NO_INDEX["family describe"] = "it rewrites a dictionary; tests/jobs/families do that"
NEEDS_NO_INDEX["backup"] = "nothing of the index goes into it"
NEEDS_NO_INDEX |= dict.fromkeys(
    ("user add", "user list", "user remove", "user password", "user token", "user log"),
    "accounts lie in a file of their own",
)
NEEDS_NO_INDEX["restore sign-off"] = "it answers for a restore that was checked; tests/jobs do that"
NEEDS_NO_INDEX["serve"] = "it does not end by itself; tests/webui asks for its pages"
FILL = ("drift --alert", FIND)  # writes assessments and values into the index
AXIS = "schema: axisvault/axis/1\nmechanics: {kind: ball_screw, lead: 10 mm}\n"
SITE = """schema: axisvault/vault/1\nsite: Tile works\nexport_every: 40 days
alerts: [{{name: log, kind: file, path: '{log}'}}]\n"""


@dataclass(frozen=True)
class Outcome:
    """What a command printed and left: exit code, stdout, the commit of the branch; stderr."""

    code: int | str
    stdout: str
    tip: str
    stderr: str = field(compare=False)


class Stopped(datetime):
    @classmethod
    def now(cls, tz: tzinfo | None = None) -> Stopped:
        return cls(2026, 4, 20, 12, tzinfo=tz)


@pytest.fixture(scope="module", autouse=True)
def standing() -> Iterator[None]:
    """A clock that stands makes equal commands record equal commits."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setenv("AXISVAULT_BY", BY)
        patch.setenv("TZ", "UTC")
        time.tzset()
        patch.setattr(clock, "datetime", Stopped)
        yield
    time.tzset()


def told(place: Path, line: str, vault: str = "plant") -> Outcome:
    """Run a command in this process, on a vault in a place."""
    words = ["--vault", vault, *shlex.split(line)]
    if line != "alerts test log":  # as JSON it prints an id that is another one each time
        words.append("--json")
    with chdir(place), redirect_stdout(StringIO()) as out, redirect_stderr(StringIO()) as err:
        try:
            code: int | str = run(words)
        except Exception as error:  # a traceback for whoever runs it
            code = repr(error)
    tip = (place / vault / "refs/heads/main").read_text().strip()
    return Outcome(code, out.getvalue(), tip, err.getvalue())


@pytest.fixture(scope="module")
def shelf(
    tmp_path_factory: pytest.TempPathFactory, family_text: str, export_text: Callable[..., str]
) -> Path:
    """A vault `plant` and files for commands; beside it `indexes`: older ones, and others."""
    shelf = tmp_path_factory.mktemp("index") / "shelf"
    site = SITE.format(log=shelf / "log")
    lift, belt = partial(export_text, serial="S-1"), partial(export_text, settings=9, serial="S-2")
    files = {
        "hazel.yaml": family_text, "other.yaml": family_text.replace("Setting 3", "Setting three"),
        "axis.yaml": AXIS, "other-axis.yaml": AXIS.replace("10 mm", "20 mm"),
        "signers": f"m@x.example ssh-ed25519 {'A' * 68}\n", "site.yaml": site,
        "other-site.yaml": site.replace("Tile", "Other"),
        "trial.yaml": "schema: axisvault/trial/1\njog: {stops: ok}\n",
        "machine.yaml": "schema: axisvault/machine/1\ntitle: Press\n",
        "tree/m1/belt/a.csv": belt("3,4", saved="2026-04-10 08:00:00"),
        "faults.csv": "at,code\n2026-03-06T10:00,8611h\n", "next.csv": lift("2,9"),
        "move.csv": TRACE,
        "drop/m1/lift/b.csv": lift("3,6", saved="2026-04-11 08:00:00"),
    }  # fmt: skip
    for name, text in files.items():
        (shelf / name).parent.mkdir(parents=True, exist_ok=True)
        (shelf / name).write_text(text)
    shelf.with_name("indexes").mkdir()

    def do(*lines: str, vault: str = "plant") -> None:
        for line in lines:
            done = told(shelf, line, vault)
            assert done.code in (0, 1), f"{line}: {done.code} {done.stderr}"

    def take(axis: str, day: str, text: str, vault: str = "plant") -> None:
        (shelf / "export.csv").write_text(text)
        do(f"ingest export.csv --to {axis} --taken-at {day} --note 'On {day}'", vault=vault)

    def keep(name: str, vault: str = "plant") -> None:
        for path in (shelf / vault / "axisvault").glob("index.sqlite*"):
            kept = path.name.replace("index.sqlite", name)
            shutil.copy(path, shelf.with_name("indexes") / kept)

    for vault in ("plant", "other"):
        Vault.create(shelf / vault, "Tile works", BY).close()
        do("family add hazel.yaml", "axis set m1/lift axis.yaml", vault=vault)
    take("m1/lift", "2026-03-01", lift("2"))
    take("m1/lift", "2026-03-05", lift("2,5"))
    take("m1/belt", "2026-03-05", belt("4"))
    do("golden approve m1/lift --reason accepted", *FILL)
    keep("old")
    shutil.copytree(shelf / "plant", shelf / "laptop")
    take("m1/lift", "2026-03-04", lift("2,2"), "laptop")
    take("m1/lift", "2026-04-01", lift("2,3"), "laptop")
    do("sync give there.bundle", vault="laptop")
    take("m1/lift", "2026-03-03", lift("7", speed="90"))
    take("m1/lift", "2026-03-09", lift("3", speed="80"))
    short = export_text("2,4", settings=8, serial="S-3").replace("set/4;Setting 4;12;\r\n", "")
    take("m2/lift", "2026-03-08", short)
    take("m1/lift", "2026-03-09", lift("3,1", speed="80", way="2", place="5"))
    do("site set site.yaml", "trial add m1/lift trial.yaml --taken-at 2026-03-10")
    with Vault.open(shelf / "plant"):  # while it is open, the WAL stays
        waive = "golden waive m1/lift mov/speed --allow '..80 mm/s' --until 2026-05-31"
        do(f"{waive} --reason worn", *FILL)
        keep("interrupted")
    shutil.copytree(shelf / "plant", shelf / "longer")
    for vault in ("longer", "other"):
        take("m1/lift", "2026-04-15", lift("8"), vault)
        do("golden approve m1/lift --reason other", *FILL, vault=vault)
        keep(vault, vault)
    for command in (  # two packs and nothing else: it is copied for every case
        ["repack", "-adq"],
        ["-c", "fetch.unpackLimit=1", "fetch", "-q", shelf / "longer", "main"],
    ):
        subprocess.run(["git", "-C", shelf / "plant", *command], check=True)
    for empty in (shelf / "plant/objects").glob("??"):
        empty.rmdir()
    for vault in ("longer", "laptop"):
        shutil.rmtree(shelf / vault)
    shutil.rmtree(shelf / "other")
    return shelf


Copied = Callable[..., Path]
Good = Callable[[str], Outcome]


@pytest.fixture(scope="module")
def copied(shelf: Path) -> Copied:
    """Copies the shelf, and damages the index there; the copy before is gone then."""

    def copy(damage: str | None = None) -> Path:
        place = shelf.with_name("copy")
        shutil.rmtree(place, ignore_errors=True)
        shutil.copytree(shelf, place, copy_function=shutil.copyfile)
        if damage is not None:
            DAMAGES[damage](place)
        return place

    return copy


@pytest.fixture(scope="module")
def good(copied: Copied) -> Good:
    """What a command prints and leaves with a good index."""

    @cache
    def of(line: str) -> Outcome:
        found = told(copied(), line)
        assert found.code in (0, 1, 3), found.stderr  # 3: a guard that asks the index
        return found

    return of


def remove(place: Path) -> None:
    for path in place.glob(f"{INDEX}*"):
        path.unlink()


def put(place: Path, name: str, wal: str = "") -> None:
    remove(place)
    shutil.copy(place.with_name("indexes") / name, place / INDEX)
    if wal:
        shutil.copy(place.with_name("indexes") / f"{wal}-wal", place / f"{INDEX}-wal")


def write(place: Path, content: bytes, ending: str = "") -> None:
    (place / (INDEX + ending)).write_bytes(content)


def cut(place: Path) -> None:
    content = (place / INDEX).read_bytes()
    (place / INDEX).write_bytes(content[: len(content) // 2])


def page(place: Path, of: str, first: float = 0, fill: bytes = b"x") -> None:
    """Overwrite the root page of a table, or of an index of one, from some part of it on."""
    with closing(sqlite3.connect(place / INDEX)) as database:
        find = "SELECT rootpage FROM sqlite_schema WHERE name = ?"
        (number,) = database.execute(find, (of,)).fetchone()
        (size,) = database.execute("PRAGMA page_size").fetchone()
    start, end = (number - 1) * size + int(size * first), number * size
    content = (place / INDEX).read_bytes()
    (place / INDEX).write_bytes(content[:start] + fill * (end - start) + content[end:])


def sql(place: Path, statements: str) -> None:
    with closing(sqlite3.connect(place / INDEX, isolation_level=None)) as database:
        changed = [database.execute(each).rowcount for each in statements.split(";")]
    assert changed[-1] > 0, "the last one changes rows"


def folder(place: Path) -> None:
    remove(place)
    (place / INDEX).mkdir()


def no_folder(place: Path) -> None:
    shutil.rmtree((place / INDEX).parent)
    (place / INDEX).parent.write_bytes(b"")


OLDER = """DROP TABLE assessments; DROP TABLE value_changes; DROP TABLE state; DROP TABLE snapshots;
    CREATE TABLE snapshots (id TEXT, axis TEXT); CREATE INDEX in_time ON snapshots (id);
    CREATE TABLE state (layout INTEGER, tip TEXT); PRAGMA user_version = 0;
    INSERT INTO state VALUES (1, NULL)"""
NEWER = """ALTER TABLE snapshots RENAME COLUMN taken TO moment; DELETE FROM snapshots;
    CREATE TABLE later (axis TEXT); PRAGMA user_version = 99;
    UPDATE state SET newest = newest + 1"""
COMMON: dict[str, Damage] = {
    "missing": remove,
    "old": partial(put, name="old"),
    "garbage": partial(write, content=b"junk" * 5000),
}
RARE: dict[str, Damage] = {
    "cut at half": cut,
    "a folder": folder,
    "older layout": partial(sql, statements=OLDER),
    "newer layout": partial(sql, statements=NEWER),
    "of a longer history, fetched": partial(put, name="longer"),
    "of another vault": partial(put, name="other"),
    "zero bytes": partial(write, content=b""),
    "garbage after the header": partial(write, content=b"SQLite format 3\0" + b"\xff" * 9000),
    "interrupted, its WAL left": partial(put, name="interrupted", wal="interrupted"),
    "garbage for a WAL": partial(write, content=b"junk" * 3000, ending="-wal"),
    "garbage for shared memory": partial(write, content=b"junk" * 8192, ending="-shm"),
    "garbage for a journal": partial(write, content=b"junk" * 3000, ending="-journal"),
    "no line in state": partial(sql, statements="DELETE FROM state"),
}
FOUND = "SELECT name FROM sqlite_schema WHERE rootpage > 0 AND name NOT LIKE 'sqlite%'"
TABLES = [name for (name,) in in_memory().execute(FOUND)]
DEEP = {f"half a page of {of}": partial(page, of=of, first=0.5) for of in TABLES}
ZEROED = {f"half of {of} zeroed": partial(page, of=of, first=0.5, fill=b"\0") for of in TABLES}
DEEP |= {name: damage for name, damage in ZEROED.items() if "value_changes" not in name}
DEEP["old under a later WAL"] = partial(put, name="old", wal="interrupted")
PARTLY: dict[str, Damage] = {
    **{f"page of {of}": partial(page, of=of) for of in TABLES},
    "a line gone": partial(sql, statements="DELETE FROM lines WHERE numbers LIKE '3.1 %'"),
    "junk for assessments": partial(sql, statements="UPDATE assessments SET document = 'junk'"),
    "empty assessments": partial(sql, statements="UPDATE assessments SET document = '{}'"),
    "an assessment gone": partial(sql, statements="DELETE FROM assessments WHERE axis = 'belt'"),
    "text for blobs": partial(sql, statements="UPDATE snapshots SET text = CAST(text AS TEXT)"),
    "values of no snapshot": partial(sql, statements="UPDATE filled SET seq = 999"),
    "junk for the tip": partial(sql, statements="UPDATE state SET tip = x'ff'"),
}
CHANGES = {
    "a value": "UPDATE lines SET numbers = replace(numbers, '3.1', '3.2')",
    "a record": "UPDATE snapshots SET (text, crc) = (SELECT text, crc FROM snapshots LIMIT 1)",
    "a piece of a record": "UPDATE snapshots SET text = substr(text, 1, length(text) - 1)",
    "what records are kept by": "UPDATE state SET typical = x'00'",
    "a shape": "UPDATE shapes SET text = replace(text, 'Following', 'Fallow')",
    "a snapshot gone": "DELETE FROM snapshots WHERE axis = 'belt'",
    "the order": "UPDATE snapshots SET taken = -taken",
    "times": "UPDATE snapshots SET taken = taken + 259200000000",
    "serial numbers": "UPDATE snapshots SET serial = 'S-9'",
    "kept drift": "UPDATE assessments SET document = replace(document, 'hazard', 'record')",
}
DAMAGES: dict[str, Damage] = {**COMMON, **RARE, **DEEP, **ZEROED, **PARTLY, "no folder": no_folder}
DAMAGES |= {name: partial(sql, statements=change) for name, change in CHANGES.items()}

# SQLite cannot open it: commands do without, and only `verify` has something to say about it.
PLAIN = ("garbage", "garbage after the header", "cut at half")


def cases(damages: Iterable[str], lines: Iterable[str], without: int = 0) -> list[Any]:
    """Each damage with each command but some: one of so many, another one with each damage."""
    pairs = [
        (damage, line)
        for (number, damage), (at, line) in product(enumerate(damages), enumerate(lines))
        if not without or (number + at) % without
    ]
    return [pytest.param(*pair, id=" - ".join(pair)) for pair in pairs if pair not in TOLD]


NEW = {"half of state zeroed"}  # as if there were no index yet
# It says which files were read for the search: what is lost of it is read again.
NEW |= {"half a page of text_folders", "half of text_folders zeroed"}
TOLD = {(damage, VERIFY) for damage in PLAIN} | {("no folder", VERIFY)}  # the witness is gone


@pytest.mark.parametrize(
    ("damage", "line"),
    cases(COMMON, [*READING, *WRITING], without=3)
    + cases(RARE, [VERIFY, *ASKED, DRIFT], without=2)
    + cases(DEEP, [SHOW, HISTORY, FIND], without=3)
    + cases(PARTLY, [*ASKED, DRIFT], without=3)
    + cases(["no folder"], WITHOUT_OUTBOX),
)
def test_a_command_does_what_it_does_with_a_good_index(
    copied: Copied, good: Good, damage: str, line: str
) -> None:
    wanted = good(line)
    assert told(copied(damage), line) == wanted


def test_every_command_is_tried_here_or_said_to_need_no_index() -> None:
    tried = [f"{line} " for line in (*READING, *WRITING, *NEEDS_NO_INDEX)]
    assert [c for c in commands(axisvault) if not any(line.startswith(c) for line in tried)] == []


def commands(group: click.Group, before: str = "") -> Iterator[str]:
    for name in group.list_commands(click.Context(group)):
        found, path = group.get_command(click.Context(group), name), f"{before}{name} "
        yield from commands(found, path) if isinstance(found, click.Group) else [path]


@pytest.mark.parametrize("damage", COMMON)
def test_commands_one_after_the_other_read_the_same_as_with_a_good_index(
    copied: Copied, good: Good, damage: str
) -> None:
    lines = [line for line in READING if line != VERIFY]
    wanted = [good(line) for line in lines]
    place = copied(damage)
    assert [told(place, line) for line in lines] == wanted


@pytest.mark.parametrize("damage", [*COMMON, "a folder", "newer layout", "page of value_changes"])
def test_reading_rewrites_nothing_but_the_index(
    copied: Copied, git: Callable[..., str], damage: str
) -> None:
    plant = copied(damage) / "plant"

    def outside() -> dict[Path, bytes]:
        files = (path for path in plant.rglob("*") if path.is_file())
        return {p: p.read_bytes() for p in files if p.parent != plant / "axisvault"}

    before = outside()
    for line in READING:
        told(plant.parent, line)
    assert outside() == before
    assert git("fsck", "--strict", "--no-dangling", where=plant) == ""


@pytest.mark.parametrize("damage", [*CHANGES, *PLAIN, *[d for d in DEEP | ZEROED if d not in NEW]])
def test_verify_notices_an_index_that_does_not_say_what_git_does(
    copied: Copied, damage: str
) -> None:
    done = told(copied(damage), VERIFY)
    assert done.code == 5
    assert {problem["kind"] for problem in json.loads(done.stdout)["problems"]} == {"index"}


@pytest.mark.parametrize("damage", PARTLY)
def test_verify_blames_nothing_but_the_index(copied: Copied, damage: str) -> None:
    done = told(copied(damage), VERIFY)
    assert done.code in (0, 5)
    assert {problem["kind"] for problem in json.loads(done.stdout)["problems"]} <= {"index"}


@pytest.mark.parametrize("damage", [*CHANGES, *PARTLY])
def test_reindex_mends_the_index(copied: Copied, good: Good, damage: str) -> None:
    lines = ("reindex", VERIFY, FIND, DRIFT)
    wanted = [good(line) for line in lines]
    place = copied(damage)
    assert [told(place, line) for line in lines] == wanted
