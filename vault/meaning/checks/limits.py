"""Software limits inside the stroke, and room for a stop behind them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import codes
from vault.meaning.explainers.limits import HIGH, LOW
from vault.meaning.explainers.ramps import stop_of, top_speed
from vault.meaning.findings import figure, length_or_angle, speed

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.quantities import Physical


@rule
def software_limits(view: AxisView) -> Iterator[Complaint]:
    """In order, and inside the stroke."""
    low, high, like = view.si(LOW), view.si(HIGH), view.physical(HIGH) or view.physical(LOW)
    if low is None or high is None or like is None or low == high == 0:
        return
    places = codes(view, LOW, HIGH)
    if low >= high:
        yield Complaint(
            "software_limits",
            "hazard",
            f"The software limits are out of order: {length_or_angle(low, like)} to "
            f"{length_or_angle(high, like)}.",
            places,
        )
        return
    stops = view.hard_stops
    if stops is None or view.mechanics is None:
        return
    for value, stop, beyond in ((low, stops[0], low < stops[0]), (high, stops[1], high > stops[1])):
        if beyond:
            yield Complaint(
                "software_limits",
                "hazard",
                f"The software limit at {length_or_angle(value, like)} lies beyond the hard stop "
                f"at {length_or_angle(stop, like)}.",
                places,
                (figure("software limit", value, "the set", like=like),),
            )


def _like(view: AxisView) -> Physical | None:
    for role in ("profile_velocity", "max_profile_velocity", HIGH, "following_error_window"):
        if (size := view.physical(role)) is not None:
            return size
    return None


@rule
def room_to_stop(view: AxisView) -> Iterator[Complaint]:
    """Room between software limit and hard stop for a quick stop from the highest speed."""
    for role in ("quick_stop_deceleration", "profile_deceleration"):
        found, room, like = stop_of(view, role), view.room_to_stop, _like(view)
        if found is None:
            continue
        velocity = top_speed(view)
        if room is None or like is None or velocity is None:
            return
        if found[1] > room >= 0:
            yield Complaint(
                "room_to_stop",
                "hazard",
                f"From {speed(velocity, like)} a stop takes {length_or_angle(found[1], like)}, but "
                f"there are only {length_or_angle(room, like)} to the hard stop.",
                codes(view, role, "max_profile_velocity", LOW, HIGH),
                (figure("stopping distance", found[1], "v^2 / 2a + v a / 2j", like=like),),
            )
        return
