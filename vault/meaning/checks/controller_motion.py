"""Speeds and ramps of the controller's blocks, against what drive, motor and machine leave them."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from vault.behaviour.controller_limits import (
    Limit,
    acceleration_limit,
    deceleration_limit,
    jog_limit,
    machine_limit,
    profile_limit_may_not_act,
    quick_stop,
    speed_limits,
    torque_for_acceleration,
    torque_for_deceleration,
)
from vault.behaviour.mode import makes_profiles
from vault.meaning.checks import Complaint, cross_rule
from vault.meaning.checks.controller_words import (
    and_others,
    both,
    called,
    looks,
    ratio,
)
from vault.meaning.checks.sources import CLOSE
from vault.meaning.findings import in_reader_units

if TYPE_CHECKING:
    from vault.behaviour.controller import Told
    from vault.meaning.axis_view import AxisView
    from vault.meaning.controller_side import ControllerSide

SAYS = {
    "controller_block_speed": "{name} of the controller asks for {asked}, {limit} is {have}: it "
    "asks for {times} as much as there is, and the axis {so}{others}.",
    "controller_machine_speed": "{name} of the controller asks for {asked}, the machine is built "
    "for {have}: that is {times} as much{others}.",
    "controller_profile_speed": "{name} of the controller asks for {asked}, {limit} is {have}: in "
    "this mode the drive may not cut it, to {times} as much as is meant{others}.",
    "controller_jog_speed": "{name} of the controller jogs at {asked}, the drive at {have}: "
    "{times} as fast{others}.",
    "controller_block_ramp": "{name} of the controller asks for {asked}, {limit} is {have}: "
    "{times} as much{others}.",
    "controller_block_torque": "{name} of the controller asks for {asked}, the torque limit gives "
    "{have} with the masses recorded: {times} as much{others}.",
    "controller_quick_stop": "{name} of the controller stops with {asked}, the drive's own quick "
    "stop with {have}: without its controller the axis takes {times} the way to stop.",
}
"""Sentences by rule."""
SO = {True: "runs slower than it is told", False: "falls behind"}
"""What becomes of it: by whether the drive makes its own profiles."""
SPEEDS = (
    "controller_move_velocity", "controller_jog_velocity", "controller_homing_velocity",
    "controller_max_velocity",
)  # fmt: skip
RISES = (
    "controller_move_acceleration", "controller_jog_acceleration",
    "controller_homing_acceleration", "controller_max_acceleration",
)  # fmt: skip
_STOP = "controller_stop_deceleration"
FALLS = (
    "controller_move_deceleration", "controller_jog_deceleration", _STOP,
    "controller_max_deceleration",
)  # fmt: skip
_CEILINGS = (
    "controller_max_velocity", "controller_max_acceleration", "controller_max_deceleration",
)  # fmt: skip
"""What the controller does not go beyond: a block may stay well below."""


def asked_for(told: Sequence[Told]) -> Sequence[Told]:
    """What blocks ask for; a ceiling of the controller only where no block asks for anything."""
    return [one for one in told if one.parameter.role not in _CEILINGS] or told


def _beyond(told: Sequence[Told], limit: Limit | None) -> list[Told]:
    """Blocks that ask for more than a limit, the greediest first."""
    found = (
        []
        if limit is None
        else [one for one in asked_for(told) if abs(one.size) > limit.size * CLOSE]
    )
    return sorted(found, key=lambda one: -abs(one.size))


def _complaint(
    side: ControllerSide, found: Sequence[Told], limit: Limit, rule: str, consequence: str
) -> Iterator[Complaint]:
    """One complaint of all blocks beyond a limit, about the greediest."""
    if not found:
        return
    worst, unit = found[0], f"{side.unit}/{'s' if rule.endswith('_speed') else 's^2'}"
    words = {
        "name": called(worst.parameter),
        "asked": in_reader_units(abs(worst.size), unit),
        "limit": limit.name,
        "have": in_reader_units(limit.size, unit),
        "times": ratio(abs(worst.size), limit.size),
        "others": and_others(len(found) - 1),
        "so": SO[makes_profiles(side.drive.state)],
    }
    yield Complaint(
        rule,
        consequence,
        SAYS[rule].format(**words),
        looks(side.drive, limit.rests_on, *(one.parameter for one in found)),
        both(worst, limit, unit),
    )


@cross_rule
def controller_block_speed(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """Speeds of blocks against the least that limits the drive in its mode, and the motor."""
    least = next(iter(speed_limits(view.state)), None)
    if least is None:
        return
    found = _beyond(side.said.speeds(*SPEEDS), least)
    yield from _complaint(side, found, least, "controller_block_speed", "dynamics")


@cross_rule
def controller_machine_speed(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """Speeds of blocks against what the machine is built for."""
    limit = machine_limit(view.state)
    if limit is None:
        return
    found = _beyond(side.said.speeds(*SPEEDS), limit)
    yield from _complaint(side, found, limit, "controller_machine_speed", "hazard")


@cross_rule
def controller_profile_speed(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """In cyclic modes the drive may not cut a speed to its own maximum: the controller is to."""
    limit = profile_limit_may_not_act(view.state)
    if limit is None:
        return
    found = _beyond(side.said.speeds(*SPEEDS), limit)
    yield from _complaint(side, found, limit, "controller_profile_speed", "dynamics")


@cross_rule
def controller_jog_speed(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """The controller jogs no faster than the drive does by its own set."""
    limit = jog_limit(view.state)
    if limit is None:
        return
    found = _beyond(side.said.speeds("controller_jog_velocity"), limit)
    yield from _complaint(side, found, limit, "controller_jog_speed", "dynamics")


@cross_rule
def controller_block_ramp(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """Ramps of blocks against the highest that the drive takes (60C5h, 60C6h)."""
    for roles, limit in (
        (RISES, acceleration_limit(view.state)),
        (FALLS, deceleration_limit(view.state)),
    ):
        if limit is not None:
            found = _beyond(side.said.ramps(*roles), limit)
            yield from _complaint(side, found, limit, "controller_block_ramp", "dynamics")


@cross_rule
def controller_block_torque(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """Ramps of blocks against what the torque limit gives, where the masses are recorded."""
    for roles, limit in (
        (RISES, torque_for_acceleration(view.state)),
        (FALLS, torque_for_deceleration(view.state)),
    ):
        if limit is not None:
            found = _beyond(side.said.ramps(*roles), limit)
            yield from _complaint(side, found, limit, "controller_block_torque", "dynamics")


@cross_rule
def controller_quick_stop(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """The drive's own quick stop is no gentler than the stop of the program."""
    limit = quick_stop(view.state)
    if limit is None:
        return
    found = _beyond(side.said.ramps(_STOP), limit)
    yield from _complaint(side, found, limit, "controller_quick_stop", "dynamics")
