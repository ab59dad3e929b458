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
from vault.model.choices import chosen

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.model.parameters import Parameter

_NOT_WRITTEN = (roles.CONTROLLER, "identity", "status")
MISFIT = "the controller's program does not fit the drive as restored"
"""Before what is found between a drive that is restored and the set of its controller."""
_OF_STANDARD = "0x60"
"""How codes of the factor group of CiA 402-2 begin."""
_ROUNDED = 1e-9
_OBJECT = re.compile(r"0x[0-9A-F]{4}:[0-9A-F]{2}")


class ControllerSide:
    """What is known of the controller's side of an axis, and the drive that it is held against."""

    def __init__(self, drive: AxisView, view: AxisView) -> None:
        self.drive = drive
        self.view = view
        feed = drive.find("feed_constant_feed")
        in_units = feed is not None and feed.code.startswith(_OF_STANDARD)
        self.said = Controller(drive.state, _constants(view), in_units=in_units)

    @property
    def unit(self) -> str:
        """Unit of a position of the axis, m or rad; empty where nobody knows how it moves."""
        return self.drive.state.asked(axis_unit) or ""

    def start_up(self) -> Iterator[Parameter]:
        """Parameters of the drive that the controller writes when it starts."""
        for parameter in self.view.parameters.values():
            role = roles.find(parameter.role) if parameter.role else None
            is_object = role is None and _OBJECT.fullmatch(parameter.code) is not None
            is_set = role is not None and role.group not in _NOT_WRITTEN and not role.volatile
            if is_object or is_set:
                yield parameter

    def written_over(self) -> Iterator[tuple[Parameter, Parameter]]:
        """The same, each with what the drive has of it.

        What the drive has not is left out, and what only its file has, as a default.
        """
        for written in self.start_up():
            by_role = self.drive.find(written.role) if written.role else None
            own = by_role if written.role else self.drive.parameters.get(written.code)
            if own is not None and own.code not in self.drive.defaults:
                yield written, own

    def writes_the_same(self, written: Parameter, own: Parameter) -> bool:
        """Whether the drive keeps what it has: by its meaning, by its size, else by the number.

        What is written is in the drive's units, whatever the controller's are.
        """
        meanings = chosen(written), chosen(own)
        if None not in meanings:
            return meanings[0] == meanings[1]
        sizes = self.drive.physical_of(written), self.drive.physical_of(own)
        if sizes[0] is not None and sizes[1] is not None and sizes[0].kind == sizes[1].kind:
            one, other = (float(size.number()) for size in sizes if size is not None)
            return abs(one - other) <= _ROUNDED * max(abs(one), abs(other))
        return written.value == own.value


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
