"""The page of the vault's format says what lies in a vault, and how to read it with git alone."""

from __future__ import annotations

import re
import shlex
import shutil
import subprocess
import sys
from collections.abc import Callable, Iterator
from dataclasses import fields
from datetime import UTC, datetime
from decimal import Decimal
from fnmatch import fnmatch
from hashlib import sha256
from io import BytesIO
from pathlib import Path
from typing import Any

import pytest

from example_machines import __file__ as example
from tests.conftest import BY, Outcome
from tests.webui.visiting import Visit, add_people
from vault.model.axis_pick import AxisPick
from vault.model.corrections import Correction
from vault.model.coverage import Coverage
from vault.model.export import SkippedLine
from vault.model.fault_log import FaultEntry
from vault.model.golden import Allowance, Approval, Golden, Waiver
from vault.model.parameters import Parameter
from vault.model.restore import Adapted, RestoreRecord, SheetMark, SignOff
from vault.model.snapshots import SnapshotRecord
from vault.store.files import layout, yaml_text
from vault.store.files.corrections_text import corrections_text
from vault.store.files.fault_log_text import fault_log_text
from vault.store.files.golden_text import golden_text, read_golden
from vault.store.files.parameters_text import parameters_text
from vault.store.files.restore_text import restore_text
from vault.store.files.snapshot_text import read_snapshot, snapshot_text
from vault.store.local.outbox import Outbox
from webui.app import create_app

ROOT = Path(__file__).parents[1]
EXAMPLE, LIFT = Path(example).parent, "glaze-line-1/lift"
SITE = """\
schema: axisvault/vault/1
site: Tile works (invented example)
alerts: [{name: log, kind: file, path: PLACE/log}]
"""
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
        layout.corrections_file(address), f"{layout.plan_folder(address)}/plan.json",
        layout.corrections_file(address), layout.machine_file("m"),
        layout.machine_corrections_file("m"),
        layout.parameters_file(address.controller), layout.snapshot_file(address.controller),
        layout.export_file(address.controller, "e"), layout.golden_file(address.controller),
        layout.machine_corrections_file("m"), layout.trial_file(address, "t"),
        layout.trace_file(address, "t"), f"{layout.trace_folder(address, 't')}/move.csv",
    }  # fmt: skip
    assert not [row for row in described_paths() if not any(row.fullmatch(path) for path in ours)]


def section(title: str) -> str:
    """The text of the page below a heading, to the next one."""
    found = re.search(rf"^##+ {re.escape(title)}$(.*?)^##", PAGE, re.MULTILINE | re.DOTALL)
    assert found is not None, f"no section {title}"
    return found[1]


def rows(text: str) -> Iterator[tuple[list[str], str]]:
    """Of each row of a table: the names of its first column, and the whole row."""
    for row in re.findall(r"^\| `.*$", text, re.MULTILINE):
        yield re.findall(r"`([^`]+)`", row.split(" | ")[0]), row


# Records with everything that they can have, as the writers get them. Invented.
WHEN = datetime(2026, 3, 1, 8, tzinfo=UTC)
APPROVAL = Approval("1" * 40, "2" * 40, BY, WHEN, "as built", {"rule": ("said",)}, "no torque")
SIGNATURE = SignOff(BY, WHEN, "1" * 40, "a sensor is missing")
LEFT_OUT = (SkippedLine(3, "what;is;this", "no value"),)
SNAPSHOT = SnapshotRecord(
    WHEN, "as-left", BY, "lift.csv", "a" * 64, 2, "hazel", "b" * 64, 1, {"serial": "S-1"}, "WO-1",
    "a note", "a twin", "R-1", "10 mm=10 mm", LEFT_OUT, 7, "given",
    Coverage("partial", LEFT_OUT, ("0x6065:00",), ("remark",), ("scaling",)), "c" * 64,
    AxisPick(("LiftAxis",), "Motion"),
)  # fmt: skip
WAIVER = Waiver("0x6065:00", Allowance.parse("any"), "2027-01-01", BY, WHEN, "worn")
GOLDEN = Golden(APPROVAL, (WAIVER,))
RESTORE = RestoreRecord(
    "R-1", WHEN, BY, "1" * 40, "rowan", "load.csv", "d" * 64,
    (Adapted("0x6065:00", "1", "another encoder"),), "the rest is known", SIGNATURE,
    "e" * 64, (SheetMark("move.1", BY, WHEN, "10 mm"),),
)  # fmt: skip
FAULT = FaultEntry(WHEN, "F-11", BY, "at night", "faults.csv")
CORRECTION = Correction("taken-at", BY, WHEN, "the clock was wrong", "1" * 40, WHEN, "beam")
WRITTEN = {
    "snapshot.yaml": snapshot_text(SNAPSHOT),
    "golden.yaml": golden_text(GOLDEN),
    "restore.yaml": restore_text(RESTORE),
    "faults.yaml": fault_log_text([FAULT]),
    "corrections.yaml": corrections_text([CORRECTION]),
}
FREE = {"nameplate", "accepted"}
"""Keys below which an export, or a rule, brings its own."""


