"""Every command that has `--json` prints the document that it is said to print, key by key.

Commands run on the example vault. What they print together has every document and every key that
theirs can have, so that nothing is declared which is never there.
"""

from __future__ import annotations

import json
import shlex
import shutil
from collections.abc import Callable, Iterator
from datetime import timedelta
from pathlib import Path

import click
import pytest

from example_machines import __file__ as example
from tests.conftest import BY, Outcome
from tests.description_texts import XDD
from tests.documents import Seen, problems
from vault.cli import axisvault
from vault.cli.documents import DOCUMENTS
from vault.jobs.state.document_parts import ErrorDocument
from vault.model.names import Address
from vault.store.clock import now
from vault.store.files import layout
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
EXAMPLE = Path(example).parent
EXPORTS = EXAMPLE / "exports"
TRACES = EXAMPLE / "traces"
LIFT, LATEST = "glaze-line-1/lift", "2025-11-18-as-left.dcf"
TOMORROW = f"{now() + timedelta(days=1):%Y-%m-%d}"
SITE = """\
schema: axisvault/vault/1
site: Tile works (invented example)
export_every: 40 days
open_reading: true
viewer: http://vault.tileworks.example
alerts: [{name: log, kind: file, path: PLACE/log}, {name: lost, kind: file, path: PLACE/no/where}]
"""
TRIAL = """\
schema: axisvault/trial/1
note: windy
direction: {positive: failed}
moves: [{commanded: 10 mm, measured: 5 mm}]
drop: 0.1 mm
remarks: {direction.positive: down}
"""
SECOND = "--by 'Yara Okonjel <yara@tileworks.example>' --reason accepted"

# Themes in which a file is read that has lines that cannot be understood.
PARTLY_READ = ("intake", "faults")

# The project of the line's controller, which homes the lift otherwise than its drive does.
PROJECT = EXPORTS / "glaze-line-1/controller/2025-11-18-as-left.xml"
CONTROLLER = f"ingest {PROJECT} --to {LIFT} --side controller --taken-at 2025-11-18T11:30:00Z"

