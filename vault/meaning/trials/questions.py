"""What a trial asks of an axis, in the safe order; what is not fitted is not asked.

Inputs and the emergency stop come before motion, slow jog before moves, the brake before anything
that relies on it. The order is common practice, no source.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING, Literal

from vault.behaviour.force import hangs
from vault.behaviour.homing import SWITCHES, moves
from vault.behaviour.mode import holds_position, is_frequency_drive
from vault.behaviour.position import multi_turn_bits
from vault.behaviour.position_limits import hard_stops, limits_are_off
from vault.behaviour.scale import is_linear
from vault.meaning.explainers.inputs import inputs, serving
from vault.model.axis import TURNING

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

Answered = Literal["tick", "moves", "readings", "stops", "way"]
"""How a question is answered: a tick, or what is measured."""
LOW_SWITCH, HIGH_SWITCH, HOME_SWITCH = (
    "negative over-travel", "positive over-travel", "homing switch",
)  # fmt: skip
_SWITCH_WORDS = ("over_travel", "over-travel", "overtravel", "limit_switch", "limit switch")
_NO = 0


@dataclass(frozen=True, slots=True)
class Question:
    """A check: its name, the section of the sheet, what to do, and what to look for.

    `may_lack`: nobody recorded whether the axis has it, so `not_there` is an answer.
    """

    key: str
    section: str
    ask: str
    hint: str = ""
    answered: Answered = "tick"
    may_lack: bool = False


BEFORE = "Before anything moves"
FIRST = "First motion, at the slowest jog"
BRAKE = "The brake, with nobody beneath the load"
MEASURE = "Measured"
LAST = "The emergency stop, in motion"
SECTIONS = (BEFORE, FIRST, BRAKE, MEASURE, LAST)
_BY_HAND = "Work it by hand, and look at its input in the drive. Open wires must read as worked."
_ENDS = {"low": "lower", "high": "upper"}


def questions_of(view: AxisView) -> tuple[Question, ...]:
    """All that a trial of an axis asks, in the order in which it is done."""
    fitted = _Fitted(view)
    return (
        *_before_motion(fitted), *_first_motion(fitted), *_of_brake(fitted), *_measured(fitted),
        Question(
            "emergency_stop.reacts", LAST,
            "Press the emergency stop while the axis jogs slowly: it stops, and stays without "
            "power when it is pulled out again.",
            "Slow first, then at the speed that the risk assessment names. This is no acceptance "
            "of a safety function.",
        ),
    )  # fmt: skip


class _Fitted:
    """What an axis has, as its record and its set tell; None where neither does."""

    def __init__(self, view: AxisView) -> None:
        self.view, state = view, view.state
        self.has_positions = holds_position(state)
        self.one_way = is_frequency_drive(state)
        turns = state.asked(is_linear) is False or state.record("mechanics.kind") in TURNING
        limits = state.asked(limits_are_off) is False
        self.has_ends = self.has_positions and not (
            turns and state.asked(hard_stops) is None and not limits
        )
        self.hangs = bool(state.asked(hangs))
        self.brake = self._brake()
        self.method = state.choice("homing_method")

    def _brake(self) -> bool:
        said, used = self.view.has_brake, self.view.state.choice("brake_used")
        if said is not None:
            return said
        return self.hangs if used is None else used != _NO

    def switch(self, function: str) -> bool | None:
        """Whether an input has a function; None where nobody says."""
        view, method = self.view, self.method
        if serving(view, function) or (method is not None and method in SWITCHES[function]):
            return True
        if function != HOME_SWITCH and self._is_in_cabinet():
            return True
        found = inputs(view)
        if found and None not in found.values():
            return False
        return None if function == HOME_SWITCH or self.has_ends else False

    def _is_in_cabinet(self) -> bool:
        cabinet = self.view.axis.cabinet if self.view.axis is not None else {}
        said = " ".join(f"{key} {value}" for key, value in cabinet.items()).casefold()
        return any(word in said for word in _SWITCH_WORDS)

    @property
    def homes(self) -> bool:
        """Whether the axis moves when it is homed, as far as is known."""
        if not self.has_positions:
            return False
        if self.method is not None:
            return moves(self.method)
        return self.view.state.asked(multi_turn_bits) is None


def _before_motion(fitted: _Fitted) -> Iterator[Question]:
    yield Question(
        "inputs.emergency_stop", BEFORE,
        "Press the emergency stop while the axis stands: the drive loses its power, and does not "
        "get it back by itself.",
        "Keep people out: a machine may start unexpectedly (ISO 14118). Before it works nothing "
        "is moved.",
    )  # fmt: skip
    for end, function in (("low", LOW_SWITCH), ("high", HIGH_SWITCH)):
        has = fitted.switch(function)
        if has is not False:
            text = f"Work the over-travel switch at the {_ENDS[end]} end: the drive shows it."
            key = f"inputs.over_travel_{end}"
            yield Question(key, BEFORE, text, _BY_HAND, may_lack=has is None)
    if fitted.homes and (has := fitted.switch(HOME_SWITCH)) is not False:
        text = "Work the homing switch: the drive shows it."
        yield Question("inputs.home", BEFORE, text, _BY_HAND, may_lack=has is None)


def _first_motion(fitted: _Fitted) -> Iterator[Question]:
    slow = "At the slowest jog, a hand at the emergency stop, nobody within reach."
    down = " A load that hangs must not be able to fall on anybody." if fitted.hangs else ""
    for way in ("positive", "negative"):
        yield Question(
            f"direction.{way}", FIRST,
            f"Jog a little the {way} way: the axis moves the way that the machine calls {way}.",
            slow + down, may_lack=fitted.one_way and way == "negative",
        )  # fmt: skip
    yield Question(
        "jog.stops", FIRST, "Let the jog button go: the axis stops at once, and stays.", slow
    )
    for end, function in (("low", LOW_SWITCH), ("high", HIGH_SWITCH)):
        has = fitted.switch(function)
        if has is not False:
            yield Question(
                f"jog.over_travel_{end}", FIRST,
                f"Jog slowly onto the over-travel switch at the {_ENDS[end]} end: the axis stops "
                "by itself, and can only be moved off it.",
                "Mind the way that is left to the hard stop.", may_lack=has is None,
            )  # fmt: skip


def _of_brake(fitted: _Fitted) -> Iterator[Question]:
    if not fitted.brake:
        return
    beneath = "Nobody beneath the load; prop it up where it could fall. " if fitted.hangs else ""
    yield Question(
        "brake.holds", BRAKE,
        "With the brake closed, let the motor push against it: the axis does not move.",
        f"{beneath}By the drive's own brake test, or with a torque limit that the drive's and the "
        "brake's makers allow.",
    )  # fmt: skip


def _measured(fitted: _Fitted) -> Iterator[Question]:
    if not fitted.has_positions:
        return
    yield Question(
        "moves", MEASURE,
        "Move a way that can be measured, each way: what was commanded, and what the machine did.",
        "Slowly. Measure at the machine, not in the drive; write the sign of both.", "moves",
    )  # fmt: skip
    if fitted.homes:
        yield Question(
            "home", MEASURE,
            "Home several times over, and measure each time where a mark on the machine stands.",
            "From both sides of the switch, and from far and near.", "readings",
        )  # fmt: skip
    yield Question(
        "stops", MEASURE,
        "Stop the axis from a speed that it holds, and measure the way until it stands.",
        "First slowly; the way is longer with the square of the speed.", "stops",
    )  # fmt: skip
    if fitted.brake and fitted.hangs:
        yield Question(
            "drop", MEASURE,
            "Switch the drive off while the axis stands: measure how far the load sinks until the "
            "brake holds it.",
            "Nobody beneath the load.", "way",
        )  # fmt: skip
