"""Does what is fitted fit the set? Plates and sets are invented.

Travel by the factor group of CiA 402-2 (from memory): increments = way x R x G / F.
"""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from tests.meaning.drives import Drive, Machine, Number, view
from vault.meaning.axis_view import AxisView
from vault.meaning.hardware import Fitted, HardwareMatch, firmware_line, match_hardware, plain_line
from vault.meaning.loading import transfer
from vault.model.datatypes import BY_NAME
from vault.model.normalise import Definition
from vault.model.parameters import Parameter, ParameterSet
from vault.model.replacement import Replacement
from vault.store.files.edited_files import cached_axis
from vault.store.files.parameters_text import parameters_text

# Rated 2.4 N*m and 4 A; limits 1500 permille = 3.6 N*m, 2000 permille = 8 A.
LIFT = Drive({}, torque=2400, current=4000)
AXIS = (
    "schema: axisvault/axis/1\nmotor: {code: M-24}\nmechanics: {kind: ball_screw, lead: 16 mm, "
    "gearbox: {motor: 4, output: 1}, stroke: 650 mm}\n"
)
ROLES = {
    "position_encoder_increments": ("0x608F:01", "UNSIGNED32", "increments"),
    "max_torque": ("0x6072:00", "UNSIGNED16", "permille_rated_torque"),
    "max_current": ("0x6073:00", "UNSIGNED16", "permille_rated_current"),
    "motor_rated_torque": ("0x6076:00", "UNSIGNED32", "mN*m"),
    "motor_rated_current": ("0x6075:00", "UNSIGNED32", "mA"),
}
THERE = {
    code: Definition(code, role, role, BY_NAME[kind], Decimal(1), unit, {})
    for role, (code, kind, unit) in ROLES.items()
}
NOTHING = Fitted("drive", None, None, "not_told")


def lift(bits: int = 20) -> AxisView:
    found = [
        *LIFT.parameters(),
        Parameter("0x6072:00", "Maximum torque", 1500, 1500, "max_torque", "permille_rated_torque"),
        Parameter("0x6073:00", "Maximum current", 2000, 2000, "max_current",
                  "permille_rated_current"),
    ]  # fmt: skip
    return AxisView(
        "lift",
        parameters_text(ParameterSet(found)),
        nameplate={"encoder_single_turn_bits": str(bits), "encoder_multi_turn_bits": "12"},
        axis_text=AXIS.encode(),
        read_axis=lambda content: cached_axis(content, "axis.yaml"),
    )


def fitted(**told: object) -> Replacement:
    return Replacement.model_validate(told)


def match(**told: object) -> HardwareMatch:
    return match_hardware(lift(), fitted(**told), THERE, NOTHING, NOTHING)


def line(found: HardwareMatch, item: str) -> Fitted:
    return next(one for one in found.lines if one.item == item)


def corrected(found: HardwareMatch) -> dict[str | None, object]:
    loaded = [row.loaded for row in found.corrections if row.loaded is not None]
    return {parameter.role: parameter.value for parameter in loaded}


def test_what_nobody_read_is_told_so() -> None:
    found = match()
    assert (found.verdict, found.corrections) == ("not_told", ())
    assert {one.verdict for one in found.lines} == {"not_told"}


def test_a_plain_line_compares_without_blanks() -> None:
    assert plain_line("drive", "A-1", " A-1 ", "not_compatible").verdict == "same"
    assert plain_line("drive", "A-1", "A-2", "not_compatible").verdict == "not_compatible"
    assert plain_line("drive", None, "A-2", "compatible").verdict == "compatible"


def test_what_neither_side_tells_is_not_told_and_not_the_same() -> None:
    assert plain_line("firmware", None, None, "compatible").verdict == "not_told"
    assert firmware_line(None, None, [], []).sentences == ()


def test_an_encoder_of_24_bits_counted_as_20_moves_a_sixteenth() -> None:
    found = match(encoder_single_turn_bits=24)
    encoder = line(found, "encoder, bits of one turn")
    assert (encoder.kept, encoder.fitted, encoder.verdict) == ("20", "24", "compatible")
    assert [(f.value, f.unit) for f in encoder.findings] == [("0.0625", "1")]
    assert "0.0625 times" in encoder.sentences[0]
    assert corrected(found) == {"position_encoder_increments": 2**24}