# What is done before the commands of a theme, so that there is something to tell.
BEFORE = {
    "history": [f"axis set {LIFT} axis.yaml"],
    "comparison": [f"axis set {LIFT} axis.yaml", "family add alder.yaml"],
    "intake": [f"axis set {LIFT} floors.yaml", f"golden approve {LIFT}@first {SECOND}"],
    "dictionaries": [
        f"ingest swapped.dcf --to {LIFT} --taken-at 2025-11-18T14:00:00Z --even-so swapped"
    ],
    "drift": [
        f"axis set {LIFT} floors.yaml",
        f"golden approve {LIFT}@first {SECOND}",
        f"golden waive {LIFT} encoder_absolute_offset --until 2099-12-31 --reason worn",
        "golden approve kiln-loader/hoist --reason accepted",
    ],
    "restore": [
        CONTROLLER,
        f"trial trace {LIFT} {TRACES}/glaze-line-1-lift.csv --taken-at 2025-11-19",
    ],
    "one set": [CONTROLLER, f"note add {LIFT}@previous 'the work order was WO-7'"],
    "audit": [
        "note add kiln-loader/hoist@first 'the work order was WO-7'",
        "axis set kiln-loader/hoist axis.yaml",
        "golden approve kiln-loader/hoist@first --reason accepted",
        f"golden approve {LIFT}@first {SECOND}",
        "axis set kiln-loader/hoist one-phase.yaml",
    ],
    "alerts": ["site set site.yaml", f"golden approve {LIFT}@first {SECOND}", "drift --alert"],
    "backup": ["site set site.yaml"],
    "sync": [
        "create other --copy plant",
        f"--vault other ingest other.dcf --to {LIFT} --even-so 'the day after'",
        f"--vault other axis set {LIFT} axis.yaml",
        f"axis set {LIFT} heavier.yaml",
    ],
}
EXAMPLES = {
    "vaults": ["create fresh --site 'Tile works'", "demo plant", "reindex"],
    "dictionaries": [
        "family add larch.yaml",
        "family list",
        "family show larch",
        "family roles halt",
        "family draft broken.csv --name oak",
        "family describe alder alder.xdd",
        "family learn alder",
        "family learn alder --confirm 0x2020:02",
        "family confirm alder 0x6065:00=following_error_window --none 0x2020:03 --reason manual",
        "family try rowan broken.csv password",
    ],
    "site": ["site set site.yaml", "site signers signers", "site show"],
    "axes": [
        f"axis set {LIFT} axis.yaml",
        f"axis template {LIFT} --out form.yaml",
        f"axis show {LIFT}",
        f"axis interval {LIFT} '30 days'",
        f"axis rename {LIFT} beam --reason 'as on the drawing'",
        f"axis retire {LIFT} --reason scrapped",
        "axis interval 'glaze-line-2/*' '30 days'",
        "axis list",
    ],
    "machines": [
        "machine set glaze-line-2 machine.yaml",
        "machine rename glaze-line-1 line-1",
        "machine show glaze-line-2",
        "machine retire glaze-line-2 --reason sold",
        "machine list",
        "machine retire glaze-line-2 --undo",
    ],
    "intake": [
        f"ingest other.dcf --to {LIFT} --even-so 'the day after'",
        "ingest broken.csv --to kiln-loader/roller-bed --partial --taken-at 2026-03-01",
        f"ingest {LATEST} --to new-line/lift --even-so 'a twin'",
        "ingest-tree tree",
        "watch drop --once --settle 0",
    ],
    "one set": [
        f"show {LIFT}@previous --reread",
        f"show file:{LATEST}",
        f"margins {LIFT}@previous",
        f"margins {LIFT} --over-time",
        f"check {LIFT}@previous",
        f"check {LIFT}",
        "check glaze-line-2/belt-feed",
    ],
    "history": [
        "note add kiln-loader/hoist 'the door is bent'",
        "note add kiln-loader/hoist@first 'the clock was wrong' --taken-at 2019-05-06T07:08:09Z",
        "note list kiln-loader/hoist",
        f"history {LIFT}",
        "history kiln-loader/hoist",
        f"history {LIFT} --parameter following_error_window",
        "history kiln-loader/pusher --parameter reg-239",
    ],
    "comparison": [
        f"compare {LIFT}@previous {LIFT} --fault 8611h",
        f"compare {LIFT}@first {LIFT}",
        "compare glaze-line-1/spray-carriage@first glaze-line-1/spray-carriage --all",
        "compare kiln-loader/hoist glaze-line-1/turntable",
        f"compare {LIFT} file:{LATEST}",
        "compare glaze-line-1 glaze-line-2",
    ],
    "fleet": [
        "spread 'glaze*'",
        "spread '*/lift' --margins",
        "find following_error_window --value '> 2 mm'",
        "table --out tables",
    ],
    "golden": [
        f"golden approve {LIFT}@previous {SECOND} --accept encoder_resolution",
        f"golden waive {LIFT} following_error_window --until 2099-12-31 --reason worn",
        f"golden show {LIFT}",
        "golden waivers --days 36500",
        f"golden withdraw {LIFT} --waiver 0x6065:00",
        f"golden withdraw {LIFT}",
        "golden approve 'glaze-line-?/*' --only-look",
        f"golden approve 'glaze-line-?/*' {SECOND} --accept overtravel_inputs",
        "golden waive '*' following_error_window --until 2099-12-31 --reason worn",
    ],
    "drift": ["drift"],
    "restore": [
        f"restore plan {LIFT}@first --out plan-1 --drive ALD-5A --encoder-bits 24+12 --adapt",
        "restore plan kiln-loader/hoist --out plan-2 --onto rowan --drive RWN-4F --adapt",
        f"restore check {LIFT} {LATEST} --moved '10 mm=0.625 mm' --even-so again"
        f" --trace {TRACES}/glaze-line-1-lift.csv",
        "restore check kiln-loader/roller-bed broken.csv --partial --taken-at now --even-so again",
        "restore list",
        f"restore sign-off {LIFT} --even-so 'the rest is meant'",
    ],
    "traces": [
        f"trial trace kiln-loader/pusher {TRACES}/kiln-loader-pusher.csv --taken-at 2025-10-16",
        f"trial trace kiln-loader/pusher {TRACES}/kiln-loader-pusher-worn.csv",
    ],
    "faults": [
        "fault add kiln-loader/hoist --code F-11 --at 2026-02-03T04:05:06Z --note again",
        "fault import kiln-loader/hoist faults.csv --partial",
        "fault list kiln-loader/hoist",
        "fault list",
    ],
    "trials": [
        f"trial template {LIFT} --out trial-form.yaml",
        f"trial add {LIFT} trial.yaml",
        f"trial list {LIFT}",
        f"trial show {LIFT} latest",
    ],
    "audit": [
        "audit kiln-loader/hoist --fault F-11",
        "audit kiln-loader",
        f"audit {LIFT} --fault 8611h --at 2025-11-17T05:00",
        f"audit kiln-loader/hoist --fault 3220h --at {TOMORROW}",
    ],
    "alerts": [
        "alerts list",
        "alerts confirm log",
        "alerts confirm lost",
        "alerts send --now",
        "alerts list --all",
        "alerts test log",
    ],
    "sync": [
        "sync look other",
        "sync take other --keep here",
        "sync give copy.bundle",
        "sync list",
    ],
    "accounts": [
        "user add mira --person 'Mira Okafor <mira@x.example>' --password-file password",
        "user list",
        "user token mira --for nightly",
        "user token mira --for nightly --withdraw",
        "user password mira --password-file password",
        "user log",
        "user remove mira",
    ],
    "manual": ["manual trust", "manual --search witness"],
    "verify": ["verify"],
    "backup": ["backup plant.axisbackup", "recover plant.axisbackup again"],
}
TAMPERED = ("axes", "comparison", "drift", "audit", "verify", "backup")
"""Themes whose answers also tell what is wrong with a vault."""


