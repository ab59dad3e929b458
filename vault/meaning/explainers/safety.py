"""Safety functions: any change asks for acceptance anew, whatever it does to the motion.

Names of the functions by IEC 61800-5-2 (from memory). The tool shows them and never prepares them.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import of_kind
from vault.meaning.findings import seconds

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change

ACCEPT = "A safety function is set otherwise: the machine has to be accepted anew."
_ANEW = ": the safety function has to be accepted anew."
LONGER = "If the controlled stop fails, torque stays on for {delay} instead of {before}" + _ANEW
SHORTER = (
    "Power is taken off after {delay} instead of {before}, whether the axis stands or not" + _ANEW
)
WEAKER = {
    "safe_limited_speed": "The axis may go faster before the function acts" + _ANEW,
    "safe_operating_stop_window": "The axis may move further before the function acts" + _ANEW,
    "safe_limited_speed_delay": "The function begins to watch later" + _ANEW,
}


@explains("safe_stop_delay")
def stop_delay(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """SS1 with a timer: how long torque may stay on where the stop does not work."""
    before, after = (
        of_kind(change.left_physical, ("time",)),
        of_kind(change.right_physical, ("time",)),
    )
    if before is None or after is None:
        return Explanation(ACCEPT, "hazard")
    one, other = float(before.number()), float(after.number())
    if other > one:
        text = LONGER.format(delay=seconds(other), before=seconds(one))
    else:
        text = SHORTER.format(delay=seconds(other), before=seconds(one))
    return Explanation(text, "hazard")


@explains("safe_limited_speed", "safe_limited_speed_delay", "safe_operating_stop_window")
def limit(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """What a function lets pass: more is weaker."""
    before, after = change.left_physical, change.right_physical
    if before is None or after is None or before.kind != after.kind:
        return Explanation(ACCEPT, "hazard")
    is_weaker = after.number() > before.number()
    return Explanation(WEAKER[str(change.shown.role)] if is_weaker else ACCEPT, "hazard")


@explains("safe_torque_off_reaction", "safe_torque_off_monitoring", "safety_checksum")
def function(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Whatever else belongs to a safety function."""
    return Explanation(ACCEPT, "hazard")
