"""Changes with one effect are told once: three torque limits are one limit of the motor."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from vault.behaviour.force import limits, thrust
from vault.behaviour.scale import transmission
from vault.meaning.findings import digits
from vault.meaning.judging import SENTENCE, TWO_LINES
from vault.meaning.substitution import atom_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from vault.behaviour.state import State
    from vault.meaning.changes import Change

TOLD_AT = "What it does is told at {name}."
SHIFTED = "{name}: the same number means something else. {told_at}"
LIMITS = {
    "two axes": "All limits leave the motor {after} on {right}, {before} on {left}.",
    "same": "All its limits leave the motor {after}, as before.",
    "over time": "All its limits leave the motor {after} instead of {before}.",
}
AT_AXIS = {"first": "{torque} ({force} at the axis)", "also": "{torque} ({force})"}

_ATOM = "torque limits"


def told_once(
    changes: Sequence[Change], left: State, right: State, sides: tuple[str, str] | None = None
) -> list[Change]:
    """The changes, with what several do together said at the first of them."""
    changes = _shifted_once(changes)
    members = [change for change in changes if _belongs(change)]
    several = len(members) > 1 or (members and sides is not None)  # a push is one of its machine
    effect = _effect(left, right, sides) if several else ""
    if not effect:
        return changes
    first = _with(members[0], effect)
    at_first = TOLD_AT.format(name=first.shown.name)
    done: list[Change] = []
    for change in changes:
        if change is members[0]:
            done.append(first)
        elif _belongs(change):
            done.append(_with(change, at_first, told=first.explanation))
        else:
            done.append(change)
    return done


def _shifted_once(changes: Sequence[Change]) -> list[Change]:
    """The changes, with limits that one rating shifts told at the first of them."""
    first: dict[str | None, Change] = {}
    done: list[Change] = []
    for change in changes:
        if change.kind == "shifted" and atom_of(change.shown.role or "") == _ATOM:
            told = first.setdefault(change.cause, change)
            if told is not change:
                at = TOLD_AT.format(name=told.shown.name)
                text = SHIFTED.format(name=change.shown.name, told_at=at)
                change = replace(change, explanation=text, more="")
        done.append(change)
    return done


def _belongs(change: Change) -> bool:
    role = change.shown.role
    return role is not None and change.kind == "changed" and atom_of(role) == _ATOM


def _with(change: Change, effect: str, told: str = "") -> Change:
    """The change with an effect after its values; of a hazard the reason stays, unless `told`."""
    plain, *rest = SENTENCE.split(change.explanation)
    is_hazard = change.consequence == "hazard" and bool(rest) and rest[0] not in told
    reason = rest[:1] if is_hazard else []
    shown = [plain, *reason, effect]
    if is_hazard and len(" ".join(shown)) > TWO_LINES:
        shown.pop()
        rest.append(effect)
    more = " ".join([*rest[len(reason) :], change.more]).strip()
    return replace(change, explanation=" ".join(shown), more=more)


def _effect(left: State, right: State, sides: tuple[str, str] | None) -> str:
    after = _left_to_the_motor(right, "first")
    before = _left_to_the_motor(left, "also" if sides is not None else "first")
    if not before or not after:
        return ""
    if sides is not None:
        return LIMITS["two axes"].format(after=after, right=sides[1], before=before, left=sides[0])
    return LIMITS["same" if before == after else "over time"].format(after=after, before=before)


def _left_to_the_motor(state: State, which: str) -> str:
    """What all limits leave, and what of it arrives at the axis; empty where it is not known."""
    least, gears, push = state.asked(limits), state.asked(transmission), state.asked(thrust)
    if least is None:
        return ""
    text = f"{digits(least.weaker)} {'N*m' if gears is None else gears.motor_unit}"
    if push is None or gears is None or gears.is_direct:
        return text
    return AT_AXIS[which].format(torque=text, force=f"{digits(push.value)} {push.unit}")