@pytest.fixture
def plant(works: Path, tmp_path: Path, cli: Cli) -> Path:
    """A copy of the example vault, and beside it the files that commands are given."""
    shutil.copytree(works, tmp_path / "plant")
    export = (EXPORTS / "glaze-line-1/lift" / LATEST).read_bytes()
    wider = export.replace(b"ParameterValue=4000\r\n", b"ParameterValue=5000\r\n", 1)
    roller_bed = (EXPORTS / "kiln-loader/roller-bed/2025-10-15-routine.csv").read_bytes()
    axis = (EXAMPLE / "machines/glaze-line-1/lift.yaml").read_text()
    files = {
        LATEST: export,
        "other.dcf": wider,
        "swapped.dcf": export.replace(b"AM25-71144", b"AM25-71145"),
        "alder.xdd": XDD.encode(),
        "broken.csv": roller_bed + b"what is this\r\n",
        "tree/glaze-line-1/lift/again.dcf": export,
        "tree/glaze-line-1/lift/wider.dcf": wider,
        "tree/glaze-line-1/lift/broken.dcf": b"nothing of ours",
        f"drop/{LIFT}/{LATEST}": export,
        f"drop/{LIFT}/wider.dcf": wider,
        f"drop/{LIFT}/broken.dcf": b"nothing of ours",
        "alder.yaml": (EXAMPLE / "families/alder.yaml").read_bytes() + b"# again\n",
        "larch.yaml": (EXAMPLE / "families/larch.yaml").read_bytes(),
        "axis.yaml": axis.replace("moving_mass: 60 kg", "moving_mass: 75 kg").encode(),
        "floors.yaml": f"{axis}margins: {{stop_room: 9}}\n".encode(),
        "heavier.yaml": axis.replace("moving_mass: 60 kg", "moving_mass: 90 kg").encode(),
        "one-phase.yaml": axis.replace("phases: 3", "phases: 1").encode(),
        "site.yaml": SITE.replace("PLACE", str(tmp_path)).encode(),
        "signers": f"m@x.example ssh-ed25519 {'A' * 68}\n".encode(),
        "faults.csv": b"at,code\n2026-01-01T10:00:00Z,F-11\nyesterday,F-11\n",
        "password": b"plum tea loom kettle\n",
        "trial.yaml": TRIAL.encode(),
        "machine.yaml": b"schema: axisvault/machine/1\ntwin: glaze-line-1\n",
    }
    for name, content in files.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_bytes(content)
    return tmp_path / "plant"


