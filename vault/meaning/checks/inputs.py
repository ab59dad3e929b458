"""Homing and over-travel: what the drive looks for must be wired to an input, and must stop it."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour import homing
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import codes, stated
from vault.meaning.explainers.inputs import function_of, inputs, serving
from vault.meaning.explainers.meanings import chosen_in
from vault.model import choices
from vault.model.parameters import Parameter

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

NO_SWITCH = "Homing method {method} looks for the {function} input, and no input has it."
NO_PULSE = (
    "Homing method {method} looks for the index pulse of an encoder, and the set says that there "
    "is none."
)
ONE_END = (
    "No input has the {function} function, though the other end has one: no switch stops the axis "
    "at its {end} end."
)
GOES_ON = {
    0: "Inputs are set up for over-travel switches, but the drive only takes note: a switch does "
    "not stop the axis.",
    1: "Inputs are set up for over-travel switches, but the drive only warns: a switch does not "
    "stop the axis.",
}
"""By the reaction to over-travel."""

_FUNCTION = "digital_input_function"
_NEGATIVE, _POSITIVE = "negative over-travel", "positive over-travel"


def is_missing(view: AxisView, function: str) -> bool:
    """Whether no input has a function: all of them say what they do, or could say that."""
    found = inputs(view)
    if not found or serving(view, function):
        return False
    return None not in found.values() or _can_be_told(view, function)


def _can_be_told(view: AxisView, function: str) -> bool:
    """Whether the family names this function among the choices of an input, in words we know.

    Our own table does not count: its numbers are no maker's.
    """
    ours = choices.table(_FUNCTION)
    for role in inputs(view):
        parameter = view.find(role)
        definition = view.definitions.get(parameter.code) if parameter is not None else None
        if definition is None or definition.choices is ours:
            continue
        for label in definition.choices.values():
            if function_of(Parameter("", "", 0, 0, label=label)) == function:
                return True
    return False


@rule
def homing_inputs(view: AxisView) -> Iterator[Complaint]:
    """A homing method needs the switch, or the pulse, that it looks for."""
    method, parameter = chosen_in(view, "homing_method"), view.find("homing_method")
    if method is None or parameter is None:
        return
    findings = (Finding("homing method", str(method), None, "CiA 402-2, from memory"),)
    for function, methods in homing.SWITCHES.items():
        if method in methods and is_missing(view, function):
            yield Complaint(
                "homing_inputs",
                "travel",
                NO_SWITCH.format(method=method, function=function),
                (parameter.code, *codes(view, *inputs(view))),
                findings,
            )
    encoder = view.find("encoder_type")
    label = (encoder.label or "").casefold() if encoder is not None else ""
    if homing.looks_for_pulse(method) and label == "none" and encoder is not None:
        yield Complaint(
            "homing_inputs",
            "travel",
            NO_PULSE.format(method=method),
            (parameter.code, encoder.code),
            findings,
        )


@rule
def overtravel_inputs(view: AxisView) -> Iterator[Complaint]:
    """One end with an over-travel input and the other without is an end that was forgotten."""
    for there, other in ((_POSITIVE, _NEGATIVE), (_NEGATIVE, _POSITIVE)):
        if not serving(view, there) or not is_missing(view, other):
            continue
        end = other.partition(" ")[0]
        yield Complaint(
            "overtravel_inputs",
            "hazard",
            ONE_END.format(function=other, end=end),
            codes(view, *inputs(view)),
            (Finding(f"inputs with {other}", "0", "1", "the set"),),
        )


@rule
def overtravel_reaction(view: AxisView) -> Iterator[Complaint]:
    """An over-travel switch that is wired must stop the axis."""
    kind, parameter = chosen_in(view, "overtravel_reaction"), view.find("overtravel_reaction")
    if parameter is None or kind not in GOES_ON:
        return
    if not serving(view, _POSITIVE) and not serving(view, _NEGATIVE):
        return
    yield Complaint(
        "overtravel_reaction",
        "hazard",
        GOES_ON[kind],
        (parameter.code,),
        (stated(parameter),),
    )
