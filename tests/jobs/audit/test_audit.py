"""The audit: what happened around a fault, what explains it, and the evidence. Invented data.

Two faults of the example works: one that a change explains, one that no parameter does.
"""

from __future__ import annotations

import json
import shutil
import subprocess
from collections.abc import Callable, Iterator
from datetime import datetime
from hashlib import sha256
from pathlib import Path

import pytest

from example_machines import FAMILIES
from example_machines.write_exports import exports
from tests.conftest import BY, Outcome, Take
from vault.behaviour.behave import load_themes
from vault.behaviour.facts import MARGINS
from vault.jobs.audit.audit import SnapshotEntry, audit
from vault.jobs.audit.evidence import write_evidence
from vault.jobs.audit.last_known_good import state_at
from vault.jobs.audit.question import Question
from vault.jobs.audit.suspects import LEAST
from vault.jobs.baseline import golden
from vault.jobs.baseline.waiver_request import WaiverRequest
from vault.jobs.faults.log import add_fault
from vault.jobs.records.edit import add_family, set_axis
from vault.meaning.checks import rules
from vault.meaning.checks.margins import _NAMES
from vault.meaning.faults import FaultCode, nearness
from vault.meaning.implausible_faults import RULES, brings_about
from vault.model.fault_log import FaultEntry
from vault.model.golden import Allowance
from vault.model.names import Address
from vault.store.vault import Vault

LIFT = Address("m1", "lift")
HOIST = "kiln-loader/hoist"
Cli = Callable[..., Outcome]
Export = Callable[..., str]


@pytest.fixture(scope="module")
def reading(works: Path) -> Iterator[Vault]:
    with Vault.open(works) as vault:
        yield vault


def test_the_resistor_that_was_taken_out_explains_the_dc_link(reading: Vault) -> None:
    found = audit(reading, Question(HOIST, fault="F-11"))
    first = found.suspects[0]
    assert first.code == "pwr-610"
    assert "without the resistor the energy of a stop stays in the DC link" in first.why
    assert "2022-10-19, 96 days before the fault" in first.why
    # Weight 1, whole effect, half after 180 days.
    assert first.score == pytest.approx(0.5 ** (96.47 / 180), abs=0.001)
    assert found.fault is not None
    assert found.fault.at == datetime.fromisoformat("2023-01-24T03:52:00+01:00")
    assert found.last_known_good is None
    assert "may have ended it" in found.repeats[0].sentence


def test_what_was_done_after_the_fault_comes_after_it(reading: Vault) -> None:
    found = audit(reading, Question(HOIST, fault="3210h"))  # the standard code of F-11
    after = [e.snapshot.record.work_order for e in found.after if isinstance(e, SnapshotEntry)]
    assert after[:2] == ["WO-23-0031", "WO-23-0031"]
    moments = [entry.at for entry in found.entries]
    assert moments == sorted(moments)


def test_the_fault_of_a_period_is_the_last_within_it(reading: Vault) -> None:
    end = datetime.fromisoformat("2023-01-15T00:00:00+01:00")
    found = audit(reading, Question(HOIST, fault="F-11", end=end)).fault
    assert found is not None
    assert found.at == datetime.fromisoformat("2023-01-11T02:20:00+01:00")


def test_a_dirty_rail_is_explained_by_no_parameter(reading: Vault, works: Path, cli: Cli) -> None:
    found = audit(reading, Question("kiln-loader/shuttle", fault="F-51"))
    assert found.suspects == ()
    done = cli("--vault", works, "audit", "kiln-loader/shuttle", "--fault", "F-51")
    assert "Nothing in the parameters explains this fault." in done.stdout
    assert cli("--vault", works, "audit", "kiln-loader/shuttle", "--fault", "F-51",
               "--json").json["explained"] is False  # fmt: skip


def test_a_machine_shows_its_axes_together_and_names_the_one_that_tripped(reading: Vault) -> None:
    found = audit(reading, Question("kiln-loader", fault="F-11"))
    assert found.fault is not None
    assert str(found.fault.axis) == HOIST
    assert {str(axis) for axis in found.axes} == {
        HOIST, "kiln-loader/pusher", "kiln-loader/roller-bed", "kiln-loader/shuttle",
    }  # fmt: skip
    assert found.suspects[0].code == "pwr-610"
    assert {str(e.axis) for e in found.entries if isinstance(e, SnapshotEntry)} == {
        str(axis) for axis in found.axes
    }