def tamper(folder: Path) -> None:
    """Break a baseline and an axis record, and put in a snapshot that no export stands behind."""
    with Vault.open(folder) as vault, vault.writing():
        snapshot = layout.snapshot_file(Address.parse("kiln-loader/pusher"))
        broken = {
            layout.golden_file(Address.parse("glaze-line-2/turntable")): b"schema: none of ours\n",
            layout.axis_file(Address.parse("glaze-line-2/turntable")): b"schema: none of ours\n",
            snapshot: (vault.read(snapshot) or b"").replace(b"routine", b"as-left"),
        }
        vault.write_files(broken, "by hand\n", BY)


def command_of(line: str) -> str:
    found = [name for name in DOCUMENTS if f"{line} ".startswith(f"{name} ")]
    assert found, f"{line}: no command that has --json"
    return max(found, key=len)


@pytest.mark.parametrize("theme", EXAMPLES)
def test_answers_are_the_documents_that_commands_name(theme: str, plant: Path, cli: Cli) -> None:
    if theme in TAMPERED:
        tamper(plant)
    for line in BEFORE.get(theme, ()):
        done = cli(*shlex.split(line))
        assert done.code <= 1, f"{line}: {done.stderr}"
    seen = Seen()
    for line in EXAMPLES[theme]:
        done = cli(*shlex.split(line), "--json")
        answers = done.stdout.splitlines() if line.startswith("watch") else [done.stdout]
        for answer in answers:
            found = [*problems(json.loads(answer), DOCUMENTS[command_of(line)], seen)]
            assert found == [], f"{line}: {done.stderr}"
    missing = set(seen.missing(DOCUMENTS[command_of(line)] for line in EXAMPLES[theme]))
    if theme != "comparison":  # two families are compared there
        missing = {name for name in missing if not name.endswith((".left_code", ".right_code"))}
    if theme not in PARTLY_READ:
        missing.discard("SkippedLineDocument")
    assert missing == set()


def commands(group: click.Group, before: str = "") -> Iterator[tuple[str, click.Command]]:
    context = click.Context(group)
    for name in group.list_commands(context):
        command = group.get_command(context, name)
        if isinstance(command, click.Group):
            yield from commands(command, f"{before}{name} ")
        elif command is not None:
            yield f"{before}{name}", command


def test_every_command_that_has_json_names_its_document_and_is_tried_here() -> None:
    with_json = {
        name
        for name, command in commands(axisvault)
        if any(parameter.name == "as_json" for parameter in command.params)
    }
    assert set(DOCUMENTS) == with_json
    assert {command_of(line) for lines in EXAMPLES.values() for line in lines} == with_json


@pytest.mark.parametrize("line", ["show m1/nothing", "compare one", "show file:/no/where"])
def test_a_command_that_fails_prints_an_error(line: str, plant: Path, cli: Cli) -> None:
    done = cli(*line.split(), "--json")
    assert done.code > 1
    assert [*problems(done.json, ErrorDocument, Seen())] == []
    assert done.json["error"]["code"] == done.code
