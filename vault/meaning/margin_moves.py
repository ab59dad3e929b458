"""Margins that are not the same on two sides."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from collections.abc import Mapping

    from vault.behaviour.facts import Margin


@dataclass(frozen=True, slots=True)
class MarginMove:
    """A margin on two sides; None where it has no sense there."""

    name: str
    before: Margin | None
    after: Margin | None

    @property
    def margin(self) -> Margin:
        """The margin as it is afterwards, else as it was."""
        found = self.after or self.before
        if found is None:
            raise ValueError("a move without margins")
        return found

    @property
    def turned(self) -> MarginMove:
        """The move the other way."""
        return MarginMove(self.name, self.after, self.before)

    @property
    def moves(self) -> bool:
        """Whether it is another ratio than it was."""
        one, other = (side.ratio if side else None for side in (self.before, self.after))
        if one is None or other is None:
            return (one is None) != (other is None)
        return one != other and abs(one - other) > 1e-9 * max(abs(one), abs(other))


def moves(before: Mapping[str, Margin], after: Mapping[str, Margin]) -> tuple[MarginMove, ...]:
    """Margins that are not the same on both sides."""
    names = [*before, *(name for name in after if name not in before)]
    found = (MarginMove(name, before.get(name), after.get(name)) for name in names)
    return tuple(move for move in found if move.moves)
