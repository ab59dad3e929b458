"""The encoder: absolute over the whole stroke."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from vault.meaning import physics
from vault.meaning.checks import Complaint, rule
from vault.meaning.findings import figure, length_or_angle

if TYPE_CHECKING:
    from vault.meaning.axis_view import AxisView


@rule
def absolute_range(view: AxisView) -> Iterator[Complaint]:
    """An absolute encoder must count over the whole stroke."""
    encoder = view.axis.encoder if view.axis is not None else None
    bits = encoder.multi_turn_bits if encoder is not None else None
    travel, stroke = view.scaling.travel, view.stroke
    if not bits or travel is None or stroke is None:
        return
    way = physics.multi_turn_range(bits, float(travel.per_turn.number()), float(travel.gear))
    if way < stroke:
        yield Complaint(
            "absolute_range",
            "travel",
            f"The encoder knows its place over {length_or_angle(way, travel.per_turn)} only; the "
            f"stroke is {length_or_angle(stroke, travel.per_turn)}.",
            ("axis.yaml: encoder",),
            (figure("absolute range", way, "2^bits L / G", like=travel.per_turn),),
        )
