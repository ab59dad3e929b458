"""Explainers: what a change of a parameter does to the axis, in words and computed figures.

One module per theme. Its sentences stand at its top, templates with named parts: constants in
capitals, or tables of them. A module registers its functions with `@explains(role, …)`; adding one
is adding a module here, with no edit elsewhere. An explainer gets the change and both views, and
returns what to say, or None where it has nothing to add to the plain sentence.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from importlib import import_module
from pkgutil import iter_modules
from typing import TYPE_CHECKING

from vault.meaning.amperes import is_unclear, which_ampere
from vault.meaning.changes import Change, Finding
from vault.meaning.consequences import rank
from vault.meaning.explainers.meanings import INSTEAD
from vault.meaning.sentences import default_sentence, names_something, plain_sentence

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.export import Scalar


@dataclass(frozen=True, slots=True)
class Explanation:
    """What a change does: sentences, computed figures, and its class where the usual one is wrong.

    `effect` follows a sentence that gives parameter, before and after.
    """

    effect: str
    consequence: str | None = None
    findings: tuple[Finding, ...] = ()


OWN_OF_EACH = "Each axis has its own: it is not to be carried over."
ALIKE_OF_TWINS = "Axes that are built alike have it alike: look which of them is right."
DEFAULT = "Default: {value}."
ON_THE_OTHER = ", on {side} "
RANGE = "Range: {low} to {high}."

Explainer = Callable[[Change, "AxisView", "AxisView"], Explanation | None]

_EXPLAINERS: dict[str, Explainer] = {}


def explains(*roles: str) -> Callable[[Explainer], Explainer]:
    """Register an explainer for roles; `name` stands for `name.2` too."""

    def register(explainer: Explainer) -> Explainer:
        for role in roles:
            if role in _EXPLAINERS:
                raise ValueError(f"two explainers for {role}")
            _EXPLAINERS[role] = explainer
        return explainer

    return register


@cache
def registered() -> dict[str, Explainer]:
    """All explainers by role, every theme loaded."""
    for module in iter_modules(__path__):
        import_module(f"{__name__}.{module.name}")
    return _EXPLAINERS


def explained(
    change: Change,
    left: AxisView,
    right: AxisView,
    sides: tuple[str, str] | None = None,
    *,
    without: AxisView | None = None,
) -> Change:
    """The change with its sentences, figures and class; `sides` name two different axes.

    `without` is the right state as it were without this change: what its effect is measured from.
    """
    both = change.kind == "restated"
    change = replace(
        change,
        left_default=change.left is not None and change.left.code in left.defaults,
        right_default=change.right is not None and change.right.code in right.defaults,
    )
    lacks = (change.left is None and left.may_lack) or (change.right is None and right.may_lack)
    told = change
    if change.kind == "shifted":
        sizes = left.at_motor(change.left_physical), right.at_motor(change.right_physical)
        told = replace(change, left_physical=sizes[0], right_physical=sizes[1])
    sentence = plain_sentence(
        told,
        left.shown(change.left, both=both),
        right.shown(change.right, both=both),
        sides,
        may_lack=lacks,
    )
    by_file = change.left_default or change.right_default
    if by_file and change.kind != "restated":
        before, after = left.shown(change.left), right.shown(change.right)
        sentence = default_sentence(change, before, after, sides)
    if change.volatile or change.kind == "restated":
        return replace(change, explanation=sentence)
    role = change.shown.role
    explainer = registered().get(role.partition(".")[0]) if role else None
    found = explainer(change, without or left, right) if explainer is not None else None
    if is_unclear(change):
        return _of_unclear_ampere(change, found, sentence, left, right)
    if change.kind == "shifted":  # its cause is told once; what counts here is the class
        worst = found.consequence if found and found.consequence else change.consequence
        worst = min(worst, change.consequence, key=rank)
        return replace(told, explanation=sentence, consequence=worst)
    if lacks or by_file:  # what it would do counts for the class; that it is so is not known
        worst = found.consequence if found and found.consequence else change.consequence
        return replace(change, explanation=sentence, consequence=worst)
    if found is None:
        usual, more = _usual(change, left, right)
        return replace(change, explanation=f"{sentence} {usual}".rstrip(), more=more)
    effect = found.effect if sides is None else _between(found.effect, sides)
    if sides is not None and role in OF_ONE_AXIS:
        effect = ALIKE_OF_TWINS if role in _ALIKE_OF_TWINS else OWN_OF_EACH
    return replace(
        change,
        explanation=f"{sentence} {effect}" if effect else sentence,
        consequence=found.consequence or change.consequence,
        findings=found.findings,
    )


def _of_unclear_ampere(
    change: Change, found: Explanation | None, sentence: str, left: AxisView, right: AxisView
) -> Change:
    """Two currents of which one says if it is r.m.s. or peak: both readings, and the class.

    Where these leave open which is more, nothing else is said of it.
    """
    shown = left.shown(change.left), right.shown(change.right)
    said, may_be_same = which_ampere(change.left_physical, change.right_physical, shown)
    text = " ".join(part for part in (sentence, said) if part)
    if may_be_same or found is None:
        return replace(change, explanation=text, consequence="electrical")
    worst = min("electrical", found.consequence or change.consequence, key=rank)
    text = " ".join(part for part in (text, found.effect) if part)
    return replace(change, explanation=text, consequence=worst, findings=found.findings)


OF_ONE_AXIS = frozenset(
    {
        "home_offset", "encoder_absolute_offset", "commutation_offset", "safety_address",
        "node_address", "station_alias", "polarity", "encoder_direction", "motor_pole_pairs",
    }
)  # fmt: skip
"""What belongs to one axis alone: it is not to be carried over to another."""
_ALIKE_OF_TWINS = frozenset({"polarity", "encoder_direction", "motor_pole_pairs"})


def _between(effect: str, sides: tuple[str, str]) -> str:
    """An effect told of two axes: nothing became of one of them what it is on the other."""
    return effect.replace(INSTEAD.format(before=""), ON_THE_OTHER.format(side=sides[0]))


def _usual(change: Change, left: AxisView, right: AxisView) -> tuple[str, str]:
    """Default and range of a parameter of which no more is known: what to say, and on request.

    The default is news where one side is it.
    """
    side = right if change.right is not None else left
    definition = side.definitions.get(change.shown.code)
    if definition is None or names_something(change.shown):
        return "", ""

    def text(value: Scalar) -> str:
        return side.shown(replace(change.shown, value=value, raw=value, unit=unit, label=None))

    unit, said, more = definition.unit, "", []
    if definition.default is not None:
        label = (
            definition.choices.get(definition.default)
            if isinstance(definition.default, int)
            else None
        )
        default = label or text(definition.default)
        told = DEFAULT.format(value=default)
        sides = (left.shown(change.left), right.shown(change.right))
        if any(shown == default or (label and shown.startswith(f"{label} (")) for shown in sides):
            said = told
        else:
            more.append(told)
    if definition.low is not None and definition.high is not None and not definition.choices:
        low, high = text(definition.low), text(definition.high)
        number, _, end = low.partition(" ")
        more.append(RANGE.format(low=number if high.endswith(f" {end}") else low, high=high))
    return said, " ".join(more)
