"""Units beyond the table, understood by pint with drive units added.

Loading pint costs far more than everything else at start-up, so only a spelling that the table
does not know leads here.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache
from tokenize import TokenError
from typing import Any

from vault.model.unit_table import SI_UNIT, SPELLINGS, Unit

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
    "r": "revolution",
    "ozf": "force_ounce",
    "lbf": "force_pound",
    "increments": "increment",
    "inc": "increment",
    "user": "user_position",
}
# What pint would find beside these is seldom what was meant: `PS` is no petasiemens.
_KNOWN_WORDS = frozenset(
    [
        *(word for spelling in SPELLINGS for word in re.findall(r"[A-Za-z_]+", spelling)), *_WORDS,
        "km", "dm", "S", "mS", "T", "mT", "Wb", "mWb", "VA", "kVA", "var", "kvar", "mol", "cd",
        "kPa", "MPa", "hPa", "mbar", "psi", "l", "L", "mW", "MW", "mJ", "MJ", "mH", "nF", "pF",
        "GHz", "mC", "mN", "MN", "uA", "nA", "kA", "uV", "mg", "lm",
    ]
)  # fmt: skip
_NAME = re.compile(r"[A-Za-z_]+")
_LONG_NAME = re.compile(r"[a-z_]{4,}")  # a word such as months, and no abbreviation
_WORD = re.compile(r"r/min|(?<![A-Za-z_])[A-Za-z_]+")
_SAFE = re.compile(r"[A-Za-z0-9_*/^(). +-]{1,60}")
# Numbers stand in a unit only as `1/` and as an exponent of one digit: `9^9^9` would never end.
_EXPONENT = re.compile(r"(?<=[A-Za-z_])\^(?:\([+-]?\d\)|[+-]?\d)(?!\^)")
_ONE_OVER = re.compile(r"(?<![\w.)])1/")
_SYMBOLS = {"turn": "rev", "°": "deg"}
_AXIS_KINDS = {
    "[increment]^1": "increments",
    "[increment]^1 [time]^-1": "increments_velocity",
    "[increment]^1 [time]^-2": "increments_acceleration",
    "[user_position]^1": "user_position",
    "[time]^-1 [user_position]^1": "user_velocity",
    "[time]^-2 [user_position]^1": "user_acceleration",
    "[time]^-3 [user_position]^1": "user_jerk",
    "[rated_torque]^1": "rated_torque",
    "[rated_current]^1": "rated_current",
}
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
    if not all(word in _KNOWN_WORDS or _LONG_NAME.fullmatch(word) for word in _NAME.findall(text)):
        return None
    if not _SAFE.fullmatch(text) or re.search(r"[\d^]", _ONE_OVER.sub("", _EXPONENT.sub("", text))):
        return None
    import pint

    units = registry()
    try:
        quantity = units.parse_expression(_worded(text), case_sensitive=True)
        if not isinstance(quantity, units.Quantity) or quantity.magnitude != 1:
            return None
        base = quantity.to_base_units()
    except (pint.errors.PintError, ArithmeticError, AttributeError, TypeError, ValueError,
            SyntaxError, KeyError, AssertionError, NotImplementedError,
            TokenError):  # fmt: skip
        return None
    dimension = _dimension(base)
    kind = _AXIS_KINDS.get(dimension) or _known_kinds().get(dimension, dimension)
    of_axis = any(unit in dimension for unit in _AXIS_DEPENDENT)
    si = None if of_axis else SI_UNIT.get(kind, _spelled(base))
    symbol = _spelled(quantity)
    if not _SAFE.fullmatch(symbol):  # a name that would not read back
        return None
    ratio, pi_power = _without_pi(Fraction(base.magnitude))
    return Unit(symbol, kind, ratio, pi_power, si=si)


def _without_pi(factor: Fraction) -> tuple[Fraction, int]:
    """Split a factor into a ratio and a power of pi, which pint writes out in decimals."""
    written_out = Fraction(registry().parse_expression("pi").to_base_units().magnitude)
    splits = ((factor / written_out**power, power) for power in range(-3, 4))
    return min(splits, key=lambda split: (split[0].numerator * split[0].denominator).bit_length())


def _worded(text: str) -> str:
    """Put pint's words for those of ours that mean something else to it."""
    return _WORD.sub(lambda m: _WORDS.get(m.group(), m.group()), text.replace("^", "**"))


def _spelled(quantity: Any) -> str:
    """Write a compound unit one way: `kg*mm/s^2`, factors in pint's own order of names."""
    over: list[str] = []
    under: list[str] = []
    for name, power in sorted(quantity.unit_items()):
        symbol = registry().get_symbol(name).replace("µ", "u").replace("Ω", "ohm")
        symbol = _SYMBOLS.get(symbol, symbol)
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
        if kind not in ("data", "data_rate"):
            unit = units.Quantity(units.parse_expression(_worded(SI_UNIT[kind]))).to_base_units()
            found.setdefault(_dimension(unit), kind)
    return found


def _dimension(base: Any) -> str:
    """Dimensions of a quantity in base units; angles count as one, unlike for pint."""
    powers = dict(base.dimensionality)
    powers["radian"] = dict(base.unit_items()).get("radian", 0)
    return " ".join(f"{name}^{power}" for name, power in sorted(powers.items()) if power)
