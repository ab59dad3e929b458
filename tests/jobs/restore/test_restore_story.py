"""From a dead drive to a proven axis, told on the example machines (invented).

The replacement is a test double that knows what its tool knows (`tests.simulated_drive`).
"""

from __future__ import annotations

import hashlib
import json
import shutil
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest

from example_machines.visits import Setting, State
from tests.conftest import BY, Outcome
from tests.simulated_drive import SimulatedDrive, story_of
from vault.jobs.state.selectors import resolve
from vault.store.vault import Vault

LEFT_AT = "2026-04-02T03:40:00+02:00"
OFFSETS = {"alder": "2010:04", "rowan": "enc/offset", "larch": "enc-406"}
NEW_PLATE = {
    "alder": {"2020:01": "AL26-020001", "1018:04": "20001", "2020:02": "AM26-30002"},
    "rowan": {"Drive serial number": "RW26-20001", "Motor serial number": "RM26-30002"},
    "larch": {"Serial number": "LA26-20001"},
}


@dataclass
class Night:
    """One call-out: the vault, the folder of the plan, what the technician does."""

    folder: Path
    cli: Callable[..., Outcome]
    name: str

    @property
    def last(self) -> State:
        return list(story_of(*self.name.split("/")).states())[-1]

    def plan(self, *options: str, out: str = "plan", code: int = 0) -> Any:
        done = self.cli("restore", "plan", self.name, "--out", out, "--json", *options)
        assert done.code == code, done.stderr
        return done.json

    def load_file(self, out: str = "plan") -> bytes:
        plan = json.loads((self.folder / out / "plan.json").read_bytes())
        content = (self.folder / out / plan["load_file"]["name"]).read_bytes()
        assert hashlib.sha256(content).hexdigest() == plan["load_file"]["sha256"]
        return content

    def replacement(self, **plate: str) -> SimulatedDrive:
        new = NEW_PLATE[self.last.story.family]
        return SimulatedDrive.like(self.last, **{**new, **plate})

    def commission(self, drive: SimulatedDrive, content: bytes) -> None:
        """Load, restart, have the safety functions validated, reference the axis."""
        assert drive.load(content) == []
        drive.restart()
        drive.validate_safety(self.last.settings)

    def check(self, drive: SimulatedDrive, *options: str, code: int = 0, at: str = LEFT_AT) -> Any:
        (self.folder / "as-left").write_bytes(drive.export(at))
        done = self.cli("restore", "check", self.name, "as-left", "--taken-at", at, "--json",
                        "--work-order", "WO-26-0207", *options)  # fmt: skip
        assert done.code == code, done.stdout + done.stderr
        return done.json


Call = Callable[[str], Night]


@pytest.fixture
def called_to(works: Path, tmp_path: Path, cli: Callable[..., Outcome]) -> Call:
    shutil.copytree(works, tmp_path / "plant")
    return lambda name: Night(tmp_path, cli, name)


def codes(found: Any, key: str = "differences") -> list[str]:
    return [one["code"] for one in found[key]]


@pytest.mark.parametrize(
    ("name", "moved"),
    [
        ("glaze-line-2/lift", "50 mm=50.02 mm"),
        ("glaze-line-2/turntable", "10 deg=9.99 deg"),
        ("kiln-loader/hoist", "50 mm=50.1 mm"),
        ("kiln-loader/pusher", "20 mm=20 mm"),
        ("glaze-line-1/slurry-pump", None),
    ],
)
def test_a_drive_dies_and_another_of_its_kind_is_proven(
    name: str, moved: str | None, called_to: Call
) -> None:
    night = called_to(name)
    plan = night.plan()
    drive = night.replacement()
    family = drive.family
    night.commission(drive, night.load_file())
    if moved is not None:
        drive.reference(OFFSETS[family], 4711 if family != "rowan" else "4711")
    found = night.check(drive, *(("--moved", moved) if moved else ()))
    assert (found["restored"], found["differences"], found["safety"]) == (True, [], [])
    assert found["plan"] == plan["id"]
    if moved is not None:
        assert found["travel_ratio"]["is_fine"]
        assert found["travel_ratio"]["suspects"] == []
        reasons = {one["code"].removeprefix("0x"): one["reason"] for one in found["ignored"]}
        assert "set by referencing the axis" in reasons[OFFSETS[family]]
    with Vault.open(night.folder / "plant") as vault:
        record = resolve(vault, f"{name}@{found['snapshot']}").record
        assert record is not None
        assert (record.restores, record.occasion, record.by, record.work_order, record.moved) == (
            plan["id"], "as-left", BY, "WO-26-0207", moved,
        )  # fmt: skip


