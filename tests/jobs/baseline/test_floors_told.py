"""Floors under margins as people meet them: set, check, drift, alerts, approval; invented works."""

from __future__ import annotations

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from example_machines import __file__ as example
from tests.conftest import BY, Outcome
from vault.jobs.alerts.raise_alerts import raise_alerts
from vault.jobs.baseline.drift import drift, drift_of, wrongly_kept
from vault.jobs.baseline.golden import approve
from vault.jobs.records.edit import set_axis, set_site
from vault.model.names import Address
from vault.store.local.outbox import Outbox
from vault.store.vault import Vault

Cli = Callable[..., Outcome]
CARRIAGE = Address("glaze-line-1", "spray-carriage")
"""30 mm behind its limits, of which a quick stop needs some 23: at least 1.31."""

EXPORTS = Path(example).parent / "exports" / str(CARRIAGE)


def record(plant: Vault, floors: str, *changes: tuple[str, str]) -> bytes:
    text = (plant.axis_text(CARRIAGE) or b"").decode()
    head = text.partition("margins:")[0]
    for old, new in changes:
        assert old in head
        head = head.replace(old, new)
    return f"{head}margins: {{{floors}}}\n".encode()


def put(plant: Vault, tmp_path: Path, floors: str, *changes: tuple[str, str]) -> None:
    path = tmp_path / "carriage.yaml"
    path.write_bytes(record(plant, floors, *changes))
    set_axis(plant, CARRIAGE, path, BY)


@pytest.fixture
def in_line(plant: Vault, tmp_path: Path) -> Vault:
    """The works with a carriage that is as approved, and whose floors are kept."""
    put(plant, tmp_path, "stop_room: 1.3, link_room: 1.2")
    approve(plant, str(CARRIAGE), BY, "accepted")
    assert drift_of(plant, CARRIAGE).status == "in_line"
    assert drift_of(plant, CARRIAGE).floors == ()
    return plant


def test_a_floor_that_is_kept_is_no_finding(in_line: Vault, cli: Cli) -> None:
    found = cli("check", CARRIAGE, "--json").json["findings"]
    assert [one for one in found if one["rule"] == "margin_floor"] == []
    assert cli("drift", CARRIAGE).code == 0


def test_a_margin_below_its_floor_is_a_finding_with_both_figures(
    in_line: Vault, tmp_path: Path, cli: Cli
) -> None:
    put(in_line, tmp_path, "stop_room: 1.4, window: 6, rms_torque: 1.1")
    done = cli("check", CARRIAGE, "--json")
    assert done.code == 1
    found = [one for one in done.json["findings"] if one["rule"] == "margin_floor"]
    assert [(one["consequence"], one["look_at"][0]) for one in found] == [
        ("hazard", "axis.yaml: margins.stop_room"),
        ("dynamics", "axis.yaml: margins.window"),
        ("electrical", "axis.yaml: margins.rms_torque"),
    ]
    room = {one["quantity"]: one["value"] for one in found[0]["findings"]}
    assert float(room["have"]) / float(room["need"]) == pytest.approx(1.31, abs=0.005)
    assert room["floor"] == "1.4"
    assert "0x6085:00" in found[0]["look_at"]  # quick stop deceleration, CiA 402-2, from memory
    assert found[2]["sentence"].endswith(
        "cannot be told, and the floor is 1.1. Missing: duty (what the axis does over and over: "
        "its moves, and the cycle)."
    )


def test_an_axis_in_line_whose_floor_is_broken_does_not_pass_silently(
    in_line: Vault, tmp_path: Path, cli: Cli
) -> None:
    """Somebody asks for more: no parameter has changed, and nothing was approved anew."""
    put(in_line, tmp_path, "stop_room: 1.4")
    done = cli("drift", CARRIAGE, "--json")
    assert done.code == 1
    (axis,) = done.json["axes"]
    assert (axis["status"], axis["count"]) == ("in_line", 0)
    (told,) = axis["floors"]
    assert (told["name"], told["floor"], told["why"]) == ("stop_room", "1.4", "below")
    assert float(told["ratio"]) == pytest.approx(1.31, abs=0.005)
    out = cli("drift", CARRIAGE).stdout
    assert "in line, 1 margin below its floor" in out
    assert "!! hazard  margins.stop_room\n" in out
    assert "against a quick stop: at least 1.31, and the floor is 1.4." in out
    assert cli("drift").code == 1
    assert "1 with floors that are not kept" in cli("drift").stdout


def test_who_has_a_broken_floor_comes_before_who_is_in_line(in_line: Vault, tmp_path: Path) -> None:
    put(in_line, tmp_path, "stop_room: 1.4")
    found = [axis.axis for axis in drift(in_line)]
    assert found[0] == str(CARRIAGE)  # nothing else is approved, and nothing is overdue


def test_less_room_on_the_machine_breaks_a_floor_and_more_mends_it(
    in_line: Vault, tmp_path: Path
) -> None:
    kept = "stop_room: 1.3"
    put(in_line, tmp_path, kept, ("hard_stop_low: -30 mm", "hard_stop_low: -25 mm"))
    assert [one.why for one in drift_of(in_line, CARRIAGE).floors] == ["below"]
    put(in_line, tmp_path, kept, ("hard_stop_low: -25 mm", "hard_stop_low: -30 mm"))
    assert drift_of(in_line, CARRIAGE).floors == ()


