"""Room between software limits and hard stops, and whether a stop fits in it.

No explainers of its own: what several themes need.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.meaning.explainers.meanings import WAY, chosen_in, sized
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

_LOW, _HIGH = "min_software_position_limit", "max_software_position_limit"
_ROUNDING = 1e-9
"""A way in m or rad that is nothing but rounding."""


def stops_for(view: AxisView, like: Physical) -> tuple[float, float] | None:
    """Hard stops in m or rad where they are recorded in the kind that the axis counts in."""
    stops, mechanics = view.hard_stops, view.mechanics
    measure = mechanics.hard_stop_high if mechanics is not None else None
    size = measure.physical() if measure is not None else None
    return stops if size is not None and is_linear(size) == is_linear(like) else None


def rooms(view: AxisView) -> list[tuple[str, float]]:
    """Way from software limit to hard stop at the negative and the positive end, m or rad.

    None of it where limits or stops are not known, or the limits are off.
    """
    low, high = sized(view, _LOW, WAY), sized(view, _HIGH, WAY)
    if low is None or high is None or low.kind != high.kind or low.ratio == high.ratio == 0:
        return []
    stops = stops_for(view, low)
    if stops is None:
        return []
    if chosen_in(view, "software_position_limits_used") == 0:
        return []
    return [
        ("negative", float(low.number()) - stops[0]),
        ("positive", stops[1] - float(high.number())),
    ]


def shortage(view: AxisView, way: float, like: Physical) -> str:
    """The part that says that a stop of this way ends beyond a hard stop; empty where it fits."""
    found = rooms(view)
    if not found:
        return ""
    end, room = min(found, key=lambda pair: pair[1])
    if way <= room + _ROUNDING:
        return ""
    alike = abs(found[0][1] - found[1][1]) <= _ROUNDING
    where = END["both" if alike else "one"].format(end=end)
    return SHORTAGE["beyond" if room < 0 else "short"].format(
        end=where, room=length_or_angle(room, like)
    )
