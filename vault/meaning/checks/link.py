"""Drive and controller: in step, at one address, with data of one size."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour.mode import is_cyclic
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import LINK, codes
from vault.meaning.explainers.link import interval_of, task_period_of, uneven
from vault.meaning.explainers.link import stated as recorded_text
from vault.meaning.explainers.meanings import sized
from vault.meaning.findings import digits, figure, seconds
from vault.model.quantities import Measure

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

OUT_OF_STEP = "The drive expects data every {interval}, the controller's task runs every {period}."
UNEVEN = (
    "Set points come every {interval}, the bus runs every {cycle}, which does not divide it: the "
    "axis runs in steps."
)
OTHER_ADDRESS = "The drive has the {what} {address}, the controller looks for it at {expected}."
OTHER_SIZE = "The drive is set up for {has} byte {way}, the controller for {needs} byte."

_INTERVALS = ("update_interval", "communication_cycle_period")
_INTERPOLATION = ("interpolation_time_period", "interpolation_time_index")

_SIZES = {
    "process_data_in": "from drive to controller",
    "process_data_out": "from controller to drive",
}
_ADDRESSES = {"node_address": "node address", "station_alias": "station alias"}


@rule
def update_interval(view: AxisView) -> Iterator[Complaint]:
    """Drive and controller must work in step (common practice, no source)."""
    interval, period = interval_of(view), task_period_of(view)
    if interval is None or period is None or abs(interval - period) <= 1e-9:
        return
    roles = [role for role in _INTERVALS if (size := sized(view, role, ("time",))) and size.ratio]
    if not roles and not is_cyclic(view.state):
        return
    places = (*codes(view, *(roles or _INTERPOLATION)), *(codes(view, "task_period") or (LINK,)))
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
    for role, words in _ADDRESSES.items():
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
    for key, way in _SIZES.items():
        size, wanted = sized(view, f"{key}_size", ("data",)), _data(recorded_text(view, key))
        if size is None or wanted is None or float(size.number()) == wanted:
            continue
        has, needs = (digits(number / 8) for number in (float(size.number()), wanted))
        yield Complaint(
            "controller_agreement",
            "link",
            OTHER_SIZE.format(has=has, way=way, needs=needs),
            (*codes(view, f"{key}_size"), LINK),
            (Finding(f"data {way}", has, "byte", "the set"),),
        )


def _data(text: str | None) -> float | None:
    """Bits in a size that people wrote."""
    try:
        size = Measure.parse(text).physical() if text is not None else None
    except ValueError:
        return None
    return float(size.number()) if size is not None and size.kind == "data" else None
