"""Currents that do not say whether they are r.m.s. or peak beside ones that do. All invented.

A peak ampere is 1 / sqrt(2) of one r.m.s. (IEC 60050-103-02-03, from memory).
"""

from __future__ import annotations

from typing import Any

import pytest

from tests.meaning.checks.sets import Settings, defined, the_complaint, view_of
from vault.behaviour.behave import margins_of
from vault.meaning.axis_view import AxisView
from vault.meaning.changes import Change
from vault.meaning.compare import compare
from vault.meaning.other_family import carry_over

SET: Settings = {"motor_rated_torque": "2 N*m"}


def between(
    before: str, after: str, sides: tuple[str, str] | None = None, role: str = "motor_rated_current"
) -> Change:
    found = compare(view_of({**SET, role: before}), view_of({**SET, role: after}), sides=sides)
    (change,) = found.changes
    return change


@pytest.mark.parametrize(
    ("before", "after", "readings"),
    [
        ("5 A", "5 A_rms", "if r.m.s., 5 A_rms is the same; if peak, 1.414 times as much."),
        ("5000 mA", "5 A_rms", "if r.m.s., 5 A_rms is the same; if peak, 1.414 times as much."),
        # 7.071 A_pk are 5 A r.m.s.; were the 5 A peak, 3.536 A r.m.s.
        ("5 A", "7.0711 A_pk", "if r.m.s., 7.0711 A_pk is the same; if peak, 1.414 times as much."),
        # Were 7.0711 A peak, they were 5 A r.m.s.
        ("5 A_rms", "7.0711 A", "if r.m.s., 5 A_rms is 0.7071 times as much; if peak, the same."),
    ],
)
def test_two_currents_are_told_in_both_readings_and_are_electrical(
    before: str, after: str, readings: str
) -> None:
    for sides in (None, ("m1/x", "m1/y")):
        change = between(before, after, sides)
        assert (change.kind, change.consequence) == ("changed", "electrical")
        assert f"does not say whether it is r.m.s. or peak: {readings}" in change.explanation
        assert change.difference is None


def test_currents_that_differ_in_both_readings_keep_what_else_is_said() -> None:
    """5 A_rms over 10 A: half of it, or 0.7071 of it."""
    change = between("10 A", "5 A_rms")
    assert "5 A_rms is 0.5 times as much; if peak, 0.7071 times as much." in change.explanation
    assert "Every value in permille of it changes with it." in change.explanation + change.more


def test_a_limit_that_may_be_the_same_is_no_hazard() -> None:
    """7.0711 A peak are 5 A r.m.s.: as r.m.s. alone the limit were less by a third."""
    record = {"force_protects": True}
    sets = [{**SET, "motor_rated_current": "3 A_rms", "max_current": c} for c in
            ("5 A_rms", "7.0711 A")]  # fmt: skip
    (change,) = compare(*(view_of(each, record) for each in sets)).changes
    assert change.consequence == "electrical"


def test_what_is_less_in_one_reading_and_more_in_the_other_has_no_effect_told() -> None:
    """5 A_rms over 7 A: 0.714 of it, or 1.01 times."""
    change = between("7 A", "5 A_rms", role="max_current")
    assert change.consequence == "electrical"
    assert change.explanation.endswith("0.7143 times as much; if peak, 1.01 times as much.")
    assert not change.more


def test_a_margin_that_falls_below_one_is_a_hazard_in_either_reading() -> None:
    """60 kg on 20 mm a turn take 60 x 9.80665 x 0.02 / (2 pi) = 1.873 N*m; 2 A of 3 give 1.333."""
    lift = {"mechanics": {"kind": "ball_screw", "lead": "20 mm", "orientation": "vertical",
                          "moving_mass": "60 kg"}}  # fmt: skip
    sets: list[Settings] = [
        {**SET, "motor_rated_current": "3 A_rms", "max_current": c} for c in ("2.83 A", "2 A_rms")
    ]
    (change,) = compare(*(view_of(each, lift) for each in sets)).changes
    assert change.consequence == "hazard"


