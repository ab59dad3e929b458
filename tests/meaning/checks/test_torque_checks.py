"""Torque, current and ratings of a set against motor, drive, weight and ramps."""

from __future__ import annotations

import pytest

from tests.meaning.checks.sets import (
    LIFT,
    SCREW,
    Settings,
    complaints,
    the_complaint,
    view_of,
    with_mechanics,
)

MOTOR = {"motor": {"rated_torque": "2 N*m", "max_torque": "6 N*m", "rated_current": "3 A"}}
STRONG = {"motor": {"rated_torque": "2 N*m", "rated_current": "3 A"}}
LIFTED = {**LIFT, **STRONG}
LIGHT = {**LIFT, "motor": {**STRONG["motor"], "inertia": "1e-12 kg*m^2"}}
"""A rotor that does not count."""


@pytest.mark.parametrize("role", ["max_torque", "positive_torque_limit", "negative_torque_limit"])
@pytest.mark.parametrize(("permille", "count"), [(3000, 0), (3001, 1)])
def test_a_torque_limit_is_at_most_the_motor_s_maximum(
    role: str, permille: int, count: int
) -> None:
    assert len(complaints("torque_limit", view_of({role: permille}, MOTOR))) == count
    assert not complaints("torque_limit", view_of({role: permille}, STRONG))


# m g L / (2 pi G) = 60 x 9.80665 x 0.02 / (4 pi) = 0.93645 N*m = 468.2 permille of 2 N*m.
@pytest.mark.parametrize(("permille", "count"), [(469, 0), (468, 1)])
def test_the_torque_limit_holds_the_load_that_hangs(permille: int, count: int) -> None:
    found = complaints("torque_limit", view_of({"max_torque": permille}, LIFTED))
    assert len(found) == count
    assert all("0.9365 N*m" in one.sentence and one.consequence == "hazard" for one in found)


@pytest.mark.parametrize(("permille", "count"), [(469, 0), (468, 1)])
def test_the_current_limit_holds_the_load_in_proportion(permille: int, count: int) -> None:
    view = view_of({"max_torque": 3000, "max_current": permille}, LIFTED)
    assert len(complaints("torque_limit", view)) == count


def test_one_weak_direction_is_told_unless_the_load_hangs_on_the_other() -> None:
    weak: Settings = {"positive_torque_limit": 100, "negative_torque_limit": 3000}
    found = the_complaint("torque_limit", view_of(weak, LIFTED))
    assert "if it hangs that way, it sinks" in found.sentence
    assert not complaints("torque_limit", view_of({"positive_torque_limit": 100}, LIFTED))
    assert complaints("torque_limit", view_of({**weak, "torque_offset": 400}, LIFTED))
    assert not complaints("torque_limit", view_of({**weak, "torque_offset": -400}, LIFTED))


@pytest.mark.parametrize(("share", "count"), [("0.5", 0), ("0", 1)])
def test_a_counterbalance_takes_its_share_of_the_load(share: str, count: int) -> None:
    record = with_mechanics(LIFTED, counterbalance=share)
    assert len(complaints("torque_limit", view_of({"max_torque": 300}, record))) == count


@pytest.mark.parametrize(("ramp", "count"), [("20.6 m/s^2", 0), ("20.8 m/s^2", 1)])
def test_the_profile_asks_for_no_more_than_the_torque_limit_gives(ramp: str, count: int) -> None:
    # (2 pi eta G T / L - m g) / m = (2 pi 0.9 x 2 x 3.2 / 0.02 - 588.4) / 60 = 20.35 m/s^2 at
    # 1600 permille of 2 N*m; 1617 permille of it are 3.234 N*m and give 20.68 m/s^2.
    view = view_of({"max_torque": 1617, "profile_acceleration": ramp}, LIGHT)
    assert len(complaints("ramp_torque", view)) == count


def test_a_ramp_that_the_set_cuts_is_within_the_torque_limit() -> None:
    settings: Settings = {"max_torque": 1617, "profile_acceleration": "50 m/s^2"}
    assert complaints("ramp_torque", view_of(settings, LIGHT))
    assert not complaints(
        "ramp_torque", view_of({**settings, "max_acceleration": "10 m/s^2"}, LIGHT)
    )
    light = with_mechanics(LIGHT, moving_mass=None)
    assert not complaints("ramp_torque", view_of(settings, light))


RATED = {
    "motor": {
        "rated_torque": "1.27 N*m",
        "rated_current": "1.9 A",
        "max_current": "5.7 A",
        "rated_speed": "4500 r/min",
        "max_speed": "6000 r/min",
    }
}


