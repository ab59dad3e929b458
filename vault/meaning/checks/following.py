"""A following error window that is none.

That it is wider than the lag, and what it lets through of the room, margins say.
"""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour.following import is_off
from vault.behaviour.stop import WINDOW
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import holds_position, stated

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

SWITCHED_OFF = (
    "The following error window is switched off (FFFFFFFFh): however far the axis strays from "
    "where it should be, nothing stops it."
)
ZERO = (
    "The following error window is 0: whether the drive then trips at once or does not watch at "
    "all, its manual must tell."
)


@rule
def window_off(view: AxisView) -> Iterator[Complaint]:
    """A window that is switched off protects nothing, and one of zero trips, or does not."""
    parameter = view.find(WINDOW)
    if parameter is None or not holds_position(view):
        return
    if is_off(view.state, WINDOW):
        said = SWITCHED_OFF
    elif parameter.value == 0:
        said = ZERO
    else:
        return
    yield Complaint("window_off", "hazard", said, (parameter.code,), (stated(parameter),))
