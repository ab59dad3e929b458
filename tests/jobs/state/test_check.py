"""Check as people meet it: on one machine with other axes, in a shell, on the example machines.

The family elm and its axes are invented.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable
from pathlib import Path

import pytest

from tests.conftest import BY, Outcome, Take
from vault.jobs.records.edit import add_family, set_axis
from vault.jobs.state.check import check_state
from vault.jobs.state.selectors import resolve
from vault.meaning.checks import rules
from vault.model.names import Address
from vault.store.vault import Vault
from webui.app import create_app

ELM = """\
schema: axisvault/family/1
name: elm
title: Elm drives (invented, for tests)
export:
  format: delimited
  delimiter: ";"
  decimal: ","
  columns: {code: Code, name: Name, value: Value, unit: Unit}
  nameplate: {Drive: drive, Serial: serial, Node: node_id}
  recognise: {drive: ^EL-}
parameters:
  bus/node: {name: Node address, role: node_address, type: UNSIGNED16}
  bus/safe: {name: Safety address, role: safety_address, type: UNSIGNED16}
  lim/lag: {name: Following error window, role: following_error_window, type: UNSIGNED32, scale: 0.01, unit: mm}
  mov/speed: {name: Profile velocity, role: profile_velocity, type: UNSIGNED32, scale: 0.1, unit: mm/s}
  reg/gain: {name: Position gain, role: position_gain, type: UNSIGNED16, unit: 1/s}
