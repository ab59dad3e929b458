"""Causes: what restates or shifts the values of a set although nobody touched them."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from fractions import Fraction
from typing import TYPE_CHECKING

from vault.behaviour.controller_units import COUNTS, COUNTS_PER, USER_UNITS
from vault.behaviour.scaling import TRAVEL_ROLES, UNIT_ROLES, Scaling
from vault.meaning.changes import Cause, Change
from vault.meaning.findings import digits
from vault.meaning.sentences import number_text, shortened, unit_text
from vault.model import roles
from vault.model.parameters import code_order
from vault.model.quantities import rounded_decimal
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

RESTATED = "{values} written in other numbers {mean} the same."
NUMBER = {"one axis": "unchanged number", "two axes": "equal number"}
STILL = "{numbers} {mean} something else{how_much}."
HOW_MUCH = {
    "rating": ": {ratio} times the {rating}",
    "unit": ": {ratio} times {other}",
    "motion": ": every {motion} is really {ratio} times {other}",
}
OTHER = {"one axis": "what it was", "two axes": "that on {axis}"}
MOTION = {
    "position": "commanded way",
    "velocity": "commanded speed",
    "acceleration": "ramp",
    "jerk": "jerk",
    "increments": "offset in increments",
}
MOTION_ON = "{motion} on {axis}"
WHAT = {
    "mechanics": "The machine as built is recorded with another transmission.",
    "travel_scale": "Several of encoder, gear ratio, feed constant and mechanics differ.",
    "same_ratio": "The same ratio is written in other numbers.",
    "choice_numbers": "The families number their choices differently.",
    "unit": "Values are written in another unit.",
    "step": "Values are written in another raw step.",
}
"""Causes of which there is no more to say."""
BOTH = {
    "one axis": "The {what} changed from {before} to {after}.",
    "two axes": "The {what} is {before} on {left} and {after} on {right}.",
}
FITTED = {
    "counted anew": "The fitted encoder gives {count} per motor revolution instead of {before}, "
    "and the drive now counts {counted}.",
    "found out": "The fitted encoder gives {count} per motor revolution, the drive still counts "
    "{counted}.",
    "not counted": "The fitted encoder gives {count} per motor revolution instead of {before}, but "
    "the drive still counts {counted}.",
    "counted": "The fitted encoder gives {count} per motor revolution instead of {before}.",
}
FITTED_ON_TWO = {
    "one count": "The fitted encoder gives {count} per motor revolution on {right}, {before} on "
    "{left}; both drives count {counted}.",
    "two counts": "The fitted encoder gives {count} per motor revolution on {right}, {before} on "
    "{left}; the drives count {counted} and {other}.",
}
INCREMENTS = "{number} increments"
UNKNOWN_NUMBER = "an unknown number"
FEED = "{feed} user units"
COUNTS_FOR = "{counts} for {per}"
UNSTATED_UNIT = "an unstated unit"
UNSTATED = "an unstated one"

_RATES = {
    "user_velocity": "velocity_unit",
    "user_acceleration": "acceleration_unit",
    "user_jerk": "jerk_unit",
}
_CODES = {
    "encoder": "position_encoder_increments",
    "encoder_resolution": "position_encoder_increments",
    "gear_ratio": "gear_ratio_motor_revolutions",
    "feed_constant": "feed_constant_feed",
    "user_unit": "feed_constant_feed",
    "travel_scale": "feed_constant_feed",
    "velocity_unit": "si_unit_velocity",
    "acceleration_unit": "si_unit_acceleration",
    "jerk_unit": "si_unit_jerk",
    "rated_torque": "motor_rated_torque",
    "rated_current": "motor_rated_current",
    "controller_unit": COUNTS_PER,
    "controller_counts": COUNTS,
}
_OF_CONTROLLER = {
    "controller_unit": "user unit of the controller",
    "controller_counts": "way of so many counts of the controller",
}
_NEARLY = Fraction(1, 100)
# Rows of which two make one ratio: 8:2 is 4:1.
_RATIO_ROLES = frozenset(TRAVEL_ROLES) - {"encoder_single_turn_bits"}


def travel_cause(left: Scaling, right: Scaling) -> str | None:
    """Name of what makes the same number another travel, None where nothing does."""
    differing = {
        "encoder": left.encoder_fitted != right.encoder_fitted,
        "encoder_resolution": left.encoder != right.encoder,
        "gear_ratio": left.gear != right.gear,
        "feed_constant": left.feed != right.feed,
        "user_unit": left.unit != right.unit,
        "mechanics": left.travel != right.travel,
    }
    found = {name for name, differs in differing.items() if differs}
    if not found:
        return None
    if found <= {"feed_constant", "user_unit"} and "user_unit" in found:
        return "user_unit"
    if found <= {"encoder", "encoder_resolution"} and "encoder" in found:
        return "encoder"
    return found.pop() if len(found) == 1 else "travel_scale"


def cause_of(unit: str | None, travel: str | None, left: Scaling, right: Scaling) -> str | None:
    """Name of the cause that acts on a value written in a unit."""
    if unit is None:
        return None
    if unit.endswith("_rated_torque"):
        return "rated_torque"
    if unit.endswith("_rated_current"):
        return "rated_current"
    if travel is None and unit in _RATES:
        attribute = _RATES[unit]
        if getattr(left, attribute) != getattr(right, attribute):
            return attribute
    return travel


def controller_cause(unit: str) -> str:
    """Name of the cause that acts on a value of a controller's set."""
    return "controller_unit" if unit in USER_UNITS else "controller_counts"


