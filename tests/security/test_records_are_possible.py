"""What cannot be is refused when it is written, and is unknown where a vault has it already.

All axes and values are invented. Bounds are from the units and the formulas alone; those of digits
and powers of ten are our own choice.
"""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from tests.conftest import BY, Outcome
from vault.jobs.baseline.drift import drift
from vault.jobs.baseline.golden import approve, show
from vault.jobs.records.edit import set_axis
from vault.jobs.state.check import check_state
from vault.jobs.state.selectors import resolve
from vault.jobs.verify.verify import verify
from vault.meaning.measured_move import parse_move
from vault.model.bounds import MOST_DIGITS, OutOfBounds
from vault.model.errors import Unreadable, WrongUsage
from vault.model.golden import Allowance, Golden, Waiver
from vault.model.names import Address
from vault.model.numerals import typed_number
from vault.store.clock import now
from vault.store.files import layout
from vault.store.files.edited_files import kept_axis, read_axis, read_replacement
from vault.store.files.golden_text import golden_text
from vault.store.vault import Vault
from webui.app import create_app

Cli = Callable[..., Outcome]
LIFT = Address("m1", "lift")
HEAD = "schema: axisvault/axis/1\n"
GOOD = HEAD + (
    "mechanics:\n  kind: ball_screw\n  lead: 10 mm\n  orientation: vertical\n"
    "  moving_mass: 40 kg\nnote: it hangs\n"
)
LONG = "1" * (MOST_DIGITS + 1)
BOUNDS = [
    ("mechanics: {kind: ball_screw, lead: 0 mm}", "mechanics.lead"),
    ("mechanics: {kind: ball_screw, lead: -5 mm}", "mechanics.lead"),
    ("mechanics: {kind: belt, pulley_circumference: 0 m}", "mechanics.pulley_circumference"),
    ("mechanics: {kind: rack, pinion_circumference: 0 m}", "mechanics.pinion_circumference"),
    ("mechanics: {kind: linear_motor, pole_pitch: 0 mm}", "mechanics.pole_pitch"),
    ("mechanics: {kind: rotary, moving_mass: 0 kg}", "mechanics.moving_mass"),
    ("mechanics: {kind: rotary, moving_mass: -1 kg}", "mechanics.moving_mass"),
    ("mechanics: {kind: rotary, load_inertia: 0 kg*m^2}", "mechanics.load_inertia"),
    ("mechanics: {kind: rotary, efficiency: '0'}", "mechanics.efficiency"),
    ("mechanics: {kind: rotary, efficiency: 101 %}", "mechanics.efficiency"),
    ("mechanics: {kind: rotary, counterbalance: '-0.1'}", "mechanics.counterbalance"),
    ("mechanics: {kind: rotary, counterbalance: '2.01'}", "mechanics.counterbalance"),
    ("mechanics: {kind: rotary, stroke: 0 deg}", "mechanics.stroke"),
    ("mechanics: {kind: rotary, reference_move: -1 m}", "mechanics.reference_move"),
    ("mechanics: {kind: rotary, max_speed: 0 mm/s}", "mechanics.max_speed"),
    ("mechanics: {kind: rotary, inclination: 91 deg}", "mechanics.inclination"),
    ("mechanics: {kind: rotary, hard_stop_low: 2 m, hard_stop_high: 1 m}",
     "mechanics.hard_stop_high"),
    ("mechanics: {kind: rotary, hard_stop_low: 1 m, hard_stop_high: 3 rad}",
     "mechanics.hard_stop_high"),
    ("mechanics: {kind: rotary, gearbox: {motor: 10000000000, output: 1}}",
     "mechanics.gearbox.motor"),
    ("motor: {rated_torque: 0 N*m}", "motor.rated_torque"),
    ("motor: {rated_current: 0 A}", "motor.rated_current"),
    ("motor: {rated_speed: 0 r/min}", "motor.rated_speed"),
    ("motor: {inertia: -1 kg*m^2}", "motor.inertia"),
    ("brake: {holding_torque: 0 N*m}", "brake.holding_torque"),
    ("brake: {release_time: -1 ms}", "brake.release_time"),
    ("supply: {voltage: 0 V}", "supply.voltage"),
    ("supply: {resistor: 0 ohm}", "supply.resistor"),
    ("supply: {dc_link_capacitance: 0 uF}", "supply.dc_link_capacitance"),
    ("supply: {resistor_power: 0 W}", "supply.resistor_power"),
    ("duty: {cycle: 0 s, rms_force: 1 N}", "duty.cycle"),
    ("duty: {cycle: 1 s, moves: [{distance: 1 m, speed: 0 m/s}]}", "duty.moves.0.speed"),
    ("duty: {cycle: 1 s, moves: [{distance: 1 m, load: -1 kg}]}", "duty.moves.0.load"),
    ("margins: {stop_room: 1.0e31}", "margins.stop_room"),
    (f"motor: {{rated_current: {LONG} A}}", "motor.rated_current"),
    ("motor: {rated_current: 1e30 A}", "motor.rated_current"),
    ("motor: {rated_torque: 1e9 kN*m}", "motor.rated_torque"),
    ("motor: {rated_current: 1e31 A}", "motor.rated_current"),
    ("motor: {rated_current: 1e-31 A}", "motor.rated_current"),
    (f"cabinet: {{fuse: {LONG}}}", "cabinet.fuse"),
    ("cabinet: {fuse: 1.0e31}", "cabinet.fuse"),
    ("nameplate: {drive: 1.5e-40}", "nameplate.drive"),
    (f"controller_link: {{node: '{'x' * 2001}'}}", "controller_link.node"),
]  # fmt: skip


