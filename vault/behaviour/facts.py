"""What is known of an axis: facts, and margins that hold one against what it must stay below.

A fact or margin is a function of a state (`vault.behaviour.state`), registered under a name that
stays: people put floors under margins by name. `bound` says what a figure is: `exact`, or the true
one is `at_least` or `up_to` so much, or `unknown` because of what is `missing`.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING, Literal

if TYPE_CHECKING:
    from vault.behaviour.state import State

Bound = Literal["exact", "at_least", "up_to", "unknown"]
Kind = Literal["protects", "availability"]
_OPPOSITE: dict[Bound, Bound] = {
    "exact": "exact", "at_least": "up_to", "up_to": "at_least", "unknown": "unknown",
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Figure:
    """A figure in SI, what bounds it, and the formula it comes from."""

    value: float
    unit: str
    basis: str
    bound: Bound = "exact"


def exact_unless(doubt: bool | float, bound: Bound) -> Bound:
    """`exact`, unless there is a doubt: then the bound."""
    return bound if doubt else "exact"


def together(*bounds: Bound) -> Bound:
    """What bounds a figure that grows with several: unknown, where they pull apart."""
    found = set(bounds) - {"exact"}
    if not found:
        return "exact"
    return found.pop() if len(found) == 1 else "unknown"


@dataclass(frozen=True, slots=True)
class Held:
    """What a margin function finds: what there is, what it must cover, and which ones they are.

    `protects`: here it does, though the margin usually is of the other kind.
    """

    have: Figure
    need: Figure
    protects: bool = False


@dataclass(frozen=True, slots=True)
class Fact:
    """A quantity of an axis. `value` is None where it is unknown because of what is `missing`.

    `rests_on` are roles, and keys of the axis record (`mechanics.lead`); a `hedge` says what a
    maker may do otherwise.
    """

    quantity: str
    value: float | None
    unit: str | None
    bound: Bound
    basis: str
    rests_on: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    hedge: str = ""


@dataclass(frozen=True, slots=True)
class Margin:
    """A figure held against what it must stay above: `ratio` is have over need, 1 is the edge.

    `protects`: people or machine depend on it; `availability`: the axis stops, or does less. `need`
    may be without end, where nothing stops the axis: the ratio is 0 then. `bound` is that of the
    ratio.
    """

    name: str
    theme: str
    kind: Kind
    have: float | None
    need: float | None
    unit: str | None
    ratio: float | None
    bound: Bound
    basis: str
    rests_on: tuple[str, ...] = ()
    missing: tuple[str, ...] = ()
    hedge: str = ""

    @property
    def is_known(self) -> bool:
        """Whether there is a ratio."""
        return self.ratio is not None


FactFunction = Callable[["State"], Figure]
MarginFunction = Callable[["State"], Held]


@dataclass(frozen=True, slots=True)
class FactRule:
    """A registered fact: the unit is the figure's own."""

    name: str
    theme: str
    compute: FactFunction


@dataclass(frozen=True, slots=True)
class MarginRule:
    """A registered margin. `may_shrink`: down to 1 nothing is lost, as the figure is a limit."""

    name: str
    theme: str
    kind: Kind
    title: str
    compute: MarginFunction
    may_shrink: bool = False


FACTS: dict[str, FactRule] = {}
MARGINS: dict[str, MarginRule] = {}


def fact(name: str) -> Callable[[FactFunction], FactFunction]:
    """Register a fact under a quantity's name; its theme is the module that it stands in."""

    def register(function: FactFunction) -> FactFunction:
        if name in FACTS:
            raise ValueError(f"two facts are called {name}")
        FACTS[name] = FactRule(name, _theme(function), function)
        return function

    return register


def margin(
    name: str, kind: Kind, title: str, *, may_shrink: bool = False
) -> Callable[[MarginFunction], MarginFunction]:
    """Register a margin; `title` says in the trade's words what is held against what."""

    def register(function: MarginFunction) -> MarginFunction:
        if name in MARGINS:
            raise ValueError(f"two margins are called {name}")
        MARGINS[name] = MarginRule(name, _theme(function), kind, title, function, may_shrink)
        return function

    return register


def _theme(function: Callable[..., object]) -> str:
    return function.__module__.rpartition(".")[2]


_ROUNDING = 1e-9


def ratio_of(held: Held) -> tuple[float, Bound]:
    """Have over need, and what bounds it: a need of `up_to` so much leaves at least that share."""
    have, need = held.have, held.need
    if need.value <= 0:
        value = inf if have.value >= 0 else -inf
    elif need.value == inf:
        value = 1.0 if have.value == inf else 0.0
    else:
        value = have.value / need.value
        if abs(value - 1) <= _ROUNDING:
            value = 1.0  # what floating point loses takes nobody over the edge
    return value, together(have.bound, _of_need(held))


def _of_need(held: Held) -> Bound:
    """What the bound of the need makes of the ratio: of a have below zero less need leaves less."""
    if held.have.value < 0:
        return held.need.bound
    if held.have.value == 0 and held.need.value > 0:
        return "exact"  # nothing is there, whatever is needed
    return _OPPOSITE[held.need.bound]
