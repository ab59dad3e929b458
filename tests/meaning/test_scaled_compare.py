"""Comparison where scaling differs: the smallest examples of what once was wrong. All invented."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from fractions import Fraction

import pytest

from tests.meaning.drives import (
    BARE,
    LIVE,
    MM,
    MM_S,
    MM_S2,
    NUMBERS,
    R_MIN,
    REV,
    UM,
    Drive,
    Machine,
    Number,
    by_code,
    compared,
    view,
)
from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Comparison
from vault.meaning.compare import compare
from vault.model.parameters import Parameter, ParameterSet
from vault.store.files.edited_files import cached_axis
from vault.store.files.parameters_text import parameters_text

LIMIT, WINDOW, SPEED, TORQUE = "0x607D:02", "0x6065:00", "0x6081:00", "0x6072:00"
SLACK, JOG, HEAT, TIME = "0x2000:01", "0x2000:02", "0x2000:03", "0x6066:00"
AXIS = Machine()


def drive(*, position: int | None = MM, velocity: int | None = None, **values: Number) -> Drive:
    """A set with values by the names above."""
    codes = {name: globals()[name.upper()] for name in values}
    return Drive(
        {codes[name]: n for name, n in values.items()}, position=position, velocity=velocity
    )


def shifts(comparison: Comparison) -> dict[str, Fraction | None]:
    return {c.shown.code: c.ratio for c in comparison.changes if c.kind == "shifted"}


def test_a_value_rounded_to_nought_in_a_coarser_unit_is_restated() -> None:
    fine = replace(
        drive(position=UM, window=Number(500), limit=Number(10**6)), feed=Fraction(16000)
    )
    coarse = drive(window=Number(0), limit=Number(1000))
    assert {c.kind for c in compared(fine, coarse, AXIS).changes} == {"restated"}


def test_a_temperature_does_not_count_as_equal_because_scaling_differs() -> None:
    left, right = drive(heat=Number(25)), drive(heat=Number(30))
    found = by_code(compared(left, right, AXIS, replace(AXIS, lead=20)))
    assert found[HEAT].kind == "changed"


def test_a_time_in_another_step_is_not_blamed_on_the_encoder() -> None:
    left, right = drive(time=Number(5)), drive(time=Number(50, Decimal("0.1")))
    found = by_code(compared(left, right, AXIS, replace(AXIS, bits=24)))
    assert (found[TIME].kind, found[TIME].cause) == ("restated", "step")


def test_motor_speeds_move_a_longer_lead_faster_and_do_not_ask_for_the_gear_set() -> None:
    screw = drive(jog=Number(300))
    assert shifts(compared(screw, screw, AXIS, replace(AXIS, lead=20))) == {JOG: Fraction(20, 16)}
    assert shifts(compared(screw, replace(screw, gear=Fraction(8)), AXIS)) == {}


def test_a_speed_in_another_stated_unit_with_the_same_number_is_shifted() -> None:
    turning, moving = drive(velocity=R_MIN, speed=Number(300)), drive(velocity=MM_S)
    moving = replace(moving, values=turning.values)
    found = compared(turning, moving, AXIS)
    # 300 r/min / 4 x 16 mm = 20 mm/s
    assert shifts(found) == {SPEED: Fraction(300, 20)}
    assert by_code(found)["0x60A9:00"].kind == "changed"
    rewritten_one = replace(moving, values={SPEED: Number(20)})
    assert {c.kind for c in compared(turning, rewritten_one, AXIS).changes} == {"restated"}


@pytest.mark.parametrize("machine", [AXIS, BARE])
def test_an_encoder_shifts_ways_in_mm_where_no_user_unit_is_stated(machine: Machine) -> None:
    plain = drive(position=None, slack=Number(5), jog=Number(300), limit=Number(100))
    other = replace(machine, bits=24, recorded=machine.recorded)
    sixteenth = Fraction(1, 16)
    expected = {SLACK: sixteenth, JOG: sixteenth, LIMIT: sixteenth}
    assert shifts(compared(plain, plain, replace(machine, bits=20), other)) == expected


def test_an_encoder_shifts_ways_where_no_feed_is_known() -> None:
    def fed_otherwise(machine: Machine) -> AxisView:
        lines = drive(slack=Number(5), limit=Number(100)).text.split(b"\n")
        return view(drive(), machine, b"\n".join(x for x in lines if b"feed_constant" not in x))

    found = compare(fed_otherwise(BARE), fed_otherwise(replace(BARE, bits=24)))
    assert shifts(found) == {SLACK: Fraction(1, 16), LIMIT: Fraction(1, 16)}


def test_a_unit_that_is_stated_on_one_side_alone_does_not_shift_ways_in_mm() -> None:
    stated = replace(drive(slack=Number(5)), feed=Fraction(8))  # k = 2
    assert shifts(compared(stated, replace(stated, position=None), AXIS)) == {}


def test_another_user_unit_does_not_shift_motor_speeds_of_an_unknown_machine() -> None:
    turns = replace(drive(position=REV, jog=Number(300), limit=Number(10)), feed=Fraction(1))
    ways = drive(jog=Number(300), limit=Number(160))
    assert shifts(compared(turns, ways)) == {}


def test_sizes_as_stated_are_not_told_where_they_speak_against_the_ratio() -> None:
    left = drive(position=MM, limit=Number(150))
    right = replace(left, position=UM, gear=Fraction(8))
    change = by_code(compared(left, right))[LIMIT]
    assert change.ratio == Fraction(2)
    assert change.left_physical is None
    assert change.right_physical is None


def test_a_share_and_a_torque_name_one_cause_either_way() -> None:
    share, torque = (
        Parameter("A", "A", value, value, None, unit)
        for value, unit in ((Decimal(50), "percent_rated_torque"), (Decimal("1.2"), "N*m"))
    )
    sides = [
        view(drive(), machine, parameters_text(ParameterSet([*drive().parameters(), it])))
        for machine, it in ((AXIS, share), (replace(AXIS, bits=24), torque))
    ]
    there, back = compare(*sides), compare(sides[1], sides[0])
    assert [c.cause for c in there.changes] == [c.cause for c in back.changes] == ["unit"]


def test_codes_that_a_cause_affects_stand_in_order() -> None:
    values = {code: Number(7) for code, _, unit, _ in NUMBERS if unit == "user_position"}
    (cause,) = compared(Drive(values), Drive(values), AXIS, replace(AXIS, lead=20)).causes
    assert cause.affects == tuple(sorted(code for code in values if code not in LIVE))


def test_a_live_value_that_only_reads_otherwise_is_no_effect_of_a_cause() -> None:
    before = drive(position=MM, window=Number(5))
    after = replace(drive(position=UM, window=Number(5000)), feed=Fraction(16000))
    before, after = (
        replace(one, values={**one.values, LIVE[0]: Number(7 * step)})
        for one, step in ((before, 1), (after, 1000))
    )
    found = compared(before, after, AXIS)
    assert {c.shown.code for c in found.changes if c.volatile and c.cause} == {LIVE[0]}
    (cause,) = found.causes
    assert WINDOW in cause.affects
    assert LIVE[0] not in cause.affects
    assert "1 value written in other numbers means the same" in cause.explanation


@pytest.mark.parametrize("code", [MM_S, MM_S2, R_MIN, 0, 0xFFFFFFFF])
def test_a_unit_of_speed_where_one_of_length_belongs_states_nothing(code: int) -> None:
    unstated, odd = drive(position=None, limit=Number(5)), drive(position=code, limit=Number(5))
    assert shifts(compared(unstated, odd, AXIS)) == {}
    assert shifts(compared(odd, odd, AXIS, replace(AXIS, lead=32))) == {LIMIT: Fraction(2)}


def test_a_rotary_table_in_degrees_is_scaled_by_its_gear() -> None:
    def table(teeth: int) -> AxisView:
        found = [
            Parameter("A", "Gear", teeth, teeth, "gear_ratio_motor_revolutions", "rev"),
            Parameter("B", "Feed", 360, 360, "feed_constant_feed", "deg"),
            Parameter("C", "Limit", 90, 90, "max_software_position_limit", "deg"),
            Parameter("D", "Speed", 30, 30, "profile_velocity", "r/min"),
        ]
        axis = b"schema: axisvault/axis/1\nmechanics: {kind: rotary_table, gearbox: {motor: 4, output: 1}}\n"  # noqa: E501
        text = parameters_text(ParameterSet(found))
        return AxisView(
            "x", text, axis_text=axis, read_axis=lambda it: cached_axis(it, "axis.yaml")
        )

    assert shifts(compare(table(4), table(8))) == {"C": Fraction(2), "D": Fraction(2)}


@pytest.mark.parametrize("torque", [2400, 4800])
def test_a_gear_written_in_other_numbers_is_restated_whatever_else_differs(torque: int) -> None:
    def geared(motor: int, shaft: int, rated: int) -> AxisView:
        rows = {
            "gear_ratio_motor_revolutions": (motor, "rev"),
            "gear_ratio_shaft_revolutions": (shaft, "rev"),
            "motor_rated_torque": (rated, "mN*m"),
        }
        found = [Parameter(role, role, n, n, role, unit) for role, (n, unit) in rows.items()]
        return AxisView("x", parameters_text(ParameterSet(found)))

    kinds = {c.shown.role: (c.kind, c.cause) for c in compare(
        geared(4, 1, 2400), geared(8, 2, torque)).changes}  # fmt: skip
    kinds.pop("motor_rated_torque", None)
    assert set(kinds) == {"gear_ratio_motor_revolutions", "gear_ratio_shaft_revolutions"}
    assert set(kinds.values()) == {("restated", "same_ratio")}


def test_the_feed_of_a_set_that_was_rewritten_by_half_is_changed() -> None:
    one = drive(limit=Number(150), window=Number(4), speed=Number(300))
    half = replace(
        drive(position=UM, limit=Number(150_000), window=Number(4), speed=Number(300_000)),
        feed=Fraction(16_000),
    )
    found = by_code(compared(one, half, AXIS))
    assert found["0x6092:01"].kind == "changed"
    assert found[WINDOW].kind == "shifted"
    assert found[LIMIT].kind == "restated"


def test_a_unit_code_that_cannot_be_read_is_no_restatement() -> None:
    found = by_code(compared(drive(position=0x00FF0000), drive(position=0x00FE0000), AXIS))
    assert found["0x60A8:00"].kind == "changed"


SIDES = ("press/lift", "press/feed")


@pytest.mark.parametrize(
    ("counts", "bits", "sides", "says"),
    [
        # 2^20 = 1,048,576 and 2^24 = 16,777,216 increments a turn.
        ((2**20, 2**20), (20, 24), None,
         ("16,777,216 increments per motor revolution", "still counts 1,048,576")),
        ((2**20, 2**24), (20, 24), None,
         ("16,777,216 increments per motor revolution instead of 1,048,576",
          "now counts 16,777,216")),
        ((2**17, 2**17), (20, 24), None,
         ("16,777,216 increments per motor revolution instead of 1,048,576",
          "still counts 131,072")),
        ((2**20, 2**20), (20, 24), SIDES,
         ("16,777,216 increments per motor revolution on press/feed",
          "1,048,576 on press/lift; both drives count 1,048,576")),
        ((2**20, 2**24), (20, 24), SIDES, ("the drives count 16,777,216 and 1,048,576",)),
    ],
)  # fmt: skip
def test_another_encoder_is_told_with_what_the_drive_counts(
    counts: tuple[int, int],
    bits: tuple[int, int],
    sides: tuple[str, str] | None,
    says: tuple[str, ...],
) -> None:
    views = [
        view(replace(drive(limit=Number(150)), counts=count), Machine(bits=each))
        for count, each in zip(counts, bits, strict=True)
    ]
    causes = {cause.name: cause for cause in compare(*views, sides=sides).causes}
    assert all(part in causes["encoder"].explanation for part in says)


def test_a_gear_of_no_whole_number_is_told_as_a_ratio() -> None:
    one, other = (replace(drive(limit=Number(150)), gear=g) for g in (Fraction(4), Fraction(49, 9)))
    (cause,) = (c for c in compared(one, other, AXIS).causes if c.name == "gear_ratio")
    assert "from 4:1 to 49:9" in cause.explanation
    (two,) = (
        c
        for c in compare(view(one, AXIS), view(other, AXIS), sides=SIDES).causes
        if c.name == "gear_ratio"
    )
    assert "4:1 on press/lift and 49:9 on press/feed" in two.explanation
    assert "on press/feed is really 1.361 times that on press/lift" in two.explanation


def test_gear_and_feed_that_make_up_for_each_other_are_the_same_unit() -> None:
    # 8:1 with a feed of 32 is 4:1 with 16: a user unit turns the motor as far as before.
    one = drive(limit=Number(150))
    found = by_code(compared(one, replace(one, gear=Fraction(8), feed=Fraction(32)), BARE))
    assert {code: c.kind for code, c in found.items()} == {
        "0x6091:01": "restated", "0x6092:01": "restated",
    }  # fmt: skip


def test_a_cause_that_is_only_a_default_says_so() -> None:
    one, other = drive(torque=Number(1500)), drive(torque=Number(1500))
    other = replace(other, torque=3200)
    left, right = view(one, AXIS), view(other, AXIS)
    (sure,) = compare(left, right).causes
    assert "file's default" not in sure.explanation
    right.defaults = frozenset({"0x6076:00"})
    (unsure,) = compare(left, right).causes
    assert "0x6076:00 is the file's default on one side" in unsure.explanation
