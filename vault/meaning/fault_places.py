"""What a software limit that moved, or positions that lie elsewhere, do to a fault."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.scale import HIGH, LOW, position, transmission
from vault.behaviour.scaling import TRAVEL_ROLES
from vault.meaning.fault_phrases import percent, times
from vault.meaning.fault_sizes import NOTHING, FaultEffect, of_choice, scale_ratio
from vault.meaning.substitution import ABSOLUTE

if TYPE_CHECKING:
    from vault.meaning.changes import Change
    from vault.meaning.fault_weights import Weight
    from vault.meaning.substitution import Substitution

_WHOLE_SHIFT = 0.02
"""Share of the travel by which positions may lie elsewhere until that counts whole; our own."""


def limit(role: str, weight: Weight, between: Substitution) -> FaultEffect | None:
    """A software limit that moved: by its share of the travel; limits of 0 and 0 are none."""
    states = between.left, between.right
    before, after = (position(state, role) for state in states)
    if before is None or after is None:
        return FaultEffect(1, True)
    is_off = [[position(state, end) for end in (LOW, HIGH)] == [0, 0] for state in states]
    if any(is_off):
        return FaultEffect(1, is_off[0] == (weight.way == "inward"))
    is_low = role.startswith("min_")
    inner = position(between.right, LOW if is_low else HIGH)
    is_inside = inner is not None and (inner >= after if is_low else inner <= after)
    if role not in (LOW, HIGH) and is_inside:
        return None  # the software limit stops the axis before
    way = "inward" if (after > before) == is_low else "outward"
    figure = f"it lies {{}} of the travel further {way}"
    return _elsewhere(after - before, between, figure, brings=way == weight.way)


def shift(role: str, change: Change, between: Substitution) -> FaultEffect | None:
    """Positions that lie elsewhere, by an offset or by another scaling."""
    if role in TRAVEL_ROLES:
        return longer_way(role, between)
    gap = _offset(role, between)
    if gap is None or _travel(between) is None:
        return of_choice(change)
    return _elsewhere(gap, between, "that is {} of the travel")


def _elsewhere(
    gap: float, between: Substitution, figure: str, *, brings: bool = True
) -> FaultEffect | None:
    """A way in m or rad by which something lies elsewhere: by its share of the travel."""
    travel = _travel(between)
    if travel is None:
        return FaultEffect(1, brings)
    part = abs(gap) / travel
    if part < NOTHING:
        return None
    return FaultEffect(min(1.0, part / _WHOLE_SHIFT), brings, figure.format(percent(part)))


def longer_way(name: str, between: Substitution) -> FaultEffect | None:
    """Every way longer or shorter, by the scaling of the set or the transmission of the machine."""
    ratio = scale_ratio(name, between)
    if ratio is None:
        return FaultEffect(1, True)
    off = abs(ratio - 1)
    if off < NOTHING / 10:  # a ten-thousandth of every way adds up
        return None
    figure = f"every commanded way is {times(ratio)} times as long"
    return FaultEffect(min(1.0, off / _WHOLE_SHIFT), True, figure, of_atom=True)


def _offset(role: str, between: Substitution) -> float | None:
    """By how much positions lie elsewhere, in m or rad of the axis; None if that is not known."""
    states = between.left, between.right
    if role != ABSOLUTE:
        before, after = (position(state, role) for state in states)
        return None if before is None or after is None else after - before
    before, after = (
        None if (value := state.value(role)) is None else value.size for state in states
    )
    gears = between.right.asked(transmission)
    if before is None or after is None or gears is None:
        return None
    return (after - before) * gears.per_radian


def _travel(between: Substitution) -> float | None:
    """Way between the software limits in m or rad, else the stroke; of the left, else the right."""
    for state in (between.left, between.right):
        low, high = position(state, LOW), position(state, HIGH)
        if low is not None and high is not None and high > low:
            return high - low
        if stroke := state.recorded("mechanics.stroke"):
            return stroke
    return None
