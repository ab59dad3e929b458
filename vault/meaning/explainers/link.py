"""The controller link: interval, addresses, data sizes, supervision.

Objects 1006h, 100Ch, 100Dh, 1016h, 1017h after CiA 301 and 60C2h after CiA 402-2, from memory.
"""

from __future__ import annotations

from math import isinf
from typing import TYPE_CHECKING

from vault.behaviour.controller_link import goes_into
from vault.behaviour.mode import is_cyclic, makes_moves
from vault.behaviour.stop import (
    guarding_time,
    link_stop_reach,
    set_point_interval,
    watched_heartbeat,
)
from vault.behaviour.stop import supervision_time as noticed_after
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import instead_of, of_kind, sized
from vault.meaning.explainers.ramps import fastest, top
from vault.meaning.findings import digits, figure, length_or_angle, seconds, speed
from vault.model.quantities import Measure

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding
    from vault.model.parameters import Parameter

UNEVEN = (
    "Set points come every {interval} (60C2h), the bus runs every {cycle} (1006h), which does not "
    "divide it: the axis runs in steps."
)
MUST_AGREE = "The drive's interval must be the controller's task period."
IN_STEP = "Drive and controller work in step, every {period}."
OUT_OF_STEP = (
    "The drive expects data every {interval}, the controller's task runs every {period}: {effect}."
)
EFFECT = {
    "late": "set points come late, and the axis runs in steps",
    "lost": "some set points are lost",
}
OFF_BY = "At {speed} the difference is {distance} of way."
ADDRESS = (
    "The controller finds the drive by it: a wrong or doubled address is no axis, or the wrong one."
)
SAFETY_ADDRESS = "The safety controller finds the drive by it: its program must have the same."
LAYOUT = "The controller's configuration must say the same, or the link stays down."
RECORD = {
    "same": "The axis record has the same.",
    "same address": "The axis record has the same {recorded}.",
    "other": "The axis record has {recorded}.",
}
NOT_WATCHED = "Without it the set does not watch the controller this way."
NOT_NOTICED = "The drive does not notice in this way that its controller is gone."
NOTICED = "A silent controller is noticed after {time}{instead}{way}."
OTHER_DOES_NOT = "; the other set does not notice it"
WAY_IN_IT = "; at {speed} the axis makes {distance} in that time"
STILL_NOTICED = "Another time-out notices it after {time} all the same."
NOUGHT = (
    "Whether nought trips on the first missing update or on none, the drive's manual must tell."
)
BRIDGES = "The drive bridges {count} missing updates{time}."
TIME_BRIDGED = ", {time}{way}"
NO_SIGN_OF_LIFE = "The drive sends no sign of life: its failure is noticed late."
SIGN_OF_LIFE = (
    "The drive gives a sign of life every {time}; the controller must wait longer than that."
)

_TIME = ("time",)
_INTERVALS = ("update_interval", "communication_cycle_period")
_INTERPOLATION = ("interpolation_time_period", "interpolation_time_index")
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


def recorded(view: AxisView, key: str, kind: str) -> float | None:
    """A quantity that axis.yaml gives the controller's side, in SI; None for any other kind."""
    measure = _measure(stated(view, key))
    size = of_kind(measure.physical() if measure is not None else None, (kind,))
    return None if size is None else float(size.number())


def interval_of(view: AxisView) -> float | None:
    """Interval (s) of set points: 60C2h, else the maker's own, else the bus cycle 1006h.

    Of a drive that makes its moves itself 60C2h tells nothing: it may hold what it came with.
    """
    if not makes_moves(view.state):
        return set_point_interval(view.state)
    sizes = (sized(view, role, _TIME) for role in _INTERVALS)
    return next((float(size.number()) for size in sizes if size and size.ratio > 0), None)


def drive_interval(view: AxisView) -> tuple[float, tuple[str, ...]] | None:
    """Interval (s) of set points that the drive expects, and the roles that it may stand in.

    The interpolation time counts only where the drive is told set points all the time.
    """
    expected = interval_of(view)
    own = [role for role in _INTERVALS if (size := sized(view, role, _TIME)) and size.ratio]
    if expected is None or (not own and not is_cyclic(view.state)):
        return None
    return expected, tuple(own) if makes_moves(view.state) else (*_INTERPOLATION, *own)


def bus_cycle_of(view: AxisView) -> float | None:
    """Cycle (s) of the bus: 1006h."""
    size = sized(view, "communication_cycle_period", _TIME)
    return float(size.number()) if size is not None and size.ratio > 0 else None


def uneven(view: AxisView) -> tuple[float, float] | None:
    """Set-point interval and bus cycle (s), where the cycle does not divide the interval."""
    interval, cycle = interval_of(view), bus_cycle_of(view)
    if interval is None or cycle is None:
        return None
    return None if goes_into(cycle, interval) else (interval, cycle)


