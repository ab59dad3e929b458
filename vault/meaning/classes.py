"""The class of a change by rule: what it does to what protects, and not which parameter it is.

A hazard is what turns the motion, starts it, takes a protection away, or uses up room, hold or
stability that protects; what cannot be told about one of these and got worse counts as one too.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isinf
from typing import TYPE_CHECKING, Literal

from vault.behaviour.behave import margin_of
from vault.behaviour.facts import MARGINS
from vault.behaviour.force import limits
from vault.behaviour.load_encoder import may_close_position
from vault.behaviour.room import room
from vault.behaviour.scale import travel_ratio
from vault.behaviour.scaling import TRAVEL_ROLES
from vault.meaning.margin_moves import MarginMove
from vault.meaning.protections import Protection, protection_of
from vault.meaning.substitution import DIVISIBLE, LOAD_SCALE, Effect, atom_of, figure_between

if TYPE_CHECKING:
    from vault.behaviour.facts import Margin
    from vault.behaviour.state import State
    from vault.meaning.substitution import Substitution
    from vault.model.hazard_policy import HazardPolicy

MOST_TRAVEL_ERROR = 0.01
"""A travel error |k - 1| above it is a hazard; our own choice."""

_TRAVEL, _LOAD, _THRUST = "travel ratio", "ratio of the load encoder", "torque limits"
_ADDED = frozenset(
    {
        "stop_room", "fault_room", "link_room", "trip_room", "drop_room", "brake_hold",
        "brake_apply", "stop_time", "safe_stop_delay",
    }
)  # fmt: skip
"""Margins of a protection: one that is there now and was not before is no loss."""
RULED = frozenset(TRAVEL_ROLES)
"""Roles whose ratio is judged here: that of the way really moved to the one commanded."""

_REACTIONS = frozenset(
    {
        "quick_stop_option_code", "fault_reaction_option_code", "abort_connection_option_code",
        "shutdown_option_code", "disable_operation_option_code", "halt_option_code",
    }
)  # fmt: skip
"""Choices of what the drive does by itself: judged by their explainers, but for what is untold."""

Why = Literal["off", "below", "loses", "force", "lets_through", "untold"]


@dataclass(frozen=True, slots=True)
class Reason:
    """Why a change is a hazard: the margin or figure that it moved, and how.

    `margin` is the margin afterwards; of a figure `before` and `after` are in SI. `state` is where
    it holds; `alone`: the other changes make up for it.
    """

    why: Why
    name: str
    before: float | None
    after: float | None
    margin: Margin | None = None
    state: State | None = None
    alone: bool = False


def hazard_over_time(role: str, between: Substitution) -> Reason | None:
    """Why a change of an axis is a hazard; none where another part of its atom decides alone."""
    reason = hazard_of(role, between.of(role), between.policy)
    members = between.members(role)
    if reason is None or len(members) < 2 or atom_of(role) not in DIVISIBLE:
        return reason
    decides = {
        name
        for name in members
        if hazard_of(name, between.within(name), between.policy) is not None
    }
    return reason if not decides or role in decides else None


def hazard_of(role: str, effect: Effect, policy: HazardPolicy) -> Reason | None:
    """Why the atom of a role is a hazard; the worse of what it does alone and at the last."""
    at_last, alone = (
        _reasons(role, moved, states, policy)
        for moved, states in (
            (effect.taken_out, effect.states[1]), (effect.put_in, effect.states[0])
        )
    )  # fmt: skip
    if at_last:
        return min(at_last, key=_rank)
    worst = min(alone, key=_rank, default=None)
    return None if worst is None else replace(worst, alone=effect.states[0] != effect.states[1])


def _reasons(
    role: str, moved: tuple[MarginMove, ...], states: tuple[State, State], policy: HazardPolicy
) -> list[Reason]:
    """All that one substitution does to what protects."""
    found = [reason for move in moved if (reason := reason_of(move, policy)) is not None]
    found += [
        reason
        for one in (_off_scale(role, states, policy), _forced(states, policy))
        if (reason := one)
    ]
    if not found and (protection_of(role) is not None or role in _REACTIONS):
        found = [reason for move in moved if (reason := _gone(move)) is not None][:1]
    if not found and (open_ := _lets_through(role, states, policy)) is not None:
        found = [open_]
    return [replace(reason, state=states[1]) for reason in found]


def _forced(states: tuple[State, State], policy: HazardPolicy) -> Reason | None:
    """Whether the motor may push more where the record says that its limit protects."""
    if states[1].record("force_protects") is not True:
        return None
    before, after = (state.asked(limits) for state in states)
    if before is None or after is None:
        return None
    one, other = (max(each.positive, each.negative) for each in (before, after))
    more = other > one * (1 + policy.material_share)
    return Reason("force", _THRUST, one, other) if more else None


def hazard_between(role: str, between: Substitution) -> Reason | None:
    """Why a parameter of two axes is a hazard: it alone decides what is short on one of them.

    Or one is sent another way than it is told. Swapped sides give the same.
    """
    effect = between.of(role)
    alone = (*effect.put_in, *effect.taken_out)
    found = [
        reason
        for _, reason in short_margins(between)
        for move in (each if reason.state is between.right else each.turned for each in alone)
        if move.name == reason.name and fallen_below(move) is not None
    ]
    pairs = ((between.left, between.right), (between.right, between.left))
    if atom_of(role) == LOAD_SCALE or not _turn_alike(pairs[0]):
        reasons = (_off_scale(role, pair, between.policy) for pair in pairs)
        found += [reason for reason in reasons if reason is not None]
    return min(found, key=_rank, default=None)


def short_margins(between: Substitution) -> list[tuple[MarginMove, Reason]]:
    """Margins that protect and are below 1 on one of two axes, in the state of that one."""
    found = []
    for move in between.total:
        for one, state in ((move, between.right), (move.turned, between.left)):
            reason = fallen_below(one) if one.before is not None else None
            if reason is not None:
                found.append((move, replace(reason, state=state)))
    return found


def _off_scale(role: str, states: tuple[State, State], policy: HazardPolicy) -> Reason | None:
    """Whether a change of the scaling sends the axis another way than it is told."""
    atom = atom_of(role)
    if atom == LOAD_SCALE and states[1].asked(may_close_position):
        return _worse_ratio(states, _LOAD, policy)
    if atom != "scale":
        return None
    if _turn_alike(states) and states[0].scaling.travel == states[1].scaling.travel:
        return None  # a unit that is only named otherwise moves nothing
    if states[1].asked(travel_ratio) is not None:
        return _worse_ratio(states, _TRAVEL, policy)
    ratio = _way_ratio(states)
    if ratio is None or abs(ratio - 1) <= policy.material_share:
        return None
    return Reason("untold", _TRAVEL, None, ratio)


def _way_ratio(states: tuple[State, State]) -> float | None:
    """How many times as far the axis goes for a user unit, else how many times the motor turns."""
    way, other_way = (state.scaling.actual_unit for state in states)
    if way is not None and other_way is not None and way.kind == other_way.kind:
        return float(other_way / way)
    turns, other_turns = (state.scaling.motor_turns for state in states)
    return float(other_turns / turns) if turns and other_turns else None


def _turn_alike(states: tuple[State, State]) -> bool:
    """Whether two sets turn the motor alike for a user unit."""
    one, other = (state.scaling.motor_turns for state in states)
    return one is not None and one == other


def _worse_ratio(states: tuple[State, State], fact: str, policy: HazardPolicy) -> Reason | None:
    """Whether a ratio that must be 1 is off by more than is borne, and by more than it was."""
    before, after = figure_between(states, fact)
    if after is None:
        return None
    off = abs(after - 1)
    worse = before is None or off > abs(before - 1) * (1 + policy.material_share)
    return Reason("off", fact, before, after) if off > MOST_TRAVEL_ERROR and worse else None


def _rank(reason: Reason) -> tuple[int, int]:
    order = ("off", "below", "loses", "force", "lets_through", "untold")
    names = list(MARGINS)
    place = names.index(reason.name) if reason.name in MARGINS else len(names)
    return order.index(reason.why), place


def reason_of(move: MarginMove, policy: HazardPolicy) -> Reason | None:
    """Why a moved margin is a hazard, None where it is none."""
    return fallen_below(move) or _loses(move, policy)


def _gone(move: MarginMove) -> Reason | None:
    """A margin that protects, held before, and of which nothing can be told any more."""
    before, after = move.before, move.after
    if before is None or before.kind != "protects" or before.ratio is None or before.ratio < 1:
        return None
    if after is not None and after.is_known:
        return None
    return Reason("untold", move.name, before.ratio, None, after or before)


def fallen_below(move: MarginMove) -> Reason | None:
    """A margin that protects and fell below 1."""
    before, after = move.before, move.after
    if after is None or after.kind != "protects" or after.ratio is None:
        return None
    was = before.ratio if before is not None else None
    was_off = before is None or not (before.is_known or before.missing)
    if was_off and move.name in _ADDED:
        return None
    if after.ratio < 1 and (was is None or was >= 1):
        return Reason("below", move.name, was, after.ratio, after)
    return None


def _loses(move: MarginMove, policy: HazardPolicy) -> Reason | None:
    """A margin that protects, lost more than the material share, and is no comfortable one."""
    after, was = move.after, move.before.ratio if move.before is not None else None
    if after is None or after.kind != "protects" or after.ratio is None:
        return None
    if was is None or was <= 0 or (MARGINS[move.name].may_shrink and after.ratio >= 1):
        return None  # of nothing nothing more is lost
    if after.ratio < was * (1 - policy.material_share) and after.ratio < policy.comfort_ratio:
        return Reason("loses", move.name, was, after.ratio, after)
    return None


def _lets_through(role: str, states: tuple[State, State], policy: HazardPolicy) -> Reason | None:
    """Whether a monitor or a limit lets through more than the material share of the room."""
    protection, share = protection_of(role), policy.material_share
    if protection is None:
        return None
    fact = protection.through
    before, after = figure_between(states, fact) if fact is not None else (None, None)
    if fact is None or before is None or after is None or (isinf(before) and isinf(after)):
        return _got_worse(role, protection, states, share)
    known, more = states[1].asked(room), after - before
    if isinf(after):
        return Reason("lets_through", fact, before, after)
    if known is None:
        return Reason("untold", fact, before, after) if more > share * before else None
    is_much = more > share * max(known.value, 0.0) and more > 0
    return Reason("lets_through", fact, before, after) if is_much else None


def _got_worse(
    role: str, protection: Protection, states: tuple[State, State], share: float
) -> Reason | None:
    """What cannot be told, and is worse by more than the material share."""
    one, other = (state.value(role) for state in states)
    if one is None or other is None:
        return None
    if protection.margin is not None:
        found = margin_of(states[1], MARGINS[protection.margin])
        if found is None or found.is_known:
            return None
    before = one.size if one.size is not None else one.number
    after = other.size if other.size is not None else other.number
    if before is None or after is None or one.kind != other.kind:
        return None
    is_worse = (protection.worse == "more" and after > before * (1 + share)) or (
        protection.worse == "less" and after < before * (1 - share)
    )
    name = protection.margin or role.partition(".")[0]
    return Reason("untold", name, before, after) if is_worse else None