def test_the_folder_holds_what_is_carried_to_the_cabinet(called_to: Call) -> None:
    night = called_to("glaze-line-2/lift")
    plan = night.plan()
    listed = {one["name"]: one["sha256"] for one in plan["files"]}
    found = {
        str(path.relative_to(night.folder / "plan")): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in (night.folder / "plan").rglob("*")
        if path.is_file() and path.name != "plan.json"
    }
    assert listed == found
    assert {"sheet.html", "glaze-line-2-lift-load.dcf"} < set(found)


def test_a_newer_firmware_gets_what_it_knows_in_its_own_steps(called_to: Call) -> None:
    """Firmware 3.0 counts the torque filter in 0.001 ms instead of 0.01 ms: raw 60 becomes 600."""
    night = called_to("glaze-line-2/belt-feed")
    night.plan("--firmware", "3.0.2")
    drive = night.replacement(**{"100A:00": "3.0.2"})
    before = int(night.last.settings["2220:03"])
    night.commission(drive, night.load_file())
    assert drive.settings["2220:03"] == 10 * before
    found = night.check(drive)
    assert found["restored"], found["differences"]


def test_an_older_firmware_lacks_what_the_target_has_and_the_check_knows(called_to: Call) -> None:
    night = called_to("glaze-line-2/spray-carriage")
    plan = night.plan("--firmware", "2.41.0")
    lacking = {r["code"] for r in plan["parameters"] if r["status"] == "no_equivalent"}
    assert lacking == {"0x2220:0C", "0x2220:0D", "0x2220:0E"}
    drive = night.replacement(**{"100A:00": "2.41.0"})
    night.commission(drive, night.load_file())
    found = night.check(drive)
    assert found["restored"], found["differences"]
    reasons = {one["code"]: one["reason"] for one in found["ignored"]}
    assert {reasons[code] for code in lacking} == {"the firmware has no such setting"}


def test_a_finer_encoder_shows_in_the_measured_move_and_adapting_cures_it(called_to: Call) -> None:
    """2^20 counted on an encoder of 2^24: a sixteenth of the way (CiA 402-2, factor group)."""
    night = called_to("glaze-line-2/lift")
    plan = night.plan("--encoder-bits", "24+12")
    assert [row["code"] for row in plan["hardware"]["corrections"]] == ["0x608F:01"]
    assert plan["adapted"] == []
    drive = night.replacement(**{"2010:02": "24"})
    night.commission(drive, night.load_file())
    assert drive.settings["608F:01"] == 2**20
    found = night.check(drive, "--moved", "100 mm=6.25 mm", code=1)
    assert found["travel_ratio"]["ratio"] == "0.0625"
    assert found["travel_ratio"]["suspects"][0]["code"] == "0x608F:01"
    assert {one["kind"] for one in found["differences"]} == {"shifted"}

    adapted = night.plan("--encoder-bits", "24+12", "--adapt", out="again")
    assert [(one["code"], one["raw"]) for one in adapted["adapted"]] == [("0x608F:01", str(2**24))]
    night.commission(drive, night.load_file("again"))
    found = night.check(drive, "--moved", "100 mm=100.0 mm", at="2026-04-02T05:00:00+02:00")
    assert found["restored"], found["differences"]
    reason = next(i["reason"] for i in found["ignored"] if i["code"] == "0x608F:01")
    assert reason.startswith("adapted by the plan")


