"""The margins of an axis as people ask for them, on the invented tile works."""

from __future__ import annotations

import re
from collections.abc import Callable
from math import pi
from pathlib import Path

import pytest

from example_machines import __file__ as example
from tests.conftest import BY, Outcome
from vault.jobs.baseline.golden import approve
from vault.jobs.inspect.margins import axis_margins
from vault.jobs.records.edit import set_axis
from vault.jobs.state.selectors import resolve
from vault.model.names import Address
from vault.store.vault import Vault
from webui.app import create_app

Cli = Callable[..., Outcome]
LIFT, SHUTTLE = "glaze-line-1/lift", "kiln-loader/shuttle"
EXPORT = Path(example).parent / f"exports/{LIFT}/2025-11-18-as-left.dcf"


def set_record(
    plant: Vault, tmp_path: Path, axis: str, *changes: tuple[str, str], more: str = ""
) -> None:
    """Change the record of an axis as somebody would who edits its file."""
    address = Address.parse(axis)
    text = (plant.axis_text(address) or b"").decode()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "axis.yaml"
    path.write_text(text + more)
    set_axis(plant, address, path, BY)


def test_every_margin_is_a_row_and_what_protects_and_is_worst_comes_first(
    plant: Vault, cli: Cli
) -> None:
    found = cli("margins", LIFT, "--json").json
    assert (found["axis"], found["golden"]) == (LIFT, None)
    rows = found["margins"]
    assert len(rows) > 20
    kinds = [row["kind"] if row["ratio"] is not None else "unknown" for row in rows]
    assert kinds == sorted(kinds, key=["protects", "availability", "unknown"].index)
    for kind in ("protects", "availability"):
        ratios = [float(row["ratio"]) for row in rows if row["kind"] == kind and row["ratio"]]
        assert ratios == sorted(ratios)
    for row in rows:
        if row["ratio"] is None:
            assert (row["bound"], row["have"], row["need"]) == ("unknown", None, None)
            assert row["missing"]
        else:
            assert float(row["ratio"]) == pytest.approx(float(row["have"]) / float(row["need"]))


def test_a_brake_is_held_against_the_weight_at_the_motor(plant: Vault, cli: Cli) -> None:
    """60 kg on a screw of 20 mm behind a gear of 2: m g L / (2 pi G); standard gravity, CGPM."""
    rows = {row["name"]: row for row in cli("margins", LIFT, "--json").json["margins"]}
    held, weight = rows["brake_hold"], 60 * 9.80665 * 0.020 / (2 * pi * 2)
    assert float(held["have"]) == 4.5
    assert float(held["need"]) == pytest.approx(weight)
    assert float(held["ratio"]) == pytest.approx(4.5 / weight)
    assert (held["unit"], held["bound"], held["kind"]) == ("N*m", "at_least", "protects")
    assert "mechanics.moving_mass" in held["rests_on"]


def test_what_has_no_sense_for_an_axis_is_not_told(plant: Vault, cli: Cli) -> None:
    """A pump has no position that counts could run out of, and no window that watches one."""
    rows = cli("margins", "glaze-line-1/slurry-pump", "--json").json["margins"]
    assert {"counts", "window", "trip_room", "stop_room"}.isdisjoint(row["name"] for row in rows)


def test_the_text_says_what_is_held_against_what(plant: Vault, cli: Cli) -> None:
    """60 ms against 40 ms, both as they are written: the drive's delay, and the brake's plate."""
    out = cli("margins", LIFT).stdout
    assert (
        "\nok 1.5  brake_apply: the delay that the motor holds against the brake's closing\n"
        "   60 ms against 40 ms; rests on 2 parameters, brake, mechanics\n"
    ) in out
    assert re.search(r"^   .* against .*; rests on \d+ parameters, .* \[1\]$", out, re.MULTILINE)
    assert re.search(r"^\[1\] \w.*\.$", out, re.MULTILINE)
    assert out.index("What protects people") < out.index("What keeps the axis running")
    assert "15.75 in/s against 15.75 in/s" in cli("margins", LIFT, "--units", "inch").stdout


