"""Dead time and notch filters of the velocity loop. All axes are invented."""

from __future__ import annotations

from math import degrees, pi
from typing import Any

import numpy as np
import pytest
from scipy import signal  # type: ignore[import-untyped]

from tests.meaning.checks.sets import Settings, complaints, the_complaint, view_of
from vault.behaviour.behave import fact_of, load_themes, margins_of
from vault.behaviour.facts import FACTS, Fact

RECORD: dict[str, Any] = {
    "mechanics": {"kind": "rotary", "load_inertia": "1e-12 kg*m^2"},
    "motor": {"inertia": "0.001 kg*m^2"},
}
# The symmetrical optimum (see test_handbook): 36.87 deg at 500 rad/s.
BEST: Settings = {
    "velocity_gain": "0.5 N*m*s/rad", "velocity_integral_time": "4 ms",
    "torque_filter_time": "1 ms",
}  # fmt: skip
PLAIN: Settings = {"velocity_gain": "0.5 N*m*s/rad"}


def fact(quantity: str, settings: Settings, record: dict[str, Any] | None = None) -> Fact:
    load_themes()
    found = fact_of(view_of(settings, record or RECORD).state, FACTS[quantity])
    assert found is not None
    return found


def phase(settings: Settings, record: dict[str, Any] | None = None) -> Fact:
    return fact("phase margin of the velocity loop", settings, record)


def test_without_any_delay_there_is_at_most_so_much_phase() -> None:
    assert phase(BEST).bound == "up_to"


def test_a_known_dead_time_takes_its_phase_and_leaves_nothing_open() -> None:
    # 500 rad/s x 0.4 ms = 0.2 rad = 11.459 deg of 36.87 deg.
    found = phase(BEST, {**RECORD, "loop_dead_time": "0.4 ms"})
    assert (found.value, found.bound) == (pytest.approx(36.87 - 11.459, abs=0.02), "exact")


def test_a_cycle_takes_one_and_a_half_of_itself_and_is_hedged() -> None:
    # 500 rad/s x 1.5 x 0.2 ms = 0.15 rad = 8.594 deg.
    found = phase({**BEST, "velocity_loop_cycle": "200 us"})
    assert (found.value, found.bound) == (pytest.approx(36.87 - 8.594, abs=0.02), "up_to")
    assert "some drives are quicker" in found.hedge


def test_a_long_dead_time_may_turn_more_than_once() -> None:
    # An integrator crosses at 500 rad/s with 90 deg left; 20 ms there are 573 deg.
    found = phase(PLAIN, {**RECORD, "loop_dead_time": "20 ms"})
    assert found.value == pytest.approx(90 - degrees(500 * 0.02))


@pytest.mark.parametrize(("frequency", "width", "depth"), [(200, 40, 100), (400, 100, 80)])
def test_a_notch_costs_phase_below_it(frequency: int, width: int, depth: int) -> None:
    middle, broad = 2 * pi * frequency, 2 * pi * width
    loop = signal.TransferFunction(
        500 * np.array([1, (1 - depth / 100) * broad, middle**2]), [1, broad, middle**2, 0]
    )
    omega, gain, turned = signal.bode(loop, np.linspace(300, 550, 200_001))
    expected = 180 + float(turned[np.argmin(np.abs(gain))])
    notch: Settings = {
        "notch_filter_frequency": f"{frequency} Hz", "notch_filter_bandwidth": f"{width} Hz",
        "notch_filter_depth": f"{depth} %",
    }  # fmt: skip
    found = phase({**PLAIN, **notch}, {**RECORD, "loop_dead_time": "0 ms"})
    assert (found.value, found.bound) == (pytest.approx(expected, abs=0.01), "exact")
    assert omega.size and expected < 90


def test_the_worst_of_several_crossovers_counts() -> None:
    # A narrow notch at half the crossover: the gain falls through one before it too, where it lets
    # half of all through and so turns it by acos 1/2 = 60 of the 90 deg.
    notch: Settings = {"notch_filter_frequency": "40 Hz", "notch_filter_bandwidth": "4 Hz"}
    found = phase({**PLAIN, **notch})
    assert found.value == pytest.approx(30, abs=1)


def test_a_notch_of_unknown_width_leaves_the_phase_open() -> None:
    settings: Settings = {**PLAIN, "notch_filter_frequency": "200 Hz"}
    assert phase(settings, {**RECORD, "loop_dead_time": "0 ms"}).bound == "up_to"


def test_cycles_take_phase_of_the_position_loop_too() -> None:
    settings: Settings = {**PLAIN, "position_gain": "50 1/s", "modes_of_operation": 8}
    quantity = "phase margin of the position loop"
    quick, late = (
        fact(quantity, {**settings, "position_loop_cycle": cycle}).value
        for cycle in ("0 us", "2000 us")
    )
    # It crosses near 50 rad/s: 50 x 3 ms = 0.15 rad, 8.6 deg.
    assert quick is not None and late is not None
    assert quick - late == pytest.approx(8.6, abs=0.1)


RESONANT = {**RECORD, "mechanics": {**RECORD["mechanics"], "resonance": "190 Hz"}}


@pytest.mark.parametrize(
    ("middle", "width", "ratio"), [("200 Hz", "40 Hz", 2.0), ("230 Hz", "40 Hz", 0.5)]
)
def test_a_notch_is_held_against_the_resonance(middle: str, width: str, ratio: float) -> None:
    notch: Settings = {"notch_filter_frequency": middle, "notch_filter_bandwidth": width}
    found = margins_of(view_of({**PLAIN, **notch}, RESONANT).state)["notch"]
    assert found.ratio == pytest.approx(ratio)


def test_a_notch_beside_the_resonance_is_told() -> None:
    notch: Settings = {"notch_filter_frequency": "230 Hz", "notch_filter_bandwidth": "40 Hz"}
    told = the_complaint("notch", view_of({**PLAIN, **notch}, RESONANT))
    assert "lies 40 Hz beside the resonance and reaches 20 Hz either way" in told.sentence
    near: Settings = {"notch_filter_frequency.2": "185 Hz", "notch_filter_bandwidth.2": "20 Hz"}
    assert not complaints("notch", view_of({**PLAIN, **notch, **near}, RESONANT))


def test_what_a_notch_lacks_is_asked_for() -> None:
    (none, off, broad) = (
        margins_of(view_of({**PLAIN, **notch}, RESONANT).state).get("notch")
        for notch in (
            {},
            {"notch_filter_frequency": "0 Hz"},
            {"notch_filter_frequency": "190 Hz"},
        )
    )
    assert none is not None and none.missing == ("notch_filter_frequency",)
    assert off is None  # not every resonance needs one
    assert broad is not None and broad.missing == ("notch_filter_bandwidth",)
