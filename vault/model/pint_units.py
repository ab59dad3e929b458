"""Units beyond the table, understood by pint with drive units added.

Loading pint costs far more than everything else at start-up, so only a spelling that the table
does not know leads here.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache
from typing import Any

from vault.model.unit_table import SI_UNIT, Unit

_DRIVE_UNITS = (
    "increment = [increment] = increments",
    "user_position = [user_position]",
    "permille_rated_torque = [rated_torque]",
    "percent_rated_torque = 10 * permille_rated_torque",
    "permille_rated_current = [rated_current]",
    "percent_rated_current = 10 * permille_rated_current",
    "user_velocity = user_position / second",
    "user_acceleration = user_position / second ** 2",
    "user_jerk = user_position / second ** 3",
)
_WORDS = {
    "r/min": "revolution/minute",
    "rpm": "revolution/minute",
    "rev": "revolution",
    "Nm": "newton*meter",
    "N*m": "newton*meter",
    "um": "micrometer",
    "us": "microsecond",
    "ozf": "force_ounce",
    "lbf": "force_pound",
    "increments": "increment",
}
_WORD = re.compile(r"r/min|(?<![A-Za-z_])[A-Za-z_]+")
_SAFE = re.compile(r"[A-Za-z0-9_*/^(). +-]{1,60}")
_AXIS_DEPENDENT = ("[increment]", "[user_position]", "[rated_torque]", "[rated_current]")


@cache
def registry() -> Any:
    """The pint registry with drive units; exact rationals instead of floats."""
    import pint

    units: Any = pint.UnitRegistry(non_int_type=Fraction)
    for definition in _DRIVE_UNITS:
        units.define(definition)
    return units


def unit_from_expression(text: str) -> Unit | None:
    """Return the unit an expression such as `kg*mm/s^2` stands for, or None.

    Expressions with a number in them and offset units (temperatures) are not units here.
    """
    if not _SAFE.fullmatch(text) or (text[0].isdigit() and not text.startswith("1/")):
        return None
    import pint

    units = registry()
    try:
        quantity = units.parse_expression(_worded(text), case_sensitive=True)
        if not isinstance(quantity, units.Quantity) or quantity.magnitude != 1:
            return None
        base = quantity.to_base_units()
    except (pint.errors.PintError, ArithmeticError, AttributeError, TypeError, ValueError,
            SyntaxError, KeyError, AssertionError, NotImplementedError):  # fmt: skip
        return None
    kind = _kind(base)
    si = None if any(d in kind for d in _AXIS_DEPENDENT) else SI_UNIT.get(kind, _spelled(base))
    return Unit(_spelled(quantity), kind, Fraction(base.magnitude), 0, si=si)


def _worded(text: str) -> str:
    """Put pint's words for those of ours that mean something else to it."""
    return _WORD.sub(lambda m: _WORDS.get(m.group(), m.group()), text.replace("^", "**"))


def _spelled(quantity: Any) -> str:
    """Write a compound unit one way: `kg*mm/s^2`, factors in pint's own order of names."""
    over: list[str] = []
    under: list[str] = []
    for name, power in sorted(quantity.unit_items()):
        symbol = registry().get_symbol(name).replace("µ", "u").replace("Ω", "ohm")
        exponent = abs(power)
        (over if power > 0 else under).append(symbol if exponent == 1 else f"{symbol}^{exponent}")
    numerator = "*".join(over) or "1"
    if not under:
        return numerator
    return f"{numerator}/{under[0]}" if len(under) == 1 else f"{numerator}/({'*'.join(under)})"


@cache
def _known_kinds() -> dict[str, str]:
    units = registry()
    found: dict[str, str] = {}
    # Energy and torque, frequency and gain share a dimension: the first listed stands for it.
    for kind in ("energy", "frequency", *SI_UNIT):
        if "rad" not in SI_UNIT[kind] and kind not in ("data", "data_rate"):
            found.setdefault(_dimension(units.parse_expression(_worded(SI_UNIT[kind]))), kind)
    return found


def _dimension(quantity: Any) -> str:
    return " ".join(f"{name}^{power}" for name, power in sorted(quantity.dimensionality.items()))


def _kind(base: Any) -> str:
    dimension = _dimension(base)
    if any(name == "radian" for name, _ in base.unit_items()):
        return f"{dimension} radian"
    return _known_kinds().get(dimension, dimension)
