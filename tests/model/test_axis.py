"""The axis record: quantities with units of the right kind, errors with file, line and key."""

from decimal import Decimal

import pytest

from vault.model.axis import AxisRecord
from vault.model.errors import Unreadable
from vault.model.quantities import Measure
from vault.store.files.edited_files import read_axis

# An invented axis. The line of each key matters to the tests below.
GOOD = """\
schema: axisvault/axis/1
title: Lift
nameplate:
  drive: ALD-4
mechanics:
  kind: ball_screw
  lead: 16 mm
  gearbox: {motor: 4, output: 1}
  orientation: vertical
  moving_mass: 85 kg
  efficiency: 93 %
  stroke: 1.2 m
motor:
  rated_torque: 2.4 Nm
  rated_speed: 3000 rpm
encoder:
  single_turn_bits: 20
brake:
  release_time: 60 ms
supply:
  phases: 3
  voltage: 400 V
  dc_link_capacitance: 470 µF
cabinet:
  rotary switch: 5
  resistor wired: true
controller_link:
  update interval: 2 ms
"""


def axis(text: str = GOOD) -> AxisRecord:
    return read_axis(text.encode(), "axis.yaml")


def test_quantities_are_numbers_with_a_unit_spelled_one_way() -> None:
    record = axis()
    assert record.mechanics is not None
    assert record.motor is not None
    assert record.supply is not None
    assert record.mechanics.lead == Measure(Decimal(16), "mm")
    assert record.motor.rated_torque == Measure(Decimal("2.4"), "N*m")
    assert record.motor.rated_speed == Measure(Decimal(3000), "r/min")
    assert record.supply.dc_link_capacitance == Measure(Decimal(470), "uF")


def test_an_axis_may_say_nothing_but_its_schema() -> None:
    assert axis("schema: axisvault/axis/1\n").mechanics is None


def test_an_efficiency_may_be_a_bare_number() -> None:
    record = axis(GOOD.replace("93 %", "0.93"))
    assert record.mechanics is not None
    assert record.mechanics.efficiency == Measure(Decimal("0.93"), None)


def test_a_stroke_may_be_an_angle() -> None:
    record = axis(GOOD.replace("1.2 m", "270 °"))
    assert record.mechanics is not None
    assert record.mechanics.stroke == Measure(Decimal(270), "deg")


def test_settings_keep_the_kind_they_were_written_in() -> None:
    assert axis().cabinet == {"rotary switch": 5, "resistor wired": True}
    assert axis().cabinet["resistor wired"] is True


def test_a_setting_with_a_point_is_an_exact_decimal() -> None:
    found = axis(GOOD.replace("rotary switch: 5", "rotary switch: 0.1")).cabinet["rotary switch"]
    assert isinstance(found, Decimal)
    assert found == Decimal("0.1")


def test_a_record_written_out_reads_back_the_same() -> None:
    record = axis()
    assert AxisRecord.model_validate(record.model_dump(by_alias=True)) == record


def test_quantities_are_written_out_as_people_write_them() -> None:
    dumped = axis().model_dump()
    assert dumped["mechanics"]["lead"] == "16 mm"
    assert dumped["motor"]["rated_torque"] == "2.4 N*m"


WRONG = [
    ("axisvault/axis/1", "axisvault/axis/2", "schema", 1, "axisvault/axis/1"),
    ("kind: ball_screw", "kind: rope", "mechanics.kind", 6, "ball_screw"),
    ("lead: 16 mm", "lead: 16 s", "mechanics.lead", 7, "'16 s' is a time; needed here: length"),
    (
        "lead: 16 mm",
        "lead: 16",
        "mechanics.lead",
        7,
        "needed here: length: write 16 mm",
    ),
    ("lead: 16 mm", "lead: 16 mmm", "mechanics.lead", 7, "unknown unit 'mmm'"),
    ("lead: 16 mm", "lead: sixteen", "mechanics.lead", 7, "no number with a unit"),
    ("motor: 4", "motor: 0", "mechanics.gearbox.motor", 8, "greater than 0"),
    ("output: 1", "output: 1.5", "mechanics.gearbox.output", 8, "no whole number"),
    ("vertical", "upright", "mechanics.orientation", 9, "horizontal"),
    ("1.2 m", "1.2 kg", "mechanics.stroke", 12, "needed here: length or angle"),
    ("2.4 Nm", "2.4 J", "motor.rated_torque", 14, "needed here: torque"),
    ("3000 rpm", "50 Hz", "motor.rated_speed", 15, "angular velocity or velocity"),
    ("single_turn_bits: 20", "single_turn_bits: 99", "encoder.single_turn_bits", 17, "64"),
    ("phases: 3", "phases: 2", "supply.phases", 21, "1 or 3"),
    ("cabinet:\n", "cabinets:\n", "cabinets", 24, "no such key; did you mean cabinet?"),
    (
        "rotary switch: 5",
        "rotary switch: [5]",
        "cabinet.rotary switch",
        25,
        "takes a text, a number",
    ),
]


