"""Whether a stop fits in the room between software limits and hard stops, in words.

No explainers of its own: what several themes need.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.position_limits import ROUNDING, hard_stops, rooms
from vault.behaviour.scale import unit
from vault.meaning.findings import is_linear, length_or_angle

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.quantities import Physical

SHORTAGE = {
    "beyond": "but the software limit {end} lies beyond the hard stop",
    "short": "but between software limit and hard stop {end} there are only {room}",
}
"""The end of a sentence that tells the way of a stop."""
END = {"both": "at either end", "one": "at the {end} end"}


def stops_for(view: AxisView, like: Physical) -> tuple[float, float] | None:
    """Hard stops in m or rad where they are recorded in the kind that the axis counts in."""
    stops = view.state.asked(hard_stops)
    return stops if (view.state.asked(unit) == "m") == is_linear(like) else None


def shortage(view: AxisView, way: float, like: Physical) -> str:
    """The part that says that a stop of this way ends beyond a hard stop; empty where it fits."""
    found = view.state.asked(rooms)
    if found is None or way <= found.least + ROUNDING:
        return ""
    end = "negative" if found.negative <= found.positive else "positive"
    alike = abs(found.negative - found.positive) <= ROUNDING
    return SHORTAGE["beyond" if found.least < 0 else "short"].format(
        end=END["both" if alike else "one"].format(end=end), room=length_or_angle(found.least, like)
    )
