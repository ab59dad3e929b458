"""Controller and drive in step, at one address, with data of one size, and one position loop."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour.controller_link import (
    IN_THE_CONTROLLER,
    IN_THE_DRIVE,
    goes_into,
    position_loop,
)
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, cross_rule
from vault.meaning.checks.controller_words import OF_CONTROLLER, called, place, places, ratio
from vault.meaning.checks.link import ADDRESSES, DATA_WAYS, drive_bits
from vault.meaning.checks.sources import LINK, codes
from vault.meaning.explainers.link import bus_cycle_of, drive_interval, recorded, stated
from vault.meaning.findings import digits, figure, seconds
from vault.model.choices import chosen

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.controller_side import ControllerSide
    from vault.model.parameters import Parameter

OUT_OF_STEP = (
    "{name} of the controller is {own}, {other} {interval}: {times}, and set points come late or "
    "are lost."
)
OTHERS = {
    "update": "its update interval is",
    "drive": "the drive expects set points every",
    "record": "axis.yaml has it",
}
VELOCITY_MODE = "the velocity mode"
UNEVEN = (
    "Set points come every {interval}, the controller's bus runs every {cycle}, which goes {times} "
    "into it: the axis runs in steps."
)
OTHER_CYCLE = "The controller's bus runs every {own}, by the drive (1006h) every {drive}: {times}."
NOBODY = (
    "By the controller's set the drive closes the position loop, by its mode ({mode}) the drive "
    "takes speeds or torques and closes none: nobody holds the position."
)
BOTH = (
    "By the controller's set the controller closes the position loop, by its mode ({mode}) the "
    "drive closes one too: two loops work on one axis."
)
OTHER_ADDRESS = "The controller looks for the drive at {what} {own}, {said}."
OTHER_SIZE = "The controller swaps {own} byte {way}, {said}."
DRIVE_HAS = "the drive has {value}"
RECORD_HAS = "axis.yaml says {value}"

_TASK, _UPDATE = "controller_task_interval", "controller_update_interval"
_OF_RECORD = ("update_interval", "task_period")
_SAME = 1e-9


def _time(side: ControllerSide, role: str) -> tuple[Parameter, float] | None:
    parameter = side.said.find(role)
    size = None if parameter is None else side.view.physical_of(parameter)
    if parameter is None or size is None or size.kind != "time" or size.ratio <= 0:
        return None
    return parameter, float(size.number())


@cross_rule
def controller_interval(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """Motion task, update interval and the drive's interval of set points (60C2h) are one.

    Common practice, no source. Logic tasks do not count.
    """
    own = [found for role in (_TASK, _UPDATE) if (found := _time(side, role)) is not None]
    if not own:
        return
    if len(own) == 2 and own[0][1] > own[1][1] + _SAME and goes_into(own[1][1], own[0][1]):
        own = own[1:]  # a program that calls blocks every few updates: set points come by these
    others: list[tuple[str, float, tuple[str, ...]]] = []
    if len(own) == 2:
        others.append((OTHERS["update"], own[1][1], (place(own[1][0]),)))
    drive = drive_interval(view)
    if drive is not None:
        others.append((OTHERS["drive"], drive[0], codes(view, *drive[1])))
    stated_times = [recorded(view, key, "time") for key in _OF_RECORD]
    others += [(OTHERS["record"], size, (LINK,)) for size in stated_times if size is not None]
    parameter, size = own[0]
    for words, other, where in others:
        if abs(size - other) <= _SAME:
            continue
        yield Complaint(
            "controller_interval",
            "link",
            OUT_OF_STEP.format(
                name=called(parameter), own=seconds(size), other=words, interval=seconds(other),
                times=ratio(size, other),
            ),
            tuple(dict.fromkeys((*where, place(parameter)))),
            (
                figure(called(parameter), size, OF_CONTROLLER, unit="s"),
                figure("held against", other, where[0] if where else "the set", unit="s"),
                figure("ratio", size / other, "one over the other", unit="1"),
            ),
        )  # fmt: skip
        return


@cross_rule
def controller_bus_cycle(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """The bus cycle divides the interval of set points (common practice, no source)."""
    cycle = _time(side, "controller_bus_cycle")
    if cycle is None:
        return
    own = next((f for role in (_UPDATE, _TASK) if (f := _time(side, role)) is not None), None)
    drive = drive_interval(view)
    interval = own[1] if own is not None else drive[0] if drive is not None else None
    of_drive = bus_cycle_of(view)
    figures = (figure(called(cycle[0]), cycle[1], OF_CONTROLLER, unit="s"),)
    where = () if own is None else (own[0],)
    if interval is not None and not goes_into(cycle[1], interval):
        yield Complaint(
            "controller_bus_cycle",
            "link",
            UNEVEN.format(
                interval=seconds(interval), cycle=seconds(cycle[1]),
                times=ratio(interval, cycle[1]),
            ),
            (*(() if own or drive is None else codes(view, *drive[1])), *places(cycle[0], *where)),
            (*figures, figure("interval of set points", interval, "task or 60C2h", unit="s")),
        )  # fmt: skip
    if of_drive is not None and abs(of_drive - cycle[1]) > _SAME:
        yield Complaint(
            "controller_bus_cycle",
            "link",
            OTHER_CYCLE.format(
                own=seconds(cycle[1]), drive=seconds(of_drive), times=ratio(cycle[1], of_drive)
            ),
            (*codes(view, "communication_cycle_period"), place(cycle[0])),
            (*figures, figure("bus cycle of the drive", of_drive, "1006h", unit="s")),
        )


@cross_rule
def controller_position_loop(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """One of both closes the position loop: by the drive's mode, and by the controller's set."""
    parameter, parameter_of_mode = side.said.find("controller_position_loop"), "modes_of_operation"
    by_set, by_mode = chosen(parameter), position_loop(view.state)
    if parameter is None or by_set not in (IN_THE_DRIVE, IN_THE_CONTROLLER):
        return
    if by_mode is None or by_mode == by_set:
        return
    found = view.find(parameter_of_mode)
    shown = view.shown(found) if found is not None else VELOCITY_MODE
    yield Complaint(
        "controller_position_loop",
        "hazard",
        (NOBODY if by_set == IN_THE_DRIVE else BOTH).format(mode=shown),
        (*codes(view, parameter_of_mode), place(parameter)),
        (
            Finding("position loop by the controller", str(by_set), None, OF_CONTROLLER),
            Finding("position loop by the mode", str(by_mode), None, "6060h"),
        ),
    )


def _against(drive: str | None, recorded: str | None, own: str) -> str:
    """What the other sides have that is not the controller's; empty where they agree with it."""
    said = []
    if drive is not None and drive != own:
        said.append(DRIVE_HAS.format(value=drive))
    if recorded is not None and recorded != own:
        said.append(RECORD_HAS.format(value=recorded))
    return ", ".join(said)


