"""A story: numbers right, belt worn; the trace of a move tells what no parameter does."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable
from datetime import timedelta
from pathlib import Path

import pytest

from example_machines import traces as example
from tests.conftest import BY, Outcome
from vault.jobs.baseline.golden import approve
from vault.jobs.trials.trace import add_trace, move_name
from vault.jobs.trials.trace_documents import trace_document
from vault.jobs.trials.trace_kept import recording, trace_names, trace_record
from vault.model.errors import Damaged, Refused, Unreadable, WrongUsage
from vault.model.names import Address
from vault.store.clock import now, time_text
from vault.store.files import layout
from vault.store.files.trace_record_text import kept_file_name
from vault.store.vault import Vault

PUSHER = Address("kiln-loader", "pusher")
QUANTITIES = {
    "steady_lag", "peak_lag", "settling_time", "overshoot", "rms_torque", "peak_torque",
    "stop_distance", "friction", "inertia", "resonance",
}  # fmt: skip


@pytest.fixture
def plant(works: Path, tmp_path: Path) -> Path:
    folder = tmp_path / "plant"
    shutil.copytree(works, folder)
    return folder


def content(name: str) -> bytes:
    return (example.FOLDER / name).read_bytes()


def add(vault: Vault, name: str, taken_at: str, move: str = "there and back"):
    return add_trace(vault, PUSHER, content(name), name, BY, move, taken_at)


def test_a_worn_belt_is_told_though_no_parameter_differs(plant: Path) -> None:
    with Vault.open(plant) as vault:
        add(vault, "kiln-loader-pusher.csv", "2025-10-16T10:00:00Z")
        found = add(vault, "kiln-loader-pusher-worn.csv", "2025-12-01T10:00:00Z")
    assert found.comparison is not None
    assert found.comparison.as_it_did is False
    assert found.comparison.material[0].name == "friction"
    assert found.comparison.material[0].ratio == pytest.approx(0.44 / 0.31, rel=0.05)
    assert "dry friction from 0.31" in found.comparison.summary
    assert "No parameter differs between the two" in found.comparison.summary
    assert "inertia" not in {change.name for change in found.comparison.material}


def test_the_same_move_once_more_moves_as_it_did(plant: Path) -> None:
    with Vault.open(plant) as vault:
        add(vault, "kiln-loader-pusher.csv", "2025-10-16T10:00:00Z")
        found = add(vault, "kiln-loader-pusher.csv", "2025-12-01T10:00:00Z")
        assert found.comparison is not None
        assert found.comparison.as_it_did is True
        assert found.comparison.summary.startswith("The axis moves as it did")
        other = add(vault, "kiln-loader-pusher.csv", "2025-12-02T10:00:00Z", "another move")
    assert other.earlier is None


def test_wear_does_not_hide_behind_the_trace_before_it(plant: Path) -> None:
    with Vault.open(plant) as vault:
        approve(vault, str(PUSHER), "Yara Okonjel <yara@tileworks.example>", "as it is")
        add(vault, "kiln-loader-pusher.csv", "2025-10-16T10:00:00Z")
        add(vault, "kiln-loader-pusher-worn.csv", "2025-12-01T10:00:00Z")
        found = add(vault, "kiln-loader-pusher-worn.csv", "2025-12-02T10:00:00Z")
    assert found.is_baseline
    assert found.earlier is not None
    assert found.earlier.record.taken_at.month == 10
    assert found.comparison is not None
    assert found.comparison.as_it_did is False


@pytest.mark.parametrize("own", example.RECORDINGS, ids=lambda own: own.file)
def test_what_an_example_was_made_with_is_told_of_it(plant: Path, own: example.Recorded) -> None:
    with Vault.open(plant) as vault:
        address = Address(own.machine, own.axis)
        found = add_trace(vault, address, content(own.file), own.file, BY)
    told = found.result.told
    for name, true in (
        ("friction", own.dry),
        ("inertia", own.inertia),
        ("steady_lag", (1 - own.forward) * own.speed / own.gain),
    ):
        measured = told[name].measured
        assert measured is not None, name
        assert measured.value == pytest.approx(true, rel=0.03)
    (lag, window) = told["steady_lag"].against
    assert lag.value == pytest.approx(told["steady_lag"].measured.value, rel=0.03)
    assert window.basis == "following error window"
    assert told["inertia"].against[0].value == pytest.approx(own.inertia, rel=0.01)
    assert told["resonance"].measured is None


def test_example_traces_are_what_their_generator_writes_and_say_that_they_are_invented() -> None:
    for own in example.RECORDINGS:
        text = example.table(own)
        assert (example.FOLDER / own.file).read_text("utf-8") == text
        assert text.startswith("# Invented recording")


def test_its_document_holds_every_quantity_and_a_reason_where_one_is_null(plant: Path) -> None:
    with Vault.open(plant) as vault:
        found = add(vault, "kiln-loader-pusher.csv", "2025-10-16T10:00:00Z")
        document = json.loads(json.dumps(trace_document(found)))
    told = document["trace"]
    assert set(told) >= QUANTITIES
    assert told["samples"] == 1316
    assert set(told["reasons"]) == {name for name in QUANTITIES if told[name] is None}
    assert told["reasons"]["resonance"].startswith("cannot be told because ")
    assert told["friction"]["against"] is None
    assert set(told["steady_lag"]["against"]) == {"value", "unit", "basis"}
    assert "slips" in told["not_seen"]


def test_a_recording_is_kept_as_it_came_and_noticed_when_it_was_changed(plant: Path) -> None:
    with Vault.open(plant) as vault:
        add(vault, "kiln-loader-pusher.csv", "2025-10-16T10:00:00Z")
        (name,) = trace_names(vault, PUSHER)
        record = trace_record(vault, PUSHER, "latest")
        assert record.by == BY
        assert recording(vault, PUSHER, record) == content("kiln-loader-pusher.csv")
        path = f"{layout.trace_folder(PUSHER, name)}/{record.file}"
        with vault.writing():
            vault.write_files({path: b"time [s];position actual [mm]\n"}, "changed", BY)
        with pytest.raises(Damaged):
            recording(vault, PUSHER, record)


def test_a_second_trace_of_a_time_is_refused_and_so_is_one_before_every_snapshot(
    plant: Path,
) -> None:
    with Vault.open(plant) as vault:
        add(vault, "kiln-loader-pusher.csv", "2025-10-16T10:00:00Z")
        with pytest.raises(Refused):
            add(vault, "kiln-loader-pusher.csv", "2025-10-16T10:00:00Z")
        with pytest.raises(WrongUsage):
            add(vault, "kiln-loader-pusher.csv", "2001-10-16T10:00:00Z")
        with pytest.raises(Refused):
            add(vault, "kiln-loader-pusher.csv", "2999-10-16T10:00:00Z")
        with pytest.raises(Unreadable):
            add_trace(vault, PUSHER, b"Code;Value\n1;2\n", "set.csv", BY)
        assert len(trace_names(vault, PUSHER)) == 1


def test_a_restore_is_proven_by_motion_or_not(
    plant: Path, cli: Callable[..., Outcome], tmp_path: Path
) -> None:
    export = Path(example.__file__).parent / "exports/kiln-loader/shuttle-and-pusher"
    latest = sorted(export.iterdir())[-1]
    with Vault.open(plant) as vault:
        approve(vault, str(PUSHER), "Yara Okonjel <yara@tileworks.example>", "as it is")
        add(vault, "kiln-loader-pusher.csv", "2025-10-16T10:00:00Z")
    hour = now().replace(microsecond=0) - timedelta(hours=1)
    for number, (name, as_it_did) in enumerate((("pusher-worn", False), ("pusher", True))):
        ran = cli(
            "--vault", plant, "restore", "check", PUSHER, latest, "--channel", "2", "--even-so",
            "for a test", "--trace", example.FOLDER / f"kiln-loader-{name}.csv", "--move",
            "there and back", "--by", BY, "--json",
            "--taken-at", time_text(hour + timedelta(minutes=number)),
        )  # fmt: skip
        found = json.loads(ran.stdout)
        assert found["trace"] is not None, ran.stdout
        assert found["trace"]["comparison"]["as_it_did"] is as_it_did, ran.stderr
        assert found["restored"] is (as_it_did and not found["differences"])


def test_names_of_files_and_moves_are_plain() -> None:
    assert kept_file_name("C:\\traces\\lift 1.csv") == "lift-1.csv"
    assert kept_file_name("trace.yaml") == "recording.txt"
    assert kept_file_name("golden.yaml") == "recording.txt"
    assert kept_file_name("../../etc") == "etc"
    assert move_name("  up \n down ") == "up down"
    assert move_name(None) == "move"
    with pytest.raises(WrongUsage):
        move_name("x" * 81)