@pytest.mark.parametrize(("text", "key"), BOUNDS, ids=[text[:60] for text, _ in BOUNDS])
def test_what_cannot_be_is_refused_by_its_key_and_unknown_once_kept(text: str, key: str) -> None:
    content = f"{HEAD}note: it stays\n{text}\n".encode()
    with pytest.raises(Unreadable, match=f"line 3: {key}: "):
        read_axis(content, "axis.yaml")
    kept = kept_axis(content, "axis.yaml")
    assert kept.note == "it stays"
    assert kept.unknown
    assert key.startswith(kept.unknown[0].text)
    assert kept.unknown[0].line == 3


EDGES = """\
mechanics:
  kind: ball_screw
  lead: 1e-30 mm
  efficiency: 100 %
  counterbalance: "2"
  inclination: -90 deg
  hard_stop_low: -1 mm
  hard_stop_high: 0 mm
brake: {release_time: 0 ms}
cabinet: {fuse: 999999999999999999999999999999}
duty: {cycle: 1 ms, moves: [{distance: 0 mm, load: 0 kg, wait: 0 s}], rms_force: 0 N}
"""


def test_what_only_just_can_be_is_taken() -> None:
    assert read_axis((HEAD + EDGES).encode(), "axis.yaml").unknown == ()


def test_a_number_that_would_take_for_ever_to_write_out_is_a_text() -> None:
    for text in ("1.0e+999999999", "7" * 5000):
        kept = kept_axis(f"{HEAD}cabinet: {{fuse: {text}}}\n".encode(), "axis.yaml")
        assert kept.cabinet in ({"fuse": text}, {})


def test_a_gear_that_cannot_be_is_not_taken_for_none() -> None:
    text = HEAD + "mechanics: {kind: rotary, gearbox: {motor: 0, output: 1}}\n"
    assert kept_axis(text.encode(), "axis.yaml").mechanics is None


def test_a_cycle_that_cannot_be_takes_the_duty_along() -> None:
    text = HEAD + "duty: {cycle: 0 s, rms_force: 1 N}\nnote: here\n"
    kept = kept_axis(text.encode(), "axis.yaml")
    assert (kept.duty, kept.note) == (None, "here")
    assert [one.text for one in kept.unknown] == ["duty"]


@pytest.mark.parametrize("text", ["1e31", "1e-31", LONG, f"0.{LONG}", "1e999999999", "9" * 301])
def test_no_number_that_people_type_is_longer_than_can_be_reckoned_with(text: str) -> None:
    with pytest.raises(OutOfBounds):
        typed_number(text)


@pytest.mark.parametrize("text", ["10 mm=1e31 mm", "1e-31 mm=1 mm", f"{LONG} mm=1 mm", "0 mm=1 mm"])
def test_a_measured_move_is_bounded(text: str) -> None:
    with pytest.raises(WrongUsage):
        parse_move(text)