def test_a_change_on_another_axis_counts_through_the_shared_supply_only(
    vault: Vault, take: Take
) -> None:
    """A steeper ramp of the belt can bring the lift's DC link up, not its following error."""
    alder = exports()
    text = next(c for p, c in alder.items() if "line-2/belt-feed/2020-09-08" in p).decode()
    add_family(vault, FAMILIES / "alder.yaml", BY)
    lift = next(c for p, c in alder.items() if "line-2/lift/2020-09-09" in p).decode()
    take(lift, "2026-03-01T08:00:00+00:00", to="m1/lift", name="lift.dcf")
    take(text, "2026-03-01T08:00:00+00:00", to="m1/belt", name="belt.dcf")
    section = text[text.index("[6084]") : text.index("[6085]")]
    value = section.rsplit("ParameterValue=", 1)[1].split("\r\n")[0]
    steeper = section.replace(f"ParameterValue={value}", f"ParameterValue={int(value) * 4}")
    take(text.replace(section, steeper), "2026-03-04T08:00:00+00:00", to="m1/belt", name="b.dcf")
    for code in ("3210h", "8611h"):
        add_fault(vault, LIFT, FaultEntry(datetime.fromisoformat("2026-03-05T08:00Z"), code, BY))
    high = audit(vault, Question("m1", fault="3210h")).suspects
    assert [(str(s.axis), s.code, s.through) for s in high] == [
        ("m1/belt", "0x6084:00", "the supply that both may share")
    ]
    assert high[0].why.startswith("on another axis, through the supply")
    assert audit(vault, Question("m1", fault="8611h")).suspects == ()


def test_the_last_known_good_is_the_last_in_line_with_golden(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("2,5"), "2026-03-01T08:00:00+00:00")
    golden.approve(vault, "m1/lift@first", BY, "accepted")
    good = take(export_text("2,5"), "2026-03-05T08:00:00+00:00", name="b.csv")
    take(export_text("1"), "2026-03-08T08:00:00+00:00", name="c.csv")
    at = datetime.fromisoformat("2026-03-09T08:00:00+00:00")
    found = audit(vault, Question("m1/lift", fault="8611h", at=at))
    assert found.last_known_good is not None
    assert found.last_known_good.id == good.snapshot.id
    assert [(s.code, s.since and s.since.record.taken_at.day) for s in found.suspects] == [
        ("lim/lag", 8)
    ]
    # 2.5 mm became 1 mm: weight 1 x log2(2.5) > 1, one day before.
    assert found.suspects[0].score == pytest.approx(0.5 ** (1 / 180), abs=0.001)


@pytest.mark.parametrize("moment", ["2026-03-09T08:00:00+00:00", "2026-03-05T08:00:00+00:00"])
def test_what_was_in_line_only_after_the_fault_is_not_the_last_known_good(
    moment: str, vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("2,5"), "2026-03-01T08:00:00+00:00")
    golden.approve(vault, "m1/lift@first", BY, "accepted")
    good = take(export_text("2,5"), "2026-03-05T08:00:00+00:00", name="b.csv")
    take(export_text("1"), "2026-03-08T08:00:00+00:00", name="c.csv")
    take(export_text("2,5"), "2026-03-10T08:00:00+00:00", name="repaired.csv")
    at = datetime.fromisoformat(moment)
    found = audit(vault, Question("m1/lift", fault="8611h", at=at)).last_known_good
    assert found is not None
    assert found.id == good.snapshot.id


