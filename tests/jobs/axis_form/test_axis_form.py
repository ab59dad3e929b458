"""The form of an axis record: what is typed becomes the file, and what follows is reckoned."""

from __future__ import annotations

from math import pi
from pathlib import Path

import pytest

from tests.conftest import BY
from vault.jobs.axis_form.fields import groups
from vault.jobs.axis_form.follows import Follows, follows
from vault.jobs.axis_form.store import Form, new_axis, open_form, store_file, store_form
from vault.model.axis import AxisRecord
from vault.model.errors import Refused, Unreadable, WrongUsage
from vault.model.names import Address
from vault.model.written_form import WrittenForm, written_as
from vault.store.files import layout
from vault.store.vault import Vault

LIFT = Address("line-1", "lift")
TYPED = {
    "mechanics.kind": "ball_screw",
    "mechanics.lead": "20 mm",
    "mechanics.gearbox.motor": "2",
    "mechanics.gearbox.output": "1",
    "mechanics.orientation": "vertical",
    "mechanics.moving_mass": "60 kg",
    "motor.inertia": "1.6 kg*cm^2",
    "motor.rated_speed": "3,000 r/min",
}


@pytest.fixture
def plant(vault: Vault) -> Vault:
    new_axis(vault, LIFT, "Lift of line 1", BY)
    return vault


def stored(vault: Vault) -> str:
    return (vault.read(layout.axis_file(LIFT)) or b"").decode()


def typed(vault: Vault, sent: dict[str, str], *, approves: bool = True) -> str:
    form = open_form(vault, LIFT, {})
    store_form(vault, LIFT, sent, form.version, BY, approves=approves)
    return stored(vault)


def found(vault: Vault, form: Form) -> Follows:
    return follows(vault, LIFT, form.record, form.stored)


def test_an_axis_is_made_before_its_first_export(plant: Vault) -> None:
    assert LIFT in plant.axes()
    assert stored(plant) == "schema: axisvault/axis/1\ntitle: Lift of line 1\n"
    with pytest.raises(WrongUsage, match="already"):
        new_axis(plant, LIFT, "", BY)


def test_every_key_of_the_schema_is_in_the_form_or_listed_as_left_out() -> None:
    names = {field.name for group in groups() for field in group.fields}
    own = {key.split(".")[0] for key in names}
    left_out = {"schema_", "margins", "controller"}  # its version; typed as rows; kept only
    assert own | left_out == set(AxisRecord.model_fields)
    for section in ("mechanics", "motor", "encoder", "load_encoder", "brake", "supply"):
        annotation = AxisRecord.model_fields[section].annotation
        model = next(one for one in annotation.__args__ if one is not type(None))  # type: ignore[union-attr]
        of_section = {name.split(".")[1] for name in names if name.startswith(f"{section}.")}
        assert of_section == set(model.model_fields), section


def test_what_is_typed_in_the_form_of_the_site_is_written_in_the_form_of_files(
    plant: Vault,
) -> None:
    with written_as(WrittenForm(decimal="comma")):
        text = typed(plant, {"mechanics.kind": "ball_screw", "mechanics.lead": "1.016,5 mm"})
        assert open_form(plant, LIFT, {}).values["mechanics.lead"] == "1016,5 mm"
    assert "  lead: 1016.5 mm\n" in text


def test_fields_that_were_not_sent_stay_as_they_are(plant: Vault) -> None:
    typed(plant, TYPED)
    text = typed(plant, {"mechanics.lead": "16 mm"})
    assert "lead: 16 mm" in text
    assert "moving_mass: 60 kg" in text


def test_a_turn_of_the_motor_and_the_load_at_it_follow_as_textbooks_have_them(
    plant: Vault,
) -> None:
    """s = L / G; J = m (L / (2 pi G))^2; T = m g L / (2 pi G).

    Formulas of ball screws as mechanics textbooks have them (from memory); g is the standard
    acceleration of ISO 80000-3, 9.80665 m/s^2.
    """
    told = {fact.title: fact.size for fact in found(plant, open_form(plant, LIFT, TYPED)).facts}
    assert told["Way of a motor turn"] == f"{20 / 2:g} mm"
    at_motor = 60 * (0.020 / (2 * pi * 2)) ** 2
    assert float(told["Inertia of the load at the motor"].split()[0]) == pytest.approx(
        at_motor, rel=1e-3
    )
    holding = 60 * 9.80665 * 0.020 / (2 * pi * 2)
    assert float(told["Torque to hold the load"].split()[0]) == pytest.approx(holding, rel=1e-3)
    assert told["Speed at rated motor speed"] == f"{3000 / 60 * 20 / 2:g} mm/s"


