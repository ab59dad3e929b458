"""A change with its class by rule, and why it is a hazard, in words."""

from __future__ import annotations

import re
from dataclasses import replace
from math import isinf
from typing import TYPE_CHECKING

from vault.behaviour.facts import FACTS, MARGINS
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.no_limit import may_be_none
from vault.behaviour.room import room
from vault.behaviour.scale import HIGH, LOW, transmission
from vault.meaning.changes import Finding, Surrounding
from vault.meaning.classes import GOVERNED, RULED, Reason, hazard_between, hazard_of, reason_of
from vault.meaning.consequences import usual_consequence
from vault.meaning.explainers import OF_ONE_AXIS
from vault.meaning.findings import digits
from vault.meaning.margin_sentences import amount, below
from vault.meaning.substitution import ZERO
from vault.model import roles

if TYPE_CHECKING:
    from collections.abc import Callable

    from vault.behaviour.state import State
    from vault.meaning.changes import Change
    from vault.meaning.substitution import Substitution

_TWO_LINES = 200  # characters
SENTENCE = re.compile(r"(?<=\.) (?=[A-Z])")
"""Between two sentences of an explanation."""


_OWN = OF_ONE_AXIS | {
    "polarity", "encoder_direction", "motor_pole_pairs", "safety_checksum", "encoder_type",
}  # fmt: skip
"""What two axes may well have otherwise: that is no hazard."""


def classed(change: Change, between: Substitution, sides: tuple[str, str] | None = None) -> Change:
    """The change with its class by rule.

    What is gone, new, or switched off by its number is judged by its explainer.
    """
    role = change.shown.role
    if change.volatile or change.kind == "restated" or role is None:
        return change
    if change.kind == "shifted":
        is_number = role.partition(".")[0] in GOVERNED and change.consequence == "hazard"
        return replace(change, consequence="travel") if is_number else change
    if change.kind != "changed" or change.left_default or change.right_default:
        return change
    two_axes = sides is not None
    if two_axes:
        reason = hazard_between(role, between.left, between.right)
    else:
        reason = hazard_of(role, between.of(role))
    if reason is None and _is_off(change, between) and not (two_axes and role in _OWN):
        return change  # its explainer knows what a number for none does
    if reason is None:
        by_rule = role.partition(".")[0] in GOVERNED or role in RULED or (two_axes and role in _OWN)
        if change.consequence != "hazard" or not by_rule:
            return change
        if role in _OWN and role.endswith(("address", "alias")):
            return replace(change, consequence="link")
        return replace(change, consequence=_without_hazard(role))
    first, *rest = SENTENCE.split(change.explanation)
    why = said(reason, reason.state or between.right)
    if sides is not None and reason.state is not None:
        why = f"On {sides[0] if reason.state is between.left else sides[1]}: {why}"
    elif role in ZERO and why:
        why = f"If zero was right before: {why[0].lower()}{why[1:]}"
    elif reason.alone and why:
        why = f"By itself, without what else changed: {why[0].lower()}{why[1:]}"
    parts = [first, *rest[:1], why, *rest[1:]] if role in ZERO else [first, why, *rest]
    text = " ".join(part for part in parts if part)
    finding = Finding(reason.name, _text(reason.after), "1", "margin afterwards")
    return replace(
        change, consequence="hazard", explanation=text, findings=(*change.findings, finding)
    )


_HARMLESS = {
    "limits": "dynamics", "io": "travel", "brake": "electrical", "supply": "electrical",
    "safety": "dynamics",
}  # fmt: skip


def _without_hazard(role: str) -> str:
    """Class of a number that protects and did not lose what matters."""
    known = roles.find(role)
    if known is None or "position" in role:
        return "travel"
    return _HARMLESS.get(known.group) or usual_consequence(known)


def together(between: Substitution) -> tuple[Surrounding, ...]:
    """Margins that protect, that all changes together take below 1, and that no single one does."""
    single = {
        reason.name
        for role in between.roles
        for moved in (between.of(role).put_in, between.of(role).taken_out)
        for move in moved
        if (reason := reason_of(move)) is not None and reason.why == "below"
    }
    single |= {reason.name for move in between.record if (reason := reason_of(move)) is not None}
    rows = []
    for move in between.total:
        reason = reason_of(move, only_below=True)
        if reason is None or move.name in single:
            continue
        text = f"Together these changes do what none does alone. {said(reason, between.right)}"
        before, after = _text(reason.before), _text(reason.after)
        rows.append(Surrounding(f"margins.{move.name}", before, after, "hazard", text))
    return tuple(rows)


