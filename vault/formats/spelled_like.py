"""A number as an export spells its own: decimal mark, thousands, base, width, unit behind."""

from __future__ import annotations

import re
from dataclasses import dataclass
from decimal import Decimal
from typing import TYPE_CHECKING

from vault.formats.rows import number_and_unit, number_in, read_value

if TYPE_CHECKING:
    from vault.model.export import Scalar
    from vault.model.export_dialect import ExportDialect

_IN_BASE = re.compile(
    r"(?P<before>0x|16#|0b|2#|8#)(?P<digits>[0-9a-f_]+)|(?P<digits_2>[0-9a-f]+)(?P<behind>[hb])",
    re.IGNORECASE,
)
_BASES = {"0x": 16, "16#": 16, "0b": 2, "2#": 2, "8#": 8, "h": 16, "b": 2}
_FORMS = {16: "x", 2: "b", 8: "o"}
_MINUSES = "-\u2212\u2013"


def spelled_like(original: str, value: Scalar, dialect: ExportDialect) -> str:
    """Spell a value as the original text at its place is spelled; a text is given back as it is.

    The original has no blanks or quotes around it. A number has its decimal mark, its thousands
    where it has any, at least its decimal places and leading noughts, its exponent, the base with
    mark and width (not below nought), and what stands behind it: the unit. The result reads as the
    same number again; where the original is no number, it is spelled plainly.
    """
    if isinstance(value, str):
        return value
    number, behind = original, ""
    if number_in(original, dialect) is None and dialect.unit_in_value:
        number, behind = number_and_unit(original)
    before = number_in(number, dialect)
    if before is None:
        return _decimal("", value, dialect)
    read = read_value(original, dialect)[0]
    is_text = number.isdigit() and isinstance(read, str)  # as 0012
    if before == value and (is_text or read == value):
        return original
    in_base = _IN_BASE.fullmatch(number)
    spelled = _in_base(in_base, value) if in_base else _decimal(number, value, dialect)
    spelled += behind
    if (number_in(spelled, dialect) if is_text else read_value(spelled, dialect)[0]) != value:
        spelled = _decimal("", value, dialect) + behind
    return spelled


def _in_base(like: re.Match[str], value: int | Decimal) -> str:
    """In the base of the original; empty where that has no way to spell the value."""
    if value != int(value) or value < 0:
        return ""
    before, behind = like["before"] or "", like["behind"] or ""
    digits = like["digits"] or like["digits_2"]
    base = _BASES[(before or behind).lower()]
    groups = digits.split("_")
    letters = format(int(value), f"0{len(digits) - len(groups) + 1}{_FORMS[base]}")
    if digits.upper() == digits:
        letters = letters.upper()
    if len(groups) > 1:
        letters = _grouped(letters, "_", len(groups[-1]))
    if base == 16 and behind and not letters[0].isdigit():
        letters = f"0{letters}"
    return before + letters + behind


@dataclass(frozen=True, slots=True)
class _Parts:
    """How a decimal number is spelled."""

    minus: str
    plus: str
    whole: str
    has_mark: bool
    places: int
    exponent: str


def _parts(original: str, dialect: ExportDialect) -> _Parts:
    mantissa, letter, exponent = re.fullmatch(r"([^eE]*)([eE]?)(.*)", original).groups()  # type: ignore[union-attr]
    sign = mantissa[:1] if mantissa[:1] in (*_MINUSES, "+") else ""
    whole, mark, fraction = mantissa.removeprefix(sign).partition(dialect.decimal)
    minus = sign if sign and sign in _MINUSES else "-"
    return _Parts(
        minus, "+" if sign == "+" else "", whole, bool(mark), len(fraction), letter + exponent
    )


def _decimal(original: str, value: int | Decimal, dialect: ExportDialect) -> str:
    like = _parts(original, dialect)
    exact, exponent = Decimal(value), ""
    size = exact.copy_abs()  # abs() rounds
    if like.exponent and exact:
        digits = len("".join(map(str, exact.as_tuple().digits)).strip("0")) - 1
        text, _, power = format(size, f".{max(like.places, digits)}e").partition("e")
        exponent = _exponent(like.exponent, int(power))
    else:
        needed = len(format(size, "f").partition(".")[2].rstrip("0"))
        text = format(size, f".{max(like.places, needed)}f")
    whole, _, fraction = text.partition(".")
    if like.whole[:1] == "0":
        whole = whole.zfill(len(like.whole))
    elif like.has_mark and not like.whole and whole == "0" and fraction:
        whole = ""
    if dialect.thousands and dialect.thousands in like.whole:
        whole = _grouped(whole, dialect.thousands, 3)
    mark = dialect.decimal if fraction or like.has_mark else ""
    sign = like.minus if exact < 0 else like.plus
    return f"{sign}{whole}{mark}{fraction}{exponent}"


def _exponent(like: str, power: int) -> str:
    sign = "-" if power < 0 else "+" if like[1:2] == "+" else ""
    return f"{like[0]}{sign}{str(abs(power)).zfill(len(like[1:].lstrip('+-')))}"


def _grouped(digits: str, mark: str, size: int) -> str:
    """Digits in groups, counted from the last one."""
    first = len(digits) % size
    groups = [digits[at : at + size] for at in range(first, len(digits), size)]
    return mark.join(([digits[:first]] if first else []) + groups)
