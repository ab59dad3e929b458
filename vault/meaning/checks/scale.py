"""k = 1: a commanded way is the way made."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import codes
from vault.meaning.findings import digits

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView


@rule
def travel_scale(view: AxisView) -> Iterator[Complaint]:
    """k = 1: a commanded way is the way made."""
    error = view.scaling.travel_error
    if error is None or abs(float(error) - 1) < 1e-9:
        return
    nominal = view.scaling.nominal_unit
    unit = "mm" if nominal is None or nominal.kind == "length" else "deg"
    yield Complaint(
        "travel_scale",
        "hazard" if view.is_vertical else "travel",
        f"Parameters and machine disagree: a commanded 150 {unit} moves "
        f"{digits(150 * float(error), 6)} {unit}.",
        codes(
            view,
            "position_encoder_increments",
            "gear_ratio_motor_revolutions",
            "feed_constant_feed",
            "si_unit_position",
        ),
        (
            Finding(
                "travel error k",
                digits(float(error), 9),
                "1",
                "(R_set G_set / F_set) / (R_real G_real / L_real), over the stated unit",
            ),
        ),
    )