def test_a_snapshot_is_good_by_the_waivers_of_its_own_time(
    vault: Vault, take: Take, export_text: Export, monkeypatch: pytest.MonkeyPatch
) -> None:
    """The exception held when the snapshot was taken; it had ended before the fault."""
    take(export_text("2,5"), "2026-03-01T08:00:00+00:00")
    golden.approve(vault, "m1/lift@first", BY, "accepted")
    monkeypatch.setattr(golden, "now", lambda: datetime.fromisoformat("2026-03-02T08:00Z"))
    until = "2026-03-06T00:00Z"
    request = WaiverRequest("lim/lag", Allowance.parse("any"), until, "dirty rail")
    golden.waive(vault, LIFT, request, BY)
    waived = take(export_text("4"), "2026-03-05T08:00:00+00:00", name="b.csv")
    take(export_text("4"), "2026-03-07T08:00:00+00:00", name="c.csv")
    at = datetime.fromisoformat("2026-03-09T08:00:00+00:00")
    found = audit(vault, Question("m1/lift", fault="8611h", at=at)).last_known_good
    assert found is not None
    assert found.id == waived.snapshot.id


def test_the_baseline_of_a_twin_makes_a_snapshot_good_whatever_is_its_own(
    vault: Vault, take: Take, export_text: Export, family_text: str, tmp_path: Path
) -> None:
    """An axis that follows a twin has an offset of its own; it is good with it all the same."""
    offset = "  own/zero: {name: Home offset, role: home_offset, type: INTEGER32, unit: mm}\n"
    (tmp_path / "hazel.yaml").write_text(family_text + offset)
    add_family(vault, tmp_path / "hazel.yaml", BY)
    take(export_text() + "own/zero;Home offset;1;mm\r\n", to="m2/lift")
    golden.approve(vault, "m2/lift", BY, "accepted")
    (tmp_path / "axis.yaml").write_text("schema: axisvault/axis/1\nfollows: m2/lift\n")
    set_axis(vault, LIFT, tmp_path / "axis.yaml", BY)
    own = take(
        export_text() + "own/zero;Home offset;7;mm\r\n", name="own.csv", override_reason="a twin"
    )
    at = datetime.fromisoformat("2026-03-09T08:00:00+00:00")
    found = audit(vault, Question("m1/lift", fault="8611h", at=at)).last_known_good
    assert found is not None
    assert found.id == own.snapshot.id


@pytest.mark.parametrize(
    ("moment", "day"),
    [
        ("2026-03-01T07:59:59Z", None),
        ("2026-03-01T08:00:00Z", 1),
        ("2026-03-02T07:59:59Z", 1),  # more than seven days before it was found
        ("2026-03-02T08:00:00Z", 9),
        ("2026-03-09T07:59:59Z", 9),
        ("2026-03-10T08:00:00Z", 9),  # what comes next is no finding
        ("2026-03-11T08:00:00Z", 11),
    ],
)
def test_a_finding_within_a_week_tells_the_state_at_the_fault(
    moment: str, day: int | None, vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("2,5"), "2026-03-01T08:00:00+00:00", occasion="commissioning")
    take(export_text("1"), "2026-03-09T08:00:00+00:00", name="b.csv", occasion="as-found")
    take(export_text("2"), "2026-03-11T08:00:00+00:00", name="c.csv", occasion="as-left")
    found = state_at(vault, LIFT, datetime.fromisoformat(moment))
    record = found.record if found is not None else None
    assert (record.taken_at.day if record is not None else None) == day


def test_without_a_baseline_the_last_commissioning_is_held_against_and_not_called_good(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("9"), "2026-03-01T08:00:00+00:00")
    started = take(export_text("2,5"), "2026-03-02T08:00:00+00:00", name="b.csv",
                   occasion="commissioning")  # fmt: skip
    take(export_text("1"), "2026-03-03T08:00:00+00:00", name="c.csv")
    at = datetime.fromisoformat("2026-03-09T08:00:00+00:00")
    found = audit(vault, Question("m1/lift", fault="8611h", at=at))
    reference = found.references[LIFT]
    assert reference is not None and reference.state.snapshot is not None
    assert reference.state.snapshot.id == started.snapshot.id
    assert "held against the commissioning" in reference.why
    assert found.last_known_good is None


def test_where_nothing_was_in_line_golden_itself_is_held_against(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("1"), "2026-03-01T08:00:00+00:00")
    take(export_text("2,5"), "2026-03-05T08:00:00+00:00", name="b.csv")
    golden.approve(vault, "m1/lift", BY, "accepted")
    at = datetime.fromisoformat("2026-03-02T08:00:00+00:00")
    found = audit(vault, Question("m1/lift", fault="8611h", at=at))
    reference = found.references[LIFT]
    assert reference is not None
    assert (reference.is_good, reference.state.snapshot) == (True, found.last_known_good)
    assert "golden baseline itself" in reference.why
    assert [s.code for s in found.suspects] == ["lim/lag"]


