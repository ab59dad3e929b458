"""The controller link: interval, addresses, data sizes, supervision.

Objects 1006h, 100Ch, 100Dh, 1016h, 1017h after CiA 301 and 60C2h after CiA 402-2, from memory.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.stop import guarding_time, set_point_interval, watched_heartbeat
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import SPEED, of_kind, sized
from vault.meaning.explainers.ramps import axis_speed, fastest
from vault.meaning.findings import digits, figure, length_or_angle, seconds, speed
from vault.model.quantities import Measure

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding
    from vault.model.parameters import Parameter

_TIME = ("time",)
_INTERVALS = ("update_interval", "communication_cycle_period")
_SAME = 1e-9
"""Two intervals closer than this, in s, are one."""


def stated(view: AxisView, key: str) -> str | None:
    """What axis.yaml says about the controller's side."""
    found = view.axis.controller_link.get(key) if view.axis is not None else None
    return None if found is None else str(found)


def _measure(text: str | None) -> Measure | None:
    try:
        return Measure.parse(text) if text is not None else None
    except ValueError:  # people write what they like
        return None


def interval_of(view: AxisView) -> float | None:
    """Interval (s) of set points: 60C2h, else the maker's own, else the bus cycle 1006h."""
    return set_point_interval(view.state)


def bus_cycle_of(view: AxisView) -> float | None:
    """Cycle (s) of the bus: 1006h."""
    size = sized(view, "communication_cycle_period", _TIME)
    return float(size.number()) if size is not None and size.ratio > 0 else None


def uneven(view: AxisView) -> tuple[float, float] | None:
    """Set-point interval and bus cycle (s), where the cycle does not divide the interval."""
    interval, cycle = interval_of(view), bus_cycle_of(view)
    if interval is None or cycle is None:
        return None
    turns = interval / cycle
    fits = round(turns) >= 1 and abs(turns - round(turns)) <= 1e-6 * turns
    return None if fits else (interval, cycle)


def task_period_of(view: AxisView) -> float | None:
    """Period (s) of the controller's task: of the set, else of axis.yaml."""
    size = sized(view, "task_period", _TIME)
    if size is None:
        measure = _measure(stated(view, "task_period"))
        size = of_kind(measure.physical() if measure is not None else None, _TIME)
    return float(size.number()) if size is not None and size.ratio > 0 else None


