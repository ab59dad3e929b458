"""What one change does to what a fault hangs on: by margins, by what it is, or else by its size.

A margin counts by the share of its distance to the edge that a change used up, in doublings: of a
window of 30 times the lag, 3.0 times leaves a third. Numbers here are our own judgement.
"""

from __future__ import annotations

from dataclasses import replace
from math import inf, isfinite, log2
from typing import TYPE_CHECKING

from vault.behaviour.behave import margins_of
from vault.behaviour.mode import is_cyclic
from vault.behaviour.scaling import SCALING_ROLES, TRAVEL_ROLES
from vault.behaviour.state import SCALING
from vault.meaning.composed_objects import differing
from vault.meaning.fault_phrases import as_much, margin_sentence
from vault.meaning.fault_places import limit, shift
from vault.meaning.fault_sizes import (
    NOTHING,
    FaultEffect,
    is_hot,
    of_choice,
    of_sizes,
    of_zero,
    scale_ratio,
    sizes_of,
)
from vault.meaning.substitution import DIVISIBLE, atom_of, figure_between

if TYPE_CHECKING:
    from collections.abc import Collection, Iterable

    from vault.behaviour.facts import Margin
    from vault.meaning.changes import Change
    from vault.meaning.composed_objects import Part
    from vault.meaning.fault_weights import Weight
    from vault.meaning.margin_moves import MarginMove
    from vault.meaning.substitution import Effect, Substitution

_EDGE = log2(1.1)
"""No margin is known better than to a tenth: less distance than that counts as so much."""
_ONE_SIDED = 0.25
"""What is in one of two sets only may have been left out by an export."""
_PROFILE = frozenset(
    {"profile_velocity", "profile_acceleration", "profile_jerk", "motion_profile_type"}
)
_SECOND_GAINS = ("position_gain.", "velocity_gain.", "velocity_integral_time.", "current_gain.")
_SWITCHES = {
    "brake_": "brake_used",
    "braking_resistor_": "braking_resistor_used",
    "min_software_position_limit": "software_position_limits_used",
    "max_software_position_limit": "software_position_limits_used",
}
"""What does nothing while it is switched off, by the begin of its name."""


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
    if parts == []:
        return None
    if change.left is None or change.right is None:
        return _one_sided(change)
    if parts:
        return _by_parts(parts, weight)
    if (open_ := of_zero(change)) is not None:
        return open_
    match weight.way:
        case "other":
            return _with_figure(of_choice(change), role, weight, between)
        case "on" | "off":
            return _with_figure(_switched(role, weight, between), role, weight, between)
        case "shift":
            return shift(role, change, between)
        case "inward" | "outward":
            by_margins, is_known = by_margin(role, weight, between)
            return by_margins if is_known else limit(role, weight, between)
    return _by_amount(change, weight, between, alone=alone)


def _with_figure(
    found: FaultEffect | None, role: str, weight: Weight, between: Substitution
) -> FaultEffect | None:
    """The effect of a choice, with what it does to a margin where that goes the same way."""
    moved, _ = by_margin(role, weight, between)
    if found is None or moved is None or moved.brings != found.brings:
        return found
    return replace(found, figure=moved.figure)


def _by_amount(
    change: Change, weight: Weight, between: Substitution, *, alone: bool
) -> FaultEffect | None:
    """What more or less of something does: by margins, else by its size."""
    role = str(change.shown.role)
    by_size = _by_size(change, weight, between)
    by_margins, is_known = by_margin(role, weight, between)
    is_sided = not alone and weight.way in ("less", "more")
    if is_sided and by_margins and by_size and by_margins.brings and not by_size.brings:
        return by_size  # what others of its atom did is not laid at its door
    return by_margins if is_known else by_size


def _best(found: Iterable[FaultEffect | None]) -> FaultEffect | None:
    known = (effect for effect in found if effect is not None)
    return max(known, key=lambda effect: (effect.brings, effect.share), default=None)


def _acts(role: str, weight: Weight, between: Substitution) -> bool:
    """Whether a parameter does anything on that axis, as it is when the fault comes."""
    right, base = between.right, role.partition(".")[0]
    if base in _PROFILE and is_cyclic(right):
        return False
    if weight.fact and _stays(role, weight.fact, between):
        return False
    if role.startswith(_SECOND_GAINS) and right.choice("gain_switching") == 0:
        return False
    if base.startswith("brake_") and right.record("brake.fitted") is False:
        return False
    for start, switch in _SWITCHES.items():
        if base.startswith(start) and base != switch and right.choice(switch) == 0:
            return False
    if not weight.functions:
        return True
    function = base.replace("_inverted", "_function") + role[len(base) :]
    chosen = [state.choice(function) for state in (between.left, right)]
    return None in chosen or bool(weight.functions.intersection(chosen))


def _stays(role: str, fact: str, between: Substitution) -> bool:
    """Whether a fact is the same with and without a change, as it is when the fault comes."""
    before, after = figure_between(between.of(role).states[1], fact)
    return before is not None and before == after


