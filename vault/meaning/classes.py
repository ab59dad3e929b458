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
from vault.meaning.substitution import LOAD_SCALE, Effect, atom_of, figure_between

if TYPE_CHECKING:
    from vault.behaviour.facts import Margin
    from vault.behaviour.state import State
    from vault.meaning.substitution import Substitution
    from vault.model.hazard_policy import HazardPolicy

MOST_TRAVEL_ERROR = 0.01
"""A travel error |k - 1| above it is a hazard; our own choice."""

_REACHES = {
    "following_error_window": "way of a following error trip",
    "following_error_time_out": "way of a following error trip",
    "fieldbus_timeout": "way when the link is lost",
    "consumer_heartbeat_time": "way when the link is lost",
    "guard_time": "way when the link is lost",
    "life_time_factor": "way when the link is lost",
    "missed_update_limit": "way when the link is lost",
    "digital_input_filter_time": "way of a quick stop",
    "quick_stop_deceleration": "way of a quick stop",
    "profile_deceleration": "way of a fault stop",
    "max_deceleration": "way of a quick stop",
    "max_motor_speed": "way of a quick stop",
}
"""Roles of monitors, limits and reactions, and what each lets through until the axis stands."""
_MORE_IS_WORSE = frozenset(
    {
        "following_error_window", "following_error_time_out", "fieldbus_timeout",
        "consumer_heartbeat_time", "guard_time", "life_time_factor", "missed_update_limit",
        "digital_input_filter_time",
    }
)  # fmt: skip
_LESS_IS_WORSE = frozenset(
    {
        "quick_stop_deceleration", "max_deceleration", "brake_apply_delay", "brake_torque",
    }
)  # fmt: skip
_TRAVEL, _LOAD, _THRUST = "travel ratio", "ratio of the load encoder", "torque limits"
_JUDGED_BY = {"brake_apply_delay": "brake_apply", "brake_torque": "brake_hold"}
"""Roles with a margin of their own: where it is known, or has no sense, nothing is left open."""
_ADDED = frozenset(
    {
        "stop_room", "fault_room", "link_room", "trip_room", "drop_room", "brake_hold",
        "brake_apply", "stop_time", "safe_stop_delay",
    }
)  # fmt: skip
"""Margins of a protection: one that is there now and was not before is no loss."""
_FORCES = ("max_torque", "positive_torque_limit", "negative_torque_limit", "max_current")
GOVERNED = frozenset(
    {
        *_REACHES, *_MORE_IS_WORSE, *_LESS_IS_WORSE, *_FORCES, "max_profile_velocity",
        "vl_velocity_max_amount", "max_frequency", "stop_time_limit",
        "velocity_window", "velocity_window_time", "motor_temperature_limit",
        "profile_velocity", "min_software_position_limit", "max_software_position_limit",
        "profile_jerk", "motion_profile_type", "position_gain", "velocity_gain",
        "velocity_integral_time", "torque_filter_time", "velocity_filter_time",
        "braking_resistor_threshold", "dc_link_overvoltage_threshold",
    }
)  # fmt: skip
"""Roles whose numbers are judged here and nowhere else; what is off or gone is judged before."""
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


_DIVISIBLE = frozenset({"software limits", "chopper and trip"})
"""Atoms of which one part may decide, and the others are only changed beside it."""


def hazard_over_time(role: str, between: Substitution) -> Reason | None:
    """Why a change of an axis is a hazard; none where another part of its atom decides alone."""
    reason = hazard_of(role, between.of(role), between.policy)
    members = between.members(role)
    if reason is None or len(members) < 2 or atom_of(role) not in _DIVISIBLE:
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
    if not found and role.partition(".")[0] in GOVERNED | _REACTIONS:
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
    found += [
        reason
        for pair in ((between.left, between.right), (between.right, between.left))
        if (reason := _off_scale(role, pair, between.policy)) is not None
    ]
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
    if atom == LOAD_SCALE and states[1].ask(may_close_position):
        return _worse_ratio(states, _LOAD, policy)
    if atom != "scale":
        return None
    turns = [state.scaling.motor_turns for state in states]
    if turns[0] is not None and turns[0] == turns[1]:
        return None  # a unit that is only named otherwise moves nothing
    if states[1].asked(travel_ratio) is not None:
        return _worse_ratio(states, _TRAVEL, policy)
    one, other = (state.scaling.motor_turns for state in states)
    if not one or not other or abs(float(other / one) - 1) <= policy.material_share:
        return None
    return Reason("untold", _TRAVEL, None, float(other / one))


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
    base = role.partition(".")[0]
    fact = _REACHES.get(base)
    before, after = figure_between(states, fact) if fact is not None else (None, None)
    known = states[1].asked(room)
    if fact is not None and before is not None and after is not None:
        if isinf(before) and isinf(after):
            return _got_worse(base, role, states, policy)
        if isinf(after):
            return Reason("lets_through", fact, before, after)
        more = after - before
        if known is not None:
            through = more > policy.material_share * max(known.value, 0.0) and more > 0
            return Reason("lets_through", fact, before, after) if through else None
        return (
            Reason("untold", fact, before, after) if more > policy.material_share * before else None
        )
    return _got_worse(base, role, states, policy)


def _got_worse(
    base: str, role: str, states: tuple[State, State], policy: HazardPolicy
) -> Reason | None:
    """What cannot be told, and is worse by more than the material share."""
    one, other = (state.value(role) for state in states)
    if one is None or other is None:
        return None
    judge = _JUDGED_BY.get(base)
    if judge is not None:
        found = margin_of(states[1], MARGINS[judge])
        if found is None or found.is_known:
            return None
    before = one.size if one.size is not None else one.number
    after = other.size if other.size is not None else other.number
    if before is None or after is None or one.kind != other.kind:
        return None
    worse = (base in _MORE_IS_WORSE and after > before * (1 + policy.material_share)) or (
        base in _LESS_IS_WORSE and after < before * (1 - policy.material_share)
    )
    return Reason("untold", judge or base, before, after) if worse else None
