"""Carrying a set over to another family, by what its values mean.

Sets and machines are invented; what a unit is worth is worked out by hand by the factor group of
CiA 402-2 and the unit codes of CiA 303-2 (both from memory): see each test.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from decimal import Decimal
from fractions import Fraction
from functools import cache

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from example_machines import FAMILIES
from tests.meaning.drives import MM_S, MM_S2, NUMBERS, UM, UM_S, Drive, Machine, Number, view
from vault.behaviour.scaling import nominal_sizes, scaling
from vault.meaning.axis_view import AxisView
from vault.meaning.loading import Prepared
from vault.meaning.other_family import carry_over
from vault.model.datatypes import BY_NAME
from vault.model.normalise import Definition, family_definitions
from vault.model.parameters import Parameter, ParameterSet
from vault.store.files.edited_files import read_family
from vault.store.files.parameters_text import parameters_text

# Screw of 16 mm, gear 4:1, 2^20 increments a turn; the user unit is 1 mm.
LIFT = Drive(
    {
        "0x6065:00": Number(2504, Decimal("0.001")),
        "0x6081:00": Number(500),
        "0x6083:00": Number(1200),
        "0x6072:00": Number(1800),
        "0x607D:02": Number(600),
        "0x2000:05": Number(7),
        "0x6064:00": Number(17),
    },
    velocity=MM_S,
    acceleration=MM_S2,
)


@cache
def there(family: str, firmware: str = "5.1.0") -> Mapping[str, Definition]:
    path = FAMILIES / f"{family}.yaml"
    return family_definitions(read_family(path.read_bytes(), path.name), firmware)


def onto(family: str, drive: Drive = LIFT, machine: Machine | None = None) -> dict[str, Prepared]:
    """Rows by role, or by code where the parameter has none."""
    rows = carry_over(renamed(drive, machine or Machine()), there(family))
    return {row.target.role or row.target.code: row for row in rows}


def renamed(drive: Drive, machine: Machine) -> AxisView:
    """A view whose parameters have the roles of the standard (drives.py names them by code)."""
    roles = {code: role for code, role, _, _ in NUMBERS}
    found = [replace(p, role=roles.get(p.code, p.role)) for p in drive.parameters()]
    return view(drive, machine, parameters_text(ParameterSet(found)))


def test_scaling_is_worked_out_for_the_new_family() -> None:
    """larch counts its feed in mm: 16 mm a turn of the screw, gear 4:1, 2^20 a turn."""
    rows = onto("larch")
    loaded = {r: row.loaded.value for r, row in rows.items() if row.loaded is not None}
    assert loaded["position_encoder_increments"] == 2**20
    assert loaded["gear_ratio_motor_revolutions"] == 4
    assert loaded["gear_ratio_shaft_revolutions"] == 1
    assert loaded["feed_constant_feed"] == 16


def test_lengths_and_speeds_arrive_as_what_they_are() -> None:
    """2.504 mm in steps of 0.001 mm, 500 mm/s in steps of 0.1, 1200 mm/s^2, 180 % in 0.1 %."""
    rows = onto("larch")
    found = {r: rows[r].loaded for r in ("following_error_window", "profile_velocity",
             "profile_acceleration", "max_torque", "max_software_position_limit")}  # fmt: skip
    assert {r: (p.value, p.unit, p.raw) for r, p in found.items() if p is not None} == {
        "following_error_window": (Decimal("2.504"), "mm", 2504),
        "profile_velocity": (500, "mm/s", 5000),
        "profile_acceleration": (1200, "mm/s^2", 1200),
        "max_torque": (180, "percent_rated_torque", 1800),
        "max_software_position_limit": (600, "mm", 600_000),
    }


def test_a_set_in_micrometres_carries_over_as_the_same_set_in_millimetres_does() -> None:
    fine = replace(
        LIFT,
        feed=Fraction(16_000),
        position=UM,
        velocity=UM_S,
        values={
            **LIFT.values,
            "0x6065:00": Number(2504),
            "0x6081:00": Number(500_000),
            "0x607D:02": Number(600_000),
        },
    )
    roles = ("feed_constant_feed", "following_error_window", "profile_velocity",
             "max_software_position_limit")  # fmt: skip
    one, other = onto("larch"), onto("larch", fine)
    assert [one[r].loaded for r in roles] == [other[r].loaded for r in roles]


def test_a_finer_encoder_is_counted_as_fitted() -> None:
    """2^24 on the plate: that is what the new drive has to count."""
    loaded = onto("larch", machine=Machine(bits=24))["position_encoder_increments"].loaded
    assert loaded is not None
    assert loaded.value == 2**24


def test_what_has_no_counterpart_is_told_and_not_loaded() -> None:
    row = onto("larch")["0x2000:05"]
    assert (row.status, row.loaded, row.reason) == (
        "no_equivalent", None, "its meaning is not known",
    )  # fmt: skip


def test_live_values_and_units_are_not_carried() -> None:
    rows = onto("larch")
    assert rows["position_actual_value"].why_never == "live"
    assert rows["si_unit_position"].why_never == "unit"


def test_a_speed_beyond_the_range_is_offered_as_the_limit_only() -> None:
    """larch takes at most 10,000,000 mm/s as profile velocity."""
    fast = replace(LIFT, values={**LIFT.values, "0x6081:00": Number(2 * 10**7)})
    row = onto("larch", fast)["profile_velocity"]
    assert (row.status, row.loaded) == ("out_of_range", None)
    assert row.offered is not None
    assert row.offered.value == 10**7


def test_without_any_size_of_a_unit_scaling_needs_a_decision() -> None:
    bare = replace(LIFT, position=None, velocity=None, acceleration=None)
    rows = onto("larch", bare, Machine(recorded=False))
    assert rows["feed_constant_feed"].status == "decision"
    assert "how far a turn moves the axis is not known" in rows["feed_constant_feed"].reason
    assert rows["following_error_window"].loaded is None


@settings(deadline=None)
@given(
    window=st.integers(1, 10**5),
    lead=st.sampled_from([5, 10, 16, 20]),
    gear=st.sampled_from([Fraction(1), Fraction(4), Fraction(5, 2), Fraction(49, 9)]),
    feed=st.sampled_from([Fraction(16), Fraction(1000), Fraction(5, 3)]),
    family=st.sampled_from(["larch", "alder"]),
)
def test_every_length_is_held_within_half_a_step_of_what_it_was(
    window: int, lead: int, gear: Fraction, feed: Fraction, family: str
) -> None:
    """Sizes before by the unit that is stated; after by the scaling that was loaded."""
    drive = replace(
        LIFT, feed=feed, gear=gear, values={"0x6065:00": Number(window, Decimal("0.001"))}
    )
    rows = onto(family, drive, Machine(lead=lead, gear=gear))
    row = rows["following_error_window"]
    assert row.loaded is not None
    assert row.definition is not None
    loaded = {r.loaded.role: r.loaded for r in rows.values() if r.loaded is not None}
    sizes = nominal_sizes(scaling(loaded.get, {}, None))
    after = sizes.physical(row.loaded.value, row.loaded.unit, "position")
    step = sizes.physical(row.definition.scale, row.loaded.unit, "position")
    assert after is not None
    assert step is not None
    before = Fraction(window, 10**6)  # in m, the unit is 1 mm
    assert abs(after.number() - before) <= step.number() / 2


def test_the_unit_is_written_as_text_where_the_new_family_has_it_so() -> None:
    row = onto("larch")["user_unit_position"]
    assert row.loaded is not None
    assert (row.loaded.value, row.status) == ("mm", "exact")
    assert row.definition is not None
    assert row.definition.role == "user_unit_position"


def test_a_row_keeps_the_class_of_its_parameter() -> None:
    rows = onto("larch")
    assert rows["max_software_position_limit"].consequence == "travel"
    assert rows["profile_velocity"].consequence == "dynamics"
    assert rows["0x2000:05"].consequence == "unclassified"


def onto_these(
    change: Mapping[str, dict[str, object]], drive: Drive = LIFT, machine: Machine | None = None
) -> dict[str, Prepared]:
    """Rows for larch, some of whose definitions are otherwise, by role."""
    known = {
        code: replace(d, **change.get(d.role or "", {}))  # type: ignore[arg-type]
        for code, d in there("larch").items()
    }
    rows = carry_over(renamed(drive, machine or Machine()), known)
    return {row.target.role or row.target.code: row for row in rows}


def test_scaling_that_the_new_drive_sets_itself_is_told_and_not_loaded() -> None:
    row = onto_these({"gear_ratio_motor_revolutions": {"access": "ro"}})[
        "gear_ratio_motor_revolutions"
    ]
    assert (row.status, row.why_never, row.loaded) == ("never", "read_only", None)


def test_a_feed_in_a_unit_of_another_kind_needs_a_decision() -> None:
    """A screw goes 16 mm a turn: that is no angle."""
    row = onto_these({"feed_constant_feed": {"unit": "deg"}})["feed_constant_feed"]
    assert (row.status, row.loaded) == ("decision", None)


def test_a_feed_held_in_hundredths_is_the_same_feed() -> None:
    row = onto_these({"feed_constant_feed": {"scale": Decimal("0.01")}})["feed_constant_feed"]
    assert row.loaded is not None
    assert (row.loaded.value, row.loaded.raw) == (16, 1600)


def with_value(code: str, role: str, value: int, unit: str | None) -> Prepared:
    """The row of one more parameter of the lift."""
    found = [*LIFT.parameters(), Parameter(code, role, value, value, role, unit)]
    known = view(LIFT, Machine(), parameters_text(ParameterSet(found)))
    definition = Definition(code, role, role, BY_NAME["INTEGER32"], Decimal(1), unit, {})
    rows = carry_over(known, {**there("larch"), "own": definition})
    return next(row for row in rows if row.target.role == role)


@pytest.mark.parametrize(
    ("role", "unit", "why"),
    [
        ("encoder_absolute_offset", "increments", "belongs to the encoder"),
        ("position_gain", "1/s", "reckons its loops in its own way"),
        ("velocity_gain", "N*m*s/rad", "reckons its loops in its own way"),
        ("current_integral_time", "us", "reckons its loops in its own way"),
        ("home_offset", "user_position", "home it there"),
        ("commutation_offset", "deg", "have it measured there"),
    ],
)
def test_what_no_unit_carries_over_is_left_to_people(role: str, unit: str, why: str) -> None:
    row = with_value("0x2000:77", role, 5, unit)
    assert (row.status, row.loaded) == ("decision", None)
    assert why in row.reason


@pytest.mark.parametrize(
    ("here", "there_unit", "why"),
    [
        ("ms", "mm", "it means time here, length there ("),
        (None, "mm", "the size of its unit is not known here"),
        ("mm", None, "the size of its unit is not known there"),
    ],
)
def test_what_does_not_convert_says_which_side_cannot_be_told(
    here: str | None, there_unit: str | None, why: str
) -> None:
    found = [*LIFT.parameters(), Parameter("w", "Window", 5, 5, "position_window", here)]
    known = view(LIFT, Machine(), parameters_text(ParameterSet(found)))
    role = "position_window"
    definition = Definition("w", role, role, BY_NAME["INTEGER32"], Decimal(1), there_unit, {})
    (row,) = (
        row for row in carry_over(known, {"w": definition}) if row.target.role == "position_window"
    )
    assert (row.status, row.loaded) == ("decision", None)
    assert why in row.reason


@pytest.mark.parametrize(
    ("default", "was_set", "said"),
    [(7, False, "its meaning is not known; here it stands as delivered"),
     (8, True, "its meaning is not known"), (None, True, "its meaning is not known")],
)  # fmt: skip
def test_what_nobody_set_in_the_old_drive_is_told_as_delivered(
    default: int | None, was_set: bool, said: str
) -> None:
    known = renamed(LIFT, Machine())
    code = "0x2000:05"
    kept = Definition(code, code, None, None, Decimal(1), None, {}, default=default)
    here = AxisView("x", known.text, "alder", lambda: {code: kept}, nameplate=known.nameplate)
    (row,) = (row for row in carry_over(here, there("larch")) if row.target.code == code)
    assert (row.was_set, row.reason) == (was_set, said)


def test_a_role_that_the_new_family_lacks_is_told_so() -> None:
    fitted = {code: d for code, d in there("larch").items() if d.role != "max_torque"}
    (row,) = (
        row
        for row in carry_over(renamed(LIFT, Machine()), fitted)
        if row.target.role == "max_torque"
    )
    assert (row.status, row.reason) == ("no_equivalent", "nothing there means the same")


@pytest.mark.parametrize(
    "dropped", ["feed_constant_shaft_revolutions", "gear_ratio_shaft_revolutions"]
)
def test_a_family_without_a_divisor_gets_the_number_itself(dropped: str) -> None:
    """16 mm a turn behind 4 : 1 need none."""
    fitted = {code: d for code, d in there("larch").items() if d.role != dropped}
    rows = carry_over(renamed(LIFT, Machine()), fitted)
    loaded = {row.loaded.role: row.loaded.value for row in rows if row.loaded is not None}
    assert loaded["feed_constant_feed"] == 16
    assert loaded["gear_ratio_motor_revolutions"] == 4
    assert dropped not in loaded


def test_a_number_without_unit_on_both_sides_is_the_same_number() -> None:
    row = with_value("0x2000:77", "missed_update_limit", 5, None)
    assert row.loaded is not None
    assert (row.status, row.loaded.value) == ("exact", 5)
