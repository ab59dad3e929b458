"""Changes of the axis record as suspects of an audit, and settings that stood unchanged. Invented.

The hoist of the example works hangs on a belt behind a gearbox of 10 to 1.
"""

from __future__ import annotations

import json
import subprocess
from collections.abc import Callable
from datetime import datetime, timedelta
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome, Take
from vault.jobs.audit.audit import Audit, audit
from vault.jobs.audit.evidence import report_html, write_evidence
from vault.jobs.audit.question import Question
from vault.jobs.baseline import golden
from vault.jobs.faults.log import add_fault
from vault.jobs.records.edit import add_family, set_axis
from vault.model.fault_log import FaultEntry
from vault.model.names import Address
from vault.store.clock import now
from vault.store.vault import Vault

HOIST, LIFT = Address("kiln-loader", "hoist"), Address("m1", "lift")
WHO = "Ilse Brandvik <ilse@works.example>"
Cli = Callable[..., Outcome]
Export = Callable[..., str]


def rewrite(vault: Vault, address: Address, tmp_path: Path, *changes: tuple[str, str]) -> None:
    """Somebody records what is another on the machine."""
    text = (vault.read(f"machines/{address}/axis.yaml") or b"").decode()
    for before, after in changes:
        assert text.count(before) == 1
        text = text.replace(before, after)
    (tmp_path / "axis.yaml").write_text(text)
    set_axis(vault, address, tmp_path / "axis.yaml", WHO)


def asked(vault: Vault, code: str, days: int = 2, place: Address = HOIST) -> Audit:
    """A fault so many days from now."""
    return audit(vault, Question(str(place), fault=code, at=now() + timedelta(days=days)))


def test_a_gearbox_that_was_changed_is_the_first_suspect_with_who_and_when(
    plant: Vault, tmp_path: Path
) -> None:
    rewrite(plant, HOIST, tmp_path, ("motor: 10, output: 1", "motor: 5, output: 1"))
    first = asked(plant, "8612h").suspects[0]
    assert (first.code, first.consequence) == ("mechanics.gearbox", "hazard")
    assert first.sentence.startswith("mechanics, gearbox, motor: 10 became 5.")
    assert "every commanded way is 2.0 times as long" in first.why
    day = f"{now():%Y-%m-%d}"
    assert f"Ilse Brandvik recorded it on {day}, 2 days before the fault" in first.why
    # Weight 0.9, whole effect, two of 180 days.
    assert first.score == pytest.approx(0.9 * 0.5 ** (2 / 180), abs=0.002)


def test_a_record_that_was_changed_after_the_fault_explains_nothing(
    plant: Vault, tmp_path: Path
) -> None:
    rewrite(plant, HOIST, tmp_path, ("motor: 10, output: 1", "motor: 5, output: 1"))
    assert asked(plant, "8612h", days=-2).suspects == ()


def test_a_heavier_load_is_ranked_among_the_changes_of_the_set(
    plant: Vault, tmp_path: Path
) -> None:
    rewrite(plant, HOIST, tmp_path, ("moving_mass: 110 kg", "moving_mass: 190 kg"),
            ("motor: 10, output: 1", "motor: 5, output: 1"))  # fmt: skip
    scores = {s.code: s.score for s in asked(plant, "8611h").suspects}
    assert scores["mechanics.gearbox"] > scores["mechanics.moving_mass"] > scores["mov-131"]


def test_json_has_the_entry_and_its_edit_beside_the_change_of_a_parameter(
    plant: Vault, tmp_path: Path, cli: Cli
) -> None:
    rewrite(plant, HOIST, tmp_path, ("node_address: 31", "node_address: 32"))
    tip = plant.tip
    plant.close()
    at = f"{now() + timedelta(days=1):%Y-%m-%dT%H:%MZ}"
    first = cli("audit", HOIST, "--fault", "8130h", "--at", at, "--json").json["suspects"][0]
    assert (first["code"], first["change"], first["snapshot"]) == (
        "controller_link.node_address", None, None,
    )  # fmt: skip
    assert (first["entry"]["left"], first["entry"]["right"]) == (31, 32)
    assert (first["recorded"]["commit"], first["recorded"]["by"]) == (tip, WHO)
    text = cli("audit", HOIST, "--fault", "8130h", "--at", at).stdout
    assert "controller_link.node_address" in text
    assert "Ilse Brandvik recorded it on" in " ".join(text.split())


def test_the_evidence_has_the_record_before_and_after(plant: Vault, tmp_path: Path) -> None:
    rewrite(plant, HOIST, tmp_path, ("phases: 3", "phases: 1"))
    found = asked(plant, "3220h")
    package = tmp_path / "evidence"
    write_evidence(plant, found, package)
    before, after = (
        next(package.glob(f"records/{HOIST}/*/{name}.yaml")).read_text()
        for name in ("before", "after")
    )
    assert "phases: 3" in before and "phases: 1" in after
    lines = (package / "HOW-TO-CHECK.txt").read_text().splitlines()
    commands = [line.removeprefix("$ ") for line in lines if line.startswith("$ ")]
    assert sum("records/" in command for command in commands) == 2
    done = subprocess.run(["sh", "-e", "-c", "\n".join(commands)], cwd=package, check=False)
    assert done.returncode == 0
    assert json.loads((package / "report.json").read_text())["suspects"][0]["code"] == (
        "supply.phases"
    )
    assert "supply, phases: 3 became 1." in report_html(plant, found).decode()


