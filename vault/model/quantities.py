"""Numbers with units: exact decimals, one spelling per unit, conversion without rounding."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import ROUND_HALF_EVEN, Context, Decimal
from fractions import Fraction
from functools import lru_cache
from typing import Literal

from vault.model.bounds import short_enough
from vault.model.numerals import typed_number
from vault.model.unit_table import SPELLINGS, STATED_AMPERES, UNITS, Unit
from vault.model.written_form import form

PI = Decimal("3.14159265358979323846264338327950288419716939937511")
"""Pi to 50 decimals (OEIS A000796), for values that cannot be kept as a multiple of pi."""

_PI_RATIO = Fraction(PI)
_SUPERSCRIPTS = str.maketrans("⁰¹²³⁴⁵⁶⁷⁸⁹⁻", "0123456789-")
_SUPERSCRIPT_RUN = re.compile("[⁰¹²³⁴⁵⁶⁷⁸⁹⁻]+")
_DOTS = str.maketrans({"·": "*", "⋅": "*", "×": "*", "µ": "u", "μ": "u", "∙": "*"})
# Not for spellings with a prefix letter whose case matters (mN*m is not MN*m).
_ANY_CASE = {
    spelling.casefold(): symbol
    for spelling, symbol in SPELLINGS.items()
    if len(spelling) > 2 and spelling[0] not in "mMpP"
}
_NO_UNIT = ("", "-", "--", "none", "1")
_NUMBER_UNIT = re.compile(
    r"\s*([+-\u2212]?\d[\d.,'\u2019\u00a0\u202f]*(?: \d{3}(?!\d))*(?:[.,]\d+)?"
    r"(?:[eE][+-]?\d{1,3}(?!\d))?)\s*(.*?)\s*$"
)


class UnknownUnit(ValueError):
    """A unit that neither the table nor pint understands."""

    def __init__(self, spelling: str) -> None:
        super().__init__(f"unknown unit {spelling!r}")
        self.spelling = spelling


class UnlikeUnits(ValueError):
    """Two units that measure different kinds of quantity."""

    def __init__(self, left: str, right: str) -> None:
        super().__init__(f"{left!r} and {right!r} measure different things")


@lru_cache(maxsize=4096)
def canonical_unit(spelling: str) -> str | None:
    """Return our one spelling of a unit; None where the text says there is no unit.

    Accepts the spellings exports use: `rpm`, `min-1`, `mm/s²`, `°`, `Nm`, `µm`, `[mm]`.
    Raises UnknownUnit, also for what may be two things: `N/A` is newton per ampere, or no unit.
    """
    text = spelling.strip()
    if text[:1] == "[" and text[-1:] == "]":
        text = text[1:-1].strip()
    if text.casefold() in _NO_UNIT:
        return None
    if text in SPELLINGS:
        return SPELLINGS[text]
    text = _SUPERSCRIPT_RUN.sub(lambda m: "^" + m.group().translate(_SUPERSCRIPTS), text)
    text = text.translate(_DOTS).replace("**", "^").replace(" ", "")
    unit = SPELLINGS.get(text) or _ANY_CASE.get(text.casefold())
    if unit is None and text.casefold() == "n/a":
        raise UnknownUnit(spelling)
    if unit is None:
        symbol = _pint_unit(spelling, text.replace("°", "deg")).symbol
        unit = SPELLINGS.get(symbol, symbol)
    return None if unit in _NO_UNIT else unit


@lru_cache(maxsize=4096)
def unit_named(symbol: str) -> Unit:
    """Return the unit of a canonical symbol; of a text kept for a unit, one of its own kind."""
    try:
        return UNITS.get(symbol) or _pint_unit(symbol, symbol)
    except UnknownUnit:
        return Unit(symbol, f"text {symbol}")


def unit_text(spelling: str) -> str:
    """An unknown unit as it is kept: the text itself, on one line, of at most 40 characters."""
    return " ".join(spelling.split())[:40]


def _pint_unit(spelling: str, text: str) -> Unit:
    from vault.model.pint_units import unit_from_expression

    found = unit_from_expression(text)
    if found is None:
        raise UnknownUnit(spelling)
    return found


def exact_decimal(number: Fraction) -> Decimal | None:
    """Return the number as a decimal when it has a finite one, else None."""
    denominator = number.denominator
    twos = (denominator & -denominator).bit_length() - 1
    rest = denominator >> twos
    fives = 0
    while rest % 5 == 0:
        rest //= 5
        fives += 1
    if rest != 1:
        return None
    places = max(twos, fives)
    return Decimal((0, (0,), 0)) if not number else _scaled(number, places)


def _scaled(number: Fraction, places: int) -> Decimal:
    digits = number.numerator * 10**places // number.denominator
    return normal(Decimal(f"{digits}e-{places}"))


def rounded_decimal(number: Fraction, digits: int = 15) -> Decimal:
    """Return the exact decimal where it needs at most 30 digits, else one of `digits` digits."""
    exact = exact_decimal(number)
    if exact is not None and len(exact.as_tuple().digits) <= 30:
        return exact
    context = Context(prec=digits, rounding=ROUND_HALF_EVEN)
    return normal(context.divide(Decimal(number.numerator), Decimal(number.denominator)))


def normal(number: Decimal) -> Decimal:
    """Strip trailing zeros and exponents: 2.50 and 25e-1 both become 2.5. Exact at any length."""
    sign, digits, exponent = number.as_tuple()
    if not isinstance(exponent, int):
        raise ValueError(f"{number} is not a number")
    kept = list(digits)
    while len(kept) > 1 and kept[-1] == 0 and exponent < 0:
        kept.pop()
        exponent += 1
    if kept == [0]:
        return Decimal(0)
    if exponent > 0:
        kept += [0] * exponent
        exponent = 0
    return Decimal((sign, tuple(kept), exponent))


def plain(number: Decimal | int, grouping: Literal["", ","] = "") -> str:
    """Write a number without exponent and without trailing zeros; `grouping` between thousands."""
    if not (number := Decimal(number)).is_finite():
        raise ValueError(f"{number} is not a number")
    text = f"{number:{grouping}f}"
    if "." in text:
        text = text.rstrip("0").removesuffix(".")
    return "0" if text == "-0" else text


@dataclass(frozen=True, slots=True)
class Physical:
    """A quantity in the SI unit of its kind: `ratio * pi ** pi_power` of `unit`."""

    ratio: Fraction
    pi_power: int
    kind: str
    unit: str

    def number(self) -> Fraction:
        """The number in SI; pi taken to 50 decimals where it does not cancel."""
        return self.ratio * _PI_RATIO**self.pi_power if self.pi_power else self.ratio

    def decimal(self) -> Decimal:
        """The number in SI as a decimal: exact where finite, else 15 digits."""
        return rounded_decimal(self.number())

    def __sub__(self, other: Physical) -> Physical:
        if self.kind != other.kind:
            raise UnlikeUnits(self.unit, other.unit)
        if self.pi_power == other.pi_power:
            return Physical(self.ratio - other.ratio, self.pi_power, self.kind, self.unit)
        return Physical(self.number() - other.number(), 0, self.kind, self.unit)

    def __truediv__(self, other: Physical) -> Fraction:
        """How often another quantity of the kind goes into this one. Exact, as far as pi cancels.

        Raises UnlikeUnits, and ZeroDivisionError where the other one is zero.
        """
        if self.kind != other.kind:
            raise UnlikeUnits(self.unit, other.unit)
        return self.ratio / other.ratio * _PI_RATIO ** (self.pi_power - other.pi_power)

    def __mul__(self, factor: Fraction | Decimal | int) -> Physical:
        """So many times the quantity."""
        return Physical(self.ratio * Fraction(factor), self.pi_power, self.kind, self.unit)


def physical(value: Decimal | int | Fraction, symbol: str | None) -> Physical | None:
    """Return the value in SI, or None where the unit alone does not tell its size."""
    if symbol is None:
        return None
    unit = unit_named(symbol)
    if unit.si is None:
        return None
    return Physical((Fraction(value) + unit.offset) * unit.ratio, unit.pi_power, unit.kind, unit.si)


def convert(value: Decimal | int | Fraction, source: str, target: str) -> Fraction:
    """Convert between units of one kind. Exact; pi cancels wherever both sides carry it.

    Raises UnlikeUnits, UnknownUnit.
    """
    if source == target:
        return Fraction(value)
    left, right = unit_named(source), unit_named(target)
    if left.kind != right.kind:
        raise UnlikeUnits(source, target)
    powers = _PI_RATIO ** (left.pi_power - right.pi_power)
    return (Fraction(value) + left.offset) * left.ratio * powers / right.ratio - right.offset


def same_kind(left: str, right: str) -> bool:
    """Say whether two units convert into each other."""
    return left == right or unit_named(left).kind == unit_named(right).kind


def unlike_amperes(*units: str | None) -> bool:
    """Whether some units of currents say if they are r.m.s. or peak, and others do not."""
    if STATED_AMPERES.isdisjoint(units):
        return False
    rest = (unit for unit in units if unit is not None and unit not in STATED_AMPERES)
    return any(unit_named(unit).kind == "current" for unit in rest)


@dataclass(frozen=True, slots=True)
class Measure:
    """A number with a unit as people write it in axis.yaml: `16 mm`."""

    value: Decimal
    unit: str | None

    @classmethod
    def parse(cls, text: str, *, decimal_comma: bool = False) -> Measure:
        """Read `16 mm`, `-0.5 m/s`, `4`, `1,200 mm`, `0,625 mm`. Raises ValueError with text.

        Raises OutOfBounds for a number that nobody reckons with.
        """
        found = _NUMBER_UNIT.match(short_enough(text))
        if found is None:
            raise ValueError(f"{text!r} is no number with a unit, like '16 mm'")
        return cls(
            normal(typed_number(found[1], decimal_comma=decimal_comma)), canonical_unit(found[2])
        )

    @classmethod
    def typed(cls, text: str) -> Measure:
        """Read what a person types, with the site's decimal mark; else as `parse` does."""
        return cls.parse(text, decimal_comma=form().decimal == "comma")

    def __str__(self) -> str:
        return f"{plain(self.value)} {self.unit}" if self.unit else plain(self.value)

    def physical(self) -> Physical | None:
        """The quantity in SI."""
        return physical(self.value, self.unit)


def si_number(measure: Measure | None) -> float | None:
    """A measure in SI as a bare number; one without a unit as it is written."""
    if measure is None:
        return None
    found = measure.physical()
    return float(measure.value) if found is None else float(found.number())
