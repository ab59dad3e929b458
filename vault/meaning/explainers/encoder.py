"""The encoder: over which way it knows its place, and how the motor is commutated by it."""

from __future__ import annotations

from math import degrees
from typing import TYPE_CHECKING

from vault.behaviour.commutation import apart, torque_share
from vault.behaviour.frequency import pole_pairs as pole_pairs_of
from vault.behaviour.frequency import runs_by_frequency
from vault.behaviour.load_encoder import (
    INCREMENTS,
    REVOLUTIONS,
    counts_as_built,
    counts_reckoned,
    load_ratio,
)
from vault.behaviour.missing import DoesNotApply, Missing
from vault.behaviour.position import lost_turn, stated_range, stroke
from vault.meaning.changes import Finding
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.meanings import INSTEAD, instead_of, of_kind
from vault.meaning.findings import digits, finding, in_words
from vault.model.choices import chosen

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change

KNOWS = "The encoder knows its place over {range}{instead}{stroke}."
STROKE = {
    "less": ", less than the stroke of {length}: with power off its place in it is lost",
    "enough": ", enough for the stroke of {length}",
    "endless": ". That is no whole number of turns: an endless axis that runs past it loses its "
    "zero at the next start",
}
AT_POWER_ON = {
    0: "The drive works without an encoder: it controls no position.",
    4: "When power comes back the axis knows its place within one motor revolution only.",
    5: "The axis knows its place when power comes back.",
}
"""By the number of `encoder_type` in `vault.model.choices`: none, single-turn, multi-turn."""
HOMED = "The axis must be homed whenever power was off."
COMMUTATION = {
    "runs away": "They are {angle} deg apart: with the wrong one the motor runs away.",
    "weak": "They are {angle} deg apart, taken as electrical: with the wrong one the motor gives "
    "{share} % of its torque per ampere.",
}
MEASURED = "Only a measurement tells the right one."
FIELD = "The field turns with the wrong count unless the motor changed too: it may run away."
BY_FREQUENCY = (
    "The motor follows its frequency and does not run away; a set point in r/min makes {times} "
    "times the frequency."
)

LOAD_RATIO = (
    "A motor revolution is {counted} counts of the load encoder, as built {fitted}: what is "
    "positioned by it goes {times} times as far as it is told{instead}."
)
LOAD_RIGHT = "A motor revolution is {counted} counts of the load encoder, as built."
LOAD_TIMES = "By that alone what is positioned by the load encoder goes {times} times as far."
LOAD_UNTOLD = "Whether that is right cannot be told: enter {keys}."
WHICH_WAY = (
    "No set says whether it counts the same way as the motor's encoder, or the loop runs away: see "
    "6064h and 60E4h go the same way while the axis is moved by hand."
)

_ROUNDING = 1e-6


@explains("encoder_multi_turn_bits")
def multi_turn(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Compare the absolute range with the stroke, or with the turns of an endless table."""
    way, before = (view.state.asked(stated_range) for view in (right, left))
    if change.right is None or way is None:
        return None
    findings = (finding("absolute range", way),)
    whole, lost = right.state.asked(stroke), right.state.asked(lost_turn)
    is_less = whole is not None and way.value < whole.value
    said = ""
    if whole is not None:
        said = STROKE["less" if is_less else "enough"].format(length=in_words(whole))
    if lost is not None and lost.value > 0:
        said += STROKE["endless"]
    was = None if before is None else in_words(before)
    text = KNOWS.format(range=in_words(way), instead=instead_of(was, in_words(way)), stroke=said)
    return Explanation(text, "hazard" if is_less else "travel", findings)


@explains("encoder_type")
def encoder_type(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Whether the axis still knows its place after power was off."""
    kind = chosen(change.right)
    if kind is None:
        return None
    worst = "hazard" if kind == 0 and right.is_vertical else "travel"
    return Explanation(AT_POWER_ON.get(kind, HOMED), worst)


@explains("commutation_offset")
def commutation(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A field that is aimed wrongly gives less torque, or the wrong way round.

    Torque over current falls with the cosine of the angle (field-oriented control).
    """
    before, after = (of_kind(s, ("angle",)) for s in (change.left_physical, change.right_physical))
    if before is None or after is None:
        return None
    angle = apart(float(before.number()), float(after.number())).value
    share = torque_share(angle).value
    finding = Finding("torque per ampere", f"{share:.6g}", "1", "cos of the difference")
    text = COMMUTATION["runs away" if share <= 0 else "weak"].format(
        angle=digits(degrees(angle)), share=digits(100 * share, 3)
    )
    return Explanation(f"{text} {MEASURED}", "hazard", (finding,))


@explains("motor_pole_pairs")
def pole_pairs(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """A field that turns at another rate than the rotor: no torque, or a motor that runs away."""
    if change.left is None or change.right is None:
        return None
    before, after = left.state.asked(pole_pairs_of), right.state.asked(pole_pairs_of)
    if not runs_by_frequency(right.state) or before is None or after is None:
        return Explanation(FIELD, "hazard")
    times = digits(after / before)
    return Explanation(BY_FREQUENCY.format(times=times), "dynamics")


@explains(INCREMENTS, REVOLUTIONS)
def load_encoder(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """What the drive reckons with between its two encoders, against the machine."""
    if "." in str(change.shown.role):
        return None  # a further one, of which nothing is recorded
    before, after = (view.state.asked(counts_reckoned) for view in (left, right))
    if after is None:
        return None
    ratio, was = right.state.asked(load_ratio), left.state.asked(load_ratio)
    if ratio is None:
        return _untold_load(before, after, right)
    counted = digits(after, 9)
    if abs(ratio.value - 1) <= _ROUNDING:
        said = LOAD_RIGHT.format(counted=counted)
    else:
        said = LOAD_RATIO.format(
            counted=counted,
            fitted=digits(right.state.ask(counts_as_built), 9),
            times=digits(ratio.value, 6),
            instead="" if was is None else INSTEAD.format(before=digits(was.value, 6)),
        )
    return Explanation(
        f"{said} {WHICH_WAY}", "travel", (finding("ratio of the load encoder", ratio),)
    )


def _untold_load(before: float | None, after: float, view: AxisView) -> Explanation:
    """What cannot be told and moves by more than the material share counts as a hazard."""
    try:
        view.state.ask(counts_as_built)
        keys: tuple[str, ...] = ()
    except Missing as error:
        keys = error.names
    except DoesNotApply:
        return Explanation(WHICH_WAY, "travel")
    times = None if before is None else after / before
    said = [] if times is None else [LOAD_TIMES.format(times=digits(times, 6))]
    said += [LOAD_UNTOLD.format(keys=" and ".join(keys)), WHICH_WAY]
    worse = times is None or abs(times - 1) > view.policy.material_share
    return Explanation(" ".join(said), "hazard" if worse else "travel")
