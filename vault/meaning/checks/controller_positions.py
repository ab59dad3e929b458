"""Positions, limits and following error of the controller, against the drive's and the machine."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour.controller import Told
from vault.behaviour.controller_limits import (
    NamedEnds,
    controller_lag,
    drive_ends,
    drive_window,
    longest_way,
    machine_ends,
)
from vault.behaviour.position_limits import ROUNDING
from vault.meaning.checks import Complaint, cross_rule
from vault.meaning.checks.controller_motion import SPEEDS, asked_for
from vault.meaning.checks.controller_words import (
    OF_CONTROLLER,
    and_others,
    both,
    called,
    looks,
    ratio,
)
from vault.meaning.checks.sources import CLOSE
from vault.meaning.findings import figure, in_reader_units

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.controller_side import ControllerSide

BEYOND = (
    "{name} of the controller is at {position}{counted}, {over} beyond {ends} ({low} to {high}), "
    "if both sides count from one zero{others}."
)
COUNTED = " as the drive counts"
OWN_LIMITS = "the controller's own software limits"
NO_END = "no end"
TOO_LONG = (
    "{name} of the controller goes {way} at once, {limit} is {have}: {times} as much{others}."
)
WIDER = (
    "The controller's {end} software limit is at {own}{counted}, the drive's at {drive}: the drive "
    "stops the axis {over} before its controller does."
)
BEYOND_STOP = (
    "The controller's {end} software limit at {own}{counted} lies {over} beyond the hard stop at "
    "{drive}: it keeps the axis off nothing."
)
DISORDERED = (
    "The controller's software limits are out of order: the lower one is {low}, the upper one "
    "{high}."
)
DRIVE_FIRST = (
    "The controller trips at a following error of {own}, the drive at {drive}: the drive's comes "
    "first, and the controller's, {times} as wide, watches nothing."
)
DRIVE_WIDE = (
    "The drive trips at a following error of {drive}, the controller at {own}: without its "
    "controller the axis may stray {times} as far."
)
TRIPS = (
    "The controller trips at a following error of {own}; at {speed} ({name}) the axis is {lag} "
    "behind anyway: {times} as much."
)

_LOW, _HIGH = "controller_min_software_limit", "controller_max_software_limit"
_ABSOLUTE = ("controller_move_position", "controller_homing_position")
_ERROR = "controller_following_error_limit"
_MUCH_WIDER = 2
"""How many times the controller's window the drive's may be; our own choice."""


def controller_ends(side: ControllerSide) -> tuple[NamedEnds, tuple[Told, ...]] | None:
    """The controller's own software limits, where they are in order; nought and nought are none."""
    low, high = side.said.way(_LOW), side.said.way(_HIGH)
    found = tuple(one for one in (low, high) if one is not None)
    if low is not None and high is not None and low.size >= high.size:
        return None
    if not found:
        return None
    size = [None if one is None else one.size for one in (low, high)]
    return NamedEnds(size[0], size[1], OWN_LIMITS, ()), found


def _beyond(position: float, ends: NamedEnds) -> float:
    """How far a position lies beyond the ends; zero or less for one between them."""
    ways = [ends.low - position] if ends.low is not None else []
    ways += [position - ends.high] if ends.high is not None else []
    return max(ways)


