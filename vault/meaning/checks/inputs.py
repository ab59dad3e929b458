"""Homing and over-travel: what the drive looks for must be wired to an input."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import codes

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView


_NEEDED_INPUTS = {
    "negative over-travel": (1, 11, 12, 13, 14, 17),
    "positive over-travel": (2, 7, 8, 9, 10, 18),
    "homing switch": (*range(3, 15), *range(19, 31)),
}


@rule
def homing_inputs(view: AxisView) -> Iterator[Complaint]:
    """A homing method needs the switch that it looks for."""
    method = view.choice("homing_method")
    if method is None or view.find("digital_input_function") is None:
        return
    roles = ["digital_input_function", *(f"digital_input_function.{n}" for n in range(1, 33))]
    inputs = [view.find(name) for name in roles]
    assigned = {(p.label or "").casefold() for p in inputs if p is not None}
    for function, methods in _NEEDED_INPUTS.items():
        if method in methods and not any(function in label for label in assigned):
            if function != "homing switch" and method > 2 and method not in (17, 18):
                continue  # these only turn round at the limit switch
            yield Complaint(
                "homing_inputs",
                "travel",
                f"Homing method {method} looks for the {function} input, and no input has it.",
                codes(view, "homing_method"),
            )


@rule
def overtravel_inputs(view: AxisView) -> Iterator[Complaint]:
    """One end with an over-travel input and the other without is an end that was forgotten."""
    roles = ["digital_input_function", *(f"digital_input_function.{n}" for n in range(1, 33))]
    inputs = [view.find(name) for name in roles]
    assigned = {(p.label or "").casefold() for p in inputs if p is not None}
    ends = {
        end: any(f"{end} over-travel" in a for a in assigned) for end in ("positive", "negative")
    }
    if ends["positive"] != ends["negative"]:
        missing = next(end for end, there in ends.items() if not there)
        yield Complaint(
            "overtravel_inputs",
            "hazard",
            f"No input has the {missing} over-travel function, though the other end has one.",
            codes(view, *roles),
        )
