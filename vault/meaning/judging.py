"""A change with its class by rule, and why it is a hazard, in words."""

from __future__ import annotations

import re
from dataclasses import replace
from math import isinf
from typing import TYPE_CHECKING

from vault.behaviour.facts import FACTS, MARGINS
from vault.behaviour.homing import sinks_while_homing
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.no_limit import may_be_none
from vault.behaviour.room import room
from vault.behaviour.scale import HIGH, LOW, transmission
from vault.meaning.amperes import may_be_same
from vault.meaning.changes import Finding, Surrounding
from vault.meaning.classes import (
    RULED,
    Reason,
    fallen_below,
    hazard_between,
    hazard_over_time,
    short_margins,
)
from vault.meaning.consequences import usual_consequence
from vault.meaning.explainers import OF_ONE_AXIS
from vault.meaning.explainers.meanings import lower_first, upper_first
from vault.meaning.findings import digits
from vault.meaning.margin_sentences import amount, below
from vault.meaning.margin_text import hedges_in
from vault.meaning.protections import protection_of
from vault.meaning.substitution import ZERO
from vault.model import roles

if TYPE_CHECKING:
    from collections.abc import Callable

    from vault.behaviour.state import State
    from vault.meaning.changes import Change
    from vault.meaning.margin_moves import MarginMove
    from vault.meaning.substitution import Substitution

GONE = "It was {before} times, and cannot be told any more{why}: {title}."
DECIDES = "It alone decides whether that holds: {title}, {ratio} times on {side}."
SO_ARE = " As short: {names}."
ON_SIDE = "On {side}: {why}"
IF_ZERO_WAS_RIGHT = "If zero was right before: {why}"
ALONE = "By itself, without what else changed: {why}"
TOGETHER = "Together these changes do what none does alone. {why}"
BEYOND = "The limit lies {distance} beyond the hard stop."
LOSES = "{margin}: {have} for {need}, {after} times instead of {before}."
PUSHES = (
    "The axis can push harder against whatever, or whoever, is in its way: {after} at the motor "
    "instead of {before}."
)
LETS_THROUGH = "The {quantity} is {after} instead of {before}{room}."
ROOM = "; there are {distance}"
UNTOLD = {
    "margin": "Whether that is enough cannot be told{lacking}.",
    "room": "How much of the room that takes cannot be told{lacking}.",
}
LACKING = {
    "one": ": {names} is not recorded",
    "more": ": {names} are not recorded",
    "ends": ", without ends that are recorded",
}
NO_RATIO = {"unknown": "unknown", "endless": "without end"}

TWO_LINES = 200  # characters
SENTENCE = re.compile(r"(?<=\.) (?=[A-Z])")
"""Between two sentences of an explanation."""


_OWN = OF_ONE_AXIS | {
    "safety_checksum", "encoder_type", "homing_method", "homing_torque_limit",
    "digital_output_function",
}  # fmt: skip
"""What two axes may well have otherwise: that is no hazard."""


def _is_own(role: str, between: Substitution) -> bool:
    """Whether two axes may well differ in a role; a push that lets the load sink is none such."""
    base = role.partition(".")[0]
    if base == "homing_torque_limit":
        return not any(sinks_while_homing(state) for state in (between.left, between.right))
    return base in _OWN


def classed(change: Change, between: Substitution, sides: tuple[str, str] | None = None) -> Change:
    """The change with its class by rule.

    What is gone, new, or switched off by its number is judged by its explainer.
    """
    role = change.shown.role
    if change.volatile or change.kind == "restated" or role is None:
        return change
    if change.kind == "shifted":
        is_number = protection_of(role) is not None and change.consequence == "hazard"
        return replace(change, consequence="travel") if is_number else change
    two_axes = sides is not None
    is_own = two_axes and _is_own(role, between)
    one_sided = change.kind in ("only_left", "only_right")
    if is_own and one_sided and change.consequence == "hazard" and "safety" not in role:
        return replace(change, consequence=_without_hazard(role))
    if change.kind != "changed" or change.left_default or change.right_default:
        return change
    reason = hazard_between(role, between) if two_axes else hazard_over_time(role, between)
    if may_be_same(change) and (reason is None or reason.why != "below"):
        return change  # what is less in one reading alone is no loss that is told
    if _is_off(change, between) and not is_own:
        is_told = change.consequence == "hazard" or _is_turned_on(change)
        if reason is None or (reason.why == "untold" and is_told):
            return change  # its explainer knows what a number for none does
    if reason is None:
        by_rule = protection_of(role) is not None or role in RULED or is_own
        if change.consequence != "hazard" or not by_rule:
            return change
        if is_own and role.endswith(("address", "alias")):
            return replace(change, consequence="link")
        return replace(change, consequence=_without_hazard(role))
    first, *rest = SENTENCE.split(change.explanation)
    why = said(reason, reason.state or between.right)
    if sides is not None and reason.state is not None:
        short = sides[0] if reason.state is between.left else sides[1]
        title = MARGINS[reason.name].title
        why = DECIDES.format(title=title, ratio=_text(reason.after), side=short)
    elif role in ZERO and why:
        why = IF_ZERO_WAS_RIGHT.format(why=lower_first(why))
    elif reason.alone and why:
        why = ALONE.format(why=lower_first(why))
    parts = [first, *rest[:1], why, *rest[1:]] if role in ZERO else [first, why, *rest]
    text = " ".join(part for part in parts if part)
    finding = Finding(reason.name, _text(reason.after), "1", "margin afterwards")
    doubts = hedges_in(reason.margin.hedge) if reason.margin is not None else []
    return replace(
        change,
        consequence="hazard",
        explanation=text,
        more=" ".join(f"{upper_first(doubt)}." for doubt in doubts),
        findings=(*change.findings, finding),
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
        move.name
        for role in between.roles
        for moved in (between.of(role).put_in, between.of(role).taken_out)
        for move in moved
        if fallen_below(move) is not None
    }
    single |= {move.name for move in between.record if fallen_below(move) is not None}
    rows = []
    for move in between.total:
        reason = fallen_below(move)
        if reason is None or move.name in single:
            continue
        text = TOGETHER.format(why=said(reason, between.right))
        before, after = _text(reason.before), _text(reason.after)
        rows.append(Surrounding(f"margins.{move.name}", before, after, "hazard", text))
    return tuple(rows)