@explains(
    "update_interval",
    "task_period",
    "communication_cycle_period",
    "interpolation_time_period",
    "interpolation_time_index",
)
def interval(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Drive and controller must work in step (common practice, no source)."""
    if change.right is None:
        return None
    expected, period = interval_of(right), task_period_of(right)
    if (apart := uneven(right)) is not None:
        text = (
            f"Set points come every {seconds(apart[0])} (60C2h), the bus runs every "
            f"{seconds(apart[1])} (1006h), which does not divide it: the axis runs in steps."
        )
        return Explanation(text, "link", (figure("bus cycle", apart[1], "1006h", unit="s"),))
    if expected is None and period is None:
        return None
    if expected is None or period is None:
        return Explanation("The drive's interval must be the controller's task period.", "link")
    if abs(expected - period) <= _SAME:
        text = f"Drive and controller work in step, every {seconds(period)}."
        return Explanation(text, "link")
    findings: list[Finding] = [
        figure("update interval", expected, "the set", unit="s"),
        figure("task period", period, "the set, else axis.yaml", unit="s"),
    ]
    effect = (
        "set points come late, and the axis runs in steps"
        if period > expected
        else "some set points are lost"
    )
    text = (
        f"The drive expects data every {seconds(expected)}, the controller's task runs every "
        f"{seconds(period)}: {effect}"
    )
    velocity = fastest(right)
    if velocity is not None:
        way = float(velocity.number()) * abs(period - expected)
        findings.append(figure("way in the difference", way, "v t", like=velocity))
        text += (
            f". At {speed(float(velocity.number()), velocity)} the difference is "
            f"{length_or_angle(way, velocity)} of way"
        )
    return Explanation(f"{text}.", "link", tuple(findings))


@explains("node_address", "station_alias", "safety_address")
def address(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Addresses must be unique; a wrong one drives the wrong axis."""
    role = str(change.shown.role)
    worst = "hazard" if role == "safety_address" else "link"
    if change.right is None:
        return None
    text = (
        "The controller finds the drive by it: a wrong or doubled address is no axis, or the "
        "wrong one."
    )
    if role == "safety_address":
        text = "The safety controller finds the drive by it: its program must have the same."
    recorded = stated(right, role)
    if recorded is not None:
        text += _against_record(recorded, str(change.right.value))
    return Explanation(text, worst)


def _against_record(recorded: str, value: str) -> str:
    if recorded == value:
        return f" The axis record has the same {recorded}."
    return f" The axis record has {recorded}."


@explains("process_data_in_size", "process_data_out_size", "bit_rate")
def layout(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Both ends must agree."""
    if change.right is None:
        return None
    text = "The controller's configuration must say the same, or the link stays down."
    size = _measure(stated(right, str(change.shown.role).removesuffix("_size")))
    if size is not None and size.unit == change.right.unit:
        same = size.value == change.right.value
        text += f" The axis record has {'the same' if same else size}."
    return Explanation(text, "link")


def supervision_time(view: AxisView, role: str) -> float | None:
    """Seconds until the drive notices a silent controller; 0 where it never does, None unknown."""
    if role in ("guard_time", "life_time_factor"):
        return guarding_time(view.state)
    if role.startswith("consumer_heartbeat_time"):
        return watched_heartbeat(view.state, role)
    size = sized(view, role, _TIME)
    return max(0.0, float(size.number())) if size is not None else None


@explains("fieldbus_timeout", "guard_time", "life_time_factor", "consumer_heartbeat_time")
def supervision(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """How long the axis goes on when nobody talks to it, and how far."""
    role = str(change.shown.role)
    if change.right is None:
        if supervision_time(left, role) == 0:
            return None
        text = "Without it the set does not watch the controller this way."
        return Explanation(text, "hazard")
    before, after = supervision_time(left, role), supervision_time(right, role)
    if after is None:
        return None
    if after == 0:
        return Explanation(
            "The drive does not notice in this way that its controller is gone.",
            "link" if before == 0 else "hazard",
        )
    findings: list[Finding] = []
    text = f"A silent controller is noticed after {seconds(after)}"
    if before:
        text += f" instead of {seconds(before)}" if before != after else ""
    elif before == 0:
        text += "; the other set does not notice it"
    text += _runs_on(after, right, findings)
    longer = bool(before) and before is not None and after > before
    return Explanation(f"{text}.", "hazard" if longer else "link", tuple(findings))


def _runs_on(time: float, view: AxisView, findings: list[Finding]) -> str:
    size = sized(view, "profile_velocity", SPEED)
    if size is None or size.ratio <= 0:
        return ""
    like = axis_speed(view, size)
    way = float(like.number()) * time
    findings.append(figure("way until it is noticed", way, "v t", like=like))
    return (
        f"; at the profile speed of {speed(float(like.number()), like)} the axis makes "
        f"{length_or_angle(way, like)} in that time"
    )


@explains("missed_update_limit")
def missed_updates(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """How long, and how far, the drive bridges missing set points."""
    if change.right is None:
        return None
    after, before = _count(change.right), _count(change.left)
    if after is None or after < 0:
        return None
    if after == 0:
        return Explanation(
            "Whether nought trips on the first missing update or on none, the drive's manual must "
            "tell.",
            "hazard",
        )
    step = interval_of(right)
    findings: list[Finding] = []
    text = f"The drive bridges {digits(after)} missing updates"
    if step is not None:
        findings.append(figure("time bridged", after * step, "count x interval", unit="s"))
        text += f", {seconds(after * step)}"
        text += _runs_on(after * step, right, findings)
    more = before is not None and after > before
    return Explanation(f"{text}.", "hazard" if more else "link", tuple(findings))


def _count(parameter: Parameter | None) -> float | None:
    if parameter is None or isinstance(parameter.value, str):
        return None
    return float(parameter.value)


@explains("producer_heartbeat_time")
def heartbeat(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """The sign of life that the controller waits for."""
    size = of_kind(change.right_physical, _TIME)
    if size is None:
        return None
    if size.ratio <= 0:
        return Explanation("The drive sends no sign of life: its failure is noticed late.", "link")
    return Explanation(
        f"The drive gives a sign of life every {seconds(float(size.number()))}; the controller "
        "must wait longer than that.",
        "link",
    )
