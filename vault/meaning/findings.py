"""Computed figures: as findings for machines, as words for people."""

from __future__ import annotations

from math import floor, isfinite, isinf, log10, pi
from typing import TYPE_CHECKING

from vault.behaviour.speed import RPM
from vault.meaning.changes import Finding
from vault.meaning.reader import unit_for
from vault.model.quantities import Physical
from vault.model.unit_table import SI_UNIT, UNITS
from vault.model.written_form import marked

if TYPE_CHECKING:
    from vault.behaviour.facts import Bound, Figure

_LINEAR = {"length", "velocity", "acceleration", "jerk"}


def digits(number: float, count: int = 4) -> str:
    """A number with some significant digits, without exponent, thousands apart: for people."""
    if not isfinite(number):
        return "without end" if number > 0 else "minus without end"
    if number == 0:
        return "0"
    rounded = float(f"{number:.{count}g}")
    places = min(count + 3, max(0, count - 1 - floor(log10(abs(rounded)))))
    text = f"{rounded:,.{places}f}"
    return marked(text.rstrip("0").rstrip(".") if places else text)


def is_linear(like: Physical) -> bool:
    """Whether a size belongs to a linear axis."""
    return like.kind in _LINEAR


def length_or_angle(size: float, like: Physical) -> str:
    """A way in the reader's unit; `size` in m or rad, whichever the axis moves in."""
    return _in_reader_units(size, "length" if is_linear(like) else "angle")


def speed(size: float, like: Physical) -> str:
    """A speed in the reader's unit; `size` in m/s or rad/s."""
    return _in_reader_units(size, "velocity" if is_linear(like) else "angular_velocity")


def _in_reader_units(size: float, kind: str) -> str:
    unit = unit_for(kind)
    if unit is None:
        return f"{digits(size)} {SI_UNIT[kind]}"
    factor = UNITS[unit]
    return f"{digits(size / (float(factor.ratio) * pi**factor.pi_power))} {unit}"


def in_reader_units(size: float, unit: str) -> str:
    """A figure in an SI unit, in the reader's unit of its kind."""
    known = UNITS.get(unit)
    if known is None or unit_for(known.kind) is None:
        return f"{digits(size)} {unit}"
    return _in_reader_units(size, known.kind)


def in_words(size: Figure) -> str:
    """A figure of an axis's behaviour, in the reader's unit."""
    if isinf(size.value) and size.unit in ("m", "rad"):
        return "a way without end"
    return in_reader_units(size.value, size.unit)


_BOUNDS: dict[Bound, str] = {"up_to": "up to ", "at_least": "at least "}


def with_bound(size: Figure) -> str:
    """A figure in the reader's unit, with the words for what bounds it."""
    return f"{_BOUNDS.get(size.bound, '')}{in_words(size)}"


def turns_per_minute(speed: float) -> str:
    """Number of revolutions per minute of a speed in rad/s."""
    return digits(speed / RPM)


def seconds(size: float) -> str:
    """A time in ms or s."""
    return f"{digits(size * 1000)} ms" if abs(size) < 1 else f"{digits(size)} s"


_LONGER = ((365.25 * 86400, "years"), (86400, "days"), (3600, "h"), (60, "min"))


def duration(size: float) -> str:
    """A time that may be long, in the largest unit that it has two of."""
    for length, unit in _LONGER:
        if size >= 2 * length:
            return f"{digits(size / length, 2)} {unit}"
    return seconds(size)


def figure(
    quantity: str,
    size: Physical | float,
    basis: str,
    *,
    unit: str | None = None,
    like: Physical | None = None,
) -> Finding:
    """A finding. A bare number takes `unit`, or the way's unit (m or rad) of the axis of `like`."""
    if isinstance(size, Physical):
        return Finding(quantity, _exactly(float(size.number())), size.unit, basis)
    if unit is None and like is not None:
        unit = "m" if is_linear(like) else "rad"
    return Finding(quantity, _exactly(size), unit, basis)


def finding(quantity: str, size: Figure) -> Finding:
    """A figure of an axis's behaviour as a finding, in SI."""
    return Finding(quantity, _exactly(size.value), size.unit, size.basis)


def finding_in_turns(quantity: str, speed: Figure) -> Finding:
    """A speed of the motor (rad/s) as a finding, in r/min."""
    return Finding(quantity, _exactly(speed.value / RPM), "r/min", speed.basis)


def revolutions(angle: float) -> float:
    """Revolutions of an angle in rad."""
    return angle / (2 * pi)


def finding_in_revolutions(quantity: str, angle: Figure) -> Finding:
    """An angle of the motor (rad) as a finding, in revolutions."""
    return Finding(quantity, _exactly(revolutions(angle.value)), "rev", angle.basis)


def _exactly(number: float) -> str:
    return f"{number:.9g}"
