"""The axis as built: the form, what an edit changes, and its history. Everything is invented."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import Outcome
from vault.behaviour.heat import end_of
from vault.jobs.records.axis_edits import axis_edits
from vault.jobs.records.axis_template import axis_template
from vault.model.names import Address
from vault.store.files import layout
from vault.store.files.edited_files import read_axis
from vault.store.vault import Vault

LIFT = Address("glaze-line-2", "lift")
Cli = Callable[..., Outcome]


def test_the_form_of_a_recorded_axis_says_what_is_recorded(works: Path) -> None:
    with Vault.open(works) as vault:
        for address in vault.axes():
            form = read_axis(axis_template(vault, address), "form")
            assert form == vault.axis_record(address), address


def test_the_form_of_a_new_axis_names_every_key_of_the_record(works: Path) -> None:
    """Every line without its # is a record in which every field is set that anything works with."""
    with Vault.open(works) as vault:
        form = axis_template(vault, Address("glaze-line-3", "lift")).decode()
    assert read_axis(form.encode(), "form").model_dump(exclude_unset=True) == {
        "schema_": "axisvault/axis/1"
    }
    start = form.index("schema:")
    lines = form[start:].split("\n")
    filled = "\n".join(
        line.removeprefix("# ") for line in lines if not line.startswith("# ") or ":" in line
    )
    kept = [
        line
        for line in filled.split("\n")
        if not line.strip() or line[:1] in " " or line.partition(":")[0].replace("_", "").isalpha()
    ]
    full = read_axis("\n".join(kept).encode(), "filled form")
    assert set(type(full).model_fields) == full.model_fields_set
    for name in ("mechanics", "motor", "encoder", "brake", "supply"):
        section = getattr(full, name)
        assert set(type(section).model_fields) == section.model_fields_set, name


def test_the_form_takes_what_an_export_says(plant: Vault, tmp_path: Path) -> None:
    """Plates and ratings of the latest export, where no record says otherwise."""
    plant.write_files({layout.axis_file(LIFT): b"schema: axisvault/axis/1\n"}, "emptied\n", "X <x>")
    emptied = axis_template(plant, LIFT)
    assert b"as exported" not in emptied  # there is a record, and it is empty
    new = Address("glaze-line-3", "lift")
    assert b"as exported" not in axis_template(plant, new)
    export = plant.repository.read(plant.tip, layout.export_file(LIFT, "2025-06-04-as-left.dcf"))
    assert export is not None
    (tmp_path / "lift.dcf").write_bytes(export)
    from vault.jobs.intake.ingest import ingest
    from vault.jobs.intake.visit import parse_visit

    copy = parse_visit("X <x>", None, "now", override_reason="a copy for this test")
    ingest(plant, tmp_path / "lift.dcf", new, copy)
    form = axis_template(plant, new).decode()
    record = read_axis(form.encode(), "form")
    assert record.encoder is not None
    assert record.motor is not None
    assert (record.encoder.single_turn_bits, str(record.motor.rated_torque)) == (20, "3200 mN*m")
    assert record.nameplate["drive"] == "ALD-5A"
    assert record.controller_link["node_address"] == 23
    assert form.count("# as exported") >= 6


def changed(plant: Vault, tmp_path: Path, *changes: tuple[str, str]) -> Path:
    text = (plant.axis_text(LIFT) or b"").decode()
    for old, new in changes:
        assert old in text
        text = text.replace(old, new)
    path = tmp_path / "lift.yaml"
    path.write_text(text)
    return path


def test_setting_a_record_says_what_it_changes_worst_first(
    plant: Vault, tmp_path: Path, cli: Cli
) -> None:
    path = changed(
        plant, tmp_path, ('address_switches: "23"', 'address_switches: "32"'),
        ("moving_mass: 60 kg", "moving_mass: 75 kg"),
    )  # fmt: skip
    done = cli("axis", "set", LIFT, path, "--json")
    assert [(c["path"], c["consequence"]) for c in done.json["changes"]] == [
        ("mechanics.moving_mass", "hazard"), ("cabinet.address_switches", "link"),
    ]  # fmt: skip
    again = cli("axis", "set", LIFT, path, "--json").json
    assert (again["unchanged"], again["changes"]) == (True, [])


def test_one_address_for_two_axes_of_a_machine_is_remarked(
    plant: Vault, tmp_path: Path, cli: Cli
) -> None:
    path = changed(plant, tmp_path, ("node_address: 23", "node_address: 21"))
    done = cli("axis", "set", LIFT, path)
    assert "glaze-line-2/belt-feed has node address 21 too" in done.stderr
    assert "!! controller link, node address" in done.stdout


