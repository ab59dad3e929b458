"""A measured move: the travel ratio, and the settings that would explain it.

The ratio of a wrong setting is that of the factor group of CiA 402-2 / IEC 61800-7-201 (from
memory): increments = way x R x G / F, so that R, G set too large and F too small make a move long.
1 inch = 25.4 mm exactly (international yard and pound agreement of 1959, from memory).
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from tests.meaning.drives import DEG, Drive, Machine, unit_sizes, view
from vault.meaning.axis_view import AxisView
from vault.meaning.measured_move import judge, parse_move
from vault.model.errors import WrongUsage

LIFT = Drive({})
AS_BUILT = Machine()
TABLE = AxisView(
    "table",
    replace(LIFT, feed=Fraction(360), position=DEG).text,
    nameplate={"encoder_single_turn_bits": "20"},
)


def moved(ratio: float, drive: Drive = LIFT, machine: Machine = AS_BUILT) -> list[str]:
    found = judge(parse_move(f"10 mm={10 * ratio:.6f} mm"), view(drive, machine))
    assert found.ratio == pytest.approx(ratio, rel=1e-6)
    assert not found.is_fine
    return [suspect.explanation for suspect in found.suspects]


@pytest.mark.parametrize(
    ("ratio", "first"),
    [
        (25.4, "inches and millimetres"),
        (1 / 25.4, "inches and millimetres"),
        (0.0625, "an encoder of 4 bits more"),
        (16, "an encoder of 4 bits fewer"),
        (2, "an encoder of 1 bit fewer"),
        (-1, "the direction is turned round"),
        (360, "degrees and revolutions"),
        (1000, "a unit and its thousandth"),
        (0.001, "a unit and its thousandth"),
        (6.2832, "radians and revolutions"),
        (60, "minutes and seconds"),
        (4, "an encoder of 2 bits fewer"),
        (0.8, "a gear of 5:1 is fitted instead of 4:1"),
        (0.625, "a screw of 10 mm lead is fitted instead of 16 mm"),
    ],
)
def test_what_a_ratio_says_first(ratio: float, first: str) -> None:
    assert moved(ratio)[0].startswith(first)


@pytest.mark.parametrize("ratio", [1, 1.0003, 0.9997, 1.01])
def test_a_move_within_the_tolerance_is_fine_and_suspects_nothing(ratio: float) -> None:
    found = judge(parse_move(f"10000 mm={round(10000 * ratio)} mm"), view(LIFT, AS_BUILT))
    assert (found.is_fine, found.suspects) == (True, ())
    assert "moves as told" in found.sentence


def test_a_ratio_that_nothing_explains_is_said_to_be_one() -> None:
    found = judge(parse_move("100 mm=107 mm"), view(LIFT, AS_BUILT))
    assert (found.is_fine, found.suspects) == (False, ())
    assert "No single setting explains that" in found.sentence


def test_a_longer_move_may_be_measured_closer() -> None:
    move = parse_move("1000 mm=1003 mm", tolerance=Fraction(1, 1000))
    assert not judge(move, view(LIFT, AS_BUILT)).is_fine


def test_what_contradicts_the_nameplate_goes_before_what_might_be() -> None:
    """2^20 counted on an encoder of 2^24: a sixteenth (design page, worked number)."""
    first = moved(0.0625, machine=Machine(bits=24))[0]
    assert "2^20 increments a turn are counted, and the encoder fitted gives 2^24" in first


def test_a_gear_that_contradicts_axis_yaml_goes_first() -> None:
    first = moved(2, replace(LIFT, gear=Fraction(8)))[0]
    assert first == "the gear is set as 8:1, and 4:1 is recorded in axis.yaml"


def test_a_feed_that_contradicts_axis_yaml_goes_first() -> None:
    drive = replace(LIFT, feed=Fraction(8))
    first = moved(2, drive)[0]
    assert first.endswith("8 user units a turn, and the machine makes 16 mm (axis.yaml)")


def test_two_wrong_settings_are_told_together_where_only_both_explain_it() -> None:
    wrong = replace(LIFT, gear=Fraction(8))
    found = moved(2 / 16, wrong, Machine(bits=24))
    assert found[0].startswith("these together: ")
    assert "2^24" in found[0]
    assert "8:1" in found[0]


def test_a_wrong_way_and_a_wrong_size_are_both_told() -> None:
    found = moved(-25.4)
    assert found[0].startswith("the direction")
    assert found[1].startswith("inches")


def test_suspects_name_the_code_of_the_parameter() -> None:
    found = judge(parse_move("10 mm=0.625 mm"), view(LIFT, AS_BUILT))
    assert (found.suspects[0].code, found.suspects[0].role) == (
        "0x608F:01", "position_encoder_increments",
    )  # fmt: skip
    turned = judge(parse_move("10 mm=-10 mm"), view(LIFT, AS_BUILT))
    assert (turned.suspects[0].code, turned.suspects[0].role) == (None, "polarity")


def test_an_axis_that_did_not_move_is_no_matter_of_scaling() -> None:
    found = judge(parse_move("10 mm=0 mm"), view(LIFT, AS_BUILT))
    assert (found.is_fine, found.suspects) == (False, ())
    assert "did not move" in found.sentence


def test_a_rotary_axis_is_measured_in_degrees() -> None:
    found = judge(parse_move("10 deg=0.625 deg"), TABLE)
    assert found.suspects[0].explanation.startswith("an encoder of 4 bits more")
    assert not any("screw" in one.explanation for one in found.suspects)


def test_without_any_record_the_usual_suspects_are_still_told() -> None:
    bare = AxisView("bare", b"schema: axisvault/parameters/1\nparameters: {}\n")
    found = judge(parse_move("10 mm=254 mm"), bare)
    assert found.suspects[0].explanation.startswith("inches and millimetres")


@pytest.mark.parametrize(
    ("text", "commanded", "measured"),
    [
        ("10 mm=9.375 mm", Fraction(1, 100), Fraction(9375, 10**6)),
        ("10 mm = 9.375", Fraction(1, 100), Fraction(9375, 10**6)),
        ("10=9.375 mm", Fraction(1, 100), Fraction(9375, 10**6)),
        ("1 in=25.4 mm", Fraction(254, 10**4), Fraction(254, 10**4)),
        ("-10 mm=10 mm", Fraction(-1, 100), Fraction(1, 100)),
    ],
)
def test_a_move_is_read_exactly(text: str, commanded: Fraction, measured: Fraction) -> None:
    move = parse_move(text)
    assert (move.commanded.ratio, move.measured.ratio) == (commanded, measured)


@pytest.mark.parametrize(
    ("text", "said"),
    [
        ("10 mm", "COMMANDED=MEASURED"),
        ("10 mm=5 mm=3 mm", "COMMANDED=MEASURED"),
        ("ten=9", "cannot be read"),
        ("10 mm=9 furlongz", "cannot be read"),
        ("10=9", "unit of length or angle"),
        ("10 s=9 s", "unit of length or angle"),
        ("10 mm=9 deg", "a length against an angle"),
        ("0 mm=1 mm", "tells nothing"),
    ],
)
def test_what_is_no_move_is_refused_with_a_reason(text: str, said: str) -> None:
    with pytest.raises(WrongUsage, match=said):
        parse_move(text)


@given(
    counts=st.sampled_from([2**17, 2**20, 2**23]),
    gear=st.sampled_from([Fraction(1), Fraction(3), Fraction(4), Fraction(10)]),
    feed=st.sampled_from([Fraction(5), Fraction(16), Fraction(20)]),
)
def test_a_wrong_setting_is_found_by_what_it_does(
    counts: int, gear: Fraction, feed: Fraction
) -> None:
    """The move that an axis makes with wrong settings is explained by them, whichever they are."""
    drive = replace(LIFT, counts=counts, gear=gear, feed=feed)
    size = unit_sizes(drive, AS_BUILT)["user_position"]
    assert size is not None
    found = judge(
        parse_move(f"10 mm={float(size * 10_000):.9f} mm"),
        view(drive, AS_BUILT),
    )
    assert found.is_fine == (size == Fraction(1, 1000))
    if not found.is_fine:
        assert found.suspects[0].ratio == pytest.approx(float(size * 1000), rel=0.01)


def test_an_encoder_of_other_bits_without_a_count_is_told_in_bits_alone() -> None:
    bare = AxisView("bare", b"schema: axisvault/parameters/1\nparameters: {}\n")
    found = judge(parse_move("10 mm=160 mm"), bare)
    texts = [suspect.explanation for suspect in found.suspects]
    assert any("an encoder of 4 bits fewer" in text for text in texts)
    assert not any("2^" in text for text in texts)


def test_an_encoder_of_other_bits_is_told_with_what_is_counted_and_what_fits() -> None:
    # 2^20 are counted; a move of a sixteenth fits an encoder of 2^24.
    (first, *_) = moved(0.0625)
    assert "2^20 increments" in first
    assert "2^24 increments" in first


@pytest.mark.parametrize(("ratio", "told"), [(0.25, True), (0.125, False), (4, True), (8, False)])
def test_up_to_two_bits_may_be_edges_taken_for_lines(ratio: float, told: bool) -> None:
    (first,) = (text for text in moved(ratio) if text.startswith("an encoder of"))
    assert ("lines" in first) is told


def test_increments_that_are_no_power_of_two_are_told_as_a_number() -> None:
    odd = replace(LIFT, counts=10_000)
    machine = replace(AS_BUILT, bits=None)
    found = [s for s in moved_by(odd, machine, 0.5) if "encoder" in s]
    assert any("10,000 increments" in text for text in found)
    assert any("20,000 increments" in text for text in found)


def moved_by(drive: Drive, machine: Machine, ratio: float) -> list[str]:
    move = parse_move(f"10 mm={10 * ratio:.6f} mm")
    return [suspect.explanation for suspect in judge(move, view(drive, machine)).suspects]