def test_what_the_index_keeps_of_floors_is_what_there_is(in_line: Vault, tmp_path: Path) -> None:
    put(in_line, tmp_path, "stop_room: 1.4, rms_torque: 1.1")
    found = drift_of(in_line, CARRIAGE).floors
    with Vault.open(in_line.repository.path) as again:
        assert drift_of(again, CARRIAGE).floors == found
        assert wrongly_kept(again) == []


def test_a_name_that_is_no_margin_is_refused_with_its_line(
    in_line: Vault, tmp_path: Path, cli: Cli
) -> None:
    path = tmp_path / "carriage.yaml"
    path.write_bytes(record(in_line, "stop_rom: 1.4"))
    before = in_line.tip
    done = cli("axis", "set", CARRIAGE, path, "--json")
    assert done.code == 4
    error = done.json["error"]
    line = path.read_text().splitlines().index("margins: {stop_rom: 1.4}") + 1
    assert (error["file"], error["line"]) == (str(path), line)
    assert error["message"] == "margins.stop_rom: there is no such margin; did you mean stop_room?"
    in_line.refresh()
    assert in_line.tip == before


def test_a_floor_below_the_edge_is_refused(in_line: Vault, tmp_path: Path, cli: Cli) -> None:
    path = tmp_path / "carriage.yaml"
    path.write_bytes(record(in_line, "stop_room: 0.5"))
    done = cli("axis", "set", CARRIAGE, path)
    assert done.code == 4
    assert "margins.stop_room: a floor is 1 or more" in done.stderr


def test_such_a_name_that_came_in_by_another_way_is_told(in_line: Vault, cli: Cli) -> None:
    from vault.store.files import layout

    content = record(in_line, "stop_rom: 1.4")
    with in_line.writing():
        in_line.write_files({layout.axis_file(CARRIAGE): content}, "by hand\n", BY)
    (found,) = (
        f for f in cli("check", CARRIAGE, "--json").json["findings"] if f["rule"] == "margin_floor"
    )
    assert found["consequence"] == "record"
    assert "did you mean stop_room?" in found["sentence"]
    assert cli("drift", CARRIAGE).code == 1


def test_no_key_of_the_record_is_called_of_no_use(in_line: Vault, tmp_path: Path, cli: Cli) -> None:
    path = tmp_path / "carriage.yaml"
    path.write_bytes(
        record(in_line, "stop_room: 1.3")
        + b"duty: {cycle: 99 s, moves: [{distance: 1 m}, {distance: -1 m}]}\n"
        b"pair: glaze-line-2/spray-carriage\n"
    )
    done = cli("axis", "set", CARRIAGE, path)
    assert done.code == 0
    assert "controller" not in done.stderr
    assert "duty" not in done.stderr


def test_an_alert_tells_of_a_floor_once_and_again_where_it_gets_worse(
    in_line: Vault, tmp_path: Path
) -> None:
    site = tmp_path / "site.yaml"
    site.write_text(
        "schema: axisvault/vault/1\nsite: Tile works (invented)\n"
        f"alerts: [{{kind: file, name: log, path: {tmp_path / 'log.jsonl'}}}]\n"
    )
    set_site(in_line, site, BY)
    assert raise_alerts(in_line) == []
    put(in_line, tmp_path, "stop_room: 1.4")
    (alert,) = raise_alerts(in_line)
    assert (alert.axis, alert.status, alert.worst) == (str(CARRIAGE), "floor", "hazard")
    assert alert.subject == f"{CARRIAGE}: 1 margin below its floor, worst hazard"
    assert alert.sentences[0].startswith("[hazard] Room behind the software limits against a quick")
    assert raise_alerts(in_line) == []
    stops = ("hard_stop_low: -30 mm", "hard_stop_low: -25 mm")
    put(in_line, tmp_path, "stop_room: 1.4", stops)
    worse = raise_alerts(in_line)
    assert [one.axis for one in worse] == [str(CARRIAGE)]
    put(in_line, tmp_path, "stop_room: 1.4", stops[::-1])
    assert raise_alerts(in_line) == [], "what gets better is no alert"
    with Outbox(in_line.state) as outbox:
        kept = json.loads(outbox.last_announced(str(CARRIAGE)) or "")
    assert float(kept["floors"]["stop_room"]) == pytest.approx(1.31, abs=0.005)


def test_taking_in_an_export_tells_of_floors_that_it_breaks(
    in_line: Vault, tmp_path: Path, cli: Cli
) -> None:
    put(in_line, tmp_path, "stop_room: 1.4")
    export = sorted(EXPORTS.iterdir())[-1]
    done = cli("ingest", export, "--to", CARRIAGE, "--taken-at", "now", "--even-so", "again")
    assert done.code == 0, done.stderr
    assert "In line with the golden baseline." in done.stdout
    assert "!! Room behind the software limits against a quick stop: at least 1.31" in done.stdout