def test_a_nameplate_is_bounded() -> None:
    for text in ("rated_current: 0 A", "rated_torque: 1e40 N*m", "encoder_single_turn_bits: 65"):
        with pytest.raises(Unreadable, match=text.partition(":")[0]):
            read_replacement(text.encode(), "plate.yaml")


# A vault that has such a record already, written by an older program.

BAD = (
    "schema: axisvault/axis/1\ntitle: Lift\nmechanics:\n  kind: ball_screw\n  lead: 0 mm\n"
    "  orientation: vertical\n  moving_mass: 0 kg\n  efficiency: '0'\n  counterbalance: '9'\n"
    "motor:\n  rated_torque: 0 N*m\n  rated_current: 0 A\n  inertia: 0 kg*m^2\n"
    "supply: {resistor: 0 ohm, dc_link_capacitance: 0 uF}\n"
    "cabinet: {fuse: 1.0e+40}\n"
)
Take = Callable[..., Any]
Export = Callable[..., str]


@pytest.fixture
def old(vault: Vault, take: Take, export_text: Export) -> Vault:
    take(export_text("1"), "2026-03-01T08:00:00+00:00")
    take(export_text("2"), "2026-03-02T08:00:00+00:00")
    with vault.writing():
        vault.write_files({layout.axis_file(LIFT): BAD.encode()}, "by an older program\n", BY)
    return vault


def test_an_old_vault_opens_shows_drifts_and_verifies(old: Vault, cli: Cli) -> None:
    approve(old, "m1/lift@first", BY, "as built", accepted={})
    assert [one.axis for one in drift(old)] == ["m1/lift"]
    assert verify(old).ok
    assert check_state(resolve(old, "m1/lift")) is not None
    for line in ("history m1/lift", "compare m1/lift@first m1/lift", "show m1/lift", "axis list"):
        assert cli(*line.split()).code == 0, line
    shown = cli("axis", "show", "m1/lift")
    assert shown.code == 0
    assert "axis.yaml, line 5: mechanics.lead is taken as unknown: '0 mm'" in shown.stderr
    keys = [one["text"] for one in cli("axis", "show", "m1/lift", "--json").json["remarks"]]
    assert {"mechanics.lead", "mechanics.counterbalance", "supply.resistor"} <= set(keys)
    assert "cabinet.fuse" in keys


def test_the_page_of_the_axis_remarks_it(old: Vault) -> None:
    page = create_app(old.repository.path, is_local=True).test_client().get("/axis/m1/lift")
    assert page.status_code == 200
    assert "mechanics.lead is taken as unknown" in page.text


def test_it_can_be_put_right(old: Vault, tmp_path: Path) -> None:
    (tmp_path / "right.yaml").write_text(GOOD)
    added = set_axis(old, LIFT, tmp_path / "right.yaml", BY)
    assert not added.unchanged
    record = old.axis_record(LIFT)
    assert record is not None
    assert record.unknown == ()


def test_a_formula_that_fails_at_a_record_does_not_keep_it(
    old: Vault, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def fails(*_: object, **__: object) -> None:
        raise ZeroDivisionError("float division by zero")

    monkeypatch.setattr("vault.jobs.records.axis_edits.explained", fails)
    (tmp_path / "right.yaml").write_text(GOOD)
    added = set_axis(old, LIFT, tmp_path / "right.yaml", BY)
    assert old.read(layout.axis_file(LIFT)) == GOOD.encode()
    assert any("what it changes cannot be told: internal error" in r for r in added.remarks)


def test_a_waiver_is_bounded_and_one_kept_beyond_that_allows_nothing(old: Vault, cli: Cli) -> None:
    with pytest.raises(WrongUsage, match="allows nothing"):
        Allowance.parse("1..1e40 mm")
    approve(old, "m1/lift@first", BY, "as built", accepted={})
    approval = old.golden(LIFT).approval
    waiver = Waiver("lim/lag", Allowance("1..1e40 mm"), "2099-01-01", BY, now(), "worn")
    text = golden_text(Golden(approval, (waiver,)))
    with old.writing():
        old.write_files({layout.golden_file(LIFT): text}, "by an older program\n", BY)
    (found,) = drift(old)
    assert [one.change.shown.code for one in found.changes] == ["lim/lag"]
    assert show(old, LIFT).golden.waivers[0].allow.unknown is not None
    assert "it allows nothing" in cli("golden", "show", "m1/lift").stdout