def keys_below(value: Any) -> set[str]:
    """Every key within a part of a record."""
    if isinstance(value, list):
        return set().union(*map(keys_below, value))
    if not isinstance(value, dict):
        return set()
    below = (keys_below(part) for key, part in value.items() if key not in FREE)
    return set(value).union(*below)


@pytest.mark.parametrize(
    "record",
    [SNAPSHOT, APPROVAL, WAIVER, RESTORE, SIGNATURE, RESTORE.adapted[0], FAULT, CORRECTION],
    ids=lambda record: type(record).__name__,
)
def test_the_records_that_are_written_here_have_everything(record: Any) -> None:
    empty = [f.name for f in fields(record) if getattr(record, f.name) in (None, (), {}, "")]
    assert empty == []


@pytest.mark.parametrize("file", WRITTEN)
def test_every_key_of_a_record_is_on_its_row_of_the_page(file: str) -> None:
    record = yaml_text.read_mapping(WRITTEN[file], file)
    told = {name: row for names, row in rows(section(file)) for name in names}
    assert set(told) == set(record), "keys at the top"
    for key, value in record.items():
        below = keys_below(value) if key not in FREE else set()
        assert not [name for name in below if f"`{name}`" not in told[key]], key


def test_every_file_that_the_program_writes_is_held_against_the_page() -> None:
    """Those of the first table that people do not write; parameters.yaml is shown whole."""
    ours = re.findall(r"^\| `machines/\w+/\w+/(\w+\.yaml)` \|.*the program", PAGE, re.MULTILINE)
    assert set(ours) == {*WRITTEN, "parameters.yaml"}


def test_a_line_of_parameters_has_the_keys_of_the_page() -> None:
    one = Parameter("c", "name", Decimal("2.5"), 2500, role="window", unit="mm", label="wide")
    line = parameters_text({"c": one}).decode().splitlines()[-1]
    keys = re.findall(r"[{ ](\w+): ", line.partition("{")[1] + line.partition("{")[2])
    assert len(keys) == len(fields(one)) - 1, "all but the code, which is in front"
    page = section("parameters.yaml")
    assert not [key for key in keys if f"{key}: " not in page and f"`{key}`" not in page]


@pytest.fixture
def used(works: Path, tmp_path: Path, cli: Callable[..., Outcome]) -> Path:
    """A vault in which everything was done that leaves something behind."""
    folder = tmp_path / "plant"
    shutil.copytree(works, folder)
    axis = (EXAMPLE / f"machines/{LIFT}.yaml").read_text()
    for name, mass in (("lighter", 50), ("heavier", 75)):
        text = axis.replace("moving_mass: 60 kg", f"moving_mass: {mass} kg")
        (tmp_path / f"{name}.yaml").write_text(text)
    (tmp_path / "site.yaml").write_text(SITE.replace("PLACE", str(tmp_path)))
    (tmp_path / "password").write_text("plum tea loom kettle")
    shutil.copy(EXAMPLE / f"exports/{LIFT}/2025-11-18-as-left.dcf", tmp_path / "lift.dcf")
    again = "--even-so again --work-order WO-7"
    for line in [
        "create other --copy plant",
        f"--vault other axis set {LIFT} lighter.yaml",
        f"axis set {LIFT} heavier.yaml",
        "sync take other --keep here",
        f"fault add {LIFT} --code 8611h --at 2026-02-03T04:05:06Z",
        f"golden approve {LIFT} --reason accepted --by Yara",
        f"golden waive {LIFT} following_error_window --until 2099-12-31 --reason worn",
        f"note add {LIFT} 'the door is bent'",
        f"restore plan {LIFT} --out plan",
        f"restore check {LIFT} lift.dcf --moved '10 mm=0.625 mm' {again}",
        f"restore sign-off {LIFT} --even-so meant",
        f"golden approve {LIFT}@first --reason accepted --by Yara",
        "site set site.yaml",
        "drift --alert",
        "user add mira --person 'Mira Okafor <m@x.example>' --password-file password",
        "verify",
    ]:  # fmt: skip
        done = cli(*shlex.split(line))
        assert done.code <= 1, f"{line}: {done.stderr}"
    return folder


