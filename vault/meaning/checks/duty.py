"""The duty of the axis record: whether it can be."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.heat import ROUNDING, duty, moves_time
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import codes
from vault.meaning.findings import figure, seconds
from vault.model.quantities import si_number

if TYPE_CHECKING:
    from collections.abc import Iterator

    from vault.meaning.axis_view import AxisView


@rule
def duty_cycle(view: AxisView) -> Iterator[Complaint]:
    """The moves must fit in their cycle, else nothing can be told of heat and regeneration."""
    wanted, taken = view.state.asked(duty), view.state.asked(moves_time)
    cycle = si_number(wanted.cycle) if wanted is not None else None
    if taken is None or cycle is None or taken <= cycle + ROUNDING:
        return
    yield Complaint(
        "duty_cycle",
        "dynamics",
        f"The moves of the recorded duty take {seconds(taken)}, its cycle is {seconds(cycle)}: "
        "what the duty asks of motor and resistor cannot be told. Speeds and ramps that a move "
        "does not name are those of the set.",
        (
            "axis.yaml: duty",
            *codes(view, "profile_velocity", "profile_acceleration", "profile_deceleration"),
        ),
        (
            figure("time of the moves", taken, "v / a + s / v, waits counted", unit="s"),
            figure("cycle", cycle, "axis.yaml: duty", unit="s"),
        ),
    )
