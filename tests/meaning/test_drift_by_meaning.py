"""Which differences from a baseline count as drift. Axes and sets are invented."""

from __future__ import annotations

from datetime import UTC, datetime

import pytest

from tests.meaning.checks.sets import CARRIAGE, SCREW, Settings, view_of
from vault.meaning.changes import Change, Comparison, Kind
from vault.meaning.compare import compare
from vault.meaning.drift import Deviation, Deviations, deviations, in_force, is_worse, worst
from vault.model.golden import Allowance, Waiver
from vault.model.parameters import Parameter
from vault.model.quantities import physical

NOW = datetime(2031, 5, 7, 12, tzinfo=UTC)
BASE: Settings = {**CARRIAGE, "profile_velocity": "100 mm/s"}


def waiver(code: str, allow: str, until: str = "2031-05-08") -> Waiver:
    return Waiver(code, Allowance.parse(allow), until, "A. Fitter", NOW, "a trial")


def drifted(left: Settings, right: Settings, *waivers: Waiver, of_twin: bool = False) -> Deviations:
    views = view_of(left, SCREW), view_of(right, SCREW)
    return deviations(compare(*views), *views, waivers, of_twin=of_twin)


def codes(found: Deviations) -> list[str]:
    return [one.change.shown.code for one in found.settings]


def test_what_differs_drifts_and_what_is_restated_does_not() -> None:
    assert codes(drifted(BASE, {**BASE, "profile_velocity": "120 mm/s"})) == ["p/profile_velocity"]
    assert drifted(BASE, {**BASE, "profile_velocity": "0.1 m/s"}) == Deviations()


def test_what_names_the_hardware_is_told_apart() -> None:
    one, other = ({**BASE, "serial_number": number} for number in (4711, 4712))
    found = drifted(one, {**other, "profile_velocity": "120 mm/s"})
    assert codes(found) == ["p/profile_velocity"]
    assert [change.shown.code for change in found.hardware] == ["p/serial_number"]


@pytest.mark.parametrize("role", ["node_address", "home_offset", "commutation_offset"])
def test_what_an_axis_has_for_itself_is_no_drift_from_its_twin(role: str) -> None:
    one, other = {**BASE, role: 5}, {**BASE, role: 8}
    assert codes(drifted(one, other)) == [f"p/{role}"]
    assert codes(drifted(one, other, of_twin=True)) == []


def test_other_settings_drift_from_a_twin_too() -> None:
    other = {**BASE, "profile_velocity": "120 mm/s"}
    assert codes(drifted(BASE, other, of_twin=True)) == ["p/profile_velocity"]


def test_a_gear_that_the_twin_s_set_takes_into_account_is_no_drift() -> None:
    other = {**BASE, "gear_ratio_motor_revolutions": 5}
    five = {"mechanics": {**SCREW["mechanics"], "gearbox": {"motor": 5, "output": 1}}}
    for record, drifts in ((five, False), (SCREW, True)):
        views = view_of(BASE, SCREW), view_of(other, record)
        found = codes(deviations(compare(*views), *views, of_twin=True))
        assert ("p/gear_ratio_motor_revolutions" in found) is drifts


@pytest.mark.parametrize(
    ("allow", "covered"),
    [
        ("any", True),
        ("110 mm/s..130 mm/s", True),
        ("0.11 m/s..0.13 m/s", True),
        ("100 mm/s..110 mm/s", False),
    ],
)
def test_a_waiver_covers_what_it_allows(allow: str, covered: bool) -> None:
    allowed = waiver("p/profile_velocity", allow)
    (found,) = drifted(BASE, {**BASE, "profile_velocity": "120 mm/s"}, allowed).settings
    assert found.waiver == (allowed if covered else None)


def test_a_waiver_of_another_parameter_covers_nothing() -> None:
    other = waiver("p/profile_acceleration", "any")
    right = {**BASE, "profile_velocity": "120 mm/s"}
    (found,) = drifted(BASE, right, other).settings
    assert found.waiver is None
    mine = waiver("p/profile_velocity", "any")
    (found,) = drifted(BASE, right, other, mine).settings
    assert found.waiver == mine


def test_a_waiver_for_anything_covers_a_parameter_that_is_gone() -> None:
    allowed = waiver("p/profile_velocity", "any")
    (found,) = drifted(BASE, CARRIAGE, allowed).settings
    assert found.waiver == allowed


def test_a_waiver_covers_until_its_last_moment() -> None:
    allowed = waiver("p/profile_velocity", "any", "2031-05-07T12:00:00Z")
    late = datetime(2031, 5, 7, 12, 0, 1, tzinfo=UTC)
    assert (in_force(allowed, NOW), in_force(allowed, late)) == (True, False)
    right = {**BASE, "profile_velocity": "120 mm/s"}
    (found,) = drifted(BASE, right, allowed).settings
    assert (found.drifts(NOW), found.drifts(late)) == (False, True)
    assert Deviation(found.change).drifts(NOW)


def test_the_worst_class_of_some_changes_comes_first() -> None:
    right = {**BASE, "profile_velocity": "120 mm/s", "home_offset": 5}
    changes = [one.change for one in drifted({**BASE, "home_offset": 1}, right).settings]
    assert {one.consequence for one in changes} == {"dynamics", "travel"}
    assert worst(changes) == worst(changes[::-1]) == "travel"
    assert worst([]) is None


@pytest.mark.parametrize(
    ("one", "other", "worse"),
    [
        ("hazard", "travel", True),
        ("travel", "hazard", False),
        ("travel", "travel", False),
        ("record", None, True),
        (None, "record", False),
        (None, None, False),
    ],
)
def test_any_class_is_worse_than_none(one: str | None, other: str | None, worse: bool) -> None:
    assert is_worse(one, other) is worse


def test_what_nobody_knows_the_meaning_of_drifts_from_a_twin_too() -> None:
    one, other = (Parameter("B.7", "Thing", value, value, None, None) for value in (5, 6))
    sides = ({**BASE, "of_its_own": one}, {**BASE, "of_its_own": other})
    assert codes(drifted(*sides, of_twin=True)) == ["B.7"]


def test_a_waiver_for_a_range_covers_no_parameter_that_is_gone() -> None:
    allowed = waiver("p/profile_velocity", "90 mm/s..110 mm/s")
    (found,) = drifted(BASE, CARRIAGE, allowed).settings
    assert found.waiver is None


def test_the_first_waiver_that_covers_is_taken() -> None:
    right = {**BASE, "profile_velocity": "120 mm/s"}
    narrow = waiver("p/profile_velocity", "90 mm/s..110 mm/s")
    wide = waiver("p/profile_velocity", "110 mm/s..130 mm/s")
    (found,) = drifted(BASE, right, narrow, wide).settings
    assert found.waiver == wide


@pytest.mark.parametrize(
    ("kind", "known", "covered"),
    [("shifted", True, True), ("shifted", False, False), ("changed", False, True)],
)
def test_a_waiver_for_a_range_covers_no_shifted_value_of_which_nobody_knows_the_size(
    kind: Kind, *, known: bool, covered: bool
) -> None:
    right = view_of({**BASE, "profile_velocity": "100 mm/s"}, SCREW)
    setting = right.find("profile_velocity")
    size = physical(100, "mm/s") if known else None
    change = Change(kind, "dynamics", setting, setting, None, size)
    allowed = waiver("p/profile_velocity", "90 mm/s..110 mm/s")
    (found,) = deviations(Comparison((change,), 0), right, right, [allowed]).settings
    assert (found.waiver is not None) is covered