def in_two_lines(change: Change) -> Change:
    """The change with an explanation of about two lines; what does not fit is `more`.

    Of a hazard the reason stays, however long it is.
    """
    parts = SENTENCE.split(change.explanation)
    kept = 1
    if change.consequence == "hazard":
        kept = 3 if change.shown.role in ZERO else 2
    while kept < len(parts) and len(" ".join(parts[: kept + 1])) <= _TWO_LINES:
        kept += 1
    return replace(change, explanation=" ".join(parts[:kept]), more=" ".join(parts[kept:]))


_NONE_AT_ZERO = frozenset(
    {
        "max_profile_velocity", "max_motor_speed", "vl_velocity_max_amount", "max_frequency",
        "following_error_window", "following_error_warning", "fieldbus_timeout",
        "consumer_heartbeat_time", "guard_time", "life_time_factor", "missed_update_limit",
        "quick_stop_deceleration", "profile_deceleration", "max_deceleration", "stop_time_limit",
        "profile_jerk", "position_gain", "velocity_gain", "brake_used", "braking_resistor_used",
        "software_position_limits_used",
    }
)  # fmt: skip
"""Roles of which nought may stand for none, or for off."""


def _is_off(change: Change, between: Substitution) -> bool:
    """Whether a number stands for none on either side."""
    sides = [side.raw for side in (change.left, change.right) if side is not None]
    role = str(change.shown.role).partition(".")[0]
    if role.endswith("software_position_limit"):
        return _without_limits(between.left) or _without_limits(between.right)
    return role in _NONE_AT_ZERO and any(map(may_be_none, sides))


def _without_limits(state: State) -> bool:
    """Whether software limits do not act: switched off, or both zero (common practice)."""
    both_zero = state.raw(LOW) == 0 and state.raw(HIGH) == 0
    return both_zero or state.choice("software_position_limits_used") == 0


def said(reason: Reason, state: State) -> str:
    """Why a change is a hazard, in a sentence; `state` is the one afterwards."""
    margin = reason.margin
    if margin is not None and reason.why == "below":
        return below(margin, state)
    if margin is not None:
        title = MARGINS[margin.name].title
        have, need = amount(margin.have, margin.unit), amount(margin.need, margin.unit)
        times = f"{_text(reason.after)} times instead of {_text(reason.before)}"
        return f"{title[0].upper()}{title[1:]}: {have} for {need}, {times}."
    if reason.why == "force":
        unit = state.ask(transmission).motor_unit
        text = f"{amount(reason.after, unit)} at the motor instead of {amount(reason.before, unit)}"
        return f"The axis can push harder against whatever, or whoever, is in its way: {text}."
    if reason.why == "off":
        return ""  # its own sentence tells how far it goes
    if reason.why == "lets_through":
        fact = FACTS[reason.name].compute
        unit = state.ask(fact).unit
        grown = f"{amount(reason.after, unit)} instead of {amount(reason.before, unit)}"
        left = state.asked(room)
        there = f"; there are {amount(left.value, left.unit)}" if left is not None else ""
        return f"The {reason.name} is {grown}{there}."
    if reason.name in MARGINS:
        return (
            f"Whether that is enough cannot be told{_lacking(state, MARGINS[reason.name].compute)}."
        )
    return f"How much of the room that takes cannot be told{_lacking(state, room)}."


def _lacking(state: State, asked: Callable[[State], object]) -> str:
    """What must be recorded before something is known."""
    try:
        state.ask(asked)
    except Missing as error:
        names = " and ".join(name.replace("_", " ").replace(".", ": ") for name in error.names)
        return f": {names} {'is' if len(error.names) == 1 else 'are'} not recorded"
    except DoesNotApply:
        return ", without ends that are recorded"
    return ""


def _text(ratio: float | None) -> str:
    if ratio is None:
        return "unknown"
    return "without end" if isinf(ratio) else digits(ratio, 3)