def test_what_was_found_just_after_the_fault_is_the_state_at_the_fault(
    vault: Vault, take: Take, export_text: Export
) -> None:
    take(export_text("2,5"), "2026-03-01T08:00:00+00:00", occasion="commissioning")
    take(export_text("1"), "2026-03-09T09:00:00+00:00", name="b.csv", occasion="as-found")
    at = datetime.fromisoformat("2026-03-09T08:00:00+00:00")
    (suspect,) = audit(vault, Question("m1/lift", fault="8611h", at=at)).suspects
    assert "it showed on 2026-03-09, just after the fault" in suspect.why


def test_what_was_not_plausible_at_the_fault_is_a_suspect_beside_the_changes(
    reading: Vault,
) -> None:
    """The new encoder of November 2025 has 24 bits, and the drive still counted 20."""
    at = datetime.fromisoformat("2025-11-17T03:25:00+01:00")
    found = audit(reading, Question("glaze-line-1/lift", fault="8611h", at=at)).suspects
    told = [(s.score, s.code, s.consequence, s.complaint and s.complaint.rule) for s in found[:4]]
    # The encoder that is behind it all comes before the windows that it shifted.
    assert told == [
        (0.7, "0x2010:02", "hazard", None),
        (0.7, "0x608F:01", "hazard", "encoder_resolution"),
        (0.7, "0x608F:01", "hazard", "travel_scale"),
        (0.5, "0x6065:00", "travel", None),
    ]
    change, complaint = found[0].change, found[1].complaint
    assert change is not None and complaint is not None
    assert (found[0].sentence, found[1].sentence) == (change.explanation, complaint.sentence)
    assert found[1].why.startswith("it is not plausible, whenever it was set: ")


def test_acts_of_people_stand_among_the_snapshots(plant: Vault, cli: Cli) -> None:
    who = "Ilse Brandvik <ilse@x.example>"
    plant.close()
    reason = ("--reason", "after service", "--by", who)
    assert cli("golden", "approve", HOIST, *reason).code == 0
    waive = ("golden", "waive", HOIST, "mov-133", "--allow", "any", "--until", "2099-01-01")
    assert cli(*waive, *reason).code == 0
    assert cli("restore", "plan", HOIST, "--out", "plan", "--by", who).code == 0
    found = cli("audit", HOIST, "--json").json
    acts = {e["title"]: e["by"] for e in found["entries"] if e["kind"] == "act"}
    assert {"golden baseline approved", "mov-133 waived", "restore planned"} <= set(acts)
    assert acts["restore planned"] == who
    text = cli("audit", HOIST).stdout
    assert "restore planned, by Ilse Brandvik" in text


def test_late_entries_and_overrides_are_marked(
    vault: Vault, take: Take, export_text: Export, cli: Cli
) -> None:
    take(export_text("2,5", serial="S-1"), "2026-03-01T08:00:00+00:00")
    take(export_text("2,6", serial="S-2"), "2026-03-05T08:00:00+00:00", to="m2/lift")
    take(export_text("2,7", serial="S-2"), "2026-03-06T08:00:00+00:00", name="b.csv",
         override_reason="drive moved here")  # fmt: skip
    late = take(export_text("2,6", serial="S-1"), "2026-03-02T08:00:00+00:00", name="c.csv")
    entries = cli("audit", "m1/lift", "--from", "2026-02-01", "--json").json["entries"]
    by_id = {e["snapshot"]: e for e in entries if e["kind"] == "snapshot"}
    assert [e["even_so"] for e in by_id.values()] == [None, None, "drive moved here"]
    assert [e["late"] for e in by_id.values()] == [False, True, False]
    assert by_id[late.snapshot.id]["recorded_at"] > "2026-03-06"
    text = cli("audit", "m1/lift", "--from", "2026-02-01").stdout
    assert "drive moved here" in text
    assert text.count("Late entry: recorded") == 1


