"""Gear ratio, feed constant, encoder resolution, direction: how far the axis really goes."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour import formulas
from vault.behaviour.scale import direction
from vault.meaning.changes import Finding
from vault.meaning.explainers import Explanation, explains
from vault.meaning.explainers.limits import HIGH, LOW, are_off
from vault.meaning.explainers.meanings import WAY, sized
from vault.meaning.explainers.rooms import stops_for
from vault.meaning.findings import digits, figure, length_or_angle, speed
from vault.meaning.reader import unit_for
from vault.model.choices import chosen

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView
    from vault.meaning.changes import Change

_COMMANDED = {"mm": 150, "m": 1, "in": 6, "deg": 90, "rad": 1}
"""Way that the sentence commands, in the reader's unit."""

_ROUNDING = 1e-9  # m or rad
_MOST_CALIBRATION = 1e-4
_CLOSE = Fraction(1, 1000)
"""A k nearer to 1 is a measured circumference, not a wrong setting (common practice, no source)."""

K_BASIS = "(R_set G_set / F_set) / (R_real G_real / L_real), over the stated unit"
_POSITION_BIT, _VELOCITY_BIT, _TORQUE_BIT = 0x80, 0x40, 0x20  # of 607Eh, from memory
_TRANSMISSION = (
    "gear_ratio_motor_revolutions",
    "gear_ratio_shaft_revolutions",
    "feed_constant_feed",
    "feed_constant_shaft_revolutions",
)


def travel_ratio(left: AxisView, right: AxisView) -> Fraction | None:
    """Way on the right over way on the left for the same command in user units."""
    before, after = left.scaling.actual_unit, right.scaling.actual_unit
    if before is not None and after is not None and before.kind == after.kind and before.ratio:
        return after.ratio / before.ratio
    turns = left.scaling.motor_turns, right.scaling.motor_turns
    if turns[0] and turns[1]:
        return turns[1] / turns[0]
    return None


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
        text = "It only names the unit: for the same number the axis goes as far as before."
        return Explanation(text, "travel")
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
        said += _motor_values(left, right, before, after, findings)
    off = abs(after - 1) > _CLOSE
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
    ratio = travel_ratio(left, right)
    if ratio is None or ratio == 1 or not is_calibration(left, right):
        return None
    parts = float(abs(ratio - 1)) * 1e6
    finding = figure("calibration", float(ratio), "ratio of the ways", unit="1")
    return Explanation(f"That is a calibration by {digits(parts, 2)} ppm.", "record", (finding,))


def is_calibration(left: AxisView, right: AxisView) -> bool:
    """Whether ways differ by 100 ppm at most, and over the stroke by less than a quarter window.

    Endless axes have no tolerance: it adds up. Screws and gears are exact.
    """
    ratio, stroke = travel_ratio(left, right), right.stroke
    kind = right.mechanics.kind if right.mechanics is not None else ""
    if ratio is None or stroke is None or kind not in ("belt", "rack", "ball_screw"):
        return False
    off = float(abs(ratio - 1))
    window = sized(right, "position_window", WAY)
    within = window is not None and off * stroke < float(window.number()) / 4
    return 0 < off <= _MOST_CALIBRATION and within


def _commanded(view: AxisView, before: Fraction | None, after: Fraction) -> str:
    nominal = view.scaling.nominal_unit
    kind = "angle" if nominal is not None and nominal.kind == "angle" else "length"
    unit = unit_for(kind) or "mm"
    way = _COMMANDED[unit]
    text = f"A commanded {way} {unit} moves {digits(float(way * after), 6)} {unit}"
    text += ", as it should" if after == 1 else ""
    if before is not None and before != after:
        text += f"{',' if after == 1 else ''} instead of {digits(float(way * before), 6)} {unit}"
    return f"{text}."


def _motor_values(
    left: AxisView,
    right: AxisView,
    before: Fraction | None,
    after: Fraction,
    findings: list[Finding],
) -> list[str]:
    """Thrust and speed at the same torque and speed of the motor."""
    was, travel = left.scaling.travel, right.scaling.travel
    if was is not None and travel is not None and was != travel:
        if was.per_turn.kind != travel.per_turn.kind:
            return []
        ratio = (travel.per_turn.ratio / travel.gear) / (was.per_turn.ratio / was.gear)
        findings.append(
            figure("speed at the same motor speed", float(ratio), "v = n L / G", unit="1")
        )
        return [
            f"As built, the axis runs {_times(ratio)} as fast at the same motor speed, and pushes "
            f"{_times(1 / ratio)} as hard at the same motor torque."
        ]
    if before is None or before == after or travel is None:
        return []
    ratio = after / before
    findings.append(figure("motor speed for a command", float(ratio), "ratio of k", unit="1"))
    text = f"For the same commanded speed the motor turns {_times(ratio)} as fast"
    rated = right.motor_speed("rated_speed")
    if rated is None or travel.per_turn.kind != "length":
        return [f"{text}."]
    step, gear = float(travel.per_turn.number()), float(travel.gear)
    most = rated / 60 * step / gear
    findings.append(figure("speed at rated motor speed", most, "v = n L / G", like=travel.per_turn))
    text += f"; its rated {digits(rated)} r/min are {speed(most, travel.per_turn)} at the axis"
    torque = right.scaling.rated_torque
    if torque is None:
        return [f"{text}."]
    force = formulas.drive_force(float(torque.number()), step, gear, right.efficiency)
    findings.append(figure("thrust at rated torque", force, "F = 2 pi eta G T / L", unit="N"))
    return [f"{text}, its rated torque {digits(force)} N, on the machine as built."]


