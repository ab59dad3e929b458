"""What a number or a text of a record may be at all: by arithmetic, and by physics.

One place for every bound that people's input is held against. A record that lies in a vault already
and breaks one reads as if that value were not there, with a remark (`store/files/edited_files`).
"""

from __future__ import annotations

from decimal import Decimal

MOST_DIGITS = 60
"""Digits of a number that people write; our own choice, far beyond what is measured."""

MOST_POWER = 30
"""Power of ten that such a number lies within, 1e-30 to 1e30; our own choice."""

MOST_TYPED = 300
"""Characters of a quantity, and of what is asked for in an address; our own choice."""

_MOST_WHOLE = 10**MOST_DIGITS


class Unstated(ValueError):
    """What says too little. `path` are the keys below the place where it was noticed."""

    def __init__(self, reason: str, *path: str | int) -> None:
        super().__init__(reason)
        self.path = path


class OutOfBounds(Unstated):
    """A value that can be read and cannot be: too large to reckon with, or against physics."""


def reckonable(number: Decimal) -> Decimal:
    """The number, where one can reckon with it. Raises OutOfBounds, without writing it out."""
    if not number.is_finite():
        raise OutOfBounds("this is no number")
    if len(number.as_tuple().digits) > MOST_DIGITS:
        raise OutOfBounds(f"a number has at most {MOST_DIGITS} digits")
    if number and abs(number.adjusted()) > MOST_POWER:
        raise OutOfBounds(f"a number lies between 1e-{MOST_POWER} and 1e{MOST_POWER}")
    return number


def reckonable_whole(number: int) -> int:
    """As `reckonable`, of a whole number."""
    if abs(number) >= _MOST_WHOLE:
        raise OutOfBounds(f"a number has at most {MOST_DIGITS} digits")
    return number


def short_enough(text: str, most: int = MOST_TYPED) -> str:
    """The text, where it has so many characters at most. Raises OutOfBounds."""
    if len(text) > most:
        raise OutOfBounds(f"a text of {len(text):,} characters; at most {most} are read")
    return text