def collect(
    changes: Iterable[Change],
    left: AxisView,
    right: AxisView,
    sides: tuple[str, str] | None = None,
) -> tuple[Cause, ...]:
    """The causes named by changes, each once, those that shift values first.

    `sides` name two different axes; without them the sentences tell of one axis over time.
    """
    affected: dict[str, list[Change]] = {}
    for change in changes:
        if change.cause is not None and not change.volatile:
            affected.setdefault(change.cause, []).append(change)
    found = [_cause(name, members, left, right, sides) for name, members in affected.items()]
    return tuple(
        sorted(found, key=lambda cause: (not cause.shifts, -len(cause.affects), cause.name))
    )


def _cause(
    name: str,
    members: list[Change],
    left: AxisView,
    right: AxisView,
    sides: tuple[str, str] | None,
) -> Cause:
    values = [c for c in members if c.shown.role not in (*TRAVEL_ROLES, *UNIT_ROLES)]
    shifted = [c for c in values if c.kind == "shifted"]
    restated = len(values) - len(shifted)
    role = _CODES.get(name)
    parameter = right.find(role) or left.find(role) if role else None
    if parameter is not None:
        code = parameter.code
    else:
        code = "nameplate" if name in ("encoder", "rated_torque", "rated_current") else name
    if name == "encoder" and left.scaling.encoder == right.scaling.encoder:
        code = "nameplate"
    sentence = _what(name, left, right, sides)
    if shifted:
        sentence += f" {_effect(name, shifted, sides)}"
    if restated:
        said = RESTATED.format(values=plural(restated, "value"), mean=_mean(restated))
        sentence += f" {said}"
    affected = tuple(sorted((c.shown.code for c in members), key=code_order))
    return Cause(name, code, sentence, affected, bool(shifted))


def _mean(count: int) -> str:
    return "means" if count == 1 else "mean"


def _effect(name: str, shifted: list[Change], sides: tuple[str, str] | None) -> str:
    count = len(shifted)
    numbers = plural(count, NUMBER["two axes" if sides else "one axis"])
    how_much = _how_much(name, shifted, sides)
    return STILL.format(numbers=numbers, mean=_mean(count), how_much=how_much)


def _how_much(name: str, shifted: list[Change], sides: tuple[str, str] | None) -> str:
    """How much else the numbers mean, nothing where they do not agree."""
    ratio = _ratio(shifted)
    if ratio is None:
        return ""
    if name in ("rated_torque", "rated_current"):
        return HOW_MUCH["rating"].format(ratio=ratio, rating=name.removeprefix("rated_"))
    other = OTHER["two axes"].format(axis=sides[0]) if sides else OTHER["one axis"]
    if name in _OF_CONTROLLER or (name.endswith("_unit") and name != "user_unit"):
        return HOW_MUCH["unit"].format(ratio=ratio, other=other)
    motion = _shifted_motion(shifted)
    if not motion:
        return ""
    if sides:
        motion = MOTION_ON.format(motion=motion, axis=sides[1])
    return HOW_MUCH["motion"].format(motion=motion, ratio=ratio, other=other)


def _shifted_motion(shifted: list[Change]) -> str:
    """What of the motion shifted: ways where any did, else speeds, ramps or offsets alone."""
    kinds = {_kind(change) for change in shifted}
    return next((words for kind, words in MOTION.items() if kind in kinds), "")


def _kind(change: Change) -> str:
    role = roles.find(change.shown.role) if change.shown.role else None
    return role.kind if role is not None else ""


def _ratio(shifted: list[Change]) -> str | None:
    """How many times as large things are, where all agree."""
    ratios = {change.ratio for change in shifted}
    ratio = ratios.pop()
    return None if ratios or ratio is None else ratio_text(ratio)


def ratio_text(ratio: Fraction) -> str:
    """A ratio for people: four digits, more where it is nearly 1."""
    if abs(ratio - 1) > _NEARLY:
        return digits(float(ratio))
    return number_text(shortened(rounded_decimal(ratio, 12)))


