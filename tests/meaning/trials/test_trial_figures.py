"""What a trial makes of its answers, by figures that are reckoned by hand here.

The lift of tests/behaviour: 60 kg on a screw of 20 mm behind a gear of 2:1, quick stop 4 m/s^2,
input filter 2 ms, Kv 30/s with 90 % fed forward, rotor 1.6 kg cm^2.
"""

from __future__ import annotations

from math import pi
from typing import Any

import pytest

from tests.behaviour.axes import LIFT_RECORD, LIFT_SET
from tests.meaning.checks.sets import view_of
from vault.meaning.trials.evaluate import evaluate
from vault.meaning.trials.misfits import misfits
from vault.meaning.trials.verdict import TrialFinding, TrialVerdict
from vault.model.trial import TrialRecord

SPEED = 200.0
WAY = SPEED * 0.002 + SPEED**2 / (2 * 4000)  # mm: v t + v^2 / 2a = 0.4 + 5
LAG = (1 - 0.9) * SPEED / 30  # mm: (1 - f) v / Kv


def tried(settings: dict[str, Any] | None = None, **said: Any) -> TrialVerdict:
    record = TrialRecord.model_validate({"schema": "axisvault/trial/1", **said})
    return evaluate(record, view_of({**LIFT_SET, **(settings or {})}, {**LIFT_RECORD}))


def only(verdict: TrialVerdict) -> TrialFinding:
    (found,) = verdict.findings
    return found


def stop(way: float, speed: float = SPEED, **more: Any) -> TrialFinding:
    return only(tried(stops=[{"from": f"{speed} mm/s", "way": f"{way:.4f} mm", **more}]))


def test_a_stop_as_long_as_it_is_worked_out_passes() -> None:
    found = stop(WAY)
    assert found.outcome == "passed"
    assert f"as set and record say ({WAY:.4g} mm" in found.sentence


@pytest.mark.parametrize(("factor", "outcome"), [(1.09, "passed"), (1.13, "failed")])
def test_a_stop_is_too_long_from_a_tenth_over_its_way_and_its_lag(
    factor: float, outcome: str
) -> None:
    found = stop((WAY + LAG) * factor)  # 0.1 mm more are allowed, what a ruler reads
    assert found.outcome == outcome
    assert found.consequence == ("hazard" if outcome == "failed" else "")


def test_a_stop_that_is_shorter_is_told_and_no_failure() -> None:
    found = stop(WAY * 0.8)
    assert found.outcome == "told"
    assert "less than set and record say" in found.sentence


@pytest.mark.parametrize(
    ("way", "outcome"),
    [
        ((WAY + LAG) * 1.1 + 0.09, "passed"), ((WAY + LAG) * 1.1 + 0.11, "failed"),
        (WAY * 0.9 - 0.09, "passed"), (WAY * 0.9 - 0.11, "told"),
    ],
)  # fmt: skip
def test_a_stop_may_be_off_by_a_tenth_and_by_what_a_ruler_reads(way: float, outcome: str) -> None:
    assert stop(way).outcome == outcome


def test_the_way_of_a_stop_goes_with_the_stated_speed_and_not_with_the_worst() -> None:
    assert stop(25, speed=400).outcome == "failed"  # 0.8 + 20 + 1.3 mm, a tenth over, and 0.1 mm
    assert stop(24, speed=400).outcome == "passed"


def test_a_stop_on_the_ramp_goes_by_the_ramp() -> None:
    way = SPEED**2 / (2 * 1500)  # mm, of the deceleration ramp
    assert stop(way, by="ramp").outcome == "passed"
    assert stop(way).outcome == "failed"


def test_a_coasting_stop_is_told_and_held_against_nothing() -> None:
    stops = [{"from": "200 mm/s", "way": "90 mm"}]
    found = only(tried({"quick_stop_option_code": 0}, stops=stops))
    assert found.outcome == "told"
    assert "power goes off" in found.sentence


@pytest.mark.parametrize("sign", [1, -1])
def test_moves_are_judged_in_both_directions(sign: int) -> None:
    moves = [{"commanded": f"{sign * 100} mm", "measured": f"{sign * 99.5} mm"}]
    assert only(tried(moves=moves)).outcome == "passed"
    moves = [{"commanded": f"{sign * 100} mm", "measured": f"{sign * 50} mm"}]
    found = only(tried(moves=moves))
    assert (found.outcome, found.consequence) == ("failed", "hazard")
    assert any("gear of 4:1" in suspect.explanation for suspect in found.suspects)


def test_a_move_the_wrong_way_names_what_turns_the_direction_round() -> None:
    found = only(tried(moves=[{"from": "0 mm", "to": "100 mm", "measured": "-100 mm"}]))
    assert found.outcome == "failed"
    assert found.sentence.startswith("From 0 mm to 100 mm: commanded 100 mm, measured -100 mm")
    assert "the direction is turned round" in found.suspects[0].explanation