def test_what_is_missing_is_said_with_what_to_do_next(plant: Vault, cli: Cli) -> None:
    out = cli("margins", LIFT).stdout
    duty = "?? duty (what the axis does over and over: its moves, and the cycle): 5 margins wait"
    assert duty in " ".join(out.split())
    assert f"axisvault axis set {LIFT} FILE" in out


def test_what_is_entered_is_no_longer_missing(plant: Vault, cli: Cli, tmp_path: Path) -> None:
    duty = "duty: {cycle: 4 s, moves: [{distance: 300 mm}, {distance: -300 mm, wait: 1 s}]}\n"
    set_record(plant, tmp_path, LIFT, more=duty)
    rows = {row["name"]: row for row in cli("margins", LIFT, "--json").json["margins"]}
    assert rows["rms_torque"]["missing"] == []
    assert float(rows["rms_torque"]["ratio"]) > 1


def test_one_margin_is_told_with_all_that_it_rests_on(plant: Vault, cli: Cli) -> None:
    out = cli("margins", LIFT, "--margin", "brake_apply").stdout
    assert "1 margin: 0 short of 1. The least is brake_apply: 1.5." in out
    assert "By the set against the brake's" in out
    assert "brake.apply_time" in out
    assert cli("margins", LIFT, "--margin", "brake_aply").code == 2
    assert "did you mean brake_apply?" in cli("margins", LIFT, "--margin", "brake_aply").stderr


def test_the_golden_ratio_and_the_floor_stand_beside_it(plant: Vault, tmp_path: Path) -> None:
    approve(plant, f"{LIFT}@first", BY, "as set up")
    set_record(plant, tmp_path, LIFT, more="margins: {stop_room: 1.2}\n")
    then = {
        row.margin.name: row.margin for row in axis_margins(resolve(plant, f"{LIFT}@first")).rows
    }
    row = axis_margins(resolve(plant, LIFT), "stop_room").rows[0]
    assert row.golden is not None
    assert row.golden.ratio == then["stop_room"].ratio
    assert str(row.floor) == "1.2"


def test_the_baseline_is_told_where_it_was_another(plant: Vault, cli: Cli) -> None:
    """The encoder's counts fill more of 32 bits since it was replaced; the brake is as it was."""
    approve(plant, f"{LIFT}@first", BY, "as set up")
    assert "; not as approved: 29.7" in cli("margins", LIFT, "--margin", "counts").stdout
    assert "approved" not in cli("margins", LIFT, "--margin", "brake_apply").stdout


def test_what_may_be_short_is_counted_apart(plant: Vault, cli: Cli) -> None:
    """230 mm behind the shuttle's limits; a stop takes some 325 mm, less what friction helps."""
    out = " ".join(cli("margins", SHUTTLE).stdout.split())
    assert "0 short of 1, 4 may be short (all protect), " in out
    assert out.endswith("The least is trip_room: at least 0.678.")


def test_what_is_below_its_floor_is_marked_and_stands_before_what_holds(
    plant: Vault, tmp_path: Path, cli: Cli
) -> None:
    set_record(plant, tmp_path, LIFT, more="margins: {stop_room: 2, brake_hold: 1.5}\n")
    out = cli("margins", LIFT).stdout
    assert out.index("!! at least 1.57  stop_room") < out.index("machine_speed")
    assert "45 mm against 28.67 mm from 433.3 mm/s; below its floor of 2; rests on" in out
    assert "; floor 1.5;" in out
    assert "1 below its floor" in out
    assert cli("margins", LIFT, "--json").json["margins"][0]["name"] == "stop_room"


def test_a_limit_beyond_the_hard_stop_is_short_for_certain(
    plant: Vault, tmp_path: Path, cli: Cli
) -> None:
    set_record(plant, tmp_path, LIFT, ("hard_stop_low: -45 mm", "hard_stop_low: 30 mm"))
    out = cli("margins", LIFT, "--margin", "stop_room").stdout
    assert "\n!! below 0  stop_room" in out
    assert "1 margin: 1 short of 1 (1 protects)." in out