def test_the_same_encoder_is_the_same_and_corrects_nothing() -> None:
    found = match(encoder_single_turn_bits=20)
    assert line(found, "encoder, bits of one turn").verdict == "same"
    assert found.corrections == ()


def test_the_way_that_a_multi_turn_encoder_knows_is_set_against_the_stroke() -> None:
    """2^12 turns x 16 mm / 4 = 16.384 m; 2^7 turns x 4 mm = 512 mm, less than 650 mm."""
    wide = line(match(encoder_multi_turn_bits=14), "encoder, bits of turns")
    assert (wide.verdict, wide.findings[0].value) == ("compatible", "65.536")
    short = line(match(encoder_multi_turn_bits=7), "encoder, bits of turns")
    assert (short.verdict, short.findings[0].value) == ("not_compatible", "0.512")
    assert "less than the stroke of 650 mm" in short.sentences[0]


def test_limits_in_permille_of_another_rating_keep_what_they_come_to() -> None:
    """3.6 N*m are 1500 permille of 2.4 N*m and 1125 permille of 3.2 N*m."""
    found = match(motor="M-32", rated_torque="3.2 N*m")
    assert "1.333 times what they were" in line(found, "motor").sentences[0]
    assert corrected(found) == {"motor_rated_torque": 3200, "max_torque": 1125}
    reasons = {row.target.role: row.reason for row in found.corrections}
    assert reasons["max_torque"] == "it stays 3.6 N*m"


def test_a_limit_that_does_not_fit_a_step_says_what_it_is_off() -> None:
    """8 A are 2000 permille of 4 A and 2580.645 permille of 3.1 A: 2581 is 0.3548 too much."""
    found = match(motor="M-31", rated_current="3.1 A")
    row = next(r for r in found.corrections if r.target.role == "max_current")
    assert row.loaded is not None
    assert row.loaded.value == 2581
    assert "rounded to 2,581 permille of rated current: 0.3548" in row.reason


def test_a_motor_whose_rating_nobody_told_leaves_the_limits_open() -> None:
    found = match(motor="M-32")
    assert "cannot be said" in line(found, "motor").sentences[0]
    assert found.corrections == ()


def test_a_drive_too_small_for_the_motor_does_not_fit() -> None:
    small = match(drive_rated_current="3 A")
    assert line(small, "drive, rated current").verdict == "not_compatible"
    assert small.verdict == "not_compatible"
    assert line(match(drive_rated_current="4 A"), "drive, rated current").verdict == "same"


def test_a_rating_that_the_drive_does_not_let_set_is_not_corrected() -> None:
    fixed = {c: replace(d, access="ro") if "rated" in d.name else d for c, d in THERE.items()}
    found = match_hardware(lift(), fitted(rated_torque="3.2 N*m"), fixed, NOTHING, NOTHING)
    assert corrected(found) == {"max_torque": 1125}


@pytest.mark.parametrize(
    ("there", "said"),
    [
        ({}, "It lacks 1 parameter: Window (w), 5 mm."),
        ({"high": Decimal(3)}, "1 value beyond its narrower range: Window (w), 5 mm."),
        ({"scale": Decimal("0.1")}, "1 value in another step, written anew: Window (w), 5 mm."),
        ({"name": "Window"}, "It has the same parameters, in the same ranges and steps."),
    ],
)
def test_what_another_firmware_makes_of_the_set(there: dict[str, object], said: str) -> None:
    window = Definition("w", "Window", None, BY_NAME["UNSIGNED16"], Decimal(1), "mm", {})
    known = {"w": replace(window, **there)} if there else {}  # type: ignore[arg-type]
    rows = transfer([Parameter("w", "Window", 5, 5, None, "mm")], {"w": window}, known)
    assert firmware_line("2.0", "3.0", rows, []).sentences == (said,)


def test_what_another_firmware_adds_is_named() -> None:
    added = [Definition("n", "Notch 3", None, None, Decimal(1), None, {})]
    (said,) = firmware_line("2.0", "3.0", [], added).sentences
    assert said == "It adds 1 parameter, which stay as delivered: Notch 3 (n)."


def test_the_view_of_drives_has_the_travel_that_the_sentences_rest_on() -> None:
    """The test bed itself: 16 mm a turn of the screw, 4 motor turns for it."""
    travel = view(replace(LIFT, values={"0x6065:00": Number(1)}), Machine()).scaling.travel
    assert travel is not None
    assert (travel.per_turn.ratio, travel.gear) == (Fraction(16, 1000), 4)


