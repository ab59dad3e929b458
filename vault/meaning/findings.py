"""Computed figures: as findings for machines, as words for people."""

from __future__ import annotations

from math import isfinite, pi

from vault.meaning.changes import Finding
from vault.model.quantities import Physical

_LINEAR = {"length", "velocity", "acceleration", "jerk"}


def digits(number: float, count: int = 4) -> str:
    """A number with some significant digits, without exponent, thousands apart."""
    if not isfinite(number):
        return "without end" if number > 0 else "minus without end"
    if number == 0:
        return "0"
    text = f"{number:.{count}g}"
    if "e" in text or abs(number) >= 10**count:
        text = (
            f"{float(f'{number:.{count}g}'):,.0f}"
            if abs(number) >= 1
            else f"{number:.{count + 3}f}"
        )
        return text.rstrip("0").rstrip(".") if "." in text else text
    return text


def is_linear(like: Physical) -> bool:
    """Whether a size belongs to a linear axis."""
    return like.kind in _LINEAR


def length_or_angle(size: float, like: Physical) -> str:
    """A way in mm or degrees, whichever the axis moves in; `size` in m or rad."""
    if is_linear(like):
        return f"{digits(size * 1000)} mm"
    return f"{digits(size * 180 / pi)} deg"


def speed(size: float, like: Physical) -> str:
    """A speed in mm/s or r/min; `size` in m/s or rad/s."""
    if is_linear(like):
        return f"{digits(size * 1000)} mm/s"
    return f"{digits(size * 30 / pi)} r/min"


def acceleration(size: float, like: Physical) -> str:
    """An acceleration in m/s^2 or rad/s^2."""
    return f"{digits(size)} {'m/s^2' if is_linear(like) else 'rad/s^2'}"


def seconds(size: float) -> str:
    """A time in ms or s."""
    return f"{digits(size * 1000)} ms" if abs(size) < 1 else f"{digits(size)} s"


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


def _exactly(number: float) -> str:
    return f"{number:.9g}"