def test_the_history_tells_of_edits_with_who_and_what_follows(
    plant: Vault, tmp_path: Path, cli: Cli
) -> None:
    path = changed(plant, tmp_path, ("apply_time: 50 ms", "apply_time: 80 ms"))
    assert cli("axis", "set", LIFT, path, "--by", "Pavo Drostmaa <pavo@x.example>").code == 0
    first, second = cli("history", LIFT, "--json").json["edits"]
    assert first["is_first"]
    assert not second["is_first"]
    assert second["by"] == "Pavo Drostmaa <pavo@x.example>"
    assert [(c["path"], c["left"], c["right"]) for c in second["changes"]] == [
        ("brake.apply_time", "50 ms", "80 ms")
    ]
    told = cli("history", LIFT).stdout
    assert told.index("axis as built changed, by Pavo Drostmaa") < told.index("as-left")
    # 60 kg and a rotor of 63.2 kg at the axis: 588.4 N / 123.2 kg x (0.08 s)^2 / 2.
    assert "falls up to 15.287 mm instead of 5.9716 mm" in " ".join(told.split())


def test_an_edit_that_nobody_can_read_does_not_stop_the_history(plant: Vault) -> None:
    path = layout.axis_file(LIFT)
    good = plant.read(path) or b""
    plant.write_files({path: b"mechanics: [\n"}, "by another hand\n", "X <x>")
    plant.write_files({path: good.replace(b"60 kg", b"61 kg")}, "mended\n", "X <x>")
    edits = list(axis_edits(plant, LIFT))
    assert [[c.path for c in edit.changes] for edit in edits[1:]] == [["mechanics.moving_mass"]]


def test_a_form_does_not_overwrite_a_file(plant: Vault, tmp_path: Path, cli: Cli) -> None:
    (tmp_path / "lift.yaml").write_text("mine")
    done = cli("axis", "template", LIFT, "--out", "lift.yaml")
    assert (done.code, (tmp_path / "lift.yaml").read_text()) == (2, "mine")
    assert "is there already" in done.stderr


def set_record(cli: Cli, tmp_path: Path, text: str, axis: str = "press/ram") -> Outcome:
    """Enter an axis.yaml as somebody would who wrote it."""
    file = tmp_path / "entered.yaml"
    file.write_text(f"schema: axisvault/axis/1\n{text}\n")
    return cli("axis", "set", axis, file)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("nameplate: {kind: ball_screw}", "nameplate.kind is kept and not reckoned with: it "
         "belongs under mechanics:"),
        ("cabinet: {resistor_power: 100 W}", "it belongs under supply:"),
        ("controller_link: {max_speed: 2 m/s}", "it belongs under mechanics: or motor:"),
    ],
)  # fmt: skip
def test_a_key_that_fell_into_a_section_of_free_names_is_told(
    vault: Vault, cli: Cli, tmp_path: Path, text: str, said: str
) -> None:
    done = set_record(cli, tmp_path, text)
    assert done.code == 0
    assert said in " ".join(done.stderr.split() + done.stdout.split())


def test_names_that_are_free_are_told_nothing_about(vault: Vault, cli: Cli, tmp_path: Path) -> None:
    done = set_record(cli, tmp_path, "nameplate: {motor: AMO-32-30B}\ncabinet: {supply_fuse: 10 A}")
    assert "belongs under" not in done.stdout + done.stderr


def test_a_duty_that_does_not_return_is_told_when_it_is_entered(
    vault: Vault, cli: Cli, tmp_path: Path
) -> None:
    screw = "mechanics: {kind: ball_screw, lead: 20 mm, orientation: vertical, stroke: 690 mm}\n"
    there = "duty: {cycle: 4 s, moves: [{distance: 300 mm}]}"
    done = set_record(cli, tmp_path, screw + there)
    assert "the way back is missing" in " ".join((done.stdout + done.stderr).split())
    back = there.replace("}]", "}, {distance: -300 mm}]")
    done = set_record(cli, tmp_path, screw + back)
    assert "the way back" not in " ".join((done.stdout + done.stderr).split())


def test_the_duty_of_the_form_ends_where_it_began(vault: Vault) -> None:
    form = axis_template(vault, Address("press", "ram")).decode()
    (line,) = [line for line in form.splitlines() if line.startswith("# duty:")]
    text = f"schema: axisvault/axis/1\n{line.removeprefix('# ')}\n"
    duty = read_axis(text.encode(), "form").duty
    assert duty is not None
    assert end_of(duty) == 0
