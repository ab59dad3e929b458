"""A short measured move: how far the axis went against what it was told, and what explains that.

The travel ratio is measured over commanded; 1 where parameters and machine agree. With other
settings than the machine has it is (R_set G_set / F_set) / (R_real G_real / L_real) (CiA 402-2,
factor group), negative where the axis turns the other way.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from math import isclose, log2, pi
from typing import TYPE_CHECKING

from vault.meaning.findings import digits
from vault.meaning.sentences import size_text, value_text
from vault.model.errors import WrongUsage
from vault.model.quantities import Measure, Physical, UnknownUnit

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView

TOLERANCE = Fraction(1, 100)
"""Share by which a hand-measured short move may be off: 0.1 mm in 10 mm (common practice)."""

_HINT = '--moved "10 mm=10.02 mm"'
_RECORDED = "axis.yaml and the nameplate"


@dataclass(frozen=True, slots=True)
class MeasuredMove:
    """A move in SI, commanded and as measured; `tolerance` is a share of it."""

    commanded: Physical
    measured: Physical
    tolerance: Fraction = TOLERANCE

    @property
    def ratio(self) -> Fraction:
        """Measured over commanded, signed."""
        return self.measured.number() / self.commanded.number()


@dataclass(frozen=True, slots=True)
class TravelSuspect:
    """A setting that would give `ratio`: its code (None where no parameter stands for it)."""

    code: str | None
    role: str | None
    explanation: str
    ratio: float


@dataclass(frozen=True, slots=True)
class TravelRatio:
    """The verdict on a measured move; suspects likeliest first, none where it is fine."""

    move: MeasuredMove
    ratio: float
    is_fine: bool
    suspects: tuple[TravelSuspect, ...]
    sentence: str


def parse_move(text: str, tolerance: Fraction = TOLERANCE) -> MeasuredMove:
    """Read `10 mm=10.02 mm`; a side without a unit has that of the other. Raises WrongUsage."""
    sides = text.split("=")
    if len(sides) != 2:
        raise WrongUsage(f"{text!r} is no measured move: COMMANDED=MEASURED", hint=_HINT)
    try:
        one, other = (Measure.parse(side) for side in sides)
    except (ValueError, UnknownUnit) as error:
        raise WrongUsage(f"the measured move cannot be read: {error}", hint=_HINT) from error
    unit = one.unit or other.unit
    commanded = Measure(one.value, one.unit or unit).physical()
    measured = Measure(other.value, other.unit or unit).physical()
    if commanded is None or measured is None or commanded.kind not in ("length", "angle"):
        raise WrongUsage("a measured move takes a unit of length or angle", hint=_HINT)
    if commanded.kind != measured.kind:
        pair = "a length against an angle"
        raise WrongUsage(f"{text!r} sets {pair}", hint=_HINT)
    if commanded.ratio == 0:
        raise WrongUsage("a commanded move of nothing tells nothing", hint=_HINT)
    return MeasuredMove(commanded, measured, tolerance)


def judge(move: MeasuredMove, view: AxisView) -> TravelRatio:
    """Say whether the axis moved as told, and which settings would explain it if not."""
    ratio = float(move.ratio)
    told = f"Commanded {size_text(move.commanded)}, measured {size_text(move.measured)}"
    within = f"{digits(float(move.tolerance) * 100, 2)} %"
    if abs(move.ratio - 1) <= move.tolerance:
        said = f"{told}: the axis moves as told, within {within} of the move."
        return TravelRatio(move, ratio, True, (), said)
    if abs(ratio) < move.tolerance**2:
        said = (
            f"{told}: the axis did not move. Look at enable, brake and following error before "
            "the scaling."
        )
        return TravelRatio(move, ratio, False, (), said)
    suspects = tuple(_suspects(ratio, float(move.tolerance), view))
    said = f"{told}: {digits(ratio, 5)} times the way it was told"
    said += ", and the wrong way." if ratio < 0 else "."
    if not suspects:
        said += (
            " No single setting explains that: measure a longer move, and look for slip, backlash "
            "and two wrong settings at once."
        )
    return TravelRatio(move, ratio, False, suspects, said)


def _suspects(ratio: float, tolerance: float, view: AxisView) -> Iterator[TravelSuspect]:
    recorded = _against_the_record(view)
    if ratio < 0:
        yield _suspect(
            view, "polarity",
            "the direction is turned round: position polarity, phase order of the motor, or "
            "the sense of the encoder; a wrong sense with a closed loop runs away", -1.0,
        )  # fmt: skip
    size = abs(ratio)
    if abs(size - 1) <= tolerance:
        return
    seen: set[str | None] = set()
    hypotheses = (*recorded, *_unit_mix_ups(view), *_encoder_bits(size, view),
                  *_gear_stages(size, view), *_leads(size, view))  # fmt: skip
    for one in hypotheses:
        if isclose(one.ratio, size, rel_tol=tolerance) and one.explanation not in seen:
            seen.add(one.explanation)
            yield one


def _suspect(view: AxisView, role: str, explanation: str, ratio: float) -> TravelSuspect:
    parameter = view.find(role)
    return TravelSuspect(parameter.code if parameter else None, role, explanation, ratio)


def _set_to(view: AxisView, role: str) -> str:
    parameter = view.find(role)
    return f"{parameter.name} is {value_text(parameter)}" if parameter is not None else role


def _encoder_role(view: AxisView) -> str:
    found = view.find("position_encoder_increments")
    return "encoder_single_turn_bits" if found is None else "position_encoder_increments"


def _against_the_record(view: AxisView) -> list[TravelSuspect]:
    """Settings that do not agree with the machine as recorded, one by one and together."""
    own, found = view.scaling, []
    if own.encoder_ratio != 1 and own.encoder is not None and own.encoder_fitted is not None:
        role = _encoder_role(view)
        said = (
            f"{_set_to(view, role)}: {_counts(own.encoder)} a turn are counted, and the encoder "
            f"fitted gives {_counts(own.encoder_fitted)} ({_RECORDED})"
        )
        found.append(_suspect(view, role, said, float(own.encoder_ratio)))
    gear = own.gear if own.gear is not None else Fraction(1)
    if own.travel is not None and gear != own.travel.gear:
        role = "gear_ratio_motor_revolutions"
        said = (
            f"the gear is set as {_ratio_text(gear)}, and {_ratio_text(own.travel.gear)} is "
            "recorded in axis.yaml"
        )
        found.append(_suspect(view, role, said, float(gear / own.travel.gear)))
    if (feed := _feed_error(view)) is not None and feed != 1 and own.travel is not None:
        role = "feed_constant_feed"
        said = (
            f"{_set_to(view, role)} a turn, and the machine makes "
            f"{size_text(own.travel.per_turn)} (axis.yaml)"
        )
        found.append(_suspect(view, role, said, float(feed)))
    if own.travel_error is not None and len(found) > 1:
        said = "these together: " + "; ".join(one.explanation for one in found)
        first = found[0]
        found.append(TravelSuspect(first.code, first.role, said, float(own.travel_error)))
    return found


def _feed_error(view: AxisView) -> Fraction | None:
    """Way per turn as built over the way that is set, in the unit that is stated."""
    own = view.scaling
    if own.travel is None or own.feed is None or own.nominal_unit is None:
        return None
    step, unit = own.travel.per_turn, own.nominal_unit
    if step.kind != unit.kind or step.pi_power != unit.pi_power:
        return None
    error = step / (unit * own.feed)
    # A circumference is written in axis.yaml rounded (1 um in a metre).
    return Fraction(1) if abs(error - 1) <= Fraction(1, 10**6) else error


def _unit_mix_ups(view: AxisView) -> Iterator[TravelSuspect]:
    """Units that people take for each other; all common practice, no source."""
    linear = view.scaling.travel is None or view.scaling.travel.per_turn.kind == "length"
    pairs = [
        (25.4, "inches and millimetres are mixed up"),
        (1000.0, "a unit and its thousandth are mixed up, such as mm and µm"),
        (360.0, "degrees and revolutions are mixed up"),
        (2 * pi, "radians and revolutions are mixed up"),
        (180 / pi, "degrees and radians are mixed up"),
        (60.0, "minutes and seconds are mixed up, of time or of angle"),
    ]
    if not linear:
        pairs = pairs[2:] + pairs[:2]
    role = "feed_constant_feed" if view.find("feed_constant_feed") else "si_unit_position"
    for factor, said in pairs:
        for ratio in (factor, 1 / factor):
            way = "far" if ratio > 1 else "short"
            yield _suspect(
                view, role,
                f"{said}: that makes a move {digits(factor, 4)} times too {way}. "
                f"{_set_to(view, role)}; look at the unit it counts in, and at that of the "
                "controller", ratio,
            )  # fmt: skip


def _encoder_bits(size: float, view: AxisView) -> Iterator[TravelSuspect]:
    """Powers of two: R is that of an encoder with more or fewer bits."""
    power = round(log2(size))
    if power == 0 or abs(power) > 16:
        return
    role = _encoder_role(view)
    said = f"an encoder of {abs(power)} bit{'s' if abs(power) > 1 else ''} "
    said += "more" if power < 0 else "fewer"
    encoder = view.scaling.encoder
    if encoder is not None:
        real = encoder / Fraction(2) ** power
        said += f" is fitted: {_counts(encoder)} a turn are counted, {_counts(real)} would fit"
    else:
        said += " is fitted than is counted"
    if abs(power) <= 2:
        said += "; or lines are taken for edges (four edges a line)"
    yield _suspect(view, role, said, 2.0**power)


_STAGES = tuple(map(Fraction, (2, 3, 4, 5, 6, 7, 8, 9, 10, 12, 15, 16, 20, 25, 28, 30, 32, 35, 40,
                               50, 64, 70, 80, 100)))  # fmt: skip
"""Ratios that planetary gearboxes of one and two stages come in; common practice, no source."""


def _gear_stages(size: float, view: AxisView) -> Iterator[TravelSuspect]:
    role = "gear_ratio_motor_revolutions"
    gear = view.scaling.gear
    if gear is None:
        # No gear in the drive: a stage that is fitted and not counted makes the move short.
        for stage in _STAGES:
            yield _suspect(
                view, role, f"a gear of {_ratio_text(stage)} is fitted and not counted",
                float(1 / stage),
            )  # fmt: skip
        return
    if gear != 1:
        yield _suspect(
            view, role, f"the gear of {_ratio_text(gear)} is counted and not fitted, or counted "
            "twice (in the controller too)", float(gear),
        )  # fmt: skip
        yield _suspect(
            view, role, f"the gear is set upside down: {_ratio_text(gear)}", float(gear * gear)
        )
    for stage in (Fraction(1), *_STAGES):
        if stage != gear:
            yield _suspect(
                view, role, f"a gear of {_ratio_text(stage)} is fitted instead of "
                f"{_ratio_text(gear)} that is set", float(gear / stage),
            )  # fmt: skip


_LEADS = tuple(map(Fraction, ("1", "2", "2.5", "3", "4", "5", "5.08", "6", "8", "10", "12", "12.7",
                              "16", "20", "25", "25.4", "32", "40", "50")))  # fmt: skip
"""Leads of ball screws in mm: ISO 3408-2, and inch screws; from memory."""


def _leads(size: float, view: AxisView) -> Iterator[TravelSuspect]:
    mechanics, travel = view.mechanics, view.scaling.travel
    if mechanics is not None and mechanics.kind != "ball_screw":
        return
    if travel is None or travel.per_turn.kind != "length":
        return
    own = travel.per_turn.ratio * 1000
    for lead in _LEADS:
        if lead != own:
            yield _suspect(
                view, "feed_constant_feed", f"a screw of {digits(float(lead))} mm lead is fitted "
                f"instead of {digits(float(own))} mm", float(lead / own),
            )  # fmt: skip


def _counts(number: Fraction) -> str:
    exponent = round(log2(float(number)))
    if number == Fraction(2) ** exponent:
        return f"2^{exponent} increments"
    return f"{digits(float(number), 8)} increments"


def _ratio_text(ratio: Fraction) -> str:
    return f"{ratio.numerator}:{ratio.denominator}"