@pytest.mark.parametrize(
    ("right", "wrong", "key", "line", "reason"), WRONG, ids=[f"{w[2]}: {w[1]}" for w in WRONG]
)
def test_an_error_names_file_line_and_key(
    right: str, wrong: str, key: str, line: int, reason: str
) -> None:
    assert GOOD.count(right) == 1
    with pytest.raises(Unreadable) as caught:
        axis(GOOD.replace(right, wrong))
    error = caught.value
    assert error.file == "axis.yaml"
    assert error.message.startswith(key)
    assert reason in error.message
    assert error.line == line


# Keys of format 2, each whole. Invented.
LATER = """\
schema: axisvault/axis/1
duty:
  cycle: 12 s
  moves:
  - {distance: 300 mm, speed: 400 mm/s, acceleration: 2 m/s^2, load: 20 kg, wait: 1 s}
  - {distance: -300 mm}
  rms_force: 1.2 N*m
pair: glaze-line-2/lift
margins: {stop_room: 1.2, hold: 2}
force_protects: true
controller: {instance: Line1.Lift}
load_encoder: {step: 1 um, counts: 3600000, closes_position: true}
"""


def test_keys_of_format_2_are_read() -> None:
    record = axis(LATER)
    assert record.duty is not None
    assert [str(move.distance) for move in record.duty.moves] == ["300 mm", "-300 mm"]
    assert record.margins == {"stop_room": Decimal("1.2"), "hold": Decimal(2)}
    assert record.force_protects is True
    assert record.controller is not None
    assert (record.pair, record.controller.instance) == ("glaze-line-2/lift", "Line1.Lift")
    assert record.load_encoder is not None
    assert (str(record.load_encoder.step), record.load_encoder.counts) == ("1 um", 3600000)
    assert record.vault_format == 2


def test_a_record_without_them_is_of_format_1() -> None:
    assert axis().vault_format == 1


@pytest.mark.parametrize(
    "line",
    [
        "pair: a/b",
        "margins: {hold: 1}",
        "force_protects: false",
        "mechanics: {kind: rotary, down: low}",
        "load_encoder: {step: 1 um}",
    ],
)
def test_one_of_them_is_enough(line: str) -> None:
    assert axis(f"schema: axisvault/axis/1\n{line}\n").vault_format == 2


@pytest.mark.parametrize(
    ("old", "new", "line", "key", "reason"),
    [
        ("cycle: 12 s", "cycle: 0 s", 3, "duty.cycle", "more than zero"),
        ("cycle: 12 s", "cycle: 12 mm", 3, "duty.cycle", "is a length; needed here: time"),
        ("speed: 400 mm/s", "speed: 400 mm", 5, "duty.moves.0.speed", "is a length"),
        ("load: 20 kg", "lod: 20 kg", 5, "duty.moves.0.lod", "did you mean load?"),
        ("{distance: -300 mm}", "{speed: 1 m/s}", 6, "duty.moves.1.distance", "missing"),
        ("rms_force: 1.2 N*m", "rms_force: 1.2 kg", 7, "duty.rms_force", "torque or force"),
        ("pair: glaze-line-2/lift", "pair: lift", 8, "pair", "lift"),
        ("stop_room: 1.2", "stop_room: 0", 9, "margins.stop_room", "greater than 0"),
        ("stop_room: 1.2", "Stop room: 1.2", 9, "margins.Stop room", "not of the form"),
        ("force_protects: true", "force_protects: perhaps", 10, "force_protects", "true or false"),
        ("{instance: Line1.Lift}", "{}", 11, "controller", "say by `match` what is this"),
        ("instance: Line1.Lift", "instance: a, tag_prefix: b", 11, "controller", "say by `match`"),
        ("instance: Line1.Lift", "match: []", 11, "controller.match", "at least 1"),
        ("instance: Line1.Lift", "match: [' a']", 11, "controller.match.0", "no blank"),
        (
            "instance: Line1.Lift",
            "match: [a], scale: {counts: 0, per: 16 mm}",
            11,
            "controller.scale.counts",
            "greater than 0",
        ),
        (
            "instance: Line1.Lift",
            "match: [a], scale: {counts: 1, per: 16 kg}",
            11,
            "controller.scale.per",
            "is a mass",
        ),
        ("step: 1 um", "step: 0 um", 12, "load_encoder.step", "not more than zero"),
        ("step: 1 um", "step: 2 m", 12, "load_encoder.step", "more than 1 m"),
        ("step: 1 um", "step: 1 s", 12, "load_encoder.step", "needed here: length or angle"),
        ("counts: 3600000", "counts: 0", 12, "load_encoder.counts", "greater than 0"),
        ("counts: 3600000", "counts: 10000000000000", 12, "load_encoder.counts", "1000000000000"),
        ("position: true", "position: some", 12, "load_encoder.closes_position", "true or false"),
    ],
)  # fmt: skip
def test_a_wrong_one_is_named_with_line_and_key(
    old: str, new: str, line: int, key: str, reason: str
) -> None:
    with pytest.raises(Unreadable) as it:
        axis(LATER.replace(old, new, 1))
    assert (it.value.file, it.value.line) == ("axis.yaml", line)
    assert it.value.message.startswith(f"{key}: ") or it.value.message.startswith(f"{key}.")
    assert reason in it.value.message


def test_a_duty_says_what_it_is() -> None:
    with pytest.raises(Unreadable, match="duty: list its moves, or say the rms_force"):
        axis("schema: axisvault/axis/1\nduty: {cycle: 12 s}\n")