def test_every_trailer_of_a_commit_is_on_the_page(used: Path, old: Path) -> None:
    told = {name for names, _ in rows(section("Commits").split("| trailer |")[1]) for name in names}
    form = "--format=%(trailers:only,unfold)"
    lines = b"".join(git(vault, "log", form, "main") for vault in (used, old)).decode()
    assert {line.split(": ")[0] for line in lines.splitlines() if line} == told


def test_everything_beside_the_repository_is_on_the_page(used: Path, tmp_path: Path) -> None:
    state, damaged = used / "axisvault", tmp_path / "damaged"
    damaged.mkdir()
    (damaged / "alerts.sqlite").write_bytes(b"no database of ours, and rather longer than a page")
    with Outbox(damaged):
        assert Outbox.set_aside(damaged) != []
    add_people(used)
    app = create_app(used, is_local=True)
    person = Visit(app)
    person.log_in("admin")
    person.send("/health", what="all")
    sent: dict[str, Any] = {"export": (BytesIO(b"what is this"), "lift.dcf"), "axis": LIFT}
    person.send("/take-in", **sent)
    app.extensions["work_queue"].wait(60)
    told = [
        name for names, _ in rows(section("Beside the repository: `axisvault/`")) for name in names
    ]
    there = {
        path.name + "/" * path.is_dir() for place in (state, damaged) for path in place.iterdir()
    }
    there = {re.sub(r"-(wal|shm)$", "", name) for name in there}
    assert sorted(n for n in there if not any(fnmatch(n, row) for row in told)) == []
    kept = [row for row in told if not row.endswith("ing")]  # those locks depend on who sends
    assert [row for row in kept if not any(fnmatch(n, row) for n in there)] == []


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
    from vault.model import axis, controller_rule, export_dialect, families

    keys = {*axis._SINCE_2, *families._SINCE_2, "suggest"}
    keys |= export_dialect.ExportDialect.model_fields.keys() - export_dialect._KEYS_OF_1
    keys |= {*axis.Duty.model_fields, *axis.Move.model_fields}
    keys |= controller_rule.ControllerRule.model_fields.keys()
    keys |= controller_rule.ControllerScale.model_fields.keys()
    assert [key for key in sorted(keys) if f"`{key}`" not in PAGE] == []


def test_a_vault_is_read_by_git_and_yaml_alone_as_the_page_says(old: Path, tmp_path: Path) -> None:
    text = section("Reading it without the program")
    [lines] = re.findall(r"```sh\n(.*?)```", text, re.DOTALL)
    commands = [line for line in lines.splitlines() if line]
    assert len(commands) == 7
    log = git(old, "log", "--format=%h", "main", "--", f"machines/{LIFT}").decode().split()
    listed = git(old, "ls-tree", "--name-only", f"{log[0]}:machines/{LIFT}/export").decode()
    (tmp_path / "plant").symlink_to(old)
    outputs, place = [], tmp_path
    for line in commands:
        filled = line.replace("COMMIT", log[0]).replace("FILE", listed.strip())
        filled = filled.replace("python3 ", f"{sys.executable} ")
        done = subprocess.run(
            ["bash", "-euo", "pipefail", "-c", filled], cwd=place, capture_output=True, check=True
        )
        outputs.append(done.stdout.decode())
        place = tmp_path / "here"  # where the first line goes
    record = git(old, "show", f"{log[0]}:machines/{LIFT}/snapshot.yaml").decode()
    assert "role: following_error_window" in outputs[2]
    assert outputs[4].split()[0] in record
    assert len(outputs[5].splitlines()) > 3
    assert "'role': 'following_error_window'" in outputs[6]
