"""Units of a set, its scaling, and what a state answers: worked by hand. All axes are invented.

Factor group of CiA 402-2, unit codes of CiA 303-2, both from memory.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from math import inf, pi
from typing import Any

import pytest

from tests.behaviour.axes import LIFT_RECORD, LIFT_SET, TABLE_RECORD, axis
from tests.meaning.checks.sets import Settings, view_of, with_mechanics
from vault.behaviour.behave import behave, margins_apart, margins_of
from vault.behaviour.facts import Bound, Figure, Held, exact_unless, ratio_of
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.no_limit import is_all_ones, may_be_none
from vault.behaviour.scaling import Scaling, Travel, common_sizes, own_sizes
from vault.behaviour.si_units import read_unit_code
from vault.behaviour.state import State
from vault.model.quantities import Physical


def lift(record: dict[str, Any] | None = None, **settings: Any) -> State:
    return axis("lift", record, **settings).state


# ----- unit codes


@pytest.mark.parametrize(
    ("code", "size", "text"),
    [
        (0x00010000, 1, "m"),
        (0xFE010000, 0.01, "cm"),
        (0xFD010000, 1e-3, "mm"),
        (0xFA010000, 1e-6, "um"),
        (0xF7010000, 1e-9, "nm"),
        (0x03010000, 1e3, "km"),
        (0xFC010000, 1e-4, "0.1 mm"),
        (0xFB010000, 1e-5, "0.01 mm"),
        (0xF9010000, 1e-7, "0.1 um"),
        (0xFD010300, 1e-3, "mm/s"),
        (0xFD014700, 1e-3 / 60, "mm/min"),
        (0xFD014800, 1e-3 / 3600, "mm/h"),
        (0xFD015700, 1e-3, "mm/s^2"),
        (0xFD01A000, 1e-3, "mm/s^3"),
        (0x00100000, 1, "rad"),
        (0x00410000, pi / 180, "deg"),
        (0x00420000, pi / 180 / 60, "arcmin"),
        (0x00430000, pi / 180 / 3600, "arcsec"),
        (0x00B40000, 2 * pi, "rev"),
        (0xFDB40000, 2 * pi / 1000, "0.001 rev"),
        (0x01B44700, 20 * pi / 60, "10 rev/min"),
    ],
)
def test_a_unit_code_has_its_size_and_its_name(code: int, size: float, text: str) -> None:
    found = read_unit_code(code)
    assert found is not None
    assert (float(found.size.number()), found.text) == (pytest.approx(size), text)


@pytest.mark.parametrize(
    ("code", "kind", "unit"),
    [
        (0xFD010000, "length", "m"), (0xFD010300, "velocity", "m/s"),
        (0xFD015700, "acceleration", "m/s^2"), (0xFD01A000, "jerk", "m/s^3"),
        (0x00100000, "angle", "rad"), (0x00410000, "angle", "rad"), (0x00420000, "angle", "rad"),
        (0x00430000, "angle", "rad"), (0x00B40000, "angle", "rad"),
        (0x00414700, "angular_velocity", "rad/s"), (0x00B45700, "angular_acceleration", "rad/s^2"),
    ],
)  # fmt: skip
def test_a_unit_code_is_a_size_in_si(code: int, kind: str, unit: str) -> None:
    found = read_unit_code(code)
    assert found is not None
    assert (found.size.kind, found.size.unit) == (kind, unit)


@pytest.mark.parametrize("code", [0x00B50000, 0x00000000, 0x00010400, 0x00EE0300])
def test_a_unit_without_a_size_is_not_read(code: int) -> None:
    assert read_unit_code(code) is None


@pytest.mark.parametrize(
    ("raw", "all_ones", "none"),
    [(0xFFFF_FFFF, True, True), (-1, True, True), (0, False, True), (1, False, False),
     (0xFFFF_FFFE, False, False), (None, False, False), ("0", False, False)],
)  # fmt: skip
def test_numbers_that_stand_for_none(raw: object, all_ones: bool, none: bool) -> None:
    assert (is_all_ones(raw), may_be_none(raw)) == (all_ones, none)


# ----- scaling


def scaled(settings: Settings, nameplate: dict[str, str] | None = None) -> Scaling:
    return view_of(settings, LIFT_RECORD, nameplate).scaling


@pytest.mark.parametrize(
    ("settings", "encoder"),
    [
        ({"position_encoder_increments": 4000}, 4000),
        ({"position_encoder_increments": 4000, "position_encoder_motor_revolutions": 2}, 2000),
        ({"position_encoder_increments": 4000, "position_encoder_motor_revolutions": 0}, None),
        ({"position_encoder_increments": 0}, None),
        ({"encoder_single_turn_bits": 20}, 2**20),
        ({"position_encoder_increments": 4000, "encoder_single_turn_bits": 20}, 4000),
        ({"encoder_single_turn_bits": 0}, None),
        ({"encoder_single_turn_bits": 1}, 2),
        ({"encoder_single_turn_bits": 64}, 2**64),
        ({"encoder_single_turn_bits": 65}, None),
        ({}, None),
    ],
)
def test_increments_of_a_motor_turn(settings: Settings, encoder: int | None) -> None:
    assert scaled(settings).encoder == encoder


@pytest.mark.parametrize(
    ("text", "fitted"),
    [("24", 2**24), (" 24 ", 2**24), ("", None), ("x", None), ("0", None), ("0024", None)],
)
def test_the_nameplate_tells_the_encoder_that_is_fitted(text: str, fitted: int | None) -> None:
    assert scaled({}, {"encoder_single_turn_bits": text}).encoder_fitted == fitted


def test_the_record_tells_it_without_a_nameplate() -> None:
    record = {**LIFT_RECORD, "encoder": {"single_turn_bits": 22}}
    assert view_of({}, record).scaling.encoder_fitted == 2**22
    assert view_of({}, record, {"encoder_single_turn_bits": "24"}).scaling.encoder_fitted == 2**24


@pytest.mark.parametrize(
    ("settings", "feed", "unit"),
    [
        ({"feed_constant_feed": 20}, 20, None),
        ({"feed_constant_feed": 20, "feed_constant_shaft_revolutions": 4}, 5, None),
        ({"feed_constant_feed": 20, "feed_constant_shaft_revolutions": 0}, 20, None),
        ({"feed_constant_feed": 0}, None, None),
        ({"feed_constant_feed": "20 mm"}, 20, "mm"),
        ({"feed_constant_feed": "20 mm", "si_unit_position": 0xFA010000}, 20, "um"),
        ({"feed_constant_feed": "20 mm", "si_unit_position": 0xFA010300}, 20, "mm"),  # a speed
    ],
)
def test_a_feed_is_way_over_turns(settings: Settings, feed: int | None, unit: str | None) -> None:
    found = scaled(settings)
    assert (found.feed, found.unit and found.unit.text) == (feed, unit)


def test_turns_of_the_shaft_are_ways_of_a_line() -> None:
    # 0.001 rev of a screw of 20 mm are 0.02 mm; radians of it are no way that is told.
    for code, size in ((0xFDB40000, 20e-6), (0x00B40000, 0.020)):
        found = scaled({"si_unit_position": code}).nominal_unit
        assert found is not None
        assert (float(found.number()), found.kind) == (pytest.approx(size), "length")
    turned = scaled({"si_unit_position": 0x00100000}).nominal_unit
    assert turned is not None
    assert turned.kind == "angle"


def test_motor_turns_of_a_user_unit() -> None:
    own = Scaling(encoder=Fraction(1000), encoder_fitted=Fraction(4000), gear=Fraction(2),
                  feed=Fraction(10))  # fmt: skip
    assert own.encoder_ratio == Fraction(1, 4)
    assert own.motor_turns == Fraction(1, 4) * 2 / 10
    assert Scaling(feed=Fraction(10)).motor_turns == Fraction(1, 10)
    assert Scaling(gear=Fraction(2)).motor_turns is None
    lead = Travel(Physical(Fraction(20, 1000), 0, "length", "m"), Fraction(4))
    moved = Scaling(gear=Fraction(2), feed=Fraction(10), travel=lead).actual_unit
    assert moved is not None
    assert moved.ratio == Fraction(20, 1000) / 10 * 2 / 4


def test_sizes_of_units_that_rest_on_the_axis() -> None:
    view = axis("lift", gear_ratio_motor_revolutions=4)  # every way is twice what is stated
    units = own_sizes(view.scaling).units
    for name, size in (
        ("user_position", 2e-3), ("user_velocity", 2e-3), ("user_acceleration", 2e-3),
        ("user_jerk", 2e-3), ("increments/s", 2 * pi / 2**20), ("increments/s^2", 2 * pi / 2**20),
        ("increments", 2 * pi / 2**20), ("permille_rated_torque", 3.2e-3),
        ("percent_rated_torque", 3.2e-2), ("permille_rated_current", 3.1e-3),
    ):  # fmt: skip
        assert float(units[name].number()) == pytest.approx(size)
    # What is written in mm/s is what the drive believes.
    assert lift(gear_ratio_motor_revolutions=4).si("profile_velocity", ("velocity",)) == (
        pytest.approx(0.6)
    )


LINE = Travel(Physical(Fraction(16, 1000), 0, "length", "m"), Fraction(4))
AS_BUILT = Scaling(
    encoder=Fraction(2**20), encoder_fitted=Fraction(2**20), gear=Fraction(4), feed=Fraction(16),
    unit=read_unit_code(0xFD010000), travel=LINE,
)  # fmt: skip
TWICE = replace(AS_BUILT, gear=Fraction(8))  # every way is twice what is stated


@pytest.mark.parametrize(
    ("left", "right", "value", "sizes"),
    [
        (AS_BUILT, TWICE, (10, "user_position", None), (0.010, 0.020)),
        (AS_BUILT, TWICE, (10, "user_velocity", None), (0.010, 0.020)),
        (AS_BUILT, TWICE, (10, "mm", "position"), (0.010, 0.020)),
        # A length that is no place of the axis is as long as it says.
        (AS_BUILT, TWICE, (10, "mm", "length"), (0.010, 0.010)),
        # A turn of the motor is 4 mm as built.
        (AS_BUILT, TWICE, (1, "rev", "position"), (0.004, 0.004)),
        (AS_BUILT, TWICE, (60, "r/min", "velocity"), (0.004, 0.004)),
        # Of a unit that is no way of the axis k is not known, so for neither.
        (replace(AS_BUILT, unit=read_unit_code(0x00100000)), TWICE, (10, "mm", "position"),
         (0.010, 0.010)),
        (replace(AS_BUILT, unit=None), TWICE, (10, "mm", "position"), (0.010, 0.010)),
        # Another encoder than is counted.
        (AS_BUILT, replace(AS_BUILT, encoder_fitted=Fraction(2**24)), (16, "rev", "position"),
         (0.064, 0.004)),
        # Without the machine by turns of the motor, a quarter and half a one for a user unit.
        (replace(AS_BUILT, travel=None), replace(TWICE, travel=None), (1, "user_position", None),
         (pi / 2, pi)),
        (replace(AS_BUILT, travel=None), TWICE, (1, "user_position", None), (pi / 2, pi)),
        (replace(AS_BUILT, travel=None), TWICE, (1, "mm", "position"), (pi / 2, pi)),
        # Without a feed as the units say.
        (replace(AS_BUILT, feed=None), replace(TWICE, feed=None), (1, "user_position", None),
         (0.001, 0.001)),
        (replace(AS_BUILT, feed=None),
         replace(TWICE, feed=None, encoder_fitted=Fraction(2**24)), (16, "user_position", None),
         (0.016, 0.001)),
        # Speeds in a unit of their own beside places in millimetres.
        (replace(AS_BUILT, velocity_unit=read_unit_code(0xFA010300)),
         replace(TWICE, velocity_unit=read_unit_code(0xFA010300)), (10, "user_velocity", None),
         (10e-6, 20e-6)),
        (replace(AS_BUILT, velocity_unit=read_unit_code(0x00B44700)),
         replace(TWICE, velocity_unit=read_unit_code(0x00B44700)), (60, "user_velocity", None),
         (0.004, 0.004)),
    ],
)  # fmt: skip
def test_values_of_two_states_are_compared_on_one_basis(
    left: Scaling, right: Scaling, value: tuple[int, str, str | None], sizes: tuple[float, float]
) -> None:
    found = [side.physical(*value) for side in common_sizes(left, right)]
    assert [size and float(size.number()) for size in found] == [
        pytest.approx(size) for size in sizes
    ]


def test_the_basis_of_two_states_is_the_best_that_both_have() -> None:
    bare = replace(AS_BUILT, travel=None)
    for left, right, basis in (
        (AS_BUILT, TWICE, "real"), (bare, TWICE, "motor"), (AS_BUILT, bare, "motor"),
        (replace(bare, feed=None), TWICE, "nominal"),
    ):  # fmt: skip
        assert [side.basis for side in common_sizes(left, right)] == [basis, basis]
    assert own_sizes(AS_BUILT).basis == "real"
    assert own_sizes(bare).basis == "nominal"


def test_a_rating_of_the_set_goes_before_the_plate() -> None:
    for settings, rating in (({"motor_rated_torque": "3 N*m"}, 3), ({}, 3.2),
                             ({"motor_rated_torque": "0 N*m"}, 3.2)):  # fmt: skip
        found = scaled(settings).rated_torque
        assert found is not None
        assert float(found.number()) == pytest.approx(rating)


# ----- states


def test_a_state_answers_in_the_kind_that_is_asked_for() -> None:
    state = lift()
    assert state.si("profile_velocity", ("velocity",)) == pytest.approx(0.3)
    assert state.si("profile_velocity", ("angular_velocity",)) is None
    assert state.number("profile_velocity") == 300
    assert (state.number("jog_velocity"), state.raw("jog_velocity")) == (None, None)
    assert (state.choice("modes_of_operation"), state.raw("polarity")) == (8, 0)
    assert state.record("mechanics.gearbox.motor") == 2
    assert state.record("mechanics.gearbox.more") is None
    assert state.record("more.gearbox") is None
    assert state.recorded("mechanics.lead") == pytest.approx(0.020)
    assert state.recorded("mechanics.kind") is None
    with pytest.raises(Missing, match=r"^mechanics\.down$"):
        state.needed("mechanics.down")


def test_all_that_lacks_is_named_at_once() -> None:
    with pytest.raises(Missing) as caught:
        lift().need(one=None, two__three=None, four=0.0)
    assert caught.value.names == ("one", "two.three")
    lift().need(four=0.0)


def test_what_is_beyond_all_numbers_does_not_apply() -> None:
    def overflowing(state: State) -> float:
        return 10.0**308 * float(state.number("profile_velocity") or 0) ** 400

    def by_zero(state: State) -> float:
        return 1 / float(state.number("polarity") or 0)

    for asked in (overflowing, by_zero):
        with pytest.raises(DoesNotApply):
            lift().ask(asked)


def test_an_answer_knows_what_it_rests_on_and_is_kept_as_long_as_that_stays() -> None:
    def inner(state: State) -> float:
        state.hedge("a hedge")
        return float(state.number("profile_velocity") or 0)

    def outer(state: State) -> float:
        state.hedge("another")
        return state.ask(inner) + float(state.recorded("mechanics.lead") or 0)

    state = lift()
    assert state.ask(outer) == pytest.approx(300.02)
    assert state.told(outer) == (("mechanics.lead", "profile_velocity"), ("another", "a hedge"))
    other = state.substituted({"profile_acceleration": None})
    assert state.shares(outer, other)
    changed = state.substituted({"profile_velocity": state.value("max_profile_velocity")})
    assert not state.shares(outer, changed)
    assert changed.ask(outer) == pytest.approx(400.02)
    assert state.ask(outer) == pytest.approx(300.02)
    assert state.shift == 0
    assert state.substituted({}, shift=0.01).substituted({}).shift == 0.01


def test_only_margins_that_may_differ_are_set_against_each_other() -> None:
    state = lift()
    margins_of(state)
    other = state.substituted({"position_gain": None})
    one, two = margins_apart(state, other)
    assert "loops_apart" in one
    assert "stop_room" not in one
    assert two["loops_apart"].missing == ("position_gain",)
    assert margins_of(other)["stop_room"] == margins_of(state)["stop_room"]


def test_a_fact_that_has_no_sense_is_not_there_and_one_that_lacks_is_unknown() -> None:
    found = behave(view_of({}, TABLE_RECORD).state).facts
    assert "torque to hold the load" not in found
    lacks = found["travel ratio"]
    assert (lacks.value, lacks.bound) == (None, "unknown")
    assert lacks.missing == ("feed_constant_feed", "si_unit_position")
    known = behave(view_of(LIFT_SET, LIFT_RECORD).state).facts["worst speed"]
    assert (known.unit, known.bound, known.missing) == ("m/s", "exact", ())
    assert "max_motor_speed" in known.rests_on


# ----- have over need


@pytest.mark.parametrize(
    ("have", "need", "ratio", "bound"),
    [
        ((2, "exact"), (1, "exact"), 2, "exact"),
        ((2, "at_least"), (1, "exact"), 2, "at_least"),
        ((2, "exact"), (1, "up_to"), 2, "at_least"),
        ((2, "exact"), (1, "at_least"), 2, "up_to"),
        ((2, "up_to"), (1, "at_least"), 2, "up_to"),
        ((2, "at_least"), (1, "at_least"), 2, "unknown"),
        ((2, "exact"), (1, "unknown"), 2, "unknown"),
        # Of less than nothing less need leaves less.
        ((-2, "exact"), (1, "up_to"), -2, "up_to"),
        ((-2, "exact"), (1, "at_least"), -2, "at_least"),
        ((0, "exact"), (1, "up_to"), 0, "exact"),
        ((0, "exact"), (0, "up_to"), inf, "at_least"),
        ((1, "exact"), (0, "exact"), inf, "exact"),
        ((-1, "exact"), (0, "exact"), -inf, "exact"),
        ((5, "exact"), (inf, "exact"), 0, "exact"),
        ((inf, "exact"), (inf, "exact"), 1, "exact"),
        ((1 - 5e-10, "exact"), (1, "exact"), 1, "exact"),
        ((1 + 5e-10, "exact"), (1, "exact"), 1, "exact"),
        ((1 - 2e-9, "exact"), (1, "exact"), 1 - 2e-9, "exact"),
    ],
)
def test_a_ratio_and_what_bounds_it(
    have: tuple[float, Bound], need: tuple[float, Bound], ratio: float, bound: Bound
) -> None:
    held = Held(Figure(have[0], "m", "", have[1]), Figure(need[0], "m", "", need[1]))
    assert ratio_of(held) == (ratio, bound)


def test_a_doubt_bounds_a_figure() -> None:
    assert (exact_unless(False, "up_to"), exact_unless(0.0, "up_to")) == ("exact", "exact")
    assert (exact_unless(True, "up_to"), exact_unless(0.5, "at_least")) == ("up_to", "at_least")


def test_the_gearbox_is_taken_as_one_to_one_where_it_is_not_recorded() -> None:
    state = lift(with_mechanics(LIFT_RECORD, gearbox=None))
    assert behave(state).facts["way of a motor turn"].value == pytest.approx(0.020)