def test_a_stop_names_the_speed_that_it_begins_at_and_why(plant: Vault, cli: Cli) -> None:
    """6,500 r/min through a gear of 2 on a screw of 20 mm; 607Fh lets commands have 400 mm/s."""
    out = " ".join(cli("margins", LIFT).stdout.split())
    assert "45 mm against 28.67 mm from 433.3 mm/s; rests on" in out
    assert (
        "Stops and drops begin at 433.3 mm/s, what the set's own limit leaves the motor: the 400 "
        "mm/s that are commanded at most hold only while the controller keeps to them."
    ) in out
    assert "begin at" not in cli("margins", LIFT, "--margin", "brake_apply").stdout


def test_moves_that_do_not_fit_in_their_cycle_leave_their_margins_told_as_such(
    plant: Vault, tmp_path: Path, cli: Cli
) -> None:
    before = {row["name"] for row in cli("margins", LIFT, "--json").json["margins"]}
    duty = "duty: {cycle: 0.5 s, moves: [{distance: 300 mm}, {distance: -300 mm, wait: 1 s}]}\n"
    set_record(plant, tmp_path, LIFT, more=duty)
    rows = {row["name"]: row for row in cli("margins", LIFT, "--json").json["margins"]}
    assert rows.keys() == before
    assert rows["rms_torque"]["missing"] == rows["resistor_power"]["missing"] == ["duty.cycle"]
    out = cli("margins", LIFT, "--margin", "rms_torque").stdout
    assert "?? duty.cycle" in out
    assert "(the moves of the duty, with their waits, do not fit in their cycle)" in out


def test_a_margin_that_protects_because_the_load_hangs_says_so(plant: Vault, cli: Cli) -> None:
    said = "protects here, as the load hangs"
    assert said in cli("margins", LIFT, "--margin", "trip_above_chopper").stdout
    assert said not in cli("margins", SHUTTLE, "--margin", "trip_above_chopper").stdout
    assert said not in cli("margins", LIFT, "--margin", "brake_apply").stdout


def test_an_earlier_state_is_told_as_it_was(plant: Vault, cli: Cli) -> None:
    """The lift's encoder was replaced: of 20 bits once, of 24 now."""
    now = {row["name"]: row for row in cli("margins", LIFT, "--json").json["margins"]}
    first = cli("margins", f"{LIFT}@first", "--json").json
    then = {row["name"]: row for row in first["margins"]}
    assert first["snapshot"] != cli("margins", LIFT, "--json").json["snapshot"]
    assert then["counts"]["ratio"] != now["counts"]["ratio"]


def test_an_export_on_disk_says_that_it_knows_no_machine(plant: Vault, cli: Cli) -> None:
    done = cli("margins", f"file:{EXPORT}", "--json")
    assert done.code == 0
    rows = {row["name"]: row for row in done.json["margins"]}
    assert "mechanics.kind" in rows["window"]["missing"]
    assert "axisvault axis set MACHINE/AXIS FILE" in cli("margins", f"file:{EXPORT}").stdout


def test_what_nobody_can_tell_is_listed_with_its_reason(
    plant: Vault, cli: Cli, tmp_path: Path
) -> None:
    """A quick stop of the maker's own: all is entered, and still its way cannot be told."""
    text = re.sub(r"(\[605[Aa]\][^[]*ParameterValue=)\S+", r"\g<1>-1", EXPORT.read_text())
    file = tmp_path / "own.dcf"
    file.write_text(text)
    taken = cli("ingest", str(file), "--to", LIFT, "--by", BY, "--even-so", "a trial")
    assert taken.code == 0
    told = " ".join(cli("margins", LIFT).stdout.split())
    assert "is the maker's own: see the drive's manual: 3 margins cannot be told" in told
    client = create_app(plant.repository.path, is_local=True).test_client()
    assert (
        "Nothing: what the drive does by this quick stop option code"
        in client.get(f"/axis/{LIFT}/margins").text
    )
