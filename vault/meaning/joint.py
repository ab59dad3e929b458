"""Changes with one effect are told once: three torque limits are one limit of the motor."""

from __future__ import annotations

from dataclasses import replace
from typing import TYPE_CHECKING

from vault.behaviour.force import limits, thrust
from vault.behaviour.scale import transmission
from vault.meaning.findings import digits
from vault.meaning.judging import SENTENCE
from vault.meaning.substitution import atom_of

if TYPE_CHECKING:
    from collections.abc import Sequence

    from vault.behaviour.state import State
    from vault.meaning.changes import Change

_ATOM = "torque limits"


def told_once(
    changes: Sequence[Change], left: State, right: State, sides: tuple[str, str] | None = None
) -> list[Change]:
    """The changes, with what several do together said at the first of them."""
    members = [change for change in changes if _belongs(change)]
    effect = _effect(left, right, sides) if len(members) > 1 else ""
    if not effect:
        return list(changes)
    name = members[0].shown.name
    done: list[Change] = []
    for change in changes:
        if change is members[0]:
            done.append(_with(change, effect))
        elif _belongs(change):
            done.append(_with(change, f"What it does is told at {name}."))
        else:
            done.append(change)
    return done


def _belongs(change: Change) -> bool:
    role = change.shown.role
    return role is not None and change.kind == "changed" and atom_of(role) == _ATOM


def _with(change: Change, effect: str) -> Change:
    plain, *rest = SENTENCE.split(change.explanation)
    more = " ".join([*rest, change.more]).strip()
    return replace(change, explanation=f"{plain} {effect}", more=more)


def _effect(left: State, right: State, sides: tuple[str, str] | None) -> str:
    one, other = _left_to_the_motor(left), _left_to_the_motor(right)
    if not one or not other:
        return ""
    if sides is not None:
        return f"All its limits leave the motor {other} on {sides[1]}, {one} on {sides[0]}."
    if one == other:
        return f"All its limits leave the motor {other}, as before."
    return f"All its limits leave the motor {other} instead of {one}."


def _left_to_the_motor(state: State) -> str:
    """What all limits leave, and what of it arrives at the axis; empty where it is not known."""
    least, gears, push = state.asked(limits), state.asked(transmission), state.asked(thrust)
    if least is None:
        return ""
    text = f"{digits(least.weaker)} {'N*m' if gears is None else gears.motor_unit}"
    if push is None or gears is None or gears.is_direct:
        return text
    return f"{text} ({digits(push.value)} {push.unit} at the axis)"