def test_two_that_both_say_which_are_compared_as_they_are() -> None:
    change = between("5 A_rms", "10 A_pk")
    assert change.difference is not None
    assert "does not say" not in change.explanation


def test_an_older_set_is_read_in_the_ampere_of_its_dictionary() -> None:
    definitions = defined("motor_rated_current", unit="A_pk")
    before = view_of({"motor_rated_current": "5 A"}, definitions=definitions)
    after = view_of({"motor_rated_current": "5 A_pk"}, definitions=definitions)
    assert not compare(before, after).changes
    assert before.si("motor_rated_current") == pytest.approx(3.53553, rel=1e-5)


def test_a_rating_is_held_against_the_nameplate_in_both_readings() -> None:
    told = the_complaint(
        "motor_ratings",
        view_of({"motor_rated_current": "5000 mA"}, {"motor": {"rated_current": "5 A_rms"}}),
    )
    assert told.consequence == "electrical"
    assert "if r.m.s., 5 A_rms is the same; if peak, 1.414 times as much." in told.sentence
    assert "Say which in both, A_rms or A_pk" in told.sentence


def test_a_limit_beyond_the_motor_says_how_its_current_was_taken() -> None:
    record = {"motor": {"max_current": "4 A_rms"}}
    limit: Settings = {"motor_rated_current": "3 A", "max_current": 2000}  # 2 x 3 A
    told = the_complaint("current_limit", view_of(limit, record))
    assert "The current limit of 6 A is more than the 4 A_rms that the motor bears." in (
        told.sentence
    )
    assert "is taken as r.m.s., and is 0.7071 times that if it is peak" in told.sentence
    alike = view_of(limit, {"motor": {"max_current": "4 A"}})
    assert "r.m.s." not in the_complaint("current_limit", alike).sentence


def duty(drive: str, rated: str) -> AxisView:
    record: dict[str, Any] = {
        "mechanics": {"kind": "rotary"}, "supply": {"drive_current": drive},
        "duty": {"cycle": "4 s", "rms_force": "1.2 N*m"},
    }  # fmt: skip
    return view_of({**SET, "motor_rated_current": rated}, record)


@pytest.mark.parametrize(
    ("drive", "rated", "hedged"),
    [
        ("2 A", "3 A_rms", True),
        ("2 A_rms", "3 A", True),
        ("2 A", "3 A", False),
        ("2 A_rms", "3 A_rms", False),
    ],
)
def test_a_margin_of_two_currents_is_hedged_where_one_says_which(
    drive: str, rated: str, hedged: bool
) -> None:
    """1.2 / 2 of 3 A are 1.8 A."""
    found = margins_of(duty(drive, rated).state)["duty_current"]
    assert found.ratio == pytest.approx(2 / 1.8)
    assert ("taken as r.m.s." in found.hedge) is hedged


def test_torque_at_a_current_limit_is_hedged_where_the_rating_alone_says_which() -> None:
    lift = {"mechanics": {"kind": "ball_screw", "lead": "20 mm", "orientation": "vertical",
                          "moving_mass": "60 kg"}}  # fmt: skip
    for limit, hedged in (("4 A", True), ("4 A_rms", False), (1300, False)):
        settings: Settings = {
            **SET, "motor_rated_current": "3 A_rms", "max_current": limit,
        }  # fmt: skip
        hold = margins_of(view_of(settings, lift).state)["hold"]
        assert ("taken as r.m.s." in hold.hedge) is hedged


def test_a_current_is_not_carried_into_an_ampere_that_nobody_stated() -> None:
    settings: Settings = {"motor_rated_current": "5 A"}
    by_code = defined("motor_rated_current", unit="A_pk")
    (row,) = carry_over(view_of(settings), by_code)
    assert row.loaded is None
    assert row.reason == "only there it says if it is r.m.s. or peak"
