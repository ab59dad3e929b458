"""Duty, ratings, torque limits and brake of a drawn case."""

from __future__ import annotations

import math

from tests.oracle.drawing.sketch import Sketch, text
from tests.oracle.units import si


def draw_duty(sketch: Sketch) -> float:
    """Draw the moves; returns a rough r.m.s. torque in N*m, or force in N."""
    count = sketch.dice.choice((2, 2, 3, 4))
    share = sketch.dice.uniform(0.25, 0.9) / (count - 1)
    outward = sketch.stroke * share
    speed = sketch.profile * sketch.dice.uniform(0.5, 1.0)
    rate = sketch.speeding_up * sketch.dice.uniform(0.5, 1.0)
    distances = [outward] * (count - 1) + [-outward * (count - 1)]
    moves = [_move(sketch, distance, speed, rate) for distance in distances]
    moves[-1].pop("load", None)
    lasting = sum(_lasts(move) for move in moves)
    cycle = text(lasting * 1.002 + sketch.dice.choice((0.0, 0.1, 0.5, 1.0)) * lasting, "s", 4)
    sketch.record["duty"] = {"cycle": cycle, "moves": moves}
    dynamic = sketch.inertia * sketch.turns * rate
    busy = min(1.0, len(moves) * 2 * speed / rate / si(cycle))
    sketch.duty_peak = dynamic + sketch.holding
    moving = sketch.inertia * (speed * sketch.turns) ** 2 / 2
    sketch.duty_returned = 0.7 * (len(moves) * moving + sketch.pull * sketch.stroke / 2)
    sketch.duty_returned /= si(cycle)
    return math.hypot(dynamic * math.sqrt(busy), sketch.holding)


def _move(sketch: Sketch, distance: float, speed: float, rate: float) -> dict[str, str]:
    place, per_second, per_square = ("deg", "deg/s", "deg/s^2")
    if not sketch.rotary:
        place, per_second, per_square = ("mm", "mm/s", "mm/s^2")
    move = {
        "distance": text(distance, place, 3),
        "speed": text(speed, per_second, 3),
        "acceleration": text(rate, per_square, 3),
        "deceleration": text(rate * sketch.dice.uniform(0.7, 1.2), per_square, 3),
    }
    if not sketch.rotary and sketch.chance(0.4):
        move["load"] = text(sketch.load * sketch.dice.uniform(0.05, 0.6), "kg", 3)
    if sketch.chance(0.7):
        move["wait"] = text(sketch.dice.uniform(0.05, 1.5), "s", 3)
    return move


def _lasts(move: dict[str, str]) -> float:
    """Duration of a trapezoid or triangle and its wait in s (textbook kinematics)."""
    way, top = abs(si(move["distance"])), si(move["speed"])
    up, down = si(move["acceleration"]), si(move["deceleration"])
    peak = min(top, math.sqrt(2 * way / (1 / up + 1 / down)))
    ramps = peak / up + peak / down
    steady = (way - peak**2 / 2 * (1 / up + 1 / down)) / peak
    return ramps + max(steady, 0.0) + si(move.get("wait", "0 s"))


def draw_ratings(sketch: Sketch, effective: float) -> None:
    """Draw rated and maximum torque and the torque limits, around what needs most of them."""
    stopping = sketch.holding + sketch.inertia * sketch.turns * sketch.quick
    needs = (stopping, sketch.duty_peak, sketch.holding or stopping)
    limit = sketch.dice.choices(needs, (50, 25, 25))[0] * sketch.between(0.6, 2.2)
    sketch.limit = limit
    rated = effective * sketch.between(0.5, 2)
    rated = min(max(rated, limit / 8), limit * 2)
    sketch.objects["0x6076:00"] = max(round(rated * 1000), 20)
    rated = sketch.objects["0x6076:00"] / 1000
    current = rated * sketch.dice.uniform(0.6, 1.4) / (20 if sketch.linear_motor else 1)
    sketch.objects["0x6075:00"] = max(round(current * 1000), 10)
    present = _limit_objects(sketch)
    permille = max(round(limit / rated * 1000), 1)
    _limits(sketch, present, permille)
    motor = sketch.record["motor"]
    assert isinstance(motor, dict)
    motor["rated_current"] = text(sketch.objects["0x6075:00"] / 1000, "A")
    if not sketch.linear_motor:
        above = 1.0 if present == "none" else sketch.between(0.85, 2.2)
        motor["rated_torque"] = text(rated, "N*m", 6)
        motor["max_torque"] = text(limit * above, "N*m")


def _limit_objects(sketch: Sketch) -> str:
    kinds = ("both", "each", "all", "none")
    present = sketch.dice.choices(kinds, (30, 20, 35, 0 if sketch.linear_motor else 15))[0]
    sketch.conventions["torque_limits"] = present
    return present


def _limits(sketch: Sketch, present: str, permille: int) -> None:
    """6072h for both directions, 60E0h and 60E1h for each; the least one is the wanted limit."""
    wider = [round(permille * sketch.between(1, 1.6)) for _ in range(3)]
    wider[sketch.dice.randrange(3)] = permille
    if sketch.chance(0.5):
        wider[1] = wider[2] = min(wider[1], wider[2])
    both, positive, negative = (min(size, 0xFFFF) for size in wider)
    if present == "both":
        sketch.objects["0x6072:00"] = min(permille, 0xFFFF)
    if present == "all":
        sketch.objects["0x6072:00"] = both
    if present in ("each", "all"):
        sketch.objects["0x60E0:00"] = positive
        sketch.objects["0x60E1:00"] = negative


def draw_brake(sketch: Sketch) -> None:
    """Draw the brake, its times and delays; a linear motor's has no torque at a shaft."""
    fitted = sketch.chance(0.92 if sketch.pull else 0.4)
    brake: dict[str, object] = {"fitted": fitted}
    sketch.record["brake"] = brake
    if not fitted:
        sketch.settings["brake_used"] = "0"
        return
    closing = sketch.dice.randint(20, 150) / 1000
    brake["apply_time"] = text(closing, "ms")
    brake["release_time"] = text(closing * sketch.between(0.5, 2), "ms", 2)
    if not sketch.linear_motor:
        needed = sketch.holding or sketch.limit / 2
        brake["holding_torque"] = text(needed * sketch.between(0.7, 2.5), "N*m", 3)
        if sketch.chance(0.4):
            sketch.settings["brake_torque"] = str(brake["holding_torque"])
    sketch.settings["brake_used"] = "1" if sketch.chance(0.95) else "0"
    sketch.set("brake_apply_delay", round(closing * sketch.between(0.2, 1.6), 3), "ms")
    sketch.set("brake_release_delay", round(closing * sketch.between(0.5, 2), 3), "ms")
