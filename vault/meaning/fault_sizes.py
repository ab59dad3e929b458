"""What a change does to a fault as far as its own size tells, or its being another choice."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, log2, pi
from typing import TYPE_CHECKING

from vault.meaning.substitution import figure_between

if TYPE_CHECKING:
    from vault.meaning.changes import Change
    from vault.meaning.fault_weights import Weight
    from vault.meaning.substitution import Substitution

NOTHING = 0.001
"""Below this share of a margin, of a size or of the travel a change is nothing."""
_LINK_VOLTAGES = frozenset(
    {
        "braking_resistor_threshold", "dc_link_overvoltage_threshold", "undervoltage_threshold",
        "supply_voltage", "supply.voltage", "supply.dc_link_trip",
    }
)  # fmt: skip
_WHOLE_VOLTAGE = log2(1.3)
"""In doublings: between a DC link at rest and its trips there is hardly more (common practice)."""
_WHOLE_FREQUENCY = 1 / 3
"""In doublings: power of a pump or a fan goes with the cube of its speed (affinity laws)."""
_WHOLE_ANGLE = pi / 6
"""A commutation offset by so much leaves little torque, if of the shaft (our own judgement)."""
_OFF_AT_ZERO = frozenset({"fieldbus_timeout", "synchronous_window_length"})
"""Times of which nought is no supervision at all (many makers; common practice)."""
_OPEN_AT_ZERO = frozenset(
    {
        "following_error_window", "following_error_warning", "missed_update_limit",
        "motor_temperature_limit",
    }
)  # fmt: skip
_MAYBE = 0.5
_NOW_ZERO = "0 is off in some drives, and acts at once in others"
_WAS_ZERO = "it was 0, which is off in some drives, and acts at once in others"
_SURROUNDINGS = 313.15  # K: 40 deg C, above which a motor's rise counts (common practice)


@dataclass(frozen=True, slots=True)
class FaultEffect:
    """How much of what a fault hangs on a change used up: `share` 0 to 1, and the figure in words.

    Where it does not bring the fault on, it makes it rarer by that share. `of_atom`: the figure is
    that of all parameters of its atom together (see `vault.meaning.substitution`).
    """

    share: float
    brings: bool
    figure: str = ""
    of_atom: bool = False


def of_sizes(before: float, after: float, weight: Weight, name: str = "") -> FaultEffect | None:
    """Halved or doubled counts whole, and so does what was switched on or off by its number.

    Of voltages of the DC link less counts whole: all happens within a narrow band. A supervision
    that is off brings nothing about.
    """
    one, other = abs(before), abs(after)
    if name in _OFF_AT_ZERO:
        one, other = one or inf, other or inf
    if other == inf:
        return None
    is_switch = before * after <= 0 or inf in (one, other)
    if before == after or (not is_switch and abs(other - one) < NOTHING * max(one, other)):
        return None
    whole = _WHOLE_VOLTAGE if name in _LINK_VOLTAGES else 1.0
    whole = _WHOLE_FREQUENCY if name == "max_frequency" else whole
    share = 1.0 if is_switch else min(1.0, abs(log2(other / one)) / whole)
    if weight.way not in ("less", "more") or one == other:
        return FaultEffect(share, True)
    return FaultEffect(share, (other > one) == (weight.way == "more"))


def of_choice(change: Change) -> FaultEffect | None:
    """Another choice counts whole, an angle of commutation by its size; what is the same to a
    thousandth is none."""
    sizes = sizes_of(change)
    if sizes is None:
        return FaultEffect(1, True)
    before, after = sizes
    off, whole = abs(after - before), max(abs(before), abs(after))
    share = 1.0
    if change.right_physical is not None and change.right_physical.kind == "angle":
        off, whole = min(off % (2 * pi), -off % (2 * pi)), 2 * pi
        if change.shown.role == "commutation_offset":
            share = min(1.0, off / _WHOLE_ANGLE)
    return None if off < NOTHING * whole else FaultEffect(share, True)


def of_zero(change: Change) -> FaultEffect | None:
    """A limit that is or was 0, where makers differ in what that is; it counts a half."""
    if str(change.shown.role).partition(".")[0] not in _OPEN_AT_ZERO:
        return None
    before, after = (None if side is None else side.value for side in (change.left, change.right))
    if 0 not in (before, after):
        return None
    return FaultEffect(_MAYBE, True, _NOW_ZERO if after == 0 else _WAS_ZERO)


def scale_ratio(name: str, between: Substitution) -> float | None:
    """How many times as far the axis goes for the same number, by the set and by the machine.

    `name` is a role of the scaling, or an entry of the axis record.
    """
    states = between.of(name).states[0]
    before, after = figure_between(states, "travel ratio")
    if before and after:
        return after / before
    one, other = (state.scaling for state in states)
    turns = other.motor_turns / one.motor_turns if one.motor_turns and other.motor_turns else None
    if one.travel == other.travel:
        if turns is None and one.travel is not None and name.startswith("mechanics."):
            return 1.0  # written otherwise only
        return None if turns is None else float(turns)
    if one.travel is None or other.travel is None:
        return None
    ways = [side.per_turn.ratio / side.gear for side in (one.travel, other.travel)]
    if one.travel.per_turn.kind != other.travel.per_turn.kind:
        return None
    return float(ways[1] / ways[0] * (turns or 1))


def is_hot(change: Change) -> bool:
    """Whether both sides are temperatures of which the rise over the surroundings counts."""
    sides = change.left_physical, change.right_physical
    return all(
        side is not None and side.kind == "temperature" and side.number() > _SURROUNDINGS
        for side in sides
    )


def sizes_of(change: Change) -> tuple[float, float] | None:
    """Both sides as numbers of one unit; None where one is missing, a choice or text."""
    if change.ratio is not None:
        return 1.0, float(change.ratio)
    before, after = change.left_physical, change.right_physical
    if before is not None and after is not None and before.unit == after.unit:
        sizes = float(before.number()), float(after.number())
        if is_hot(change):
            return sizes[0] - _SURROUNDINGS, sizes[1] - _SURROUNDINGS
        return sizes
    left, right = change.left, change.right
    if left is None or right is None or left.unit != right.unit or left.label or right.label:
        return None
    if isinstance(left.value, str) or isinstance(right.value, str):
        return None
    return float(left.value), float(right.value)