def test_a_finer_measurement_finds_less_than_a_hundredth() -> None:
    move = {"commanded": "100 mm", "measured": "99.5 mm"}
    assert only(tried(moves=[move])).outcome == "passed"
    found = only(tried(moves=[{**move, "accuracy": "0.1 mm"}]))
    assert (found.outcome, found.consequence) == ("failed", "travel")


def test_a_coarse_measurement_lets_no_more_than_a_hundredth_pass() -> None:
    move = {"commanded": "100 mm", "measured": "97 mm", "accuracy": "5 mm"}
    assert only(tried(moves=[move])).outcome == "failed"


def test_moves_one_way_alone_leave_the_question_open() -> None:
    there, back = ({"commanded": f"{s}10 mm", "measured": f"{s}10 mm"} for s in ("", "-"))
    assert "moves" in [one.key for one in tried(moves=[there, there]).open]
    assert "moves" not in [one.key for one in tried(moves=[there, back]).open]


@pytest.mark.parametrize(("last", "outcome"), [("0.06 mm", "passed"), ("0.061 mm", "failed")])
def test_homings_lie_within_what_is_allowed(last: str, outcome: str) -> None:
    said = {"readings": ["0.03 mm", "0.01 mm", last], "allowed": "0.05 mm"}
    assert only(tried(home=said)).outcome == outcome


def test_without_a_word_the_position_window_is_what_is_allowed() -> None:
    found = only(tried(home={"readings": ["0 mm", "0.06 mm"]}))
    assert found.outcome == "failed"  # the window is 0.05 mm
    assert "the position window of the set" in found.sentence


def test_one_homing_tells_nothing() -> None:
    verdict = tried({"homing_method": 24}, home={"readings": ["0 mm"]})
    assert verdict.findings == ()
    assert "home" in [one.key for one in verdict.open]


RADIUS = 0.020 / (2 * pi * 2)  # m at the motor, per radian
FALLS = 60 * 9.80665 / (60 + 1.6e-4 / RADIUS**2)  # m/s^2
DROP = FALLS * 0.020**2 / 2 * 1000  # mm within the 20 ms that nothing holds


@pytest.mark.parametrize(
    ("drop", "outcome"),
    [(DROP, "passed"), (DROP * 1.1 + 0.09, "passed"), (DROP * 1.1 + 0.11, "failed")],
)
def test_a_drop_is_held_against_what_nothing_holds(drop: float, outcome: str) -> None:
    found = only(tried({"brake_apply_delay": "20 ms"}, drop=f"{drop:.4f} mm"))
    assert found.outcome == outcome
    assert f"{DROP:.4g} mm at most" in found.sentence


def test_the_motor_pushes_against_the_brake_so_many_times_the_load() -> None:
    load = 60 * 9.80665 * RADIUS
    found = only(tried(brake={"holds": "ok", "torque": f"{2 * load:.6f} N*m"}))
    assert "2 times what the load pulls with" in found.sentence
    share = only(tried(brake={"holds": "ok", "torque": "100 %"}))
    assert f"{3.2 / load:.2g} times" in share.sentence
    little = only(tried(brake={"holds": "ok", "torque": f"{load / 2:.6f} N*m"}))
    assert "it proves little" in little.sentence


def test_a_wrong_direction_is_a_hazard_with_its_suspects() -> None:
    found = only(tried(direction={"positive": "failed"}))
    assert (found.outcome, found.consequence) == ("failed", "hazard")
    assert found.suspects


def test_a_check_that_was_not_done_stays_open() -> None:
    verdict = tried(inputs={"emergency_stop": "not_done"})
    assert verdict.findings == ()
    assert "inputs.emergency_stop" in [one.key for one in verdict.open]


def test_what_is_there_cannot_be_said_not_to_be_there() -> None:
    said = {"emergency_stop": "not_there", "over_travel_high": "not_there"}
    verdict = tried({"homing_method": 35}, inputs=said)
    assert [found.check for found in verdict.findings] == ["inputs.over_travel_high"]
    assert "inputs.emergency_stop" in [one.key for one in verdict.open]


def test_a_remark_stands_beside_its_check() -> None:
    verdict = tried(jog={"stops": "ok"}, remarks={"jog.stops": "a little late"})
    assert only(verdict).remark == "a little late"


def test_failed_goes_before_open_and_open_before_passed() -> None:
    assert tried(jog={"stops": "failed"}).standing == "failed"
    assert tried(jog={"stops": "ok"}).standing == "open"


def test_degrees_are_none_of_an_axis_that_moves_in_a_line() -> None:
    record = TrialRecord.model_validate(
        {
            "schema": "axisvault/trial/1",
            "drop": "1 deg",
            "stops": [{"from": "1 deg/s", "way": "1 mm"}],
        }
    )
    found = dict(misfits(record, view_of({**LIFT_SET}, {**LIFT_RECORD})))
    assert sorted(found) == [("drop",), ("stops", 0, "from")]