@cross_rule
def controller_position(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """Positions of blocks lie between the hard stops, and between the limits of both sides."""
    told, own, turns = side.said.ways(*_ABSOLUTE), controller_ends(side), side.said.way_round
    every = (
        (machine_ends(view.state), "hazard", (), turns),
        (drive_ends(view.state), "travel", (), turns),
        *(() if own is None else ((own[0], "travel", own[1], 1),)),
    )
    outside: set[str] = set()
    for ends, consequence, limits, sign in every:
        if ends is None:
            continue
        found = [
            (way, one)
            for one in (Told(here.parameter, sign * here.size) for here in told)
            if one.parameter.code not in outside and (way := _beyond(one.size, ends)) > ROUNDING
        ]
        if not found:
            continue
        outside |= {one.parameter.code for _, one in found}
        way, worst = max(found, key=lambda pair: pair[0])
        low, high = (
            NO_END if end is None else in_reader_units(end, side.unit)
            for end in (ends.low, ends.high)
        )
        yield Complaint(
            "controller_position",
            consequence,
            BEYOND.format(
                name=called(worst.parameter),
                position=in_reader_units(worst.size, side.unit),
                counted=COUNTED if sign < 0 else "",
                over=in_reader_units(way, side.unit),
                ends=ends.name,
                low=low,
                high=high,
                others=and_others(len(found) - 1),
            ),
            looks(
                view, ends.rests_on, *(one.parameter for _, one in found),
                *(one.parameter for one in limits),
            ),
            (
                figure(called(worst.parameter), worst.size, OF_CONTROLLER, unit=side.unit),
                figure("beyond the end", way, ends.name, unit=side.unit),
            ),
        )  # fmt: skip


@cross_rule
def controller_distance(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """No relative move is longer than the way that there is."""
    limit = longest_way(view.state)
    if limit is None:
        return
    found = [
        one
        for one in side.said.ways("controller_move_distance")
        if abs(one.size) > limit.size * CLOSE
    ]
    if not found:
        return
    worst = max(found, key=lambda one: abs(one.size))
    yield Complaint(
        "controller_distance",
        "travel",
        TOO_LONG.format(
            name=called(worst.parameter),
            way=in_reader_units(abs(worst.size), side.unit),
            limit=limit.name,
            have=in_reader_units(limit.size, side.unit),
            times=ratio(abs(worst.size), limit.size),
            others=and_others(len(found) - 1),
        ),
        looks(view, limit.rests_on, *(one.parameter for one in found)),
        both(worst, limit, side.unit),
    )


@cross_rule
def controller_software_limit(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """The controller's software limits: in order, inside the hard stops, and inside the drive's."""
    low, high = side.said.way(_LOW), side.said.way(_HIGH)
    if low is not None and high is not None and low.size >= high.size:
        if low.size == high.size == 0:
            return  # both at nought: off (common practice, no source)
        ends = [in_reader_units(one.size, side.unit) for one in (low, high)]
        yield Complaint(
            "controller_software_limit",
            "hazard",
            DISORDERED.format(low=ends[0], high=ends[1]),
            looks(view, (), low.parameter, high.parameter),
            tuple(
                figure(called(one.parameter), one.size, OF_CONTROLLER, unit=side.unit)
                for one in (low, high)
            ),
        )
        return
    for name, told, sign in (("lower", low, -1), ("upper", high, 1)):
        if told is not None:
            yield from _limit(view, side, name, told, sign)


def _limit(
    view: AxisView, side: ControllerSide, name: str, told: Told, sign: int
) -> Iterator[Complaint]:
    turns = side.said.way_round
    sign, size = sign * turns, told.size * turns
    for ends, consequence, text in (
        (machine_ends(view.state), "hazard", BEYOND_STOP),
        (drive_ends(view.state), "travel", WIDER),
    ):
        end = None if ends is None else ends.high if sign > 0 else ends.low
        if ends is None or end is None or (beyond := sign * (size - end)) <= ROUNDING:
            continue
        yield Complaint(
            "controller_software_limit",
            consequence,
            text.format(
                end=name,
                own=in_reader_units(size, side.unit),
                counted=COUNTED if turns < 0 else "",
                drive=in_reader_units(end, side.unit),
                over=in_reader_units(beyond, side.unit),
            ),
            looks(view, ends.rests_on, told.parameter),
            (
                figure(called(told.parameter), size, OF_CONTROLLER, unit=side.unit),
                figure(ends.name, end, ", ".join(ends.rests_on), unit=side.unit),
            ),
        )
        return


@cross_rule
def controller_following_error(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """Following-error limits of both sides against each other, and against the lag there is."""
    own = side.said.way(_ERROR)
    if own is None or own.size <= 0:
        return
    shown = in_reader_units(own.size, side.unit)
    window = drive_window(view.state)
    if window is not None:
        drive = in_reader_units(window.size, side.unit)
        text, times = "", ""
        if own.size > window.size * CLOSE:
            text, times = DRIVE_FIRST, ratio(own.size, window.size)
        elif window.size > own.size * _MUCH_WIDER * CLOSE:
            text, times = DRIVE_WIDE, ratio(window.size, own.size)
        if text:
            yield Complaint(
                "controller_following_error",
                "dynamics",
                text.format(own=shown, drive=drive, times=times),
                looks(view, window.rests_on, own.parameter),
                both(own, window, side.unit),
            )
    speeds = asked_for(side.said.speeds(*SPEEDS))
    if not speeds:
        return
    fastest = max(speeds, key=lambda one: abs(one.size))
    lag = controller_lag(view.state, abs(fastest.size))
    if lag is None or lag.size <= own.size * CLOSE:
        return
    yield Complaint(
        "controller_following_error",
        "dynamics",
        TRIPS.format(
            own=shown,
            speed=in_reader_units(abs(fastest.size), f"{side.unit}/s"),
            name=called(fastest.parameter),
            lag=in_reader_units(lag.size, side.unit),
            times=ratio(lag.size, own.size),
        ),
        looks(view, lag.rests_on, own.parameter, fastest.parameter),
        both(own, lag, side.unit),
    )