def _one_sided(change: Change) -> FaultEffect:
    side = "now" if change.left is None else "before"
    return FaultEffect(_ONE_SIDED, True, f"only the set of {side} has it")


def _switched(role: str, weight: Weight, between: Substitution) -> FaultEffect | None:
    before, after = (state.choice(role) for state in (between.left, between.right))
    if before == after:
        return None
    return FaultEffect(1, (after != 0) == (weight.way == "on"))


def by_margin(name: str, weight: Weight, between: Substitution) -> tuple[FaultEffect | None, bool]:
    """What a role, or an entry of the axis record, does to the margins of a row; whether they tell.

    Margins that are known and do not move tell that it does nothing.
    """
    if not weight.margins:
        return None, False
    found = _best(map(_by_move, _moved_by(name, weight, between)))
    return found, found is not None or _are_known(name, weight, between)


def _moved_by(name: str, weight: Weight, between: Substitution) -> list[MarginMove]:
    """How the atom of a role moves the margins of a row; a part that moves one alone bears it.

    What no part of the atom does alone, all have done.
    """
    whole = _moves(between.of(name), weight.margins)
    others = [part for part in between.members(name) if part != name]
    if not others or atom_of(name) not in DIVISIBLE:
        return whole
    names = {move.name for move in whole}
    own = _moves(between.within(name), names)
    done = {move.name for move in own}
    for part in others:
        done |= {move.name for move in _moves(between.within(part), names) if _brings(move)}
    return own + [move for move in whole if move.name not in done]


def _moves(effect: Effect, names: Collection[str]) -> list[MarginMove]:
    return [move for move in (*effect.put_in, *effect.taken_out) if move.name in names]


def _brings(move: MarginMove) -> bool:
    found = _by_move(move)
    return found is not None and found.brings


def _are_known(role: str, weight: Weight, between: Substitution) -> bool:
    """Whether a margin of the row that rests on the role is known before and after."""
    for states in between.of(role).states:
        for name in weight.margins:
            sides = [margins_of(state).get(name) for state in states]
            if all(side is not None and _tells(side, role) for side in sides):
                return True
    return False


def _tells(margin: Margin, role: str) -> bool:
    rests = role in SCALING_ROLES and SCALING in margin.rests_on
    rests = rests or any(name == role or name.startswith(f"{role}.") for name in margin.rests_on)
    ratio = _ratio(margin)
    return rests and ratio is not None and isfinite(ratio)


def _ratio(margin: Margin) -> float | None:
    """The ratio, where it is known which way the true one may lie."""
    return None if margin.bound == "unknown" else margin.ratio


def _by_move(move: MarginMove) -> FaultEffect | None:
    one, other = move.before, move.after
    before = inf if one is None else _ratio(one)  # what has no sense cannot fail
    after = inf if other is None else _ratio(other)
    if before is None or after is None:
        return None
    lost, won = share_lost(before, after), share_lost(after, before)
    if not lost and not won:
        return None
    figure = margin_sentence(move.name, before, after)
    return FaultEffect(max(lost, won), lost > 0, figure, of_atom=True)


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


def _by_parts(parts: list[Part], weight: Weight) -> FaultEffect | None:
    """What differs within an object: by size where it has one, else whole."""
    found = []
    for part in parts:
        if part.before is None or part.after is None:
            found.append(FaultEffect(1, True, part.words))
        elif (sized := of_sizes(part.before, part.after, weight)) is not None:
            found.append(replace(sized, figure=part.words))
    worst = _best(found)
    if worst is None:
        return None
    same = [one.figure for one in found if one.brings == worst.brings]
    return replace(worst, figure="; ".join(same), of_atom=True)


def _by_size(change: Change, weight: Weight, between: Substitution) -> FaultEffect | None:
    role = str(change.shown.role)
    sizes = sizes_of(change)
    if role in TRAVEL_ROLES and (ratio := scale_ratio(role, between)) is not None:
        sizes = 1.0, ratio
    if sizes is None:
        return FaultEffect(1, True)
    over = " over surroundings of 40 deg C" if is_hot(change) else ""
    return by_sizes(sizes, role, weight, between, over)


def by_sizes(
    sizes: tuple[float, float], name: str, weight: Weight, between: Substitution, over: str = ""
) -> FaultEffect | None:
    """What a change does as far as its own size tells, and what must be entered to tell more."""
    found = of_sizes(*sizes, weight, name)
    if found is None:
        return None
    before, after = sizes
    amount = [f"{as_much(after / before)}{over}"] if before * after > 0 else []
    return replace(found, figure="; ".join([*amount, *untold(weight, between)]))


def untold(weight: Weight, between: Substitution) -> list[str]:
    """What must be entered before the margins of a row tell."""
    margins = margins_of(between.right)
    missing = (
        margin.missing[0]
        for name in weight.margins
        if (margin := margins.get(name)) is not None and margin.missing
    )
    return [f"how near that comes cannot be told without {name}" for name in missing][:1]
