"""The reference move on two sides, for a picture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.behaviour.move import reference_move, reference_way

if TYPE_CHECKING:
    from vault.behaviour.move import MoveProfile
    from vault.meaning.axis_view import AxisView


@dataclass(frozen=True, slots=True)
class TwoProfiles:
    """The same move before and after; `unit` is that of its way, m or rad."""

    before: MoveProfile
    after: MoveProfile
    unit: str


def two_profiles(left: AxisView, right: AxisView) -> TwoProfiles | None:
    """Profiles of both sides, where both are known, of one move, and one sees that they differ."""
    before, after = (view.state.asked(reference_move) for view in (left, right))
    ways = [view.state.asked(reference_way) for view in (left, right)]
    if before is None or after is None or ways[0] != ways[1] or ways[1] is None:
        return None
    return None if before.looks_like(after) else TwoProfiles(before, after, ways[1].unit)
