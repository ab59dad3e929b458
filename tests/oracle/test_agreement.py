"""Every figure that the program says, against what simulated axes do."""

from __future__ import annotations

from collections.abc import Callable

import pytest

from tests.oracle import test_endless as endless
from tests.oracle import test_frequency as frequency
from tests.oracle import test_load_encoder as load_encoder
from tests.oracle.agreement import Report, compare, lines, run
from tests.oracle.cases import Case, draw
from tests.oracle.measure import measure
from tests.oracle.program import SAYS
from vault.behaviour import (
    energy,
    force,
    formulas,
    heat,
    hold,
    homing,
    loops,
    position,
    position_limits,
    stop,
    supply,
)
from vault.behaviour.behave import load_themes
from vault.behaviour.facts import FACTS, Figure

CASES = 1000
_UNMEASURED = {
    "direction of motion": "a sign of two objects, no figure",
    "motor's highest speed at the axis": "part of the worst speed, which is measured",
    "commanded speed": "a limit of the set through the same transmission as the profile speed",
    "lag at commanded speed": "the lag at profile speed at another speed",
    "torque to speed up": "the same terms as the torque to lift and the peak of the duty",
    "thrust at the limit": "the inverse of the torque to lift",
    "settling time": "a move integrated by scipy in test_settling",
    "phase margin of the position loop": "around the velocity loop, by numpy in test_found",
    "power of a stop": "the begin of the stop whose energy is measured",
    "energy of a descent": "force x way, of the torque to hold",
    "energy that the DC link takes": "C (U2^2 - U1^2) / 2, held against scipy in test_formulas",
    "lowest voltage at rest": "as the highest, with another factor",
    "position range": "the travel between the limits, of another two objects",
    "feed in revolutions": "F in the unit that is stated, both parts of the travel ratio",
    **dict.fromkeys(endless.QUANTITIES, "measured on axes without ends, in test_endless"),
    **dict.fromkeys(load_encoder.QUANTITIES, "measured with one, in test_load_encoder"),
    **dict.fromkeys(frequency.QUANTITIES, "measured on frequency drives, in test_frequency"),
}
"""Facts that the oracle does not measure by themselves, and why that is enough."""


@pytest.fixture(scope="module")
def report() -> Report:
    return run(1, CASES)


def test_every_figure_is_what_the_axis_does(report: Report) -> None:
    assert not report.misses, "\n".join(lines(report))


@pytest.mark.parametrize("quantity", SAYS)
def test_every_quantity_is_held_on_enough_axes(report: Report, quantity: str) -> None:
    mechanisms = {mechanism: n for (mechanism, name), n in report.held.items() if name == quantity}
    assert mechanisms
    assert min(mechanisms.values()) >= 30, mechanisms


def test_every_fact_is_measured_or_argued() -> None:
    load_themes()
    measured = {fact for fact in FACTS if fact in _told_of()}
    assert measured | set(_UNMEASURED) == set(FACTS)
    assert not measured & set(_UNMEASURED)


def _told_of() -> set[str]:
    from tests.oracle.program import _FACTS

    return set(_FACTS.values())


Patch = Callable[[pytest.MonkeyPatch], None]


def _times(module: object, name: str, factor: float) -> Patch:
    def patch(monkeypatch: pytest.MonkeyPatch) -> None:
        right = getattr(module, name)
        monkeypatch.setattr(module, name, lambda *a, **k: right(*a, **k) * factor)

    return patch


def _set(module: object, name: str, value: object) -> Patch:
    return lambda monkeypatch: monkeypatch.setattr(module, name, value)


WRONG: dict[str, Patch] = {
    "the way of a stop": _times(formulas, "stop_distance", 0.97),
    "the time of a ramp": _times(formulas, "ramp_time", 0.97),
    "gravity": _set(force, "G0", 9.5),
    "efficiency": _set(force, "efficiency", lambda state: 1.0),
    "the rotor's inertia": _set(force, "rotor_inertia", lambda state: 0.0),
    "high mains": _set(energy, "_HIGH_MAINS", 1.05),
    "the turns that bits count": _set(position, "multi_turn_bits", lambda state: 3),
    "the gain of the velocity loop": _times(loops, "gain", 1.03),
    "the ramps of a move": _times(formulas, "sine_squared_ramp_time", 1.1),
    "the time of a search": _times(homing, "search_speed", 0.9),
    "the torque of a search": _set(homing, "homing_torque", lambda state: Figure(1e9, "N*m", "")),
    "the room at the ends": _set(position_limits, "recorded_way", lambda state, key: 0.5),
    "the low mains at speed": _set(supply, "rest_low", lambda state: Figure(1.0, "V", "")),
    "the dead time of the loop": _set(loops, "dead_time", lambda state: Figure(0.0, "s", "")),
    "the notch filters": _set(loops, "notches", lambda state: ()),
    "the delay of an input": _set(stop, "input_delay", lambda state: 0.0),
    "the brake's time": _times(hold, "apply_time", 0.9),
    "the torque limits": _set(force, "_by_motor", lambda state: None),
    "losses of the duty": _set(heat, "efficiency", lambda state: 1.0),
}
"""Slips in one formula each, in a module's name that the others go through."""


@pytest.fixture(scope="module")
def some() -> list[tuple[Case, dict[str, float | None]]]:
    """Some axes with what was measured of them, which no slip in the program changes."""
    cases = draw(1, 120)
    return list(zip(cases, measure(cases), strict=True))


@pytest.mark.parametrize("what", WRONG)
def test_a_wrong_factor_is_noticed(
    monkeypatch: pytest.MonkeyPatch, what: str, some: list[tuple[Case, dict[str, float | None]]]
) -> None:
    WRONG[what](monkeypatch)
    report = Report()
    for case, figures in some:
        compare([case], [figures], report)
        if report.misses:
            return
    pytest.fail("nobody noticed")
