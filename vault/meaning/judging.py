"""A change with its class by rule, and why it is a hazard, in words."""

from __future__ import annotations

from dataclasses import replace
from math import isinf
from typing import TYPE_CHECKING

from vault.behaviour.facts import MARGINS
from vault.meaning.changes import Finding
from vault.meaning.classes import GOVERNED, RULED, Reason, hazard_between, hazard_of
from vault.meaning.consequences import usual_consequence
from vault.meaning.findings import digits
from vault.model import roles

if TYPE_CHECKING:
    from vault.meaning.changes import Change
    from vault.meaning.substitution import Substitution

_OFF = (0xFFFF_FFFF, -1)


_OWN = frozenset(
    {
        "home_offset", "encoder_absolute_offset", "commutation_offset", "polarity",
        "encoder_direction", "safety_address", "node_address", "station_alias",
    }
)  # fmt: skip
"""What belongs to one axis alone: that two axes differ in it is no hazard."""


def classed(change: Change, between: Substitution, *, two_axes: bool = False) -> Change:
    """The change with its class by rule.

    What is gone, new, or switched off by its number is judged by its explainer.
    """
    role = change.shown.role
    if change.volatile or change.kind == "restated" or role is None:
        return change
    if change.kind == "shifted":
        is_number = role.partition(".")[0] in GOVERNED and change.consequence == "hazard"
        return replace(change, consequence="travel") if is_number else change
    if change.kind != "changed" or _is_off(change) or change.left_default or change.right_default:
        return change
    if two_axes:
        reason = hazard_between(role, between.left, between.right)
    else:
        reason = hazard_of(role, between.of(role))
    if reason is None:
        by_rule = role.partition(".")[0] in GOVERNED or role in RULED or (two_axes and role in _OWN)
        if change.consequence != "hazard" or not by_rule:
            return change
        if role in _OWN and role.endswith(("address", "alias")):
            return replace(change, consequence="link")
        return replace(change, consequence=usual_consequence(roles.find(role)))
    text = f"{change.explanation} {said(reason)}".strip()
    finding = Finding(reason.name, _text(reason.after), "1", "margin afterwards")
    return replace(
        change, consequence="hazard", explanation=text, findings=(*change.findings, finding)
    )


def _is_off(change: Change) -> bool:
    """Whether a number stands for none on either side."""
    sides = [side.raw for side in (change.left, change.right) if side is not None]
    return any(raw in _OFF or raw == 0 for raw in sides)


def said(reason: Reason) -> str:
    """Why a change is a hazard, in a sentence."""
    if reason.why in ("below", "loses"):
        title = MARGINS[reason.name].title
        text = f"{title[0].upper()}{title[1:]}: {_text(reason.after)}"
        return f"{text} times instead of {_text(reason.before)}." if reason.before else f"{text}."
    if reason.why == "off":
        return ""  # its own sentence tells how far it goes
    if reason.why == "untold":
        return "How much of the room that takes cannot be told."
    return f"The {reason.name} grows by more than a twentieth of the room."


def _text(ratio: float | None) -> str:
    if ratio is None:
        return "unknown"
    return "without end" if isinf(ratio) else digits(ratio, 3)
