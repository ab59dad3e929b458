"""Everything that an axis does, as far as its set and its record tell: `behave`."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib import import_module
from typing import TYPE_CHECKING, Generic, TypeVar

from vault.behaviour.facts import FACTS, MARGINS, Fact, FactRule, Margin, MarginRule, ratio_of
from vault.behaviour.missing import DoesNotApply, Missing

if TYPE_CHECKING:
    from collections.abc import Callable, Mapping

    from vault.behaviour.state import State

Answer = TypeVar("Answer")

THEMES = (
    "scale", "speed", "force", "stop", "following", "heat", "energy", "supply", "hold", "loops",
    "position", "position_limits", "room", "travel", "load_encoder", "move", "homing",
    "frequency", "safety",
)  # fmt: skip
"""Modules of facts and margins, in the order that they are shown."""


@dataclass(frozen=True, slots=True)
class Behaviour:
    """Facts and margins of a state by name; what has no sense for the axis is not among them."""

    facts: Mapping[str, Fact]
    margins: Mapping[str, Margin]


@cache
def load_themes() -> None:
    """Have every theme registered."""
    for theme in THEMES:
        import_module(f"vault.behaviour.{theme}")


def behave(state: State) -> Behaviour:
    """All facts and margins of a state."""
    load_themes()
    facts = {name: found for name, rule in FACTS.items() if (found := fact_of(state, rule))}
    return Behaviour(facts, margins_of(state))


def margins_of(state: State) -> dict[str, Margin]:
    """All margins of a state by name."""
    return state.ask(_all_margins)


def _all_margins(state: State) -> dict[str, Margin]:
    load_themes()
    return {name: found for name, rule in MARGINS.items() if (found := margin_of(state, rule))}


def margins_apart(one: State, other: State) -> tuple[dict[str, Margin], dict[str, Margin]]:
    """Margins of two states, without those that both have the very same answer for.

    Of a state and a copy with a substitution that is all that can differ.
    """
    load_themes()
    rules = [rule for rule in MARGINS.values() if not one.shares(rule.compute, other)]
    return (
        {rule.name: found for rule in rules if (found := margin_of(one, rule))},
        {rule.name: found for rule in rules if (found := margin_of(other, rule))},
    )


@dataclass(frozen=True, slots=True)
class _Answered(Generic[Answer]):
    """What a function of a state answers, None where something is missing, and what it rests on."""

    answer: Answer | None
    rests_on: tuple[str, ...]
    missing: tuple[str, ...]
    hedge: str


def _answered(state: State, compute: Callable[[State], Answer]) -> _Answered[Answer] | None:
    """The answer of a function; None where the question has no sense for the axis."""
    answer: Answer | None = None
    missing: tuple[str, ...] = ()
    try:
        answer = state.ask(compute)
    except DoesNotApply:
        return None
    except Missing as error:
        missing = tuple(dict.fromkeys(error.names))
    rests, hedges = state.told(compute)
    return _Answered(answer, rests, missing, "; ".join(hedges))


def fact_of(state: State, rule: FactRule) -> Fact | None:
    """A fact; None where it has no sense for the axis."""
    found = _answered(state, rule.compute)
    if found is None:
        return None
    figure, rest = found.answer, (found.rests_on, found.missing, found.hedge)
    if figure is None:
        return Fact(rule.name, None, None, "unknown", "", *rest)
    return Fact(rule.name, figure.value, figure.unit, figure.bound, figure.basis, *rest)


def margin_of(state: State, rule: MarginRule) -> Margin | None:
    """A margin; None where it has no sense for the axis."""
    found = _answered(state, rule.compute)
    if found is None:
        return None
    held, rest = found.answer, (found.rests_on, found.missing, found.hedge)
    if held is None:
        return Margin(
            rule.name, rule.theme, rule.kind, None, None, None, None, "unknown", "", *rest
        )
    have, need, (ratio, bound) = held.have, held.need, ratio_of(held)
    return Margin(
        rule.name, rule.theme, "protects" if held.protects else rule.kind, have.value, need.value,
        have.unit, ratio, bound, f"{have.basis} against {need.basis}", *rest,
    )  # fmt: skip