def _times(ratio: Fraction) -> str:
    return f"{digits(float(ratio), 6)} times"


def _limits_beyond(view: AxisView) -> str:
    """A software limit that really lies beyond its hard stop."""
    if are_off(view) is not False:
        return ""
    for role, end, index in ((LOW, "negative", 0), (HIGH, "positive", 1)):
        size = sized(view, role, WAY)
        stops = stops_for(view, size) if size is not None else None
        if size is None or stops is None:
            continue
        place, stop = float(size.number()), stops[index]
        if place < stop - _ROUNDING if index == 0 else place > stop + _ROUNDING:
            return (
                f"Its {end} software limit really lies at {length_or_angle(place, size)}, beyond "
                f"the hard stop at {length_or_angle(stop, size)}."
            )
    return ""


def _untold(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """The right side does not tell its k: the ratio of the two sets, or what is missing."""
    ratio = travel_ratio(left, right) if change.left is not None and change.right else None
    if ratio is not None and ratio != 1:
        finding = figure("travel ratio", float(ratio), "from the two sets alone", unit="1")
        text = f"The same command moves the axis {_times(ratio)} as far."
        if right.scaling.travel is None:
            text += " The machine as built is not recorded: nothing tells which is right."
            if change.shown.role in _TRANSMISSION:
                text += (
                    f" If its transmission differs in the same way, it pushes {_times(ratio)} as "
                    f"hard at the same motor torque and runs {_times(1 / ratio)} as fast at the "
                    "same motor speed."
                )
        return Explanation(text, "travel", (finding,))
    lacking = _lacking(right)
    if not lacking or left.scaling.travel_error is None:
        return None
    return Explanation(
        f"How far the axis goes for a command cannot be told: {lacking} not known.", "travel"
    )


def _lacking(view: AxisView) -> str:
    own = view.scaling
    parts = {
        "feed constant": own.feed is None,
        "user unit": own.unit is None,
        "transmission as built": own.travel is None,
    }
    names = [f"the {name}" for name, missing in parts.items() if missing]
    return f"{' and '.join(names)} {'are' if len(names) > 1 else 'is'}" if names else ""


@explains("polarity")
def polarity(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """Bits of 607Eh: a turned sign sends the axis the other way."""
    codes = [side.raw if side is not None else None for side in (change.left, change.right)]
    before, after = (code if isinstance(code, int) else None for code in codes)
    if before is not None and after is not None and (before ^ after) == _TORQUE_BIT:
        text = (
            "Bit 5 turns torque commands in some drives, and nothing in others: see the drive's "
            "manual."
        )
        return Explanation(text, "hazard")
    motion = _POSITION_BIT | _VELOCITY_BIT
    if before is None or after is None:
        known = after if after is not None else before
        if known is None or not known & motion:
            return None
        side = "This set" if after is not None else "The other set"
        text = f"{side} reverses {_reversed(known)}; the counterpart does not say its direction."
        return Explanation(text, "hazard")
    differing = (before ^ after) & motion
    if not differing:
        return Explanation(
            "The direction of motion is the same: the bits that differ do not turn it.", "record"
        )
    if differing & _POSITION_BIT and _turns_back(left, right):
        return Explanation(
            "The encoder's direction is turned too: the axis keeps its way.", "travel"
        )
    text = f"The direction reverses for {_reversed(differing)}."
    if differing != motion:
        text += " The other kind of command keeps its direction."
    mirrored = _mirrored(right) if differing & _POSITION_BIT else ""
    return Explanation(text + _wrong_way(right) + mirrored, "hazard")


def _turns_back(left: AxisView, right: AxisView) -> bool:
    """Whether the direction of motion is the same although one of its signs is not."""
    before, after = left.state.asked(direction), right.state.asked(direction)
    return before is not None and after is not None and before.value == after.value


def _mirrored(view: AxisView) -> str:
    """Software limits that are not alike to both sides hold at the other ends."""
    low, high = sized(view, LOW, WAY), sized(view, HIGH, WAY)
    if low is None or high is None or are_off(view) is not False or low.kind != high.kind:
        return ""
    ends = float(low.number()), float(high.number())
    if abs(ends[0] + ends[1]) < _ROUNDING:
        return ""
    text = " and ".join(length_or_angle(end, high) for end in ends)
    return f" Its software limits, {text}, hold for the mirrored way."


def _reversed(bits: int) -> str:
    names = [
        name
        for bit, name in ((_POSITION_BIT, "position"), (_VELOCITY_BIT, "velocity"))
        if bits & bit
    ]
    return f"{' and '.join(names)} commands"


def _wrong_way(view: AxisView) -> str:
    text = " The axis runs the other way than its program and its limit switches expect."
    return f"{text} It hangs: what is to lift lowers." if view.is_vertical else text


@explains("encoder_direction")
def encoder_direction(change: Change, left: AxisView, right: AxisView) -> Explanation | None:
    """An encoder that counts the other way turns the axis, or lets it run away."""
    before, after = chosen(change.left), chosen(change.right)
    if before is None or after is None:
        known = after if after is not None else before
        if not known:
            return None
        side = "This set" if after is not None else "The other set"
        return Explanation(
            f"{side} counts the encoder backwards; the counterpart does not say.", "hazard"
        )
    if before == after:
        return None
    # Common practice, no source: with the wrong sign the loop drives away from its set point.
    return Explanation(
        "The encoder counts the other way: the direction reverses, and if the motor's phases are "
        f"not turned with it, the motor runs away.{_wrong_way(right)}",
        "hazard",
    )
