"""A short measured move: how far the axis went against what it was told, and what explains that."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from fractions import Fraction
from math import log2, pi
from typing import TYPE_CHECKING

from vault.behaviour.measured_travel import causes_of
from vault.meaning.findings import digits
from vault.meaning.sentences import size_text, value_text
from vault.model.errors import WrongUsage
from vault.model.quantities import Measure, Physical, UnknownUnit
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.behaviour.measured_travel import TravelCause
    from vault.meaning.axis_view import AxisView

TOLERANCE = Fraction(1, 100)
"""Share by which a hand-measured short move may be off: 0.1 mm in 10 mm (common practice)."""

TOLD = "Commanded {commanded}, measured {measured}"
AS_TOLD = "{told}: the axis moves as told, within {share} % of the move."
DID_NOT_MOVE = (
    "{told}: the axis did not move. Look at enable, brake and following error before the scaling."
)
TIMES = "{told}: {times} times the way it was told."
OTHER_WAY = "{told}: {times} times the way it was told, and the wrong way."
NO_SINGLE = (
    "No single setting explains that: measure a longer move, and look for slip, backlash and two "
    "wrong settings at once."
)
EXPLANATIONS = {
    "direction": "the direction is turned round: position polarity, phase order of the motor, or "
    "the sense of the encoder; a wrong sense with a closed loop runs away",
    "encoder": "{set}: {counted} a turn are counted, and the encoder fitted gives {fitted} "
    "(axis.yaml and the nameplate)",
    "gear": "the gear is set as {gear}, and {built} is recorded in axis.yaml",
    "feed": "{set} a turn, and the machine makes {way} (axis.yaml)",
    "not_counted": "a gear of {stage} is fitted and not counted",
    "not_fitted": "the gear of {stage} is counted and not fitted, or counted twice (in the "
    "controller too)",
    "upside_down": "the gear is set upside down: {stage}",
    "other_gear": "a gear of {stage} is fitted instead of {gear} that is set",
    "other_lead": "a screw of {lead} mm lead is fitted instead of {own} mm",
}
TOGETHER = "these together: {parts}"
MIX_UP = (
    "{what}: that makes a move {times} times too {way}. {set}; look at the unit it counts in, and "
    "at that of the controller"
)
MIX_UPS = {
    25.4: "inches and millimetres are mixed up",
    1000.0: "a unit and its thousandth are mixed up, such as mm and µm",
    360.0: "degrees and revolutions are mixed up",
    2 * pi: "radians and revolutions are mixed up",
    180 / pi: "degrees and radians are mixed up",
    60.0: "minutes and seconds are mixed up, of time or of angle",
}
BITS = "an encoder of {bits} {side} is fitted than is counted"
BITS_COUNTED = (
    "an encoder of {bits} {side} is fitted: {counted} a turn are counted, {fits} would fit"
)
LINES_FOR_EDGES = "; or lines are taken for edges (four edges a line)"

_HINT = '--moved "10 mm=10.02 mm"'


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


def typed_move(text: str) -> str:
    """A move as a person types it, with the site's decimal mark, in the form that is kept.

    Raises WrongUsage as `parse_move` does.
    """
    kept = "=".join(map(str, _sides(text, Measure.typed)))
    parse_move(kept)
    return kept


def _sides(text: str, read: Callable[[str], Measure]) -> tuple[Measure, Measure]:
    sides = text.split("=")
    if len(sides) != 2:
        raise WrongUsage(f"{text!r} is no measured move: COMMANDED=MEASURED", hint=_HINT)
    try:
        return read(sides[0]), read(sides[1])
    except (ValueError, UnknownUnit) as error:
        raise WrongUsage(f"the measured move cannot be read: {error}", hint=_HINT) from error


def parse_move(text: str, tolerance: Fraction = TOLERANCE) -> MeasuredMove:
    """Read `10 mm=10.02 mm`, as it is kept; a side without a unit has that of the other.

    Raises WrongUsage.
    """
    one, other = _sides(text, Measure.parse)
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
    ratio, tolerance = float(move.ratio), float(move.tolerance)
    told = TOLD.format(commanded=size_text(move.commanded), measured=size_text(move.measured))
    if abs(move.ratio - 1) <= move.tolerance:
        fine = AS_TOLD.format(told=told, share=digits(tolerance * 100, 2))
        return TravelRatio(move, ratio, True, (), fine)
    if abs(ratio) < move.tolerance**2:
        return TravelRatio(move, ratio, False, (), DID_NOT_MOVE.format(told=told))
    found: dict[str, TravelSuspect] = {}
    for cause in causes_of(view.state, ratio, tolerance):
        suspect = _suspect(cause, view)
        found.setdefault(suspect.explanation, suspect)
    suspects = tuple(found.values())
    text = (OTHER_WAY if ratio < 0 else TIMES).format(told=told, times=digits(ratio, 5))
    return TravelRatio(move, ratio, False, suspects, text if suspects else f"{text} {NO_SINGLE}")


def _suspect(cause: TravelCause, view: AxisView) -> TravelSuspect:
    parameter = view.find(cause.role)
    code = None if parameter is None else parameter.code
    return TravelSuspect(code, cause.role, _explanation(cause, view), cause.ratio)


def _explanation(cause: TravelCause, view: AxisView) -> str:
    own, size = view.scaling, Fraction(cause.size or 0)
    if cause.cause == "together":
        return TOGETHER.format(parts="; ".join(_explanation(part, view) for part in cause.parts))
    if cause.cause == "bits":
        return _bits(int(size), own.encoder)
    if cause.cause == "mix_up":
        return MIX_UP.format(
            what=MIX_UPS[float(cause.size or 0)],
            times=digits(float(cause.size or 0), 4),
            way="far" if cause.ratio > 1 else "short",
            set=_set_to(view, cause.role),
        )
    return EXPLANATIONS[cause.cause].format(
        set=_set_to(view, cause.role),
        gear=_ratio_text(own.gear if own.gear is not None else Fraction(1)),
        built="" if own.travel is None else _ratio_text(own.travel.gear),
        stage=_ratio_text(size),
        lead=digits(float(size)),
        way="" if own.travel is None else size_text(own.travel.per_turn),
        own="" if own.travel is None else digits(float(own.travel.per_turn.number()) * 1000),
        counted="" if own.encoder is None else _counts(own.encoder),
        fitted="" if own.encoder_fitted is None else _counts(own.encoder_fitted),
    )


def _bits(power: int, counted: Fraction | None) -> str:
    """An encoder with more or fewer bits than are counted."""
    bits = plural(abs(power), "bit")
    side = "more" if power < 0 else "fewer"
    if counted is None:
        said = BITS.format(bits=bits, side=side)
    else:
        fits = _counts(counted / Fraction(2) ** power)
        said = BITS_COUNTED.format(bits=bits, side=side, counted=_counts(counted), fits=fits)
    return said + LINES_FOR_EDGES if abs(power) <= 2 else said


def _set_to(view: AxisView, role: str) -> str:
    parameter = view.find(role)
    return f"{parameter.name} is {value_text(parameter)}" if parameter is not None else role


def _counts(number: Fraction) -> str:
    exponent = round(log2(float(number)))
    if number == Fraction(2) ** exponent:
        return f"2^{exponent} increments"
    return f"{digits(float(number), 8)} increments"


def _ratio_text(ratio: Fraction) -> str:
    return f"{ratio.numerator}:{ratio.denominator}"
