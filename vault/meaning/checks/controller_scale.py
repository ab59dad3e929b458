"""Counts per unit, direction and modulo: the controller's against the drive's and the machine."""

from __future__ import annotations

import re
from collections.abc import Iterator
from fractions import Fraction
from math import pi
from typing import TYPE_CHECKING

from vault.behaviour.controller import (
    DIRECTION,
    MOST_OFF,
    ROUNDING,
    count_of,
    increment_of,
    stated_count_of,
)
from vault.behaviour.controller_limits import whole_stroke
from vault.behaviour.controller_units import COUNTS, COUNTS_PER, USER_UNITS
from vault.behaviour.position import is_endless
from vault.behaviour.position_limits import RANGE_HIGH, RANGE_LOW, position_range
from vault.behaviour.scale import direction, is_linear
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, cross_rule
from vault.meaning.checks.controller_words import (
    CONTROLLER_RECORD,
    OF_CONTROLLER,
    called,
    looks,
    place,
    places,
    ratio,
)
from vault.meaning.checks.sources import LINK, MECHANICS, codes, is_frequency_drive
from vault.meaning.findings import digits, figure, in_reader_units
from vault.meaning.reader import unit_for
from vault.model.choices import chosen

if TYPE_CHECKING:
    from vault.behaviour.controller import CountScale
    from vault.meaning.axis_view import AxisView
    from vault.meaning.controller_side import ControllerSide
    from vault.model.parameters import Parameter

MOVES = (
    "The controller counts {number} for {per}, and the axis makes {made} of so many {what}. A "
    "commanded {commanded} {unit} moves {moved} {unit}, {times} times as far."
)
FITS_INCREMENTS = (
    "It would fit if the controller were sent increments of the encoder: what it is sent, the "
    "drive's process data must tell."
)
NO_UNIT = (
    "The controller's set says in no unit what its positions are: nothing of them is held against "
    "the drive. Enter scale under controller in axis.yaml: the counts, and the way they are for."
)
NO_COUNTS = (
    "How many counts the controller sends for a way is neither in its set nor in axis.yaml, as "
    "scale under controller: its {unit} is taken for a true one."
)
OTHER_SCALE = "By the controller's set {own_number} counts are {own}, by axis.yaml {number} {per}."
OTHER_UNIT = (
    "By the controller's set its unit is {own}, by axis.yaml {recorded}: values that state none "
    "are taken in {own}."
)
BOTH_TURN = (
    "Both sides turn the direction round: {name} is reversed, and so is the drive. It cancels, but "
    "whoever restores one side alone has the axis run the other way."
)
OTHER_DIRECTION = (
    "The controller's set counts {own} ({name}), axis.yaml has it as {recorded} ({key}): one of "
    "them runs the axis the wrong way."
)
OTHER_RANGE = (
    "Positions of the controller start over after {modulo}, those of the drive after {range}: "
    "{times}, and from turn to turn both lie elsewhere."
)
OPEN_MODULO = (
    "Positions of the controller start over after {modulo}, a turn of the axis has {turn}: neither "
    "is whole times the other, and positions wander turn by turn."
)
OPEN_COUNTS = (
    "A modulo of {modulo} takes {number} counts: unless the controller carries the fraction along, "
    "it adds up turn by turn."
)
WITH_STROKE = (
    "Positions of the controller start over after {modulo}, on an axis with a stroke of {stroke}: "
    "beyond it one position is two places."
)

_COMMANDED = {"mm": 150, "in": 6, "deg": 150}
_FACTORS = (
    "position_encoder_increments", "gear_ratio_motor_revolutions", "gear_ratio_shaft_revolutions",
    "feed_constant_feed", "feed_constant_shaft_revolutions", "si_unit_position",
)  # fmt: skip
_WHAT = {
    "unit as built": "of the drive's units",
    "unit as stated": "of the drive's units",
    "increment": "increments of the encoder",
}
_OF_POSITION = (
    "controller_min_software_limit", "controller_max_software_limit", "controller_move_position",
    "controller_move_distance", "controller_move_velocity", "controller_jog_velocity",
    "controller_max_velocity", "controller_following_error_limit", "controller_modulo",
    "controller_homing_position", "controller_homing_velocity",
)  # fmt: skip
_MODULO = "controller_modulo"
_SAYS_DIRECTION = re.compile(r"direction|invert|polarity")
_REVERSED = ("reversed", "inverted", "negative", "yes", "true", "1", "-1")
_STRAIGHT = ("positive", "normal", "no", "false", "0")


def _scale_places(side: ControllerSide) -> tuple[str, ...]:
    found = [one for role in (COUNTS, COUNTS_PER) if (one := side.said.find(role)) is not None]
    return places(*found) if side.said.own_scale is not None else (CONTROLLER_RECORD,)


def _counts(scale: CountScale) -> str:
    return digits(abs(float(scale.counts)), 12)


