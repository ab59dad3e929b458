"""The encoder: the one that is fitted, and absolute over the whole stroke."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.behaviour import formulas
from vault.meaning.changes import Finding
from vault.meaning.checks import Complaint, rule
from vault.meaning.checks.sources import ENCODER, MECHANICS, codes, holds_position
from vault.meaning.explainers import encoder as explainer
from vault.meaning.findings import digits, figure, length_or_angle
from vault.meaning.sentences import number_text
from vault.model.quantities import rounded_decimal

if TYPE_CHECKING:
    from fractions import Fraction

    from vault.meaning.axis_view import AxisView

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
    travel, stroke = view.scaling.travel, view.stroke
    if way is None or travel is None or stroke is None or way >= stroke:
        return
    if not holds_position(view):
        return
    like = travel.per_turn
    yield Complaint(
        "absolute_range",
        "travel",
        f"The encoder knows its place over {length_or_angle(way, like)} only; the stroke is "
        f"{length_or_angle(stroke, like)}: with power off the place in it is lost.",
        (place, MECHANICS),
        (figure("absolute range", way, "2^bits L / G", like=like),),
    )


def _absolute_range(view: AxisView) -> tuple[float | None, str]:
    """Way over which the encoder knows its place, and where that stands: set, nameplate, record.

    None for an encoder that is not used as a multi-turn one.
    """
    kind, travel = view.find("encoder_type"), view.scaling.travel
    label = (kind.label or "").casefold() if kind is not None else ""
    if travel is None or (label and ("multi-turn" not in label or "incremental" in label)):
        return None, ""
    if places := codes(view, "encoder_multi_turn_bits"):
        return (explainer.absolute_range(view) if view.number(_MULTI) else None), places[0]
    bits, place = _fitted_bits(view, _MULTI)
    if not bits or bits > 64:
        return None, ""
    step, gear = float(travel.per_turn.number()), float(travel.gear)
    return formulas.multi_turn_range(bits, step, gear), place


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
        source = "its nameplate" if place == "nameplate" else "axis.yaml"
        yield Complaint(
            "encoder_bits",
            "travel",
            f"By the set the encoder has {digits(float(inside), 9)} {words} bits, by {source} "
            f"{fitted}.",
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
        f"The drive counts {_count(counted)} increments in a motor revolution, the encoder fitted "
        f"gives {_count(fitted)}: by that alone every motion is "
        f"{digits(float(counted / fitted), 6)} times what is commanded.",
        (*codes(view, *_COUNTED), place),
        (
            Finding("increments counted", _plain(counted), "increments", "the set"),
            Finding("increments fitted", _plain(fitted), "increments", "2^bits"),
        ),
    )


def _count(number: Fraction) -> str:
    return number_text(rounded_decimal(number, 9))


def _plain(number: Fraction) -> str:
    return _count(number).replace(",", "")
