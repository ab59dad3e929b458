"""The controller's set beside the drive's, for rules that hold one against the other.

Only constants are judged: what a program writes elsewhere, or knows at run time only, is no number
that a set has.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from copy import copy
from typing import TYPE_CHECKING

from vault.behaviour.controller import Controller, base_role
from vault.behaviour.scale import unit as axis_unit
from vault.model import roles

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.parameters import Parameter

_NOT_WRITTEN = (roles.CONTROLLER, "identity", "status")
MISFIT = "the controller's program does not fit the drive as restored"
"""Before what is found between a drive that is restored and the set of its controller."""
_OBJECT = re.compile(r"0x[0-9A-F]{4}:[0-9A-F]{2}")


class ControllerSide:
    """What is known of the controller's side of an axis, and the drive that it is held against."""

    def __init__(self, drive: AxisView, view: AxisView) -> None:
        self.drive = drive
        self.view = view
        self.said = Controller(drive.state, (one for one in _constants(view)))

    @property
    def unit(self) -> str:
        """Unit of a position of the axis, m or rad; empty where nobody knows how it moves."""
        return self.drive.state.asked(axis_unit) or ""

    def start_up(self) -> Iterator[Parameter]:
        """Parameters of the drive that the controller writes when it starts."""
        for parameter in self.view.parameters.values():
            role = roles.find(parameter.role) if parameter.role else None
            is_object = role is None and _OBJECT.fullmatch(parameter.code) is not None
            if is_object or (role is not None and role.group not in _NOT_WRITTEN):
                yield parameter


def with_controller(drive: AxisView, controller: AxisView) -> AxisView:
    """The drive's state, with the controller's beside it."""
    together = copy(drive)
    together.controller = controller
    return together


def _constants(view: AxisView) -> Iterator[Parameter]:
    """What has a role: who reads a program gives none to what is no constant of it."""
    for parameter in view.parameters.values():
        role = roles.find(base_role(parameter.role)) if parameter.role else None
        if role is not None and role.group == roles.CONTROLLER:
            yield parameter