def test_another_family_gets_what_is_certain_and_the_rest_is_told(called_to: Call) -> None:
    night = called_to("glaze-line-2/belt-feed")
    plan = night.plan("--onto", "larch", "--drive", "LRC-10A", "--firmware", "5.1.0")
    rows = {row["code"]: row for row in plan["parameters"]}
    hoist = list(story_of("kiln-loader", "hoist").states())[-1]
    drive = SimulatedDrive(
        hoist.story, {**hoist.fitted, "Firmware": "5.1.0", "Serial number": "LA26-20001"}, "5.1.0"
    )
    assert drive.load(night.load_file()) == []
    drive.restart()
    found = night.check(drive, code=1)
    assert not found["restored"]
    certain = {c for c, row in rows.items() if row["loaded"] is not None}
    wrong = {one.get("left_code") or one["code"] for one in found["differences"]}
    assert len(certain) > 50
    assert not wrong & certain, wrong & certain
    assert all(one["to_do"] for one in found["differences"])


def test_a_forgotten_parameter_is_named_with_what_to_do(called_to: Call) -> None:
    night = called_to("glaze-line-2/lift")
    night.plan()
    drive = night.replacement()
    night.commission(drive, night.load_file())
    drive.type_in("2050:02", 50)
    drive.restart()
    found = night.check(drive, code=1)
    assert codes(found) == ["0x2050:02"]
    wanted = night.last.settings["2050:02"]
    assert found["differences"][0]["to_do"].startswith(f"Set it to {wanted} ms")
    drive.type_in("2050:02", wanted)
    drive.restart()
    assert night.check(drive, at="2026-04-02T04:00:00+02:00")["restored"]


def test_a_typing_error_is_found_and_the_worst_comes_first(called_to: Call) -> None:
    night = called_to("glaze-line-2/lift")
    night.plan()
    drive = night.replacement()
    night.commission(drive, night.load_file())
    window: Setting = night.last.settings["6065:00"]
    drive.type_in("6065:00", int(window) * 10)
    drive.type_in("2400:06", 60)
    drive.restart()
    found = night.check(drive, code=1)
    assert codes(found) == ["0x6065:00", "0x2400:06"]
    assert found["differences"][0]["consequence"] == "hazard"


def test_a_restart_that_was_forgotten_shows(called_to: Call) -> None:
    night = called_to("glaze-line-2/turntable")
    night.plan()
    drive = night.replacement()
    assert drive.load(night.load_file()) == []
    drive.validate_safety(night.last.settings)
    found = night.check(drive, code=1)
    assert "scl/gear-motor" in codes(found)
    assert any("restart the drive" in one["to_do"] for one in found["differences"])


def test_the_load_file_of_another_axis_does_not_pass(called_to: Call) -> None:
    lift, belt = called_to_both(called_to)
    belt.plan(out="belt")
    lift.plan(out="lift")
    drive = lift.replacement()
    lift.commission(drive, belt.load_file("belt"))
    refused = lift.check(drive, code=3)
    assert "hardly any from glaze-line-2/belt-feed" in refused["error"]["message"]
    found = lift.check(drive, "--even-so", "to see what differs", code=1)
    assert len(found["differences"]) > 10
    assert found["differences"][0]["consequence"] == "hazard"


def called_to_both(called_to: Call) -> tuple[Night, Night]:
    return called_to("glaze-line-2/lift"), called_to("glaze-line-2/belt-feed")


def test_the_export_of_another_axis_is_refused_and_nothing_is_recorded(called_to: Call) -> None:
    lift = called_to("glaze-line-2/lift")
    lift.plan()
    wrong = called_to("glaze-line-2/belt-feed")
    drive = SimulatedDrive.like(wrong.last)
    drive.sets = [dict(wrong.last.settings)]
    with Vault.open(lift.folder / "plant") as vault:
        before = vault.tip
    refused = lift.check(drive, code=3)
    assert "belt-feed" in refused["error"]["message"]
    with Vault.open(lift.folder / "plant") as vault:
        assert vault.tip == before


def test_without_a_move_the_check_says_what_is_not_proven(called_to: Call) -> None:
    night = called_to("glaze-line-2/lift")
    night.plan()
    drive = night.replacement()
    night.commission(drive, night.load_file())
    (night.folder / "as-left").write_bytes(drive.export(LEFT_AT))
    done = night.cli("restore", "check", night.name, "as-left", "--taken-at", LEFT_AT)
    assert done.code == 0
    assert "glaze-line-2/lift is restored" in done.stdout
    assert "No measured move was given" in done.stdout
