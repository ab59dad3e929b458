"""One axis, drawn part by part: each is sized by what is there already."""

from __future__ import annotations

from random import Random

from tests.oracle.drawing.homing import draw_homing
from tests.oracle.drawing.mechanics import draw_machine
from tests.oracle.drawing.particulars import draw_particulars
from tests.oracle.drawing.scaling import draw_movement, draw_scaling, spoil_scaling
from tests.oracle.drawing.sketch import Sketch
from tests.oracle.drawing.supervision import draw_loops, draw_stops, draw_supply
from tests.oracle.drawing.torques import draw_brake, draw_duty, draw_ratings


def draw_axis(dice: Random, mechanism: str) -> Sketch:
    """Draw an axis with this mechanism."""
    sketch = Sketch(dice, mechanism)
    draw_machine(sketch)
    draw_scaling(sketch)
    draw_movement(sketch)
    draw_ratings(sketch, draw_duty(sketch))
    draw_brake(sketch)
    draw_loops(sketch)
    draw_stops(sketch)
    draw_supply(sketch)
    spoil_scaling(sketch)
    draw_homing(sketch)
    draw_particulars(sketch)
    return sketch
