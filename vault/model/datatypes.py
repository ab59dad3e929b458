"""Basic data types of CiA 301 (clause 7.4), by their standard names."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Literal


@dataclass(frozen=True, slots=True)
class DataType:
    """A basic data type: its number in the object dictionary, family and size in bits."""

    name: str
    number: int
    family: Literal["boolean", "integer", "unsigned", "real", "text", "octets"]
    bits: int = 0

    @property
    def low(self) -> int | None:
        """Smallest number the type can hold; None for reals and texts."""
        if self.family == "integer":
            return int(-(2 ** (self.bits - 1)))
        return 0 if self.family in ("unsigned", "boolean") else None

    @property
    def high(self) -> int | None:
        """Largest number the type can hold; None for reals and texts."""
        if self.family == "integer":
            return int(2 ** (self.bits - 1) - 1)
        if self.family == "unsigned":
            return int(2**self.bits - 1)
        return 1 if self.family == "boolean" else None

    @property
    def is_whole(self) -> bool:
        """True for types that hold whole numbers only."""
        return self.family in ("boolean", "integer", "unsigned")

    @property
    def is_number(self) -> bool:
        """True for types that hold numbers."""
        return self.is_whole or self.family == "real"


# Numbers: CiA 301 table 44, from memory; checked in the tests against the library canopen.
_TYPES = (
    DataType("BOOLEAN", 0x01, "boolean", 1),
    DataType("INTEGER8", 0x02, "integer", 8),
    DataType("INTEGER16", 0x03, "integer", 16),
    DataType("INTEGER32", 0x04, "integer", 32),
    DataType("UNSIGNED8", 0x05, "unsigned", 8),
    DataType("UNSIGNED16", 0x06, "unsigned", 16),
    DataType("UNSIGNED32", 0x07, "unsigned", 32),
    DataType("REAL32", 0x08, "real", 32),
    DataType("VISIBLE_STRING", 0x09, "text"),
    DataType("OCTET_STRING", 0x0A, "octets"),
    DataType("UNICODE_STRING", 0x0B, "text"),
    DataType("TIME_OF_DAY", 0x0C, "octets", 48),
    DataType("TIME_DIFFERENCE", 0x0D, "octets", 48),
    DataType("DOMAIN", 0x0F, "octets"),
    DataType("INTEGER24", 0x10, "integer", 24),
    DataType("REAL64", 0x11, "real", 64),
    DataType("INTEGER40", 0x12, "integer", 40),
    DataType("INTEGER48", 0x13, "integer", 48),
    DataType("INTEGER56", 0x14, "integer", 56),
    DataType("INTEGER64", 0x15, "integer", 64),
    DataType("UNSIGNED24", 0x16, "unsigned", 24),
    DataType("UNSIGNED40", 0x18, "unsigned", 40),
    DataType("UNSIGNED48", 0x19, "unsigned", 48),
    DataType("UNSIGNED56", 0x1A, "unsigned", 56),
    DataType("UNSIGNED64", 0x1B, "unsigned", 64),
)
BY_NAME = {t.name: t for t in _TYPES}
BY_NUMBER = {t.number: t for t in _TYPES}

DECIMAL = DataType("DECIMAL", 0, "real")
"""A number as an export writes it, exactly; of a drive whose own types nobody knows. No type of
the standard."""

TYPES = {**BY_NAME, DECIMAL.name: DECIMAL}
"""What a dictionary can name as the type of a parameter."""