def _what(name: str, left: AxisView, right: AxisView, sides: tuple[str, str] | None) -> str:
    """One sentence that says what the cause is."""
    before, after = left.scaling, right.scaling
    if name == "encoder":
        return _fitted_encoder(before, after, sides)
    if name == "user_unit":
        units = [
            unit_text(side.unit.text).strip() if side.unit else UNSTATED_UNIT
            for side in (before, after)
        ]
        return _both(name.replace("_", " "), units[0], units[1], sides)
    if name in WHAT:
        return WHAT[name]
    if name in _OF_CONTROLLER:
        was, now = (_of_controller(name, side) for side in (left, right))
        return _both(_OF_CONTROLLER[name], was, now, sides)
    return _both(name.replace("_", " "), *_pair(name, before, after), sides)


def _of_controller(name: str, side: AxisView) -> str:
    units = side.controller_units
    if name == "controller_unit":
        return unit_text(units.symbol).strip()
    scale = units.scale
    return (
        UNSTATED
        if scale is None
        else COUNTS_FOR.format(counts=_counts(scale.counts), per=scale.per)
    )


def _fitted_encoder(before: Scaling, after: Scaling, sides: tuple[str, str] | None) -> str:
    """What the fitted encoder gives, and what the drive counts if that is something else."""
    count, counted = _counts(after.encoder_fitted), _exact(after.encoder)
    was, is_same = _exact(before.encoder_fitted), before.encoder == after.encoder
    differs = after.encoder is not None and after.encoder != after.encoder_fitted
    if sides is not None:
        left, right = sides
        if is_same:
            return FITTED_ON_TWO["one count"].format(
                count=count, right=right, before=was, left=left, counted=counted
            )
        other = _exact(before.encoder)
        return FITTED_ON_TWO["two counts"].format(
            count=count, right=right, before=was, left=left, counted=counted, other=other
        )
    if not is_same:
        return FITTED["counted anew"].format(count=count, before=was, counted=counted)
    if differs and before.encoder == before.encoder_fitted:
        return FITTED["found out"].format(count=count, counted=counted)
    if differs:
        return FITTED["not counted"].format(count=count, before=was, counted=counted)
    return FITTED["counted"].format(count=count, before=was)


def _both(what: str, before: str, after: str, sides: tuple[str, str] | None) -> str:
    if sides is None:
        return BOTH["one axis"].format(what=what, before=before, after=after)
    left, right = sides
    return BOTH["two axes"].format(what=what, before=before, left=left, after=after, right=right)


def _counts(number: Fraction | None) -> str:
    return UNKNOWN_NUMBER if number is None else INCREMENTS.format(number=_exact(number))


def _exact(number: Fraction | None) -> str:
    if number is None:
        return "unknown"
    if number.denominator == 1:
        return number_text(int(number))
    return f"{number.numerator}:{number.denominator}"


def _pair(name: str, before: Scaling, after: Scaling) -> tuple[str, str]:
    def text(side: Scaling) -> str:
        if name == "encoder_resolution":
            return _counts(side.encoder)
        if name == "gear_ratio":
            return (
                f"{_exact(side.gear)}:1"
                if side.gear and side.gear.denominator == 1
                else _exact(side.gear)
            )
        if name == "feed_constant":
            return FEED.format(feed=_exact(side.feed))
        rating = {"rated_torque": side.rated_torque, "rated_current": side.rated_current}.get(name)
        if rating is not None:
            return f"{number_text(shortened(rating.decimal()))} {rating.unit}"
        code = {
            "velocity_unit": side.velocity_unit,
            "acceleration_unit": side.acceleration_unit,
            "jerk_unit": side.jerk_unit,
        }.get(name)
        return code.text if code is not None else UNSTATED

    return text(before), text(after)


def settle_scaling_rows(
    changes: list[Change], travel: str | None, left: Scaling, right: Scaling, *, same_size: bool
) -> list[Change]:
    """Decide whether rows such as the gear ratio changed anything, or only restate.

    They only restate where a user unit is as large as before, or where the travel error is the same
    and what depends on them was written anew.
    """
    settled: list[Change] = []
    for change in changes:
        role = change.shown.role
        if change.kind != "changed" or role not in (*TRAVEL_ROLES, *UNIT_ROLES):
            settled.append(change)
            continue
        name = _row_cause(str(role), travel)
        if _harmless(name, changes, left, right, same_size=same_size):
            settled.append(replace(change, kind="restated", cause=name))
        else:
            settled.append(replace(change, cause=name))
    return settled


def _row_cause(role: str, travel: str | None) -> str | None:
    if travel is not None:
        return travel
    if role in UNIT_ROLES[1:]:
        return role.removeprefix("si_unit_") + "_unit"
    return "same_ratio" if role in _RATIO_ROLES else None


def _harmless(
    name: str | None, changes: list[Change], left: Scaling, right: Scaling, *, same_size: bool
) -> bool:
    """Whether a row only restates: its ratio is the same, or all that rests on it was rewritten."""
    if name is None or name == "same_ratio":
        return name is not None
    if same_size:
        return True
    errors = left.travel_error, right.travel_error
    if None not in errors and errors[0] != errors[1]:
        return False
    kinds = {change.kind for change in changes if change.cause == name}
    return "shifted" not in kinds and ("restated" in kinds or None not in errors)