def test_nothing_is_stored_while_it_is_worked_out(plant: Vault) -> None:
    tip = plant.tip
    found(plant, open_form(plant, LIFT, TYPED))
    assert (plant.tip, stored(plant).count("mechanics")) == (tip, 0)


def test_a_field_that_cannot_be_is_told_and_the_others_are_reckoned_with(plant: Vault) -> None:
    form = open_form(plant, LIFT, {**TYPED, "motor.inertia": "16", "mechanics.stroke": "far"})
    assert set(form.problems) == {"motor.inertia", "mechanics.stroke"}
    told = {fact.title for fact in found(plant, form).facts}
    assert "Way of a motor turn" in told
    assert "Inertia of the rotor" not in told
    with pytest.raises(WrongUsage, match=r"mechanics\.stroke"):
        typed(plant, {**TYPED, "mechanics.stroke": "far"})


def test_moves_are_typed_one_by_one(plant: Vault) -> None:
    moves = {"duty.cycle": "4 s", "duty.moves.0.distance": "300 mm", "duty.moves.0.wait": "1 s",
             "duty.moves.1.distance": "-300 mm"}  # fmt: skip
    text = typed(plant, {**TYPED, **moves})
    assert "moves: [{distance: 300 mm, wait: 1 s}, {distance: -300 mm}]" in text
    assert "moves" not in typed(plant, dict.fromkeys(moves, ""))


def test_names_of_ones_own_are_added_and_those_that_are_there_stay(plant: Vault) -> None:
    typed(plant, {"cabinet+0.name": "door lock", "cabinet+0.value": "K7, key 12"})
    assert '  door_lock: "K7, key 12"\n' in stored(plant)
    assert "door_lock: none" in typed(plant, {"cabinet.door_lock": "none"})


def test_what_an_axis_is_held_to_is_changed_by_an_approver_alone(plant: Vault) -> None:
    floor = {"margins.0.name": "stop_room", "margins.0.floor": "1.2"}
    with pytest.raises(Refused, match="margins takes the role approver"):
        typed(plant, floor, approves=False)
    assert "  stop_room: 1.2\n" in typed(plant, floor)
    assert "lead: 20 mm" in typed(plant, TYPED, approves=False)
    edited = stored(plant).replace("stop_room: 1.2", "stop_room: 1").encode()
    with pytest.raises(Refused):
        store_file(plant, LIFT, edited, "lift.yaml", BY, approves=False)


def test_a_floor_under_a_margin_that_there_is_not_is_told_at_its_row(plant: Vault) -> None:
    form = open_form(plant, LIFT, {"margins.0.name": "stop_rom", "margins.0.floor": "1.2"})
    assert "there is no such margin" in " ".join(form.problems.values())


def test_a_record_that_somebody_changed_meanwhile_is_not_written_over(plant: Vault) -> None:
    form = open_form(plant, LIFT, {})
    typed(plant, TYPED)
    with pytest.raises(Refused, match="meanwhile"):
        store_form(plant, LIFT, {"title": "x"}, form.version, BY, approves=True)


def test_a_record_that_the_form_cannot_edit_is_edited_as_a_file(
    plant: Vault, tmp_path: Path
) -> None:
    text = b"schema: axisvault/axis/1\nmotor: {code: X}\nnameplate: &n {drive: A}\ncabinet: *n\n"
    store_file(plant, LIFT, text, "lift.yaml", BY, approves=True)
    form = open_form(plant, LIFT, {"cabinet.drive": "B"})
    assert form.by_hand is not None
    with pytest.raises(Unreadable):
        store_file(
            plant, LIFT, b"schema: axisvault/axis/1\nmoter: {}\n", "l.yaml", BY, approves=True
        )


def test_a_record_that_cannot_be_read_is_replaced_by_an_approver_alone(plant: Vault) -> None:
    with plant.writing():
        broken = b"schema: axisvault/axis/1\nmargins: {stop_room: 1.2}\nunknown: 1\n"
        plant.write_files({layout.axis_file(LIFT): broken}, "by hand\n", BY)
    plain = b"schema: axisvault/axis/1\n"
    with pytest.raises(Refused, match="takes the role approver"):
        store_file(plant, LIFT, plain, "lift.yaml", BY, approves=False)
    store_file(plant, LIFT, plain, "lift.yaml", BY, approves=True)
    assert stored(plant) == plain.decode()


@pytest.mark.parametrize("every", ["3000000 d", "1e9 d", "101 a"])
def test_an_interval_ends_while_somebody_lives(plant: Vault, every: str) -> None:
    content = f"schema: axisvault/axis/1\nexport_every: {every}\n".encode()
    with pytest.raises(Unreadable, match="export_every"):
        store_file(plant, LIFT, content, "lift.yaml", BY, approves=True)
