"""The speed that stops and drops begin at, and why it is not the commanded one."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.behaviour.speed import OWN_LIMIT, commanded_speed, worst_speed
from vault.meaning.margin_sentences import BELOW, amount

if TYPE_CHECKING:
    from vault.behaviour.facts import Figure, Margin
    from vault.behaviour.state import State

_ROUNDING = 1e-6
_TOLD_WITH = frozenset(name for name, text in BELOW.items() if "{speed}" in text)
"""Margins of stops and drops: their sentences name the speed."""


@dataclass(frozen=True, slots=True)
class StartSpeed:
    """The worst speed of an axis, and the one that it is commanded to have at most."""

    worst: Figure
    commanded: Figure | None

    @property
    def text(self) -> str:
        """The speed in the reader's unit."""
        return amount(self.worst.value, self.worst.unit)

    @property
    def why(self) -> str:
        """Why it is more than is commanded; empty where it is not."""
        commanded = self.commanded
        if commanded is None or self.worst.value <= commanded.value * (1 + _ROUNDING):
            return ""
        what = (
            "what the set's own limit leaves the motor"
            if self.worst.basis == OWN_LIMIT
            else "the motor's highest speed"
        )
        most = amount(commanded.value, commanded.unit)
        return (
            f"stops and drops begin at {self.text}, {what}: the {most} that are commanded at most "
            "hold only while the controller keeps to them"
        )


def start_speed(state: State) -> StartSpeed | None:
    """The speed that stops of a state begin at; None where it cannot be told."""
    worst = state.asked(worst_speed)
    return None if worst is None else StartSpeed(worst, state.asked(commanded_speed))


def begins_at_speed(margin: Margin) -> bool:
    """Whether a margin is about a stop or a drop from that speed."""
    return margin.name in _TOLD_WITH
