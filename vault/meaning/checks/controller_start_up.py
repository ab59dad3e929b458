"""What the controller writes into the drive when it starts, against what the drive has."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour import homing
from vault.behaviour.controller import MOST_OFF
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, cross_rule
from vault.meaning.checks.controller_words import OF_CONTROLLER, place
from vault.meaning.consequences import usual_consequence
from vault.meaning.explainers.meanings import chosen_in
from vault.meaning.findings import digits
from vault.meaning.sentences import value_text
from vault.model import roles
from vault.model.choices import chosen

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.controller_side import ControllerSide
    from vault.model.parameters import Parameter
    from vault.model.roles import Role

WRITES = (
    "The controller writes {name} = {own} when it starts, the drive has {drive}: after the next "
    "start it has the controller's{times}. Check a restore after a power cycle of both."
)
TIMES = ", {ratio} times the drive's"
_HOMING = "homing_method"
_TURNS = ("polarity", "encoder_direction")
_MAPPING = ("0x16", "0x1A", "0x1C1")
"""Objects that say which data are swapped, and in which order (CiA 301, from memory)."""


@cross_rule
def controller_start_up(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """What the controller writes into the drive when it starts is what the drive has."""
    together = _turns_together(view, list(side.start_up()))
    for written, own in side.written_over():
        if side.writes_the_same(written, own):
            continue
        role = roles.find(written.role) if written.role else None
        yield Complaint(
            "controller_start_up",
            _class(view, written, role, together),
            WRITES.format(
                name=own.name, own=view.shown(written), drive=view.shown(own),
                times=_times(view, written, own),
            ),
            (own.code, place(written)),
            (
                Finding(
                    f"controller: {written.name}", _plain(written), written.unit, OF_CONTROLLER
                ),
                Finding(own.name, _plain(own), own.unit, "the set"),
            ),
        )  # fmt: skip


def _turns_together(view: AxisView, written: Sequence[Parameter]) -> Fraction | None:
    """Motor turns for a way once all is written: 8:2 is 4:1, though neither number is the same."""
    found = {one.role: one for one in written if one.role is not None}
    return view.with_others(found).scaling.motor_turns


def _class(view: AxisView, written: Parameter, role: Role | None, together: Fraction | None) -> str:
    """What it is about: a hazard where the next start turns the motion, or scales it otherwise.

    What another one that is written makes up for is none.
    """
    if role is None:
        return "link" if written.code.startswith(_MAPPING) else "unclassified"
    if role.name in _TURNS:
        return "hazard"
    if role.name == _HOMING and _homes_otherwise(view, written):
        return "hazard"
    own = view.scaling.motor_turns
    other = view.with_others({role.name: written}).scaling.motor_turns
    if own and other and other != own and together == own:
        return "record"
    if own and other and abs(other / own - 1) > MOST_OFF:
        return "hazard"
    return usual_consequence(role)


def _homes_otherwise(view: AxisView, written: Parameter) -> bool:
    """Whether homing starts the other way by what is written, or moves an axis that it did not."""
    before, after = chosen_in(view, _HOMING), chosen(written)
    if before is None or after is None:
        return False
    return homing.starts_opposite(before, after) or homing.newly_moves(before, after)


def _times(view: AxisView, written: Parameter, own: Parameter) -> str:
    sizes = view.physical_of(written), view.physical_of(own)
    if sizes[0] is None or sizes[1] is None or sizes[0].kind != sizes[1].kind:
        return ""
    if not sizes[1].ratio or not sizes[0].ratio:
        return ""
    return TIMES.format(ratio=digits(float(sizes[0] / sizes[1]), 3))


def _plain(parameter: Parameter) -> str:
    return value_text(parameter).replace(",", "") if parameter.label else str(parameter.value)
