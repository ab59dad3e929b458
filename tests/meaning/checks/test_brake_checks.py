"""The holding brake of a set against the one fitted."""

from __future__ import annotations

import pytest

from tests.meaning.checks.sets import (
    LIFT,
    SCREW,
    complaints,
    the_complaint,
    view_of,
    with_mechanics,
)

FITTED = {"brake": {"apply_time": "100 ms", "release_time": "60 ms", "holding_torque": "4.5 N*m"}}
NONE = {"brake": {"fitted": False}}
LIFTED, LYING = {**LIFT, **FITTED}, {**SCREW, **FITTED}


@pytest.mark.parametrize(("used", "count"), [(1, 0), (0, 1)])
def test_the_brake_of_an_axis_that_hangs_is_used(used: int, count: int) -> None:
    found = complaints("brake", view_of({"brake_used": used}, LIFTED))
    assert len(found) == count
    assert all(one.consequence == "hazard" for one in found)


@pytest.mark.parametrize(("delay", "count"), [("100 ms", 0), ("40 ms", 1)])
def test_the_motor_holds_until_the_brake_has_closed(delay: str, count: int) -> None:
    # 60 ms without hold: g t^2 / 2 = 9.80665 x 0.06^2 / 2 = 17.65 mm.
    found = complaints("brake", view_of({"brake_apply_delay": delay}, LIFTED))
    assert len(found) == count
    assert all("60 ms" in one.sentence and "17.65 mm" in one.sentence for one in found)
    assert not complaints("brake", view_of({"brake_apply_delay": delay}, LYING))


def test_slope_and_counterbalance_make_the_load_fall_slower() -> None:
    # sin 30 deg x (1 - 0.4) = 0.3: 17.65 mm x 0.3 = 5.296 mm.
    record = with_mechanics(
        LIFTED, orientation="inclined", inclination="30 deg", counterbalance="0.4"
    )
    found = the_complaint("brake", view_of({"brake_apply_delay": "40 ms"}, record))
    assert "5.296 mm" in found.sentence


@pytest.mark.parametrize("orientation", ["vertical", "inclined"])
def test_a_load_in_full_balance_needs_no_brake(orientation: str) -> None:
    record = with_mechanics(LIFTED, orientation=orientation, counterbalance="1")
    assert not complaints("brake", view_of({"brake_used": 0}, record))


def test_where_no_brake_is_recorded_only_an_upright_axis_must_have_one() -> None:
    assert complaints("brake", view_of({"brake_used": 0}, LIFT))
    sloping = with_mechanics(LIFT, orientation="inclined")
    assert not complaints("brake", view_of({"brake_used": 0}, sloping))
    assert not complaints("brake", view_of({"brake_used": 0}, {**LIFT, **NONE}))


def test_a_brake_that_is_fitted_on_a_lying_axis_is_used() -> None:
    assert complaints("unused_brake", view_of({"brake_used": 0}, LYING))
    assert not complaints("unused_brake", view_of({"brake_used": 1}, LYING))
    assert not complaints("unused_brake", view_of({"brake_used": 0}, SCREW))
    assert not complaints("unused_brake", view_of({"brake_used": 0}, LIFTED))  # `brake` says it


@pytest.mark.parametrize(("axis", "consequence"), [(LIFT, "hazard"), (SCREW, "electrical")])
def test_a_brake_that_is_used_is_fitted(axis: dict[str, object], consequence: str) -> None:
    missing = view_of({"brake_used": 1}, {**axis, **NONE})
    assert the_complaint("missing_brake", missing).consequence == consequence
    assert not complaints("missing_brake", view_of({"brake_used": 0}, {**axis, **NONE}))
    assert not complaints("missing_brake", view_of({"brake_used": 1}, {**axis, **FITTED}))
    assert not complaints("missing_brake", view_of({"brake_used": 1}, axis))


@pytest.mark.parametrize(("delay", "count"), [("60 ms", 0), ("59 ms", 1)])
def test_the_axis_starts_when_the_brake_is_open(delay: str, count: int) -> None:
    assert len(complaints("brake_release", view_of({"brake_release_delay": delay}, LYING))) == count
    unused = {"brake_release_delay": delay, "brake_used": 0}
    assert not complaints("brake_release", view_of(unused, LYING))
    assert not complaints("brake_release", view_of({"brake_release_delay": delay}, LIFT))


@pytest.mark.parametrize(("torque", "count"), [("0.94 N*m", 0), ("0.93 N*m", 1)])
def test_the_brake_holds_the_load(torque: str, count: int) -> None:
    # m g L / (2 pi G) = 60 x 9.80665 x 0.02 / (4 pi) = 0.93645 N*m.
    record = {**LIFT, "brake": {"holding_torque": torque}}
    assert len(complaints("brake_torque", view_of({}, record))) == count
    assert len(complaints("brake_torque", view_of({"brake_torque": torque}, LIFT))) == count
    assert not complaints("brake_torque", view_of({"brake_torque": torque}, {**LIFT, **NONE}))
    assert not complaints("brake_torque", view_of({"brake_torque": torque}, SCREW))