@pytest.mark.parametrize(
    ("options", "said"),
    [
        (["kiln-loader/hoist", "--fault", "F-99"], "no fault code"),
        (["kiln-loader/hoist", "--fault", "F-22"], "nothing tells when it was"),
        (["glaze-line-2/turntable", "--at", "2020-01-01"], "no fault of that time"),
        (["kiln-loader", "--from", "2026-01-01", "--to", "2025-01-01"], "ends before it begins"),
        (["kiln-loder"], "kiln-loader"),
        (["kiln-loader/host"], "hoist"),
    ],
)
def test_a_question_that_cannot_be_answered_says_why(
    options: list[str], said: str, works: Path, cli: Cli
) -> None:
    done = cli("--vault", works, "audit", *options)
    assert done.code == 2
    assert said in done.stderr


def test_without_a_fault_it_is_a_logbook_of_the_period(reading: Vault) -> None:
    start = datetime.fromisoformat("2022-01-01T00:00:00+00:00")
    end = datetime.fromisoformat("2023-12-31T00:00:00+00:00")
    found = audit(reading, Question(HOIST, start=start, end=end))
    assert (found.fault, found.suspects) == (None, ())
    taken = [e for e in found.entries if isinstance(e, SnapshotEntry)]
    assert [e.snapshot.record.occasion for e in taken] == ["as-left", "after-fault", "as-left"]
    assert found.chain.ok
    assert found.chain.snapshots == 7


def test_a_broken_chain_is_told_with_the_answer(plant: Vault, git: Callable[..., str]) -> None:
    latest = plant.latest(Address.parse(HOIST))
    assert latest is not None
    path = f"machines/{HOIST}/parameters.yaml"
    content = (plant.read(path) or b"").replace(b"value: 800", b"value: 900", 1)
    with plant.writing():
        plant.write_files({path: content}, "by hand\n", BY)
    found = audit(plant, Question(HOIST))
    assert not found.chain.ok
    assert [p.kind for p in found.chain.problems] == ["tip"]


def test_every_rule_that_explains_a_fault_exists() -> None:
    load_themes()
    names = {_NAMES.get(name, name) for name in MARGINS}  # margins are told under these
    assert set(RULES) - {"doubled_address"} <= {*rules(), *names}


def test_a_rule_explains_its_own_faults_only() -> None:
    lag, high = (FaultCode(f"{c:04X}h", "", c) for c in (0x8611, 0x3210))
    assert brings_about("window_and_lag", lag) is not None
    assert brings_about("window_and_lag", high) is None
    assert brings_about("stop_energy", high) is not None
    assert brings_about("room_to_stop", lag) is None
    assert brings_about("stop_energy", FaultCode("X", "", None)) is None


def test_nearness_halves_in_half_a_year_and_never_ends() -> None:
    assert [nearness(d) for d in (-3, 0, 180, 360)] == [1, 1, 0.5, 0.25]
    assert nearness(10**6) == LEAST


# Evidence.