@pytest.mark.parametrize(
    ("plate", "entries", "axis", "kept"),
    [
        ({"encoder_single_turn_bits": " 17 "}, {"encoder_single_turn_bits": 18}, "19", "17"),
        ({"encoder_single_turn_bits": "many"}, {"encoder_single_turn_bits": 18}, "19", "18"),
        ({}, {}, "19", "19"),
        ({}, {}, None, None),
    ],
)
def test_bits_are_read_off_the_plate_then_the_set_then_the_record(
    plate: dict[str, str], entries: dict[str, int], axis: str | None, kept: str | None
) -> None:
    found = [Parameter(role, role, value, value, role, "bit") for role, value in entries.items()]
    record = f"schema: axisvault/axis/1\nencoder: {{single_turn_bits: {axis}}}\n" if axis else None
    known = AxisView(
        "lift",
        parameters_text(ParameterSet(found)),
        nameplate=plate,
        axis_text=None if record is None else record.encode(),
        read_axis=lambda content: cached_axis(content, "axis.yaml"),
    )
    hardware = match_hardware(known, fitted(encoder_single_turn_bits=20), THERE, NOTHING, NOTHING)
    assert line(hardware, "encoder, bits of one turn").kept == kept


def test_an_encoder_whose_increments_the_drive_reads_itself_asks_for_a_reference() -> None:
    unset = {code: d for code, d in THERE.items() if d.role != "position_encoder_increments"}
    found = match_hardware(lift(), fitted(encoder_single_turn_bits=24), unset, NOTHING, NOTHING)
    encoder = line(found, "encoder, bits of one turn")
    assert "reads the resolution of the encoder itself" in encoder.sentences[0]
    assert "reference the axis anew" in encoder.sentences[1]
    assert encoder.findings == ()
    assert found.corrections == ()


def test_a_set_that_counts_the_fitted_encoder_already_needs_a_reference_alone() -> None:
    """2^20 increments are counted; the plate of the old encoder said 17 bits."""
    found = match_hardware(
        lift(bits=17), fitted(encoder_single_turn_bits=20), THERE, NOTHING, NOTHING
    )
    encoder = line(found, "encoder, bits of one turn")
    assert encoder.verdict == "compatible"
    assert "counts as many increments already" in encoder.sentences[0]
    assert found.corrections == ()


def test_a_match_says_what_it_needs() -> None:
    finer = line(match(encoder_single_turn_bits=24), "encoder, bits of one turn")
    assert finer.verdict_text == "compatible only after correction and referencing"
    stronger = line(match(motor="M-24", rated_torque="4.8 N*m"), "motor")
    assert stronger.verdict_text == "compatible only after correction"
    assert line(match(), "motor").verdict_text == "to be read off"


def test_turns_without_a_stroke_are_told_alone() -> None:
    """2^14 turns x 4 mm = 65.536 m."""
    known = lift()
    endless = AxisView(
        "lift",
        known.text,
        nameplate=known.nameplate,
        axis_text=AXIS.replace(", stroke: 650 mm", "").encode(),
        read_axis=lambda content: cached_axis(content, "axis.yaml"),
    )
    found = match_hardware(endless, fitted(encoder_multi_turn_bits=14), THERE, NOTHING, NOTHING)
    turns = line(found, "encoder, bits of turns")
    assert (turns.verdict, turns.findings[0].value) == ("compatible", "65.536")
    assert "stroke" not in turns.sentences[0]


@pytest.mark.parametrize(
    ("told", "verdict"),
    [({"drive_rated_current": "3.999 A"}, "not_compatible"), ({"drive_rated_current": "4.001 A"},
     "not_told"), ({"motor": "M-24"}, "not_told"), ({"motor": "M-25"}, "compatible")],
)  # fmt: skip
def test_the_verdict_is_the_worst_of_all_lines(told: dict[str, object], verdict: str) -> None:
    assert match(**told).verdict == verdict


def test_more_than_five_parameters_are_counted() -> None:
    added = [Definition(f"n{n}", f"Notch {n}", None, None, Decimal(1), None, {}) for n in range(7)]
    assert firmware_line("2.0", "3.0", [], added[:5]).sentences[0].endswith("Notch 4 (n4).")
    (said,) = firmware_line("2.0", "3.0", [], added).sentences
    assert "Notch 4 (n4) and 2 more" in said
    assert "Notch 5" not in said
