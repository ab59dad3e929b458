"""Homing that the controller's block asks for, against the drive's method, inputs and encoder."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour import homing
from vault.behaviour.controller_limits import drive_home
from vault.behaviour.position import multi_turn_bits
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, cross_rule
from vault.meaning.checks.controller_words import OF_CONTROLLER, called, looks, place
from vault.meaning.checks.inputs import is_missing
from vault.meaning.checks.sources import codes
from vault.meaning.explainers.inputs import inputs
from vault.meaning.explainers.meanings import chosen_in
from vault.meaning.findings import figure, in_reader_units
from vault.model.choices import chosen

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.controller_side import ControllerSide
    from vault.model.parameters import Parameter

OTHER_METHOD = (
    "{name} of the controller homes by method {own}, the drive is set to {drive}{opposite}: which "
    "one acts, the controller's program must tell."
)
SETS_ZERO_ANEW = (
    " By {own} the axis moves, and the zero of the drive's absolute encoder, of {bits} multi-turn "
    "bits, is set anew."
)
WHOSE = {"drive": "drive", "program": "same program"}
OPPOSITE = ", which starts the other way"
OTHER_WAY = (
    "{name} of the controller homes in the {own} direction, method {method} of the {whose} starts "
    "in the {drive} one."
)
NO_SWITCH = (
    "{name} of the controller homes by method {method}, which looks for the {function} input, and "
    "no input of the drive has it."
)
MOVES_ABSOLUTE = (
    "{name} of the controller homes by method {method}, which moves the axis, and the drive's "
    "encoder is absolute, of {bits} multi-turn bits: its zero is set anew."
)
OTHER_HOME = (
    "{name} of the controller sets home at {own}, the drive's home offset is {drive}: by the one "
    "or the other every position lies {apart} elsewhere."
)
EITHER = "{near} or {far}, by the sign that the drive's manual gives its offset,"

_METHOD, _POSITION = "controller_homing_method", "controller_homing_position"
_TURNS = "encoder_multi_turn_bits"
_DIRECTION = "controller_homing_direction"
_WAYS = {1: "positive", -1: "negative"}


def _method(method: int) -> Finding:
    return Finding("homing method of the controller", str(method), None, OF_CONTROLLER)


def _asked(side: ControllerSide) -> tuple[Parameter, int] | None:
    """The method that the block names, and its number."""
    parameter = side.said.find(_METHOD)
    method = chosen(parameter)
    return None if parameter is None or method is None else (parameter, method)


@cross_rule
def controller_homing_method(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """The method that the block asks for is the drive's (6098h).

    That it moves an axis whose encoder is absolute is told along, and by no rule of its own.
    """
    asked, drive = _asked(side), chosen_in(view, "homing_method")
    if asked is None or drive is None or asked[1] == drive:
        return
    parameter, method = asked
    opposite = homing.starts_opposite(method, drive)
    moves = homing.newly_moves(drive, method) or homing.newly_moves(method, drive)
    bits = view.state.asked(multi_turn_bits) if homing.moves(method) else None
    anew = SETS_ZERO_ANEW.format(own=method, bits=bits) if bits else ""
    yield Complaint(
        "controller_homing_method",
        "hazard" if opposite or moves else "travel",
        OTHER_METHOD.format(
            name=called(parameter), own=method, drive=drive, opposite=OPPOSITE if opposite else ""
        )
        + anew,
        (*codes(view, "homing_method"), place(parameter)),
        (_method(method), Finding("homing method", str(drive), None, "CiA 402-2, from memory")),
    )


@cross_rule
def controller_homing_direction(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """The block homes in the direction in which the method starts."""
    parameter, asked = side.said.find(_DIRECTION), _asked(side)
    number = chosen(parameter)
    drive = chosen_in(view, "homing_method") if asked is None else asked[1]
    if parameter is None or number not in (0, 1) or drive is None:
        return
    own, starts = (-1 if number == 1 else 1), homing.direction(drive)
    if own * side.said.way_round * starts >= 0:
        return
    yield Complaint(
        "controller_homing_direction",
        "hazard",
        OTHER_WAY.format(
            name=called(parameter), own=_WAYS[own], method=drive, drive=_WAYS[starts],
            whose=WHOSE["drive" if asked is None else "program"],
        ),
        (*codes(view, "homing_method"), place(parameter)),
        (
            Finding("homing direction of the controller", _WAYS[own], None, OF_CONTROLLER),
            Finding("homing method", str(drive), None, "CiA 402-2, from memory"),
        ),
    )  # fmt: skip


@cross_rule
def controller_homing_inputs(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """The switch that the block's method looks for is an input of the drive."""
    asked = _asked(side)
    if asked is None or asked[1] == chosen_in(view, "homing_method"):
        return  # that of the drive's own method is told of the drive
    parameter, method = asked
    for function, methods in homing.SWITCHES.items():
        if method in methods and is_missing(view, function):
            yield Complaint(
                "controller_homing_inputs",
                "travel",
                NO_SWITCH.format(name=called(parameter), method=method, function=function),
                (*codes(view, *inputs(view)), place(parameter)),
                (_method(method),),
            )


@cross_rule
def controller_homing_absolute(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """A drive that knows its place without power is not homed by a move."""
    asked, bits = _asked(side), view.state.asked(multi_turn_bits)
    if asked is None or bits is None or not homing.moves(asked[1]):
        return
    parameter, method = asked
    if chosen_in(view, "homing_method") not in (None, method):
        return  # told beside the method that the drive is set to
    told = _TURNS if view.find(_TURNS) is not None else "encoder.multi_turn_bits"
    yield Complaint(
        "controller_homing_absolute",
        "travel",
        MOVES_ABSOLUTE.format(name=called(parameter), method=method, bits=bits),
        looks(view, ("encoder_type", told), parameter),
        (_method(method), figure("multi-turn bits", float(bits), told, unit="bit")),
    )


@cross_rule
def controller_home(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """Home is at one place on both sides: position of the block, and home offset (607Ch)."""
    own, drive = side.said.way(_POSITION), drive_home(view.state)
    if own is None or drive is None:
        return
    size = own.size * side.said.way_round
    # By CiA 402-2 zero lies at home plus offset, and home at less the offset; many drives have home
    # at the offset itself (common practice, no source).
    either = sorted(abs(size - sign * drive.size) for sign in (1, -1))
    if either[0] <= drive.step:
        return
    apart = either[0]
    words = [in_reader_units(one, side.unit) for one in either]
    yield Complaint(
        "controller_home",
        "travel",
        OTHER_HOME.format(
            name=called(own.parameter),
            own=in_reader_units(size, side.unit),
            drive=in_reader_units(drive.size, side.unit),
            apart=words[0] if words[0] == words[1] else EITHER.format(near=words[0], far=words[1]),
        ),
        looks(view, ("home_offset",), own.parameter),
        (
            figure(called(own.parameter), size, OF_CONTROLLER, unit=side.unit),
            figure("home offset", drive.size, "607Ch", unit=side.unit),
            figure("apart", apart, "position and home offset, the nearer way", unit=side.unit),
        ),
    )
