"""Gear ratio, feed constant, encoder resolution, direction: how far the axis really goes."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.behaviour.position_limits import (
    ROUNDING,
    high_limit_and_stop,
    limits_are_off,
    low_limit_and_stop,
    stated_limits,
)
from vault.behaviour.scale import direction
from vault.behaviour.scale import unit as axis_unit
from vault.behaviour.speed import rated_motor_speed
from vault.behaviour.travel import (
    CLOSE,
    is_calibration,
    ratio_between,
    speed_at_rated,
    speed_ratio,
    thrust_at_rated,
)
from vault.meaning.explainers import Explanation, explains
from vault.meaning.findings import (
    digits,
    figure,
    finding,
    in_reader_units,
    in_words,
    turns_per_minute,
)
from vault.meaning.reader import unit_for
from vault.model.choices import chosen

if TYPE_CHECKING:
    from fractions import Fraction

    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change, Finding

# How far the axis goes.
ONLY_NAMED = "It only names the unit: for the same number the axis goes as far as before."
COMMANDED = "A commanded {way} {unit} moves {moved} {unit}{right}{instead}."
AS_IT_SHOULD = ", as it should"
INSTEAD = " instead of {moved} {unit}"
CALIBRATION = "That is a calibration by {parts} ppm."
LIMIT_BEYOND = "Its {end} software limit really lies at {place}, beyond the hard stop at {stop}."
SAME_COMMAND = "The same command moves the axis {times} times as far."
NOT_RECORDED = "The machine as built is not recorded: nothing tells which is right."
IF_SO_BUILT = (
    "If its transmission differs in the same way, it pushes {times} times as hard at the same "
    "motor torque and runs {inverse} times as fast at the same motor speed."
)
CANNOT_BE_TOLD = "How far the axis goes for a command cannot be told: {lacking} not known."

# What the motor's values become.
OTHER_MACHINE = (
    "As built, the axis runs {times} times as fast at the same motor speed, and pushes {inverse} "
    "times as hard at the same motor torque."
)
MOTOR_TURNS = "For the same commanded speed the motor turns {times} times as fast{rated}{torque}."
RATED_SPEED = "; its rated {turns} r/min are {speed} at the axis"
RATED_TORQUE = ", its rated torque {thrust} N, on the machine as built"

PARTS = ("the feed constant", "the user unit", "the transmission as built")
"""What a commanded way goes through: names of what may be missing."""

# Direction.
TORQUE_BIT = (
    "Bit 5 turns torque commands in some drives, and nothing in others: see the drive's manual."
)
ONE_SIDED = "{side} reverses {commands}; the counterpart does not say its direction."
SAME_DIRECTION = "The direction of motion is the same: the bits that differ do not turn it."
KEEPS_ITS_WAY = "The encoder's direction is turned too: the axis keeps its way."
REVERSES = "The direction reverses for {commands}."
OTHER_KIND = "The other kind of command keeps its direction."
WRONG_WAY = "The axis runs the other way than its program and its limit switches expect."
LOWERS = "It hangs: what is to lift lowers."
MIRRORED = "Its software limits, {low} and {high}, hold for the mirrored way."
COUNTS_BACKWARDS = "{side} counts the encoder backwards; the counterpart does not say."
RUNS_AWAY = (
    "The encoder counts the other way: the direction reverses, and if the motor's phases are not "
    "turned with it, the motor runs away."
)
THIS_SET, OTHER_SET = "This set", "The other set"

_COMMANDED = {"mm": 150, "m": 1, "in": 6, "deg": 90, "rad": 1}
"""Way that the sentence commands, in the reader's unit."""
K_BASIS = "(R_set G_set / F_set) / (R_real G_real / L_real), over the stated unit"
_POSITION_BIT, _VELOCITY_BIT, _TORQUE_BIT = 0x80, 0x40, 0x20  # of 607Eh, from memory
_TRANSMISSION = (
    "gear_ratio_motor_revolutions",
    "gear_ratio_shaft_revolutions",
    "feed_constant_feed",
    "feed_constant_shaft_revolutions",
)


