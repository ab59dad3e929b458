"""The encoder: the one that is fitted, and absolute over the whole stroke."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour.load_encoder import (
    CLOSES,
    INCREMENTS,
    REVOLUTIONS,
    counts_as_built,
    counts_reckoned,
    load_ratio,
)
from vault.behaviour.position import (
    MOST_BITS,
    is_single_turn,
    range_of,
    stroke,
    way_of_motor_turn,
)
from vault.behaviour.position import absolute_range as range_absolute
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import ENCODER, LOAD, MECHANICS, codes, holds_position
from vault.meaning.classes import MOST_TRAVEL_ERROR
from vault.meaning.findings import digits, finding, in_words
from vault.meaning.sentences import number_text
from vault.model.quantities import rounded_decimal

if TYPE_CHECKING:
    from fractions import Fraction

    from vault.behaviour.facts import Figure
    from vault.meaning.axis_view import AxisView

RANGE_SHORT = (
    "The encoder knows its place over {distance} only; the stroke is {stroke}: with power off the "
    "place in it is lost."
)
SOURCE = {"nameplate": "its nameplate", "axis.yaml": "axis.yaml"}
OTHER_BITS = "By the set the encoder has {bits} {words} bits, by {source} {fitted}."
LOAD_RATIO = (
    "The drive reckons with {counted} counts of the load encoder in a motor revolution, the "
    "machine gives {fitted}: {what}."
)
GOES_WRONG = {
    "positions": "what is positioned by it goes {times} times as far as it is told",
    "may position": "if the drive positions by it, the axis goes {times} times as far as told",
    "watches": "where it watches the axis, a way counts for {inverse} times what it is",
}
OTHER_COUNT = (
    "The drive counts {counted} increments in a motor revolution, the encoder fitted gives "
    "{fitted}: by that alone every motion is {times} times what is commanded."
)

_ROUNDING = 1e-6
"""A circumference is written in axis.yaml rounded (1 um in a metre)."""
_COUNTED = ("position_encoder_increments", "position_encoder_motor_revolutions")
_MULTI = "encoder_multi_turn_bits"
_BITS = {
    "encoder_single_turn_bits": ("single-turn", "single_turn_bits"),
    "encoder_multi_turn_bits": ("multi-turn", "multi_turn_bits"),
}


@rule
def absolute_range(view: AxisView) -> Iterator[Complaint]:
    """An absolute encoder must count over the whole stroke: 2^bits motor revolutions L / G."""
    way, place = _absolute_range(view)
    whole = view.state.asked(stroke)
    if way is None or whole is None or way.value >= whole.value or not holds_position(view):
        return
    yield Complaint(
        "absolute_range",
        "travel",
        RANGE_SHORT.format(distance=in_words(way), stroke=in_words(whole)),
        (place, MECHANICS),
        (finding("absolute range", way),),
    )


def _absolute_range(view: AxisView) -> tuple[Figure | None, str]:
    """Way over which the encoder knows its place, and where that stands: set, nameplate, record.

    None for an encoder that is not used as a multi-turn one.
    """
    state = view.state
    if state.asked(way_of_motor_turn) is None or state.asked(is_single_turn):
        return None, ""
    if places := codes(view, _MULTI):
        return state.asked(range_absolute), places[0]
    bits, place = _fitted_bits(view, _MULTI)
    return (range_of(state, bits), place) if bits and bits <= MOST_BITS else (None, "")


def _fitted_bits(view: AxisView, name: str) -> tuple[int | None, str]:
    """Bits that the encoder has by the nameplate of the export, else by the axis record."""
    text = view.nameplate.get(name, "").strip()
    if text.isdecimal() and len(text) < 3:
        return int(text), "nameplate"
    encoder = view.axis.encoder if view.axis is not None else None
    return (getattr(encoder, _BITS[name][1]), ENCODER) if encoder is not None else (None, "")


@rule
def encoder_bits(view: AxisView) -> Iterator[Complaint]:
    """Bits in the set are those of the encoder fitted; none may mean that they are not used."""
    for name, (words, _) in _BITS.items():
        inside, (fitted, place) = view.number(name), _fitted_bits(view, name)
        if not inside or not fitted or inside == fitted or _counts_wrongly(view, name):
            continue
        source = SOURCE["nameplate" if place == "nameplate" else "axis.yaml"]
        yield Complaint(
            "encoder_bits",
            "travel",
            OTHER_BITS.format(
                bits=digits(float(inside), 9), words=words, source=source, fitted=fitted
            ),
            (*codes(view, name), place),
            (Finding(f"{words} bits fitted", str(fitted), "bit", place),),
        )


def _counts_wrongly(view: AxisView, name: str) -> bool:
    """Whether `encoder_resolution` says it already."""
    own = view.scaling
    counts = name != _MULTI and codes(view, _COUNTED[0])
    return bool(counts and own.encoder != own.encoder_fitted)


@rule
def encoder_resolution(view: AxisView) -> Iterator[Complaint]:
    """The drive must count the encoder that is fitted."""
    counted, fitted = view.scaling.encoder, view.scaling.encoder_fitted
    if counted is None or fitted is None or counted == fitted or not codes(view, _COUNTED[0]):
        return
    place = "nameplate" if "encoder_single_turn_bits" in view.nameplate else ENCODER
    yield Complaint(
        "encoder_resolution",
        "hazard" if view.is_vertical else "travel",
        OTHER_COUNT.format(
            counted=_count(counted),
            fitted=_count(fitted),
            times=digits(float(view.scaling.encoder_ratio), 6),
        ),
        (*codes(view, *_COUNTED), place),
        (
            Finding("increments counted", _plain(counted), "increments", "the set"),
            Finding("increments fitted", _plain(fitted), "increments", "2^bits"),
        ),
    )


@rule
def load_encoder(view: AxisView) -> Iterator[Complaint]:
    """The drive must reckon with the ratio of its two encoders that the machine has."""
    state = view.state
    ratio = state.asked(load_ratio)
    if ratio is None or abs(ratio.value - 1) <= _ROUNDING:
        return
    closes = state.record(CLOSES)
    wrong = GOES_WRONG["watches" if closes is False else "positions" if closes else "may position"]
    is_far = abs(ratio.value - 1) > MOST_TRAVEL_ERROR
    yield Complaint(
        "load_encoder",
        "hazard" if is_far and closes is not False else "travel",
        LOAD_RATIO.format(
            counted=digits(state.ask(counts_reckoned), 9),
            fitted=digits(state.ask(counts_as_built), 9),
            what=wrong.format(times=digits(ratio.value, 6), inverse=digits(1 / ratio.value, 6)),
        ),
        (*codes(view, INCREMENTS, REVOLUTIONS), LOAD, MECHANICS),
        (finding("ratio of the load encoder", ratio),),
    )


def _count(number: Fraction) -> str:
    return number_text(rounded_decimal(number, 9))


def _plain(number: Fraction) -> str:
    return _count(number).replace(",", "")
