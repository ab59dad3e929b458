"""Reactions to stop, halt, fault and lost connection, with the stop category of IEC 60204-1."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.meaning.explainers import Explanation, explains

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change

# Stop categories by IEC 60204-1, 9.2.2 (from memory): 0 power off at once, 1 controlled and then
# off, 2 controlled and power stays.
_CATEGORY = {
    0: "an uncontrolled stop, category 0 of IEC 60204-1",
    1: "a controlled stop and power off after it, category 1 of IEC 60204-1",
    2: "a controlled stop with power kept, category 2 of IEC 60204-1",
}


def category(role: str, code: int) -> int | None:
    """Stop category of an option code; None where the standard gives it no meaning."""
    if role == "halt_option_code":
        return 2 if 1 <= code <= 4 else None
    if code == 0:
        return 0
    if 1 <= code <= 4:
        return 1
    return 2 if 5 <= code <= 8 and role == "quick_stop_option_code" else None


@explains(
    "quick_stop_option_code",
    "shutdown_option_code",
    "disable_operation_option_code",
    "halt_option_code",
    "fault_reaction_option_code",
)
def reaction(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Name the stop category, and what it means for a hanging load."""
    role = str(change.shown.role)
    code = right.choice(role)
    if code is None:
        return None
    found = category(role, code)
    if found is None:
        return None
    before_code = left.choice(role)
    before = category(role, before_code) if before_code is not None else None
    text = f"That is {_CATEGORY[found]}."
    if found == 0 and before != 0:
        text += " The axis coasts until friction, or the end of its way, stops it."
        if right.is_vertical:
            text += " It hangs: until the brake closes the load falls."
        return Explanation(text, "hazard")
    return Explanation(text, "dynamics")


@explains("abort_connection_option_code")
def lost_connection(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """An axis that goes on without its controller."""
    if right.choice("abort_connection_option_code") == 0:
        return Explanation("The axis goes on moving when its controller is gone.", "hazard")
    return Explanation("This is what the axis does when its controller is gone.", "dynamics")
