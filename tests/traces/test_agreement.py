"""What traces tell against simulated axes; the long form is `python -m tests.traces`."""

from __future__ import annotations

import subprocess
import sys

import numpy as np
import pytest

from tests.oracle.traces import Axis, Case, Part, Recording, draw_chirp, simulate
from tests.traces.agreement import Report, recorded_of, run
from vault.behaviour.trace.evaluate import Known, evaluate
from vault.behaviour.trace.measured import CannotBeTold, Measured

WAY = 10e-3 / (2 * np.pi)
AXIS = Axis(WAY, 1e-3, 0.3, 0.002, 0.2, 30.0, 0.0, 200.0, 30.0, 1e-4)
FOUR = (
    Part(0.2, 0.3, 2.0, 0.5), Part(2.0, -0.3, 2.0, 0.5),
    Part(4.0, 0.12, 2.0, 0.5), Part(5.6, -0.12, 2.0, 0.5),
)  # fmt: skip
COLUMNS = (
    "position_demand", "position_actual", "velocity_actual", "torque_actual", "following_error",
)  # fmt: skip


@pytest.fixture(scope="module")
def report() -> Report:
    return run(3, 60)


def test_no_figure_is_told_and_wrong(report: Report) -> None:
    assert report.misses == []


def test_what_a_fine_recording_of_the_right_move_holds_is_told(report: Report) -> None:
    for name in ("steady_lag", "rms_torque", "inertia", "resonance"):
        told, tellable = report.told[name], report.tellable[name]
        assert tellable > 2, name
        assert told >= 0.9 * tellable, name


def recorded(
    parts: tuple[Part, ...] = FOUR, columns: tuple[str, ...] = COLUMNS, **changes: object
) -> Case:
    plain = {"samples": 4000, "noisy": False, "uneven": False, "gap": False, "skew": 0.0}
    case = Case(AXIS, parts, 0.0, 7.0, Recording(columns=columns, **{**plain, **changes}))
    simulate([case])
    return case


def answers(case: Case) -> dict[str, Measured | CannotBeTold]:
    return dict(evaluate(recorded_of(case.text), Known(per_radian=WAY, window=AXIS.window)))


@pytest.fixture(scope="module")
def clean() -> Case:
    return recorded()


@pytest.mark.parametrize(
    "name",
    ["steady_lag", "peak_lag", "settling_time", "rms_torque", "peak_torque", "stop_distance",
     "friction", "inertia"],
)  # fmt: skip
def test_a_clean_trace_of_both_ways_at_two_speeds_tells_it(clean: Case, name: str) -> None:
    found = answers(clean)[name]
    assert isinstance(found, Measured), found
    assert found.value == pytest.approx(clean.truth[name], rel=0.03)


def test_viscous_friction_is_told_beside_the_dry(clean: Case) -> None:
    found = answers(clean)["friction"]
    assert isinstance(found, Measured)
    value, unit = found.parts["viscous"]
    assert unit == "N*m*s/rad"
    assert value == pytest.approx(AXIS.viscous, rel=0.05)


def reason(case: Case, name: str) -> str:
    found = answers(case)[name]
    assert isinstance(found, CannotBeTold), found
    return found.reason


def test_friction_needs_both_directions_and_two_speeds() -> None:
    assert "both directions" in reason(recorded(FOUR[:1]), "friction")
    assert "two speeds" in reason(recorded(FOUR[:2]), "friction")


def test_without_torque_nothing_of_torque_is_told() -> None:
    case = recorded(columns=COLUMNS[:3])
    for name in ("rms_torque", "peak_torque", "friction", "inertia"):
        assert "neither torque nor current" in reason(case, name)


def test_torque_that_counts_the_other_way_gives_the_same_inertia_and_friction(clean: Case) -> None:
    from dataclasses import replace

    given = recorded_of(clean.text)
    assert given.torque is not None
    turned = replace(given, torque=-given.torque)
    known = Known(per_radian=WAY, window=AXIS.window)
    for name in ("inertia", "friction"):
        one, other = evaluate(given, known)[name], evaluate(turned, known)[name]
        assert isinstance(one, Measured)
        assert isinstance(other, Measured)
        assert other.value == pytest.approx(one.value)


def test_lag_from_two_positions_carries_what_a_sample_of_skew_makes(clean: Case) -> None:
    apart = answers(recorded(columns=COLUMNS[:4]))["steady_lag"]
    own = answers(clean)["steady_lag"]
    assert isinstance(apart, Measured)
    assert isinstance(own, Measured)
    assert apart.uncertainty - own.uncertainty == pytest.approx(0.3 * 7.0 / 3999, rel=0.1)


def test_what_turns_with_the_motor_is_no_resonance() -> None:
    assert "nothing rings" in reason(recorded(ring="ripple", frequency=40.0), "resonance")


def test_a_ringing_that_dies_out_soon_is_no_resonance() -> None:
    assert "nothing rings" in reason(recorded(ring="short", frequency=60.0), "resonance")


def test_a_ringing_at_two_speeds_is_one_unless_the_loop_may_ring_there() -> None:
    case = recorded(ring="long", frequency=75.0)
    found = answers(case)["resonance"]
    assert isinstance(found, Measured)
    assert found.value == pytest.approx(75.0, rel=0.03)
    near = evaluate(recorded_of(case.text), Known(per_radian=WAY, bandwidth=60.0))["resonance"]
    assert isinstance(near, CannotBeTold)
    assert "velocity loop" in near.reason


def test_a_ringing_above_a_quarter_of_the_sampling_rate_is_not_told() -> None:
    rate = 4000 / 7
    assert isinstance(
        answers(recorded(ring="long", frequency=0.3 * rate))["resonance"], CannotBeTold
    )


def test_a_chirp_tells_the_resonance_of_two_masses() -> None:
    chirp = draw_chirp(np.random.default_rng(4))
    found = evaluate(recorded_of(chirp.text), Known(per_radian=WAY))["resonance"]
    assert isinstance(found, Measured)
    assert found.value == pytest.approx(chirp.resonance, rel=0.1 if chirp.noisy else 0.03)


def test_a_gap_hides_where_a_peak_may_be() -> None:
    case = recorded(gap=True)
    assert "nothing was recorded" in reason(case, "peak_torque")
    assert "nothing was recorded" in reason(case, "peak_lag")


def test_the_command_line_and_the_viewer_start_without_numpy() -> None:
    code = "import sys, vault.cli, webui.app; sys.exit('numpy' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