def task_period_of(view: AxisView) -> float | None:
    """Period (s) of the controller's task: of the set, else of axis.yaml."""
    size = sized(view, "task_period", _TIME)
    period = recorded(view, "task_period", "time") if size is None else float(size.number())
    return period if period is not None and period > 0 else None


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
        text = UNEVEN.format(interval=seconds(apart[0]), cycle=seconds(apart[1]))
        return Explanation(text, "link", (figure("bus cycle", apart[1], "1006h", unit="s"),))
    if expected is None and period is None:
        return None
    if expected is None or period is None:
        return Explanation(MUST_AGREE, "link")
    if abs(expected - period) <= _SAME:
        return Explanation(IN_STEP.format(period=seconds(period)), "link")
    findings: list[Finding] = [
        figure("update interval", expected, "the set", unit="s"),
        figure("task period", period, "the set, else axis.yaml", unit="s"),
    ]
    said = [
        OUT_OF_STEP.format(
            interval=seconds(expected),
            period=seconds(period),
            effect=EFFECT["late" if period > expected else "lost"],
        )
    ]
    if (velocity := fastest(right)) is not None:
        at = float(velocity.number())
        way = at * abs(period - expected)
        findings.append(figure("way in the difference", way, "v t", like=velocity))
        distance = length_or_angle(way, velocity)
        said.append(OFF_BY.format(speed=speed(at, velocity), distance=distance))
    return Explanation(" ".join(said), "link", tuple(findings))


@explains("node_address", "station_alias", "safety_address")
def address(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Addresses must be unique; a wrong one drives the wrong axis."""
    role = str(change.shown.role)
    if change.right is None:
        return None
    is_safety, expected = role == "safety_address", stated(right, role)
    said = [SAFETY_ADDRESS if is_safety else ADDRESS]
    if expected is not None:
        same = expected == str(change.right.value)
        said.append(RECORD["same address" if same else "other"].format(recorded=expected))
    return Explanation(" ".join(said), "hazard" if is_safety else "link")


@explains("process_data_in_size", "process_data_out_size", "bit_rate")
def layout(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Both ends must agree."""
    if change.right is None:
        return None
    said = [LAYOUT]
    size = _measure(stated(right, str(change.shown.role).removesuffix("_size")))
    if size is not None and size.unit == change.right.unit:
        same = size.value == change.right.value
        said.append(RECORD["same" if same else "other"].format(recorded=size))
    return Explanation(" ".join(said), "link")


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
    before, after = supervision_time(left, role), supervision_time(right, role)
    if change.right is None:
        return None if before == 0 else _unwatched(NOT_WATCHED, change, left, right)
    if after is None:
        return None
    if after == 0:
        return (
            Explanation(NOT_NOTICED, "link")
            if before == 0
            else _unwatched(NOT_NOTICED, change, left, right)
        )
    findings: list[Finding] = []
    time = seconds(after)
    instead = instead_of(seconds(before) if before else None, time)
    text = NOTICED.format(
        time=time,
        instead=OTHER_DOES_NOT if before == 0 else instead,
        way=_runs_on(after, right, findings),
    )
    longer = before is not None and 0 < before < after
    return Explanation(text, "hazard" if longer else "link", tuple(findings))


def _unwatched(text: str, change: Change, left: AxisView, right: AxisView) -> Explanation:
    """One way to watch is off: what else watches decides.

    Where the way until the axis stands is known, the room that it takes is judged by rule.
    """
    was, time = (view.state.ask(noticed_after) for view in (left, right))
    if time is None or isinf(time):
        return Explanation(text, "hazard")
    later = was is None or time > was
    by_rule = change.right is not None and right.state.asked(link_stop_reach) is not None
    still = STILL_NOTICED.format(time=seconds(time))
    return Explanation(f"{text} {still}", "hazard" if later and not by_rule else "link")


def _runs_on(time: float, view: AxisView, findings: list[Finding]) -> str:
    like = top(view)
    if like is None:
        return ""
    way, at = float(like.number()) * time, speed(float(like.number()), like)
    findings.append(figure("way until it is noticed", way, "v t", like=like))
    return WAY_IN_IT.format(speed=at, distance=length_or_angle(way, like))


@explains("missed_update_limit")
def missed_updates(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """How long, and how far, the drive bridges missing set points."""
    if change.right is None:
        return None
    after, before = _count(change.right), _count(change.left)
    if after is None or after < 0:
        return None
    if after == 0:
        return Explanation(NOUGHT, "hazard")
    step = set_point_interval(right.state)
    findings: list[Finding] = []
    bridged = ""
    if step is not None:
        time = after * step
        findings.append(figure("time bridged", time, "count x interval", unit="s"))
        way = _runs_on(time, right, findings)
        bridged = TIME_BRIDGED.format(time=seconds(time), way=way)
    text = BRIDGES.format(count=digits(after), time=bridged)
    more = before is not None and after > before
    return Explanation(text, "hazard" if more else "link", tuple(findings))


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
        return Explanation(NO_SIGN_OF_LIFE, "link")
    return Explanation(SIGN_OF_LIFE.format(time=seconds(float(size.number()))), "link")