def test_a_record_that_was_only_written_first_is_no_change(
    vault: Vault, take: Take, export_text: Export, tmp_path: Path
) -> None:
    """Two snapshots, then the first record, then another mass after the fault."""
    take(export_text("2,5"), "2026-03-01T08:00:00+00:00")
    take(export_text("2,5"), "2026-03-05T08:00:00+00:00", name="b.csv")
    (tmp_path / "axis.yaml").write_text(
        "schema: axisvault/axis/1\nmechanics: {kind: ball_screw, lead: 10 mm, moving_mass: 20 kg}\n"
    )
    set_axis(vault, LIFT, tmp_path / "axis.yaml", BY)
    assert asked(vault, "8611h", place=LIFT).suspects == ()


def test_a_feed_that_was_changed_counts_on_another_axis_for_the_supply_only(
    plant: Vault, tmp_path: Path
) -> None:
    rewrite(plant, HOIST, tmp_path, ("voltage: 400 V", "voltage: 330 V"))
    at = now() + timedelta(days=1)
    for code in ("3220h", "8612h"):
        add_fault(plant, Address("kiln-loader", "pusher"), FaultEntry(at, code, BY))
    supply, position = (
        [s for s in audit(plant, Question("kiln-loader", fault=code, end=at)).suspects
         if s.axis == HOIST]
        for code in ("3220h", "8612h")
    )  # fmt: skip
    assert [(s.code, s.through) for s in supply] == [
        ("supply.voltage", "the supply that both may share")
    ]
    assert position == []


# What is not plausible, and did not change.


@pytest.fixture
def stands(
    vault: Vault, take: Take, family_text: str, export_text: Export, tmp_path: Path
) -> Callable[..., Audit]:
    """A window below the lag since the beginning, and a time-out that was cut after it."""
    more = (
        "  own/gain: {name: Position gain, role: position_gain, type: INTEGER32, unit: 1/s}\n"
        "  own/wait: {name: Wait, role: following_error_time_out, type: INTEGER32, unit: ms}\n"
    )
    (tmp_path / "hazel.yaml").write_text(family_text + more)
    add_family(vault, tmp_path / "hazel.yaml", BY)

    def stand(wait: int, gain: int = 10, *, is_good: bool = False) -> Audit:
        rows = "own/gain;Position gain;{};1/s\r\nown/wait;Wait;{};ms\r\n"
        take(export_text("2,5") + rows.format(10, 100), "2026-03-01T08:00:00Z")
        if is_good:
            golden.approve(vault, "m1/lift@first", BY, "accepted")
        take(export_text("2,5") + rows.format(gain, wait), "2026-03-05T08:00:00Z", name="b.csv")
        at = datetime.fromisoformat("2026-03-06T08:00:00+00:00")
        return audit(vault, Question("m1/lift", fault="8611h", at=at))

    return stand


@pytest.mark.parametrize(("is_good", "share"), [(False, 0.5), (True, 0.25)])
def test_a_setting_that_stood_unchanged_counts_less_than_what_changed(
    is_good: bool, share: float, stands: Callable[..., Audit]
) -> None:
    """100 mm/s by 10 1/s are 10 mm of lag; the window has 2.5 mm, and had so before."""
    first, second = stands(50, is_good=is_good).suspects
    assert (first.code, second.code) == ("own/wait", "lim/lag")
    assert second.complaint is not None
    # Weight 0.8, and five days.
    assert second.score == pytest.approx(0.8 * share * 0.5 ** (5 / 180), abs=0.002)
    assert second.why.endswith("it was so before anything changed")


def test_a_setting_that_stood_unchanged_never_stands_before_what_changed(
    stands: Callable[..., Audit],
) -> None:
    first, second = stands(80).suspects
    assert (first.code, second.code) == ("own/wait", "lim/lag")
    assert first.score == second.score < 0.2


def test_a_setting_that_is_all_there_is_counts_whole(stands: Callable[..., Audit]) -> None:
    (found,) = stands(100).suspects
    assert (found.code, found.score) == ("lim/lag", 0.8)


def test_a_setting_that_a_change_left_behind_is_told_after_that_change(
    vault: Vault, take: Take, family_text: str, export_text: Export, tmp_path: Path
) -> None:
    """The gain fell from 50 1/s to 35 1/s: the window of 2.5 mm was enough for 2 mm of lag."""
    more = "  own/gain: {name: Position gain, role: position_gain, type: INTEGER32, unit: 1/s}\n"
    (tmp_path / "hazel.yaml").write_text(family_text + more)
    add_family(vault, tmp_path / "hazel.yaml", BY)
    row = "own/gain;Position gain;{};1/s\r\n"
    take(export_text("2,5") + row.format(50), "2026-01-01T08:00:00Z")
    take(export_text("2,5") + row.format(35), "2026-01-05T08:00:00Z", name="b.csv")
    at = datetime.fromisoformat("2026-06-30T08:00:00+00:00")
    first, second = audit(vault, Question("m1/lift", fault="8611h", at=at)).suspects
    # Half a year later the change counts half; what it left behind counts no more.
    assert (first.code, second.code) == ("own/gain", "lim/lag")
    assert first.score == second.score == pytest.approx(0.8 * 0.5 ** (176 / 180), abs=0.002)
