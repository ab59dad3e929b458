"""What the oracle draws: the same for a seed, every mechanism, margins around the edge."""

from __future__ import annotations

from collections import Counter
from functools import cache
from typing import Any

import numpy as np
import pytest

from tests.oracle.cases import MECHANISMS, Case, draw
from tests.oracle.measure import measure
from tests.oracle.units import si

Figures = dict[str, float | None]


@cache
def thousand() -> tuple[tuple[Case, ...], tuple[Figures, ...]]:
    """A thousand drawn cases and what they do."""
    cases = draw(1, 1000)
    return tuple(cases), tuple(measure(cases))


def test_the_same_seed_draws_the_same_cases() -> None:
    assert draw(7, 30) == draw(7, 60)[:30]
    assert draw(7, 30) != draw(8, 30)


def test_a_case_measures_the_same_alone_and_among_others() -> None:
    cases = draw(3, 24)
    together = measure(cases)
    for number in (0, 11, 23):
        alone = measure([cases[number]])[0]
        assert list(alone) == list(together[number])
        for name, figure in alone.items():
            assert together[number][name] == (figure and pytest.approx(figure, rel=1e-9))


_WEIGHED = {"hold_torque", "lift_torque", "descent_torque", "drop_rest"}
_AT_A_SHAFT = {"drop_rest_until_standstill", "drop_moving", "brake_hold_ratio"}
_OF_A_TURNING_MOTOR = {
    "motor_speed_profile", "inertia_ratio", "absolute_range", "homing_torque", "homing_thrust",
    "rated_speed_at_axis",
}  # fmt: skip
_OF_A_LINE = {"homing_thrust"}


def applies(quantity: str, mechanism: str) -> bool:
    """Whether a mechanism can have the quantity: weight, a brake's torque, a turning motor."""
    if quantity in _WEIGHED | _AT_A_SHAFT | _OF_A_LINE and mechanism in ("rotary_table", "rotary"):
        return False
    return not (quantity in _AT_A_SHAFT | _OF_A_TURNING_MOTOR and mechanism == "linear_motor")


def test_each_quantity_of_each_mechanism_is_measured_thirty_times_in_a_thousand() -> None:
    cases, measured = thousand()
    counts = Counter(
        (name, case.mechanism)
        for case, figure in zip(cases, measured, strict=True)
        for name, size in figure.items()
        if size is not None
    )
    wanted = [(name, kind) for name in measured[0] for kind in MECHANISMS if applies(name, kind)]
    assert [pair for pair in wanted if counts[pair] < 30] == []
    assert set(counts) <= set(wanted)


def test_every_orientation_of_every_mechanism_is_drawn() -> None:
    counts = Counter((case.mechanism, mechanics(case)["orientation"]) for case in thousand()[0])
    assert len(counts) == len(MECHANISMS) * 3
    assert min(counts.values()) >= 20


def test_a_fifth_of_the_drives_are_scaled_wrongly_and_the_rest_are_right() -> None:
    cases, measured = thousand()
    wrong = 0
    for case, figure in zip(cases, measured, strict=True):
        ratio = figure["travel_ratio"]
        assert ratio is not None
        right = abs(ratio - 1) < 1e-9
        assert right is not case.conventions["scaled_wrongly"]
        wrong += not right
    assert 150 <= wrong <= 250


def test_conventions_of_makers_are_all_drawn() -> None:
    drawn = Counter(
        (name, value)
        for case in thousand()[0]
        for name, value in case.conventions.items()
        if name not in ("dead_time", "torque_at_top", "voltage_lost")
    )
    assert {name for name, _ in drawn} == {
        "back_driving_losses",
        "counterbalance",
        "jerk_acts_on_quick_stop",
        "max_profile_velocity",
        "polarity_reversed",
        "scaled_wrongly",
        "torque_limits",
    }
    assert min(drawn.values()) >= 80


def test_margins_lie_mostly_between_a_half_and_two() -> None:
    cases, measured = thousand()
    margins: dict[str, list[float]] = {}
    for case, figure in zip(cases, measured, strict=True):
        for name, margin in _margins(case, figure).items():
            margins.setdefault(name, []).append(margin)
    inside = {name: np.mean([0.5 < m < 2 for m in some]) for name, some in margins.items()}
    below = {name: np.mean([m < 1 for m in some]) for name, some in margins.items()}
    assert {name for name, share in inside.items() if share < 0.6} == set()
    assert {name for name, share in below.items() if not 0.2 < share < 0.8} == set()


def mechanics(case: Case) -> dict[str, Any]:
    section = case.record["mechanics"]
    assert isinstance(section, dict)
    return section


def _margins(case: Case, figure: Any) -> dict[str, float]:
    """Some margins of a case, where they can be told."""
    supply: Any = case.record["supply"]
    window = case.objects["0x6065:00"] * figure["travel_ratio"]
    unit = 10.0 ** ((case.objects["0x60A8:00"] >> 24 ^ 0x80) - 0x80)
    pairs = {
        "rated/rms": (case.objects["0x6076:00"] / 1000, figure["duty_rms_torque"]),
        "trip/peak": (si(supply["dc_link_trip"]), figure["dc_link_peak"]),
        "brake/hold": (figure["brake_hold_ratio"], 1.0),
        "delay/stop": (si(case.settings["safe_stop_delay"]), figure["safe_stop_time"]),
    }
    if case.mechanism not in ("rotary_table", "rotary") and window < 1e8:
        pairs["window/lag"] = (window * unit, figure["lag_profile"])
    return {name: have / need for name, (have, need) in pairs.items() if have and need}