def _unit(side: ControllerSide) -> str:
    kind = "length" if side.drive.state.asked(is_linear) else "angle"
    return unit_for(kind) or ("m" if kind == "length" else "rad")


@cross_rule
def controller_scale(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """A way that the controller commands is the way made: counts per unit on both sides."""
    said, state = side.said, view.state
    error, scale, count = said.travel_error, said.scale, said.count
    if error is None or scale is None or count is None or is_frequency_drive(view):
        return
    rounding = 0 if state.asked(is_endless) else ROUNDING  # turn by turn it adds up
    if abs(error - 1) <= rounding:
        return
    stated = said.ratio_by(stated_count_of(state))
    if stated is not None and abs(stated - 1) <= rounding:
        return  # it fits the drive, and the drive does not fit the machine: that is told of it
    unit, by_increments = _unit(side), said.ratio_by(increment_of(state))
    way = _COMMANDED.get(unit, 1)
    fits = by_increments is not None and abs(by_increments - 1) <= ROUNDING
    known = 9 if abs(float(error) - 1) < 1e-3 else 6
    yield Complaint(
        "controller_scale",
        "hazard" if abs(error - 1) > MOST_OFF else "travel",
        MOVES.format(
            number=_counts(scale),
            per=in_reader_units(float(scale.per.number()), side.unit),
            made=in_reader_units(float(scale.per.number() * error), side.unit),
            what=_WHAT[count.kind],
            commanded=way,
            unit=unit,
            moved=digits(way * float(error), known),
            times=digits(float(error), known),
        )
        + (f" {FITS_INCREMENTS}" if fits and count.kind != "increment" else ""),
        (*codes(view, *_FACTORS), MECHANICS, *_scale_places(side)),
        (
            figure("counts of the controller", float(scale.counts), OF_CONTROLLER, unit="1"),
            figure("their way", scale.per, OF_CONTROLLER),
            figure("way of a count", count.way, f"the drive: {count.kind}"),
            figure("travel error k", float(error), "counts x way of a count / way", unit="1"),
        ),
    )


def _of_position(side: ControllerSide) -> list[Parameter]:
    return [one for role in _OF_POSITION for one in side.said.all_of(role)]


def _bare(side: ControllerSide) -> list[Parameter]:
    """What states no unit, and is in the controller's own."""
    return [one for one in _of_position(side) if one.unit is None or one.unit in USER_UNITS]


@cross_rule
def controller_scale_unknown(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """Without a unit nothing can be held against the drive: that is said once."""
    said = side.said
    found = _of_position(side)
    if not found or said.scale is not None:
        return
    is_sized = not _bare(side) or said.user_unit is not None
    text = NO_COUNTS.format(unit=said.unit_symbol or "unit") if is_sized else NO_UNIT
    named = Finding("values of the controller in its unit", str(len(found)), "1", OF_CONTROLLER)
    yield Complaint(
        "controller_scale_unknown", "record", text, (CONTROLLER_RECORD, place(found[0])), (named,)
    )


@cross_rule
def controller_scale_record(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """Unit and counts per unit are in axis.yaml what they are in the controller's set."""
    yield from _other_unit(side)
    own, recorded = side.said.own_scale, side.said.recorded_scale
    if own is None or recorded is None:
        return
    one, other = (abs(scale.counts) / scale.per.ratio for scale in (own, recorded))
    if own.per.pi_power == recorded.per.pi_power and one == other:
        return
    size = (
        float(abs(own.counts) / own.per.number()),
        float(abs(recorded.counts) / recorded.per.number()),
    )
    if abs(size[0] - size[1]) <= 1e-9 * size[1]:
        return
    per = [in_reader_units(float(s.per.number()), side.unit) for s in (own, recorded)]
    yield Complaint(
        "controller_scale_record",
        "travel",
        OTHER_SCALE.format(
            own_number=_counts(own), own=per[0], number=_counts(recorded), per=per[1]
        ),
        (*_scale_places(side), CONTROLLER_RECORD),
        tuple(
            figure("counts in a unit of way", number, basis, unit=f"1/{side.unit}")
            for number, basis in zip(size, (OF_CONTROLLER, CONTROLLER_RECORD), strict=True)
        ),
    )


def _other_unit(side: ControllerSide) -> Iterator[Complaint]:
    """Both name a unit, and not one: that matters to what states none."""
    units, per = side.said.units, side.said.find(COUNTS_PER)
    own, recorded = units.own_symbol, units.recorded_symbol
    bare = _bare(side)
    if own is None or recorded is None or own == recorded or per is None or not bare:
        return
    yield Complaint(
        "controller_scale_record",
        "travel",
        OTHER_UNIT.format(own=own, recorded=recorded),
        (*places(per, bare[0]), CONTROLLER_RECORD),
        (
            Finding("user unit of the controller", own, None, OF_CONTROLLER),
            Finding("user unit by axis.yaml", recorded, None, CONTROLLER_RECORD),
        ),
    )


def _says_direction(side: ControllerSide) -> Parameter | None:
    """What says which way the controller counts; None where nothing does, or nobody knows what."""
    parameter = side.said.find(DIRECTION)
    if parameter is None:
        return side.said.find(COUNTS) if side.said.counts_back else None
    return parameter if chosen(parameter) in (0, 1) else None


def _recorded_direction(view: AxisView) -> tuple[str, bool] | None:
    link = view.axis.controller_link if view.axis is not None else {}
    for key, setting in link.items():
        if _SAYS_DIRECTION.search(key):
            said = str(setting).strip().casefold()
            if said in _REVERSED or said in _STRAIGHT:
                return key, said in _REVERSED
    return None


@cross_rule
def controller_direction(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """Direction: polarity x encoder direction of the drive, against the controller's own."""
    parameter, turned = _says_direction(side), side.said.way_round < 0
    if parameter is None:
        return
    words = {True: "reversed", False: "positive"}
    finding = Finding("direction of the controller", words[turned], None, OF_CONTROLLER)
    recorded = _recorded_direction(view)
    if recorded is not None and recorded[1] != turned:
        yield Complaint(
            "controller_direction",
            "hazard",
            OTHER_DIRECTION.format(
                own=words[turned], name=called(parameter), recorded=words[recorded[1]],
                key=recorded[0],
            ),
            (LINK, place(parameter)),
            (finding, Finding("direction by axis.yaml", words[recorded[1]], None, LINK)),
        )  # fmt: skip
    way = view.state.asked(direction)
    if turned and way is not None and way.value < 0:
        yield Complaint(
            "controller_direction",
            "travel",
            BOTH_TURN.format(name=called(parameter)),
            (*codes(view, "polarity", "encoder_direction"), place(parameter)),
            (finding, figure("direction of motion", way.value, way.basis, unit="1")),
        )


@cross_rule
def controller_modulo(view: AxisView, side: ControllerSide) -> Iterator[Complaint]:
    """Where the controller's positions start over: after whole turns, and where the drive's do."""
    told = side.said.way(_MODULO)
    if told is None or told.size <= 0:
        return
    modulo, findings = (
        in_reader_units(told.size, side.unit),
        [figure(f"controller: {called(told.parameter)}", told.size, OF_CONTROLLER, unit=side.unit)],
    )

    def complain(text: str, rests: tuple[str, ...], other: float, unit: str) -> Complaint:
        figures = (
            *findings,
            figure("held against", other, ", ".join(rests) or "counts", unit=unit),
        )
        found = looks(view, rests, told.parameter)
        return Complaint("controller_modulo", "travel", text, found, figures)

    width = view.state.asked(position_range)
    if width is not None and width.value > 0 and not _same_range(view, told.size, width.value):
        text = OTHER_RANGE.format(
            modulo=modulo, range=in_reader_units(width.value, side.unit),
            times=ratio(told.size, width.value),
        )  # fmt: skip
        yield complain(text, (RANGE_LOW, RANGE_HIGH), width.value, side.unit)
    stroke = whole_stroke(view.state)
    if stroke is not None and told.size < stroke.size * (1 - 1e-9):
        text = WITH_STROKE.format(modulo=modulo, stroke=in_reader_units(stroke.size, side.unit))
        yield complain(text, stroke.rests_on, stroke.size, side.unit)
    if view.state.asked(is_endless):
        times = told.size / (2 * pi)
        if not _is_close(max(times, 1 / times), round(max(times, 1 / times))):
            turn = in_reader_units(2 * pi, "rad")
            text = OPEN_MODULO.format(modulo=modulo, turn=turn)
            yield complain(text, ("mechanics.kind",), 2 * pi, "rad")
    counts = _counts_of(side, told.parameter)
    if counts is not None and counts.denominator != 1:
        text = OPEN_COUNTS.format(modulo=modulo, number=digits(float(counts), 9))
        yield complain(text, (), float(counts), "1")


def _same_range(view: AxisView, modulo: float, width: float) -> bool:
    """Whether both start over after the same way: some drives count the upper end as its own."""
    count = count_of(view.state)
    step = 0.0 if count is None else float(count.way.number())
    return _is_close(modulo, width) or _is_close(modulo, width + step)


def _counts_of(side: ControllerSide, modulo: Parameter) -> Fraction | None:
    """Counts in a modulo as the controller reckons, exactly; None where no scale tells."""
    scale, unit = side.said.scale, side.said.user_unit
    if scale is None or unit is None or isinstance(modulo.value, str):
        return None
    if modulo.unit is not None and modulo.unit not in ("user_position", side.said.unit_symbol):
        return None
    per = scale.per
    if per.pi_power != unit.pi_power:
        return None
    return abs(scale.counts) * unit.ratio * Fraction(modulo.value) / per.ratio


def _is_close(one: float, other: float) -> bool:
    return abs(one - other) <= 1e-9 * max(abs(one), abs(other))
