"""Following error: when the axis trips, and how far it may stray before it does."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.following import feed_forward as share_fed_forward
from vault.behaviour.following import runaway_share, time_out_way
from vault.behaviour.following import steady_lag as lag_of
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.no_limit import is_all_ones
from vault.behaviour.room import room
from vault.behaviour.speed import worst_speed
from vault.behaviour.stop import trip_reach
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import SPEED, WAY, of_kind, sized
from vault.meaning.explainers.ramps import axis_speed
from vault.meaning.findings import (
    digits,
    figure,
    finding,
    in_words,
    is_linear,
    length_or_angle,
    seconds,
    speed,
    with_bound,
)

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding
    from vault.model.parameters import Parameter
    from vault.model.quantities import Physical

NO_LIMIT = "Without it the set gives no such limit."
NEVER = "It is never reached: the axis may stray any way without a fault."
NOUGHT = "Many drives take nought for 'off', some trip at once: the drive's manual must tell."
LAG = "The steady lag is {places}: {verdict}."
PLACE = "{distance} at the {which} speed of {speed}"
VERDICT = {
    "beyond": "more than that, it {verb} as soon as the axis runs",
    "close": "close to that, it {verb} at times",
    "inside": "well inside",
}
STRAYS = "The axis may stray {distance} from where it should be before it trips."
NO_TIME = "Without it the set gives no such time."
AT_ONCE = "The drive trips as soon as the window is left."
LASTS = "The error may last {time} before the drive trips{way}."
WAY_IN_IT = "; at {speed} the axis makes {distance} in that time"

_SPEEDS = (("profile_velocity", "profile"), ("max_profile_velocity", "maximum"))
RUNAWAY = (
    "Running away, the axis goes {distance} until it stands: {share} % of the {room} behind the "
    "software limits."
)


def is_off(parameter: Parameter | None) -> bool:
    """Whether a window is one that never trips."""
    return parameter is not None and is_all_ones(parameter.raw)


def steady_lag(view: AxisView, role: str) -> tuple[float, float, float] | None:
    """Speed, position gain and lag of a state at the speed of a role; None where not known.

    Gain in 1/s, speed in m/s or rad/s, lag |1 - f| v / Kv in m or rad, as behaviour has it; with
    more feed-forward than the whole the axis leads by it.
    """
    try:
        found = lag_of(view.state, role)
    except (Missing, DoesNotApply):
        return None
    return found.speed, found.gain, found.size


def feed_forward(view: AxisView) -> float:
    """Share of the speed that is fed forward, 1 for all of it."""
    return view.state.asked(share_fed_forward) or 0.0


@explains("following_error_window", "following_error_warning")
def window(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Compare the window with the lag that the axis has anyway."""
    protects = change.shown.role == "following_error_window"
    worse = "hazard" if protects else "dynamics"
    if change.right is None:
        return Explanation(NO_LIMIT, worse)
    if is_off(change.right):
        return Explanation(NEVER, "dynamics" if is_off(change.left) else worse)
    size, before = of_kind(change.right_physical, WAY), of_kind(change.left_physical, WAY)
    if size is None:
        return None
    if size.ratio <= 0:
        return Explanation(NOUGHT, worse)
    findings = [figure("following error window", size, "the set, in the unit of the axis")]
    said = _against_lag(right, size, findings, "trips" if protects else "warns")
    wider = before is not None and not is_off(change.left) and size.number() > before.number()
    if wider and protects:
        said.append(STRAYS.format(distance=length_or_angle(float(size.number()), size)))
    if protects:
        said += _runaway(right, findings)
    return Explanation(" ".join(said), worse if wider else "dynamics", tuple(findings))


def _runaway(view: AxisView, findings: list[Finding]) -> list[str]:
    """What the window and its time-out let through, as a share of the room."""
    share, through, least = (view.state.asked(each) for each in (runaway_share, trip_reach, room))
    if share is None or through is None or least is None:
        return []
    findings.append(finding("share of the room that a runaway takes", share))
    percent, distance = digits(100 * share.value, 2), with_bound(through)
    return [RUNAWAY.format(distance=distance, share=percent, room=in_words(least))]


def _against_lag(view: AxisView, size: Physical, findings: list[Finding], verb: str) -> list[str]:
    """The steady lag at both speeds, and what the window makes of it, the worst first.

    Speeds alike are told once; what trips at one speed trips at a higher one too.
    """
    places: dict[str, list[str]] = {}
    known: list[float] = []
    for role, words in _SPEEDS:
        found, stated = steady_lag(view, role), sized(view, role, SPEED)
        if found is None or stated is None:
            continue
        velocity, gain, lag = found
        if is_linear(axis_speed(view, stated)) != is_linear(size):
            continue
        basis = f"|1 - f| v / Kv with v = {speed(velocity, size)} and Kv = {digits(gain)} 1/s"
        findings.append(figure(f"steady lag at {words} speed", lag, basis, like=size))
        if lag in known:
            continue
        known.append(lag)
        where = PLACE.format(
            distance=length_or_angle(lag, size), which=words, speed=speed(velocity, size)
        )
        places.setdefault(_verdict(lag, float(size.number())), []).append(where)
    said = []
    for verdict, text in VERDICT.items():  # the worst first
        at = places.get(verdict, [])[: 1 if verdict == "beyond" else None]
        if at:
            said.append(LAG.format(places=" and ".join(at), verdict=text.format(verb=verb)))
    return said


def _verdict(lag: float, limit: float) -> str:
    if lag > limit:
        return "beyond"
    return "close" if lag > 0.8 * limit else "inside"


@explains("following_error_time_out")
def time_out(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Say how far the axis goes while nobody looks."""
    after, before = (
        of_kind(side, ("time",)) for side in (change.right_physical, change.left_physical)
    )
    if change.right is None:
        return Explanation(NO_TIME, "dynamics")
    if after is None:
        return None
    longer = before is not None and after.number() > before.number()
    if after.ratio <= 0:
        return Explanation(AT_ONCE, "dynamics")
    findings: list[Finding] = []
    way = right.state.asked(time_out_way)
    in_it = ""
    if way is not None:
        findings.append(finding("way in that time", way))
        fastest = in_words(right.state.ask(worst_speed))
        in_it = WAY_IN_IT.format(speed=fastest, distance=in_words(way))
    text = LASTS.format(time=seconds(float(after.number())), way=in_it)
    said = [text, *_runaway(right, findings)]
    return Explanation(" ".join(said), "hazard" if longer else "dynamics", tuple(findings))
