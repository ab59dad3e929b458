"""What only some records and sets say. Drawn last, so that the rest of a case stays as it was."""

from __future__ import annotations

from tests.oracle.drawing.sketch import Sketch


def draw_particulars(sketch: Sketch) -> None:
    """Draw what many axes leave open."""
    _lower_end(sketch)


def _lower_end(sketch: Sketch) -> None:
    """Positions grow upwards here; a record may say so."""
    mechanics = sketch.record["mechanics"]
    assert isinstance(mechanics, dict)
    if sketch.weight_share and sketch.chance(0.6):
        mechanics["down"] = "low"