"""  # noqa: E501


def export(serial: str, node: int, *, safe: int = 0, lag: str = "20", plate: str = "") -> str:
    """An export of an elm drive. At 300 mm/s and 30 1/s it lags 10 mm."""
    nameplate = ["Drive;EL-04;;", *([f"Serial;{serial};;"] if serial else [])]
    nameplate += [f"Node;{plate};;"] if plate else []
    return "\r\n".join(
        [
            *nameplate,
            "Code;Name;Value;Unit",
            f"bus/node;Node address;{node};",
            f"bus/safe;Safety address;{safe};",
            f"lim/lag;Following error window;{lag};mm",
            "mov/speed;Profile velocity;300;mm/s",
            "reg/gain;Position gain;30;1/s",
            "",
        ]
    )


def test_places_to_look_at_are_told_with_their_names(
    plant: Vault, cli: Callable[..., Outcome]
) -> None:
    out = " ".join(cli("check", "kiln-loader/shuttle").stdout.split())
    assert "See mov-138 Quick stop deceleration; mov-160 Quick stop reaction; " in out
    assert out.endswith("; axis.yaml: mechanics; axis.yaml: motor.")
    client = create_app(plant.repository.path, is_local=True).test_client()
    text = client.get("/axis/kiln-loader/shuttle/at/latest/check").text
    link = (
        '<a href="/axis/kiln-loader/shuttle/parameter/mov-138"><span class="code">mov-138</span> '
        "Quick stop deceleration</a>"
    )
    assert link in text
    assert client.get("/axis/kiln-loader/shuttle/parameter/mov-138").status_code == 200


@pytest.fixture
def elms(vault: Vault, tmp_path: Path) -> Vault:
    dictionary = tmp_path / "elm.yaml"
    dictionary.write_text(ELM)
    add_family(vault, dictionary, BY)
    return vault


def rules_of(vault: Vault, selector: str) -> Counter[str]:
    return Counter(
        complaint.rule for complaint in check_state(resolve(vault, selector, None, None))
    )


def test_two_drives_of_one_machine_at_one_address_are_told_on_both(elms: Vault, take: Take) -> None:
    take(export("E1", 11), to="m1/lift")
    take(export("E2", 11), to="m1/feed")
    assert rules_of(elms, "m1/lift") == {"doubled_address": 1}
    (found,) = check_state(resolve(elms, "m1/feed", None, None))
    assert "m1/lift has the same node address, 11" in found.sentence
    assert found.look_at == ("bus/node",)


def test_other_addresses_and_other_machines_are_left_alone(elms: Vault, take: Take) -> None:
    take(export("E1", 11), to="m1/lift")
    take(export("E2", 12), to="m1/feed")
    take(export("E3", 11), to="m2/lift")
    for selector in ("m1/lift", "m1/feed", "m2/lift"):
        assert not rules_of(elms, selector)


def test_two_axes_of_one_drive_share_its_address(elms: Vault, take: Take) -> None:
    take(export("E1", 11), to="m1/lift")
    take(export("E1", 11, lag="21"), to="m1/feed", override_reason="second axis of the same drive")
    assert not rules_of(elms, "m1/lift")


def test_drives_without_serial_numbers_are_two_drives(elms: Vault, take: Take) -> None:
    take(export("", 11), to="m1/lift")
    take(export("", 11, lag="21"), to="m1/feed")
    assert rules_of(elms, "m1/lift") == {"doubled_address": 1}


def test_a_doubled_safety_address_is_a_hazard_and_nought_is_none(elms: Vault, take: Take) -> None:
    take(export("E1", 11, safe=7), to="m1/lift")
    take(export("E2", 12, safe=7), to="m1/feed")
    take(export("E3", 0), to="m1/bed")
    take(export("E4", 0), to="m1/belt")
    (found,) = check_state(resolve(elms, "m1/lift", None, None))
    assert found.consequence == "hazard" and "safety address, 7" in found.sentence
    assert not rules_of(elms, "m1/bed")


def test_an_address_that_only_the_nameplate_gives_counts(elms: Vault, take: Take) -> None:
    take(export("E1", 11), to="m1/lift")
    take(export("E2", 0, plate="11"), to="m1/feed")
    (found,) = check_state(resolve(elms, "m1/feed", None, None))
    assert found.rule == "doubled_address" and found.look_at == ("bus/node",)


@pytest.mark.parametrize(
    ("partner", "words"),
    [
        ("m1/lift2", "on m1/lift2, which moves with it, 21 mm: two drives of one beam must have"),
        ("m2/lift", "on m2/lift, its pair by axis.yaml, 21 mm: a pair is to have the same."),
    ],
)
def test_a_pair_is_held_against_its_partner_on_either_machine(
    elms: Vault, take: Take, tmp_path: Path, partner: str, words: str
) -> None:
    take(export("E1", 11), to="m1/lift")
    take(export("E2", 12, lag="21"), to=partner)
    record = tmp_path / "axis.yaml"
    record.write_text(f"schema: axisvault/axis/1\npair: {partner}\n")
    set_axis(elms, Address.parse("m1/lift"), record, BY)
    found = [c for c in check_state(resolve(elms, "m1/lift", None, None)) if c.rule == "pair"]
    assert [words in complaint.sentence for complaint in found] == [True]


@pytest.mark.usefixtures("elms")
def test_the_shell_is_told_whether_anything_is_wrong(
    take: Take, cli: Callable[..., Outcome]
) -> None:
    take(export("E1", 11), to="m1/lift")
    take(export("E2", 12, lag="9"), to="m1/feed")
    fine = cli("check", "m1/lift")
    assert fine.code == 0 and fine.stdout == "Nothing implausible was found.\n"
    found = cli("check", "m1/lift", "--json").json
    assert (found["axis"], found["findings"]) == ("m1/lift", [])
    wrong = cli("check", "m1/feed")
    assert wrong.code == 1 and wrong.stderr == ""
    assert cli("check", "m1/press").code not in (0, 1)


@pytest.mark.usefixtures("elms")
def test_people_and_machines_see_the_name_to_accept_it_by(
    take: Take, cli: Callable[..., Outcome]
) -> None:
    take(export("E1", 11, lag="9"), to="m1/lift")
    shown = cli("check", "m1/lift").stdout
    assert "window_and_lag" in shown.splitlines()[0]
    assert "lim/lag" in shown and "lags 10 mm" in shown
    told = cli("check", "m1/lift", "--json")
    assert told.code == 1
    (found,) = told.json["findings"]
    assert found["rule"] == "window_and_lag" and "lim/lag" in found["look_at"]
    words = ["golden", "approve", "m1/lift", "--reason", "as built", "--accept"]
    assert cli(*words, "made_up").code != 0
    assert cli(*words, found["rule"]).code == 0


def test_on_the_example_machines_only_what_is_wrong_there_is_found(works: Path) -> None:
    # Planted in the story: an over-travel input that was lost, a speed raised beyond the room to
    # stop. A window widened after a fault leaves enough of the room: drift tells it, and no check.
    with Vault.open(works) as vault:
        axes = [str(axis) for axis in vault.index.axes()]
        found = {axis: dict(rules_of(vault, axis)) for axis in axes}
    assert len(axes) == 14
    assert {axis: known for axis, known in found.items() if known} == {
        "glaze-line-1/turntable": {"overtravel_inputs": 1},
        "kiln-loader/shuttle": {"room_to_stop": 1},
    }


def test_a_swapped_encoder_is_found_in_the_state_that_was_read_then(works: Path) -> None:
    # Story of November 2025: the new motor's encoder has 24 bits, the drive still counted 20.
    with Vault.open(works) as vault:
        found = check_state(resolve(vault, "glaze-line-1/lift@previous", None, None))
    assert {one.rule for one in found} == {"travel_scale", "encoder_resolution"}
    assert any("150 mm moves 9.375 mm" in one.sentence for one in found)  # 150 / 16


def test_the_names_of_rules_stay() -> None:
    # People have accepted findings by these names: none may vanish.
    assert set(rules()) >= {
        "absolute_range", "brake", "brake_release", "brake_torque", "controller_agreement",
        "current_limit", "drive_current", "encoder_bits", "encoder_resolution",
        "highest_frequency", "homing_inputs", "limits_off", "machine_speed", "missing_brake",
        "motor_ratings", "motor_speed", "motor_speed_limit", "open_ended_travel",
        "overtravel_inputs", "overtravel_reaction", "own_range", "pole_pairs", "profile_speed",
        "ramp_torque", "rated_speed", "resistor_ratings", "room_to_stop", "software_limits",
        "stop_energy", "supply_phases", "torque_and_drive", "torque_limit", "travel_scale",
        "unit_of_position", "unit_of_rates", "unused_brake", "update_interval", "window_and_lag",
        "window_off", "zero_factor",
    }  # fmt: skip