@pytest.mark.parametrize(
    ("role", "right", "wrong"),
    [
        ("motor_rated_torque", "1280 mN*m", "1290 mN*m"),
        ("motor_rated_current", "1910 mA", "3100 mA"),
        ("motor_max_current", "5.7 A", "6 A"),
        ("motor_rated_speed", "4500 r/min", "3000 r/min"),
        ("motor_max_speed", "6000 r/min", "4500 r/min"),
    ],
)
def test_ratings_are_those_of_the_nameplate_but_for_rounding(
    role: str, right: str, wrong: str
) -> None:
    # 1.28 / 1.27 is 0.8 % off, 1.29 / 1.27 is 1.6 %.
    assert not complaints("motor_ratings", view_of({role: right}, RATED))
    assert the_complaint("motor_ratings", view_of({role: wrong}, RATED)).look_at[0] == f"p/{role}"
    assert not complaints("motor_ratings", view_of({role: wrong}, {"motor": {}}))
    assert not complaints("motor_ratings", view_of({role: wrong}))


def test_a_wrong_rating_is_told_with_what_follows() -> None:
    found = the_complaint("motor_ratings", view_of({"motor_rated_torque": "2540 mN*m"}, RATED))
    assert "every limit in permille of it is 2 times what it should be" in found.sentence


@pytest.mark.parametrize(("permille", "count"), [(3000, 0), (3001, 1)])
def test_the_current_limit_is_at_most_what_the_motor_bears(permille: int, count: int) -> None:
    # 3000 permille of 1.9 A are the 5.7 A of the nameplate.
    assert len(complaints("current_limit", view_of({"max_current": permille}, RATED))) == count


@pytest.mark.parametrize(("permille", "count"), [(2000, 0), (2001, 1)])
def test_the_current_limit_is_at_most_what_the_drive_gives(permille: int, count: int) -> None:
    settings = {"max_current": permille, "drive_max_current": "6 A"}
    found = complaints("current_limit", view_of(settings, STRONG))
    assert len(found) == count
    assert all("never reached" in one.sentence for one in found)


@pytest.mark.parametrize(("permille", "count"), [(2000, 0), (2001, 1)])
def test_the_torque_limit_takes_no_more_than_the_drive_gives(permille: int, count: int) -> None:
    # 2000 permille of 2 N*m take 2 x 3 A.
    settings: Settings = {"max_torque": permille, "drive_max_current": "6 A"}
    assert len(complaints("torque_and_drive", view_of(settings, STRONG))) == count
    for kind in (5, 6, 7):  # reluctance and induction: torque does not go with current alone
        view = view_of({**settings, "motor_type": kind}, STRONG)
        assert not complaints("torque_and_drive", view)
    assert not complaints("torque_and_drive", view_of({"max_torque": permille}, STRONG))


@pytest.mark.parametrize(("drive", "count"), [("3 A", 0), ("2.9 A", 1)])
def test_the_drive_is_rated_for_the_motor(drive: str, count: int) -> None:
    assert (
        len(complaints("drive_current", view_of({"drive_rated_current": drive}, STRONG))) == count
    )
    by_plate = view_of({}, STRONG, {"rated_current": drive})
    assert len(complaints("drive_current", by_plate)) == count
    assert not complaints("drive_current", view_of({"drive_rated_current": drive}, SCREW))


# 60 kg x (0.02 / (4 pi))^2 = 1.5198e-4 kg*m^2 at the motor: the rotor's 1.5198 times.
@pytest.mark.parametrize(
    ("set_to", "count"), [("93.9 %", 0), ("93.7 %", 1), ("227.5 %", 0), ("227.7 %", 1)]
)
def test_the_load_inertia_that_is_set_may_be_off_by_a_third(set_to: str, count: int) -> None:
    # (1 + 1.5198) / 1.3 - 1 = 0.9383, and 2.5198 x 1.3 - 1 = 2.2757.
    record = {**LIFT, "motor": {"inertia": "1e-4 kg*m^2"}}
    found = complaints("load_inertia", view_of({"load_inertia_ratio": set_to}, record))
    assert len(found) == count
    for one in found:
        assert f"a load of {float(set_to.removesuffix(' %')) / 100:.4g} times" in one.sentence
        assert "as built it has 1.52 times" in one.sentence
        assert one.consequence == "dynamics"
        assert one.look_at == (
            "p/load_inertia_ratio", "axis.yaml: mechanics", "axis.yaml: motor"
        )  # fmt: skip
        assert one.findings[0].unit == "1"


@pytest.mark.parametrize("set_to", ["0 %", "-100 %"])
def test_a_load_inertia_of_nought_is_one_that_nobody_set(set_to: str) -> None:
    record = {**LIFT, "motor": {"inertia": "1e-4 kg*m^2"}}
    assert not complaints("load_inertia", view_of({"load_inertia_ratio": set_to}, record))


def test_a_current_above_what_the_drive_gives_is_told_with_where_both_stand() -> None:
    settings: Settings = {
        "max_current": 3000, "motor_rated_current": 4000, "drive_max_current": "10 A"
    }  # fmt: skip
    found = the_complaint("current_limit", view_of(settings))
    assert found.consequence == "electrical"
    assert found.look_at == ("p/max_current", "p/drive_max_current", "p/motor_rated_current")
    assert "12 A" in found.sentence
    assert "10 A" in found.sentence
    assert not complaints("current_limit", view_of({**settings, "drive_max_current": "12 A"}))