@cross_rule
def controller_address(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """The controller looks for the drive where it is: by its set, the drive's and axis.yaml."""
    for role, words in ADDRESSES.items():
        parameter, drive = side.said.find(f"controller_{role}"), view.find(role)
        if parameter is None or not isinstance(parameter.value, int):
            continue
        expected, own = stated(view, role), str(parameter.value)
        if expected is not None and not expected.isdecimal():
            expected = None
        said = _against(
            None if drive is None or not isinstance(drive.value, int) else str(drive.value),
            None if expected is None else str(int(expected)),
            own,
        )
        if said:
            yield Complaint(
                "controller_address",
                "link",
                OTHER_ADDRESS.format(what=words, own=own, said=said),
                (*codes(view, role), *((LINK,) if expected else ()), place(parameter)),
                (Finding(f"{words} of the controller", own, None, OF_CONTROLLER),),
            )


@cross_rule
def controller_data_size(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """Data have one size on all sides: as mapped (1A00h, 1600h), as set, and by axis.yaml."""
    for way, words in DATA_WAYS.items():
        parameter = side.said.find(f"controller_data_size_{way}")
        size = None if parameter is None else side.view.physical_of(parameter)
        if parameter is None or size is None or size.kind != "data":
            continue
        bits, where = drive_bits(view, way)
        wanted = recorded(view, f"process_data_{way}", "data")
        own = digits(float(size.number()) / 8)
        said = _against(
            None if bits is None else digits(bits / 8),
            None if wanted is None else digits(wanted / 8),
            own,
        )
        if said:
            yield Complaint(
                "controller_data_size",
                "link",
                OTHER_SIZE.format(own=own, way=words, said=said),
                (*where, *((LINK,) if wanted is not None else ()), place(parameter)),
                (Finding(f"data {words}", own, "byte", OF_CONTROLLER),),
            )
