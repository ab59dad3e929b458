"""Drive and controller: in step, at one address, with data of one size."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour.controller_link import mapped_bits
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import LINK, codes
from vault.meaning.explainers.link import drive_interval, recorded, task_period_of, uneven
from vault.meaning.explainers.link import stated as recorded_text
from vault.meaning.explainers.meanings import sized
from vault.meaning.findings import digits, figure, seconds

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

OUT_OF_STEP = "The drive expects data every {interval}, the controller's task runs every {period}."
UNEVEN = (
    "Set points come every {interval}, the bus runs every {cycle}, which does not divide it: the "
    "axis runs in steps."
)
OTHER_ADDRESS = "The drive has the {what} {address}, the controller looks for it at {expected}."
OTHER_SIZE = "The drive is set up for {has} byte {way}, the controller for {needs} byte."

ADDRESSES = {"node_address": "node address", "station_alias": "station alias"}
DATA_WAYS = {"in": "from drive to controller", "out": "from controller to drive"}


@rule
def update_interval(view: AxisView) -> Iterator[Complaint]:
    """Drive and controller must work in step (common practice, no source)."""
    expected, period = drive_interval(view), task_period_of(view)
    if expected is None or period is None or abs(expected[0] - period) <= 1e-9:
        return
    interval, roles = expected
    places = (*codes(view, *roles), *(codes(view, "task_period") or (LINK,)))
    yield Complaint(
        "update_interval",
        "link",
        OUT_OF_STEP.format(interval=seconds(interval), period=seconds(period)),
        places,
        (
            figure("interval of the drive", interval, "the set", unit="s"),
            figure("task period", period, "the set, else axis.yaml", unit="s"),
        ),
    )


@rule
def bus_cycle(view: AxisView) -> Iterator[Complaint]:
    """The bus cycle divides the interval of set points (common practice, no source)."""
    apart = uneven(view)
    if apart is None:
        return
    yield Complaint(
        "bus_cycle",
        "link",
        UNEVEN.format(interval=seconds(apart[0]), cycle=seconds(apart[1])),
        codes(view, "interpolation_time_period", "update_interval", "communication_cycle_period"),
        (figure("bus cycle", apart[1], "1006h", unit="s"),),
    )


@rule
def controller_agreement(view: AxisView) -> Iterator[Complaint]:
    """Address and data sizes are those that the controller is set up for."""
    for role, words in ADDRESSES.items():
        parameter, expected = view.find(role), recorded_text(view, role)
        if parameter is None or expected is None or not isinstance(parameter.value, int):
            continue
        if not expected.isdecimal() or parameter.value == int(expected):
            continue
        yield Complaint(
            "controller_agreement",
            "link",
            OTHER_ADDRESS.format(what=words, address=parameter.value, expected=expected),
            (parameter.code, LINK),
            (Finding(words, str(parameter.value), None, "the set"),),
        )
    for way, words in DATA_WAYS.items():
        bits, places = drive_bits(view, way)
        wanted = recorded(view, f"process_data_{way}", "data")
        if bits is None or wanted is None or bits == wanted:
            continue
        has, needs = (digits(number / 8) for number in (bits, wanted))
        yield Complaint(
            "controller_agreement",
            "link",
            OTHER_SIZE.format(has=has, way=words, needs=needs),
            (*places, LINK),
            (Finding(f"data {words}", has, "byte", "the set"),),
        )


def drive_bits(view: AxisView, way: str) -> tuple[float | None, tuple[str, ...]]:
    """Bits of the data that the drive swaps, as set, else as mapped; and where that stands."""
    role = f"process_data_{way}_size"
    size = sized(view, role, ("data",))
    if size is not None:
        return float(size.number()), codes(view, role)
    mapped = mapped_bits(view.parameters, way)
    first = {"in": "0x1A00:01", "out": "0x1600:01"}[way]
    return mapped, (first,) if mapped is not None and first in view.parameters else ()