@explains(
    "position_encoder_increments",
    "position_encoder_motor_revolutions",
    "gear_ratio_motor_revolutions",
    "gear_ratio_shaft_revolutions",
    "feed_constant_feed",
    "feed_constant_shaft_revolutions",
    "encoder_single_turn_bits",
    "si_unit_position",
)
def scale(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Say how far the axis goes for what it is told, before and after."""
    before, after = left.scaling.travel_error, right.scaling.travel_error
    if change.shown.role == "si_unit_position" and _only_named(left, right):
        return Explanation(ONLY_NAMED, "travel")
    if after is None:
        return _untold(change, left, right)
    if (calibrated := _calibration(left, right)) is not None:
        return calibrated
    findings = [
        figure(f"travel error k {words}", float(error), K_BASIS, unit="1")
        for words, error in (("before", before), ("after", after))
        if error is not None
    ]
    said = [_commanded(right, before, after)]
    if change.shown.role in _TRANSMISSION:
        said += _motor_values(left, right, findings)
    off = abs(after - 1) > CLOSE
    beyond = _limits_beyond(right) if off else ""
    said += [beyond] if beyond else []
    worse = off and (before is None or abs(after - 1) > abs(before - 1))
    bad = bool(beyond) or (worse and right.is_vertical)
    return Explanation(" ".join(said), "hazard" if bad else "travel", tuple(findings))


def _only_named(left: AxisView, right: AxisView) -> bool:
    """Whether a user unit makes as many turns of the motor as before."""
    turns = left.scaling.motor_turns, right.scaling.motor_turns
    return turns[0] is not None and turns[0] == turns[1]


def _calibration(left: AxisView, right: AxisView) -> Explanation | None:
    """A measured circumference or pitch: so little that it is no change of where things are."""
    ratio = ratio_between(left.state, right.state)
    if ratio is None or not is_calibration(left.state, right.state):
        return None
    parts = float(abs(ratio - 1)) * 1e6
    ways = figure("calibration", float(ratio), "ratio of the ways", unit="1")
    return Explanation(CALIBRATION.format(parts=digits(parts, 2)), "record", (ways,))


def _commanded(view: AxisView, before: Fraction | None, after: Fraction) -> str:
    nominal = view.scaling.nominal_unit
    kind = "angle" if nominal is not None and nominal.kind == "angle" else "length"
    unit = unit_for(kind) or "mm"
    way = _COMMANDED[unit]
    right, instead = AS_IT_SHOULD if after == 1 else "", ""
    if before is not None and before != after:
        instead = INSTEAD.format(moved=digits(float(way * before), 6), unit=unit)
        right += "," if right else ""
    moved = digits(float(way * after), 6)
    return COMMANDED.format(way=way, unit=unit, moved=moved, right=right, instead=instead)


def _motor_values(left: AxisView, right: AxisView, findings: list[Finding]) -> list[str]:
    """Thrust and speed at the same torque and speed of the motor."""
    was, travel = left.scaling.travel, right.scaling.travel
    if was is not None and travel is not None and was != travel:
        ratio = speed_ratio(was, travel)
        if ratio is None:
            return []
        findings.append(
            figure("speed at the same motor speed", float(ratio), "v = n L / G", unit="1")
        )
        return [OTHER_MACHINE.format(times=_times(ratio), inverse=_times(1 / ratio))]
    before, after = left.scaling.travel_error, right.scaling.travel_error
    if before is None or after is None or before == after or travel is None:
        return []
    ratio = after / before
    findings.append(figure("motor speed for a command", float(ratio), "ratio of k", unit="1"))
    parts = {"times": _times(ratio), "rated": "", "torque": ""}
    speed, turns = right.state.asked(speed_at_rated), right.state.asked(rated_motor_speed)
    if speed is not None and turns is not None and speed.unit == "m/s":
        findings.append(finding("speed at rated motor speed", speed))
        parts["rated"] = RATED_SPEED.format(turns=turns_per_minute(turns), speed=in_words(speed))
        force = right.state.asked(thrust_at_rated)
        if force is not None:
            findings.append(finding("thrust at rated torque", force))
            parts["torque"] = RATED_TORQUE.format(thrust=digits(force.value))
    return [MOTOR_TURNS.format(**parts)]


def _times(ratio: Fraction) -> str:
    return digits(float(ratio), 6)


def _limits_beyond(view: AxisView) -> str:
    """A software limit that really lies beyond its hard stop."""
    if view.state.asked(limits_are_off) is not False:
        return ""
    ends = (("negative", low_limit_and_stop), ("positive", high_limit_and_stop))
    for end, limit_of in ends:
        found = view.state.asked(limit_of)
        if found is not None and found.beyond > ROUNDING:
            unit = view.state.ask(axis_unit)
            place, stop = (in_reader_units(size, unit) for size in (found.limit, found.stop))
            return LIMIT_BEYOND.format(end=end, place=place, stop=stop)
    return ""


def _untold(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """The right side does not tell its k: the ratio of the two sets, or what is missing."""
    both = change.left is not None and change.right is not None
    ratio = ratio_between(left.state, right.state) if both else None
    if ratio is not None and ratio != 1:
        times, inverse = _times(ratio), _times(1 / ratio)
        said = [SAME_COMMAND.format(times=times)]
        if right.scaling.travel is None:
            said.append(NOT_RECORDED)
            if change.shown.role in _TRANSMISSION:
                said.append(IF_SO_BUILT.format(times=times, inverse=inverse))
        ways = figure("travel ratio", float(ratio), "from the two sets alone", unit="1")
        return Explanation(" ".join(said), "travel", (ways,))
    lacking = _lacking(right)
    if not lacking or left.scaling.travel_error is None:
        return None
    return Explanation(CANNOT_BE_TOLD.format(lacking=lacking), "travel")


def _lacking(view: AxisView) -> str:
    parts = view.scaling.feed, view.scaling.unit, view.scaling.travel
    names = [name for name, part in zip(PARTS, parts, strict=True) if part is None]
    return f"{' and '.join(names)} {'are' if len(names) > 1 else 'is'}" if names else ""


@explains("polarity")
def polarity(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Bits of 607Eh: a turned sign sends the axis the other way."""
    codes = [side.raw if side is not None else None for side in (change.left, change.right)]
    before, after = (code if isinstance(code, int) else None for code in codes)
    if before is not None and after is not None and (before ^ after) == _TORQUE_BIT:
        return Explanation(TORQUE_BIT, "hazard")
    motion = _POSITION_BIT | _VELOCITY_BIT
    if before is None or after is None:
        known = after if after is not None else before
        if known is None or not known & motion:
            return None
        side = THIS_SET if after is not None else OTHER_SET
        return Explanation(ONE_SIDED.format(side=side, commands=_reversed(known)), "hazard")
    differing = (before ^ after) & motion
    if not differing:
        return Explanation(SAME_DIRECTION, "record")
    if differing & _POSITION_BIT and _turns_back(left, right):
        return Explanation(KEEPS_ITS_WAY, "travel")
    said = [REVERSES.format(commands=_reversed(differing))]
    said += [OTHER_KIND] if differing != motion else []
    said += _wrong_way(right)
    said += _mirrored(right) if differing & _POSITION_BIT else []
    return Explanation(" ".join(said), "hazard")


def _turns_back(left: AxisView, right: AxisView) -> bool:
    """Whether the direction of motion is the same although one of its signs is not."""
    before, after = left.state.asked(direction), right.state.asked(direction)
    return before is not None and after is not None and before.value == after.value


def _mirrored(view: AxisView) -> list[str]:
    """Software limits that are not alike to both sides hold at the other ends."""
    limits = view.state.asked(stated_limits)
    if limits is None or abs(limits.negative + limits.positive) < ROUNDING:
        return []
    low, high = (in_reader_units(end, view.state.ask(axis_unit)) for end in limits)
    return [MIRRORED.format(low=low, high=high)]


def _reversed(bits: int) -> str:
    names = [
        name
        for bit, name in ((_POSITION_BIT, "position"), (_VELOCITY_BIT, "velocity"))
        if bits & bit
    ]
    return f"{' and '.join(names)} commands"


def _wrong_way(view: AxisView) -> list[str]:
    return [WRONG_WAY, LOWERS] if view.is_vertical else [WRONG_WAY]


@explains("encoder_direction")
def encoder_direction(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """An encoder that counts the other way turns the axis, or lets it run away."""
    before, after = chosen(change.left), chosen(change.right)
    if before is None or after is None:
        known = after if after is not None else before
        if not known:
            return None
        side = THIS_SET if after is not None else OTHER_SET
        return Explanation(COUNTS_BACKWARDS.format(side=side), "hazard")
    if before == after:
        return None
    # Common practice, no source: with the wrong sign the loop drives away from its set point.
    return Explanation(" ".join([RUNS_AWAY, *_wrong_way(right)]), "hazard")
