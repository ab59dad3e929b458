"""What one change does to what a fault hangs on: by margins, by what it is, or else by its size.

A margin counts by the share of its distance to the edge that a change used up, in doublings: of a
window of 30 times the lag, 3.0 times leaves a third. Numbers here are our own judgement.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, isfinite, log2, pi
from typing import TYPE_CHECKING

from vault.behaviour.behave import margins_of
from vault.behaviour.mode import is_cyclic, mode
from vault.behaviour.scale import HIGH, LOW, position, transmission
from vault.behaviour.scaling import SCALING_ROLES, TRAVEL_ROLES
from vault.behaviour.state import SCALING
from vault.meaning.composed_objects import differing
from vault.meaning.fault_phrases import as_much, margin_sentence, times
from vault.meaning.substitution import ABSOLUTE, figure_between

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.behaviour.facts import Margin
    from vault.behaviour.state import State
    from vault.meaning.changes import Change
    from vault.meaning.composed_objects import Part
    from vault.meaning.fault_weights import Weight
    from vault.meaning.margin_moves import MarginMove
    from vault.meaning.substitution import Substitution

NOTHING = 0.001
"""Below this share of a margin, of a size or of the travel a change is nothing."""
_EDGE = log2(1.1)
"""No margin is known better than to a tenth: less distance than that counts as so much."""
_WHOLE_SHIFT = 0.02
"""Share of the travel by which positions may lie elsewhere until that counts whole."""
_ONE_SIDED = 0.25
"""What is in one of two sets only may have been left out by an export."""
_SURROUNDINGS = 313.15  # K: 40 deg C, above which a motor's rise counts (common practice)

_PROFILE = frozenset(
    {"profile_velocity", "profile_acceleration", "profile_jerk", "motion_profile_type"}
)
_SECOND_GAINS = ("position_gain.", "velocity_gain.", "velocity_integral_time.", "current_gain.")
_TORQUE_WITH_ANGLE = 11  # of 6060h


@dataclass(frozen=True, slots=True)
class FaultEffect:
    """How much of what a fault hangs on a change used up: `share` 0 to 1, and the figure in words.

    Where it does not bring the fault on, it makes it rarer by that share.
    """

    share: float
    brings: bool
    told: str = ""


def effect_of(
    change: Change, weight: Weight, between: Substitution, *, alone: bool
) -> FaultEffect | None:
    """What a change does to a fault; None for nothing.

    `alone`: no other change belongs to the same atom (see `vault.meaning.substitution`).
    """
    role = str(change.shown.role)
    if not _acts(role, weight, between):
        return None
    parts = differing(role, between.left, between.right)
    if parts is not None and not parts:
        return None
    if change.left is None or change.right is None:
        return _one_sided(change, weight)
    if parts and parts[0].before is None:
        return FaultEffect(1, True, "; ".join(part.told for part in parts))
    if parts:
        return _best(_by_part(part, weight) for part in parts)
    if weight.way in ("other", "on", "off"):
        found = _other(change) if weight.way == "other" else _switched(role, weight, between)
        moved, _ = _by_margin(role, weight, between)
        if found is None or moved is None or moved.brings != found.brings:
            return found
        return replace(found, told=moved.told)
    if weight.way in ("inward", "outward"):
        moved, is_known = _by_margin(role, weight, between)
        return moved if is_known else _limit(role, weight, between)
    if weight.way == "shift":
        return _shift(role, change, between)
    by_size = _by_size(change, weight, between)
    by_margin, is_known = _by_margin(role, weight, between)
    is_sided = not alone and weight.way in ("less", "more")
    if is_sided and by_margin and by_size and by_margin.brings and not by_size.brings:
        return by_size  # what others of its atom did is not laid at its door
    return by_margin if by_margin is not None or is_known else by_size


def _best(found: Iterable[FaultEffect | None]) -> FaultEffect | None:
    told = [effect for effect in found if effect is not None]
    return max(told, key=lambda effect: (effect.brings, effect.share), default=None)


def _acts(role: str, weight: Weight, between: Substitution) -> bool:
    """Whether a parameter does anything on that axis, as it is when the fault comes."""
    right, base = between.right, role.partition(".")[0]
    if base in _PROFILE and (is_cyclic(right) or mode(right) == _TORQUE_WITH_ANGLE):
        return False
    if weight.fact and _stays(role, weight.fact, between):
        return False
    if role.startswith(_SECOND_GAINS) and right.choice("gain_switching") == 0:
        return False
    if base.startswith("brake_") and right.record("brake.fitted") is False:
        return False
    if base.startswith("braking_resistor_") and base != "braking_resistor_used":
        return right.choice("braking_resistor_used") != 0
    if not weight.functions:
        return True
    function = base.replace("_inverted", "_function") + role[len(base) :]
    chosen = [state.choice(function) for state in (between.left, right)]
    return None in chosen or bool(weight.functions.intersection(chosen))


def _stays(role: str, fact: str, between: Substitution) -> bool:
    """Whether a fact is the same with and without a change, as it is when the fault comes."""
    before, after = figure_between(between.of(role).states[1], fact)
    return before is not None and before == after


def _one_sided(change: Change, weight: Weight) -> FaultEffect:
    side = "now" if change.left is None else "before"
    return FaultEffect(_ONE_SIDED, True, f"only the set of {side} has it")


def _other(change: Change) -> FaultEffect | None:
    """Another choice counts whole; a number that is the same to a thousandth is none."""
    sizes = sizes_of(change)
    if sizes is not None:
        before, after = sizes
        physical = change.right_physical
        whole = max(abs(before), abs(after))
        if physical is not None and physical.kind == "angle":
            whole = 2 * pi
        if abs(after - before) < NOTHING * whole:
            return None
    return FaultEffect(1, True)


def _switched(role: str, weight: Weight, between: Substitution) -> FaultEffect | None:
    before, after = (state.choice(role) for state in (between.left, between.right))
    if before == after:
        return None
    return FaultEffect(1, (after != 0) == (weight.way == "on"))


def _travel(state: State) -> float | None:
    """Way between the software limits in m or rad, else the stroke."""
    low, high = position(state, LOW), position(state, HIGH)
    if low is not None and high is not None and high > low:
        return high - low
    return state.recorded("mechanics.stroke")


def _limit(role: str, weight: Weight, between: Substitution) -> FaultEffect | None:
    """A software limit that moved: by its share of the travel; limits of 0 and 0 are none."""
    states = between.left, between.right
    before, after = (position(state, role) for state in states)
    if before is None or after is None:
        return FaultEffect(1, True)
    is_off = [[position(state, end) for end in (LOW, HIGH)] == [0, 0] for state in states]
    if any(is_off):
        return FaultEffect(1, is_off[0] == (weight.way == "inward"))
    gap = after - before
    share = _share_of_travel(abs(gap), between)
    if share == 0:
        return None
    is_low = role.startswith("min_")
    inner = position(between.right, LOW if is_low else HIGH)
    if role not in (LOW, HIGH) and inner is not None and (inner >= after) == is_low:
        return None  # the software limit stops the axis before
    way = "inward" if (gap > 0) == is_low else "outward"
    if share is None:
        return FaultEffect(1, way == weight.way)
    told = f"it lies {_percent(gap, between)} of the travel further {way}"
    return FaultEffect(share, way == weight.way, told)


def _share_of_travel(gap: float, between: Substitution) -> float | None:
    whole = _travel(between.left) or _travel(between.right)
    if not whole:
        return None
    return 0.0 if gap < NOTHING * whole else min(1.0, gap / whole / _WHOLE_SHIFT)


def _percent(gap: float, between: Substitution) -> str:
    whole = _travel(between.left) or _travel(between.right) or inf
    return f"{100 * abs(gap) / whole:.2g} %"


def _shift(role: str, change: Change, between: Substitution) -> FaultEffect | None:
    """Positions that lie elsewhere, by an offset or by another scaling."""
    if role in TRAVEL_ROLES:
        ratio = _scale_ratio(role, between)
        if ratio is None:
            return _other(change)
        off = abs(ratio - 1)
        if off < NOTHING / 10:  # a ten-thousandth of every way adds up
            return None
        told = f"every commanded way is {times(ratio)} times as long"
        return FaultEffect(min(1.0, off / _WHOLE_SHIFT), True, told)
    gap = _offset(role, between)
    share = None if gap is None else _share_of_travel(abs(gap), between)
    if share is None or gap is None:
        return _other(change)
    if share == 0:
        return None
    return FaultEffect(share, True, f"that is {_percent(gap, between)} of the travel")


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


def _scale_ratio(role: str, between: Substitution) -> float | None:
    """How many times as far the axis goes for the same number."""
    states = between.of(role).states[0]
    before, after = figure_between(states, "travel ratio")
    if before and after:
        return after / before
    one, other = (state.scaling.motor_turns for state in states)
    return float(other / one) if one and other else None


def _by_margin(role: str, weight: Weight, between: Substitution) -> tuple[FaultEffect | None, bool]:
    """What a change does to the margins of a row, and whether these tell at all."""
    if not weight.margins:
        return None, False
    effect = between.of(role)
    moved = [move for move in (*effect.put_in, *effect.taken_out) if move.name in weight.margins]
    found = _best(_by_move(move) for move in moved)
    return found, found is not None or _are_known(role, weight, between)


def _are_known(role: str, weight: Weight, between: Substitution) -> bool:
    """Whether a margin of the row that rests on the role is known before and after."""
    for states in between.of(role).states:
        for name in weight.margins:
            sides = [margins_of(state).get(name) for state in states]
            if all(side is not None and _tells(side, role) for side in sides):
                return True
    return False


def _tells(margin: Margin, role: str) -> bool:
    rests = role in margin.rests_on or (role in SCALING_ROLES and SCALING in margin.rests_on)
    return rests and margin.ratio is not None and isfinite(margin.ratio)


def _by_move(move: MarginMove) -> FaultEffect | None:
    one, other = move.before, move.after
    before = inf if one is None else one.ratio  # what has no sense cannot fail
    after = inf if other is None else other.ratio
    if before is None or after is None:
        return None
    lost, won = share_lost(before, after), share_lost(after, before)
    if not lost and not won:
        return None
    return FaultEffect(max(lost, won), lost > 0, margin_sentence(move.name, before, after))


def share_lost(before: float, after: float) -> float:
    """Share of a margin's distance to its edge, in doublings, that is gone: 0 to 1.

    A margin that was without end, or had no sense, is gone by how near to the edge it ends. Of one
    that was below 1 without the change a half counts whole: the fault would come all the same.
    """
    if before <= 0 or after >= before * (1 - NOTHING):
        return 0.0
    if after <= 0:
        return 1.0
    if before == inf:
        return 1 / (1 + log2(max(after, 1.0)))
    distance = max(log2(before), _EDGE) if before >= 1 else 1.0
    return min(1.0, log2(before / after) / distance)


def _by_part(part: Part, weight: Weight) -> FaultEffect | None:
    if part.before is None or part.after is None:
        return FaultEffect(1, True, part.told)
    found = _of_sizes(part.before, part.after, weight)
    return None if found is None else FaultEffect(found.share, found.brings, part.told)


def _by_size(change: Change, weight: Weight, between: Substitution) -> FaultEffect | None:
    """What a change does as far as its own size tells: halved or doubled counts whole."""
    role = str(change.shown.role)
    sizes = sizes_of(change)
    if role in TRAVEL_ROLES and (ratio := _scale_ratio(role, between)) is not None:
        sizes = 1.0, ratio
    if sizes is None:
        return FaultEffect(1, True)
    found = _of_sizes(*sizes, weight)
    if found is None:
        return None
    told = [as_much(sizes[1] / sizes[0])] if sizes[0] * sizes[1] > 0 else []
    if told and _is_hot(change):
        told = [f"{told[0]} over surroundings of 40 deg C"]
    told += untold(weight, between)
    return FaultEffect(found.share, found.brings, "; ".join(told))


def _of_sizes(before: float, after: float, weight: Weight) -> FaultEffect | None:
    one, other = abs(before), abs(after)
    if before == after or abs(after - before) < NOTHING * max(one, other):
        return None
    is_switch = before * after <= 0 or inf in (one, other)
    share = 1.0 if is_switch else min(1.0, abs(log2(other / one)))
    if weight.way not in ("less", "more") or one == other:
        return FaultEffect(share, True)
    return FaultEffect(share, (other > one) == (weight.way == "more"))


def untold(weight: Weight, between: Substitution) -> list[str]:
    """What must be entered before the margins of a row tell."""
    margins = margins_of(between.right)
    missing = (
        margin.missing[0]
        for name in weight.margins
        if (margin := margins.get(name)) is not None and margin.missing
    )
    return [f"how near that comes cannot be told without {name}" for name in missing][:1]


def _is_hot(change: Change) -> bool:
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
        if _is_hot(change):
            return sizes[0] - _SURROUNDINGS, sizes[1] - _SURROUNDINGS
        return sizes
    left, right = change.left, change.right
    if left is None or right is None or left.unit != right.unit or left.label or right.label:
        return None
    if isinstance(left.value, str) or isinstance(right.value, str):
        return None
    return float(left.value), float(right.value)
