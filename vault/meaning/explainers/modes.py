"""Operating mode (6060h, CiA 402-2, from memory): what the drive itself looks after."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.position_limits import hard_stops
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import NO_MEANING, instead_of
from vault.model import choices
from vault.model.choices import chosen

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change

MODE = "The mode is {mode}{instead}."
WORDS = {
    1: "The drive itself makes the move from its profile speed and ramps.",
    2: "The drive keeps a speed and makes its own ramps; it controls no position.",
    3: "The drive keeps a speed on its profile ramps; it controls no position.",
    4: "The drive gives a torque; neither speed nor position is controlled.",
    6: "The axis starts its homing as soon as it is told to.",
    7: "The controller gives points of the way; the drive fills in between.",
    8: "The controller gives a position each interval; the drive's ramps have no effect.",
    9: "The controller gives a speed each interval; the drive controls no position.",
    10: "The controller gives a torque each interval; the drive controls neither speed nor "
    "position.",
}
"""By the number of the mode."""
MAKERS_OWN = "That mode is the maker's own: see the drive's manual."
SPEEDS_UP = "Without load the axis speeds up to its speed limit."
SINKS = "It hangs: too little torque lets the load sink."
HAS_ENDS = "The axis has ends: it may run into them."

_POSITION, _VELOCITY, _TORQUE, _HOMING = (1, 7, 8), (2, 3, 9), (4, 10, 11), 6


@explains("modes_of_operation")
def mode(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """What is controlled, and by whom."""
    number, before = chosen(change.right), chosen(change.left)
    if number is None:
        return None
    if number < 0:
        return Explanation(MAKERS_OWN, "dynamics")
    name = choices.label("modes_of_operation", number)
    if name is None:
        return Explanation(NO_MEANING, "dynamics")
    was = choices.label("modes_of_operation", before) if before is not None else None
    instead = instead_of(was.lower() if was else None, name.lower())
    said = [MODE.format(mode=name.lower(), instead=instead)]
    said += [WORDS[number]] if number in WORDS else []
    worst = "dynamics"
    if number in _TORQUE and before not in _TORQUE:
        said += [SPEEDS_UP, SINKS] if right.is_vertical else [SPEEDS_UP]
        worst = "hazard"
    elif number in _VELOCITY and before in (*_POSITION, _HOMING) and _has_ends(right):
        said.append(HAS_ENDS)
        worst = "hazard"
    return Explanation(" ".join(said), worst)


def _has_ends(view: AxisView) -> bool:
    return view.is_vertical or view.state.asked(hard_stops) is not None
