"""How long an axis takes into its position window, held against a move integrated by scipy."""

from __future__ import annotations

import pytest
from scipy.integrate import solve_ivp

from tests.behaviour.axes import axis, changed
from vault.behaviour.following import settling_time
from vault.behaviour.missing import DoesNotApply, Missing


@pytest.mark.parametrize(("gain", "forward", "window"), [(30, 0, 0.05), (12, 50, 0.2), (30, 90, 1)])
def test_the_time_is_that_of_a_move_followed_in_time(
    gain: float, forward: float, window: float
) -> None:
    view = axis(
        "lift", modes_of_operation=1, position_gain=f"{gain} 1/s",
        velocity_feed_forward=f"{forward} %", position_window=f"{window} mm",
    )  # fmt: skip
    speed, rate, share = 0.3, 1.5, forward / 100
    ramp = speed / rate

    def follow(time: float, lag: list[float]) -> list[float]:
        wanted = max(0.0, speed - rate * time)
        return [wanted - (gain * lag[0] + share * wanted)]

    start = [(1 - share) * speed / gain]
    run = solve_ivp(follow, (0, ramp + 3), start, max_step=1e-3, rtol=1e-8, atol=1e-12)
    outside = [t for t, lag in zip(run.t, run.y[0], strict=True) if abs(lag) > window / 1000]
    expected = max(0.0, max(outside, default=0.0) - ramp)
    assert view.state.ask(settling_time).value == pytest.approx(expected, abs=2e-3)


def test_without_a_window_it_is_asked_for_and_in_cyclic_modes_it_has_no_sense() -> None:
    with pytest.raises(Missing, match="position_window"):
        axis("lift", modes_of_operation=1, position_window=None).state.ask(settling_time)
    with pytest.raises(DoesNotApply):
        axis("lift").state.ask(settling_time)


def test_a_tighter_window_says_how_much_longer_it_takes() -> None:
    found = changed(
        "lift", modes_of_operation=(1, 1), velocity_feed_forward=("0 %", "0 %"),
        position_window=("0.5 mm", "0.005 mm"),
    )  # fmt: skip
    (told,) = found.changes
    # ln(100) / 30 1/s are 153.5 ms between the two.
    assert "to come into its position window" in told.explanation
    (figure,) = (f for f in told.findings if f.quantity == "settling time")
    assert float(figure.value) == pytest.approx(0.19, abs=0.02)