@pytest.fixture(scope="module")
def made(reading: Vault, tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("made") / "evidence"
    write_evidence(reading, audit(reading, Question("kiln-loader", fault="F-11")), folder)
    return folder


@pytest.fixture
def package(made: Path, tmp_path: Path) -> Path:
    """A copy of the evidence, to be changed."""
    return Path(shutil.copytree(made, tmp_path / "evidence"))


def test_the_command_writes_what_it_prints(works: Path, tmp_path: Path, cli: Cli) -> None:
    done = cli("--vault", works, "audit", HOIST, "--fault", "F-11", "--out", "out", "--json")
    assert done.code == 0
    assert json.loads((tmp_path / "out/report.json").read_text()) == done.json
    again = cli("--vault", works, "audit", HOIST, "--fault", "F-11", "--out", "out")
    assert (again.code, "not empty" in again.stderr) == (2, True)


def commands(package: Path) -> list[str]:
    lines = (package / "HOW-TO-CHECK.txt").read_text().splitlines()
    return [line.removeprefix("$ ") for line in lines if line.startswith("$ ")]


def checked(package: Path) -> int:
    """Run what HOW-TO-CHECK.txt says, with git and the shell alone."""
    shutil.rmtree(package / "check.git", ignore_errors=True)
    done = subprocess.run(
        ["sh", "-e", "-c", "\n".join(commands(package))], cwd=package, capture_output=True,
        check=False, env={"PATH": "/usr/bin:/bin", "HOME": str(package.parent)},
    )  # fmt: skip
    return done.returncode


def test_the_evidence_is_checked_with_git_and_sha256sum_alone(package: Path) -> None:
    text = "\n".join(commands(package))
    assert text.count("cmp -") >= 60
    assert text.count("previous:") >= 10
    assert checked(package) == 0


@pytest.mark.parametrize(
    "name", ["report.html", "report.json", "export", "parameters.yaml", "history.bundle"]
)
def test_evidence_that_was_changed_does_not_pass(name: str, package: Path) -> None:
    found = next(p for p in sorted(package.rglob("*")) if p.name == name)
    path = next(p for p in sorted(found.iterdir())) if found.is_dir() else found
    content = path.read_bytes()
    path.write_bytes(content[:-1] + bytes([content[-1] ^ 1]))
    assert checked(package) != 0


def test_each_dictionary_is_the_one_its_snapshots_were_read_with(
    vault: Vault, take: Take, export_text: Export, family_text: str, tmp_path: Path
) -> None:
    take(export_text("1"), "2026-03-01T08:00:00Z")
    take(export_text("2"), "2026-03-02T08:00:00Z")
    newer = family_text.replace("name: Profile velocity", "name: Speed of a profile")
    (tmp_path / "newer.yaml").write_text(newer)
    add_family(vault, tmp_path / "newer.yaml", BY)
    take(export_text("3").replace("Profile velocity", "Speed of a profile"), "2026-03-03T08:00:00Z")
    (tmp_path / "newest.yaml").write_text(newer.replace("name: Setting 1,", "name: Setting one,"))
    add_family(vault, tmp_path / "newest.yaml", BY)
    start = datetime.fromisoformat("2026-02-01T00:00:00Z")
    package = tmp_path / "evidence"
    write_evidence(vault, audit(vault, Question("m1/lift", start=start)), package)
    texts = {sha256(p.read_bytes()).hexdigest(): p for p in (package / "families").iterdir()}
    assert {digest[:10] for digest in texts} == {p.stem[-10:] for p in texts.values()}
    named = {s.record.family_sha256 for s in vault.index.snapshots(Address.parse("m1/lift"))}
    assert set(texts) == named
    assert len(named) == 2
    assert sum("families/" in line and "cmp" in line for line in commands(package)) == 3
    assert checked(package) == 0
    record = next(p for p in package.rglob("snapshot.yaml") if "2026-03-03" in str(p))
    place = str(record.relative_to(package))
    claim = next(one for one in commands(package) if "< families/" in one and place in one)
    mine, other = sorted(texts.values(), key=lambda p: p.stem[-10:] not in claim)
    assert sha256(mine.read_bytes()).hexdigest() in record.read_text()
    for name, passes in ((mine.name, True), (other.name, False)):
        line = claim.replace(mine.name, name)
        done = subprocess.run(["sh", "-c", line], cwd=package, check=False)
        assert (done.returncode == 0) is passes


def test_a_forger_who_mends_the_sums_is_still_found(package: Path) -> None:
    path = sorted(package.rglob("parameters.yaml"))[0]
    path.write_bytes(path.read_bytes().replace(b"value: ", b"value: 1", 1))
    files = [p for p in sorted(package.rglob("*")) if p.is_file() and p.name != "SHA256SUMS"]
    names = [str(p.relative_to(package)) for p in files]
    sums = subprocess.run(
        ["sha256sum", *names], cwd=package, capture_output=True, check=True
    ).stdout
    (package / "SHA256SUMS").write_bytes(sums)
    assert checked(package) != 0


def test_the_report_is_one_file_that_loads_nothing(package: Path) -> None:
    text = (package / "report.html").read_text()
    assert "Braking resistor used: Yes (1) became No (0)." in text
    for outside in ("<script", "http://", "https://", "@import", "url("):
        assert outside not in text


def test_a_window_that_stood_at_nought_counts_a_half_as_it_may_be_off() -> None:
    found = brings_about("window_off", FaultCode("8611h", "", 0x8611))
    assert found == (0.4, "if it is 0, some drives trip at once; to others it is off")