def short_on_one(between: Substitution, sides: tuple[str, str]) -> tuple[Surrounding, ...]:
    """What is short on one of two axes: margins that hold the same against more are one row."""
    groups: dict[tuple[object, ...], list[tuple[MarginMove, Reason]]] = {}
    for move, reason in short_margins(between):
        margin = reason.margin
        if margin is not None:
            key = reason.state is between.left, margin.have, margin.unit
            groups.setdefault(key, []).append((move, reason))
    rows = []
    for (is_left, *_), ((move, reason), *others) in groups.items():
        state, side = (between.left, sides[0]) if is_left else (between.right, sides[1])
        text = ON_SIDE.format(side=side, why=said(reason, state))
        if others:
            text += SO_ARE.format(names=", ".join(other.name for other, _ in others))
        before, after = (_text(each.ratio if each else None) for each in (move.before, move.after))
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
    while kept < len(parts) and len(" ".join(parts[: kept + 1])) <= TWO_LINES:
        kept += 1
    more = " ".join(part for part in (*parts[kept:], change.more) if part)
    return replace(change, explanation=" ".join(parts[:kept]), more=more)


def _is_off(change: Change, between: Substitution) -> bool:
    """Whether a number stands for none on either side."""
    sides = [side.raw for side in (change.left, change.right) if side is not None]
    role = str(change.shown.role).partition(".")[0]
    if role.endswith("software_position_limit"):
        return _without_limits(between.left) or _without_limits(between.right)
    protection = protection_of(role)
    return protection is not None and protection.zero_is_none and any(map(may_be_none, sides))


def _is_turned_on(change: Change) -> bool:
    """Whether a number for none became a size."""
    is_none = [side is None or may_be_none(side.raw) for side in (change.left, change.right)]
    return is_none == [True, False]


def _without_limits(state: State) -> bool:
    """Whether software limits do not act: switched off, or both zero (common practice)."""
    both_zero = state.raw(LOW) == 0 and state.raw(HIGH) == 0
    return both_zero or state.choice("software_position_limits_used") == 0


def said(reason: Reason, state: State) -> str:
    """Why a change is a hazard, in a sentence; `state` is the one afterwards."""
    margin = reason.margin
    if margin is not None and reason.why == "below":
        if margin.name.endswith("_room") and margin.have is not None and margin.have < 0:
            return BEYOND.format(distance=amount(-margin.have, margin.unit))
        return below(margin, state)
    if margin is not None and reason.why == "untold":
        title, why = MARGINS[margin.name].title, _lacking(state, MARGINS[margin.name].compute)
        return GONE.format(before=_text(reason.before), why=why, title=title)
    if margin is not None:
        return LOSES.format(
            margin=upper_first(MARGINS[margin.name].title),
            have=amount(margin.have, margin.unit),
            need=amount(margin.need, margin.unit),
            after=_text(reason.after),
            before=_text(reason.before),
        )
    if reason.why == "off":
        return ""  # its own sentence tells how far it goes
    if reason.why == "untold":
        named = MARGINS.get(reason.name)
        lacking = _lacking(state, room if named is None else named.compute)
        return UNTOLD["room" if named is None else "margin"].format(lacking=lacking)
    is_force = reason.why == "force"
    unit = state.ask(transmission).motor_unit if is_force else _unit_of(reason.name, state)
    after, before = amount(reason.after, unit), amount(reason.before, unit)
    if is_force:
        return PUSHES.format(after=after, before=before)
    left = state.asked(room)
    there = ROOM.format(distance=amount(left.value, left.unit)) if left is not None else ""
    return LETS_THROUGH.format(quantity=reason.name, after=after, before=before, room=there)


def _unit_of(fact: str, state: State) -> str:
    return state.ask(FACTS[fact].compute).unit


def _lacking(state: State, asked: Callable[[State], object]) -> str:
    """What must be recorded before something is known."""
    try:
        state.ask(asked)
    except Missing as error:
        if not error.names:
            return f": {'; '.join(state.told(asked)[1])}"
        names = " and ".join(name.replace("_", " ").replace(".", ": ") for name in error.names)
        return LACKING["one" if len(error.names) == 1 else "more"].format(names=names)
    except DoesNotApply:
        return LACKING["ends"]
    return ""


def _text(ratio: float | None) -> str:
    if ratio is None:
        return NO_RATIO["unknown"]
    return NO_RATIO["endless"] if isinf(ratio) else digits(ratio, 3)
