"""Firmware versions and ranges of them.

Makers write versions in many ways (`2.14`, `V02.14.03`, `1.9b`); only the numbers in them, in
order, decide which is newer.
"""

from __future__ import annotations

import operator
import re
from typing import Any

from pydantic import GetCoreSchemaHandler
from pydantic_core import CoreSchema, core_schema

_COMPARE = {
    ">=": operator.ge,
    "<=": operator.le,
    "==": operator.eq,
    ">": operator.gt,
    "<": operator.lt,
}
_MOST_DIGITS = 18  # a longer number is later than any that a dictionary names
_TERM = re.compile(r"(>=|<=|==|>|<)\s*(\S+)")


def version_key(firmware: str) -> tuple[int, ...]:
    """Numbers of a version, without trailing zeros, so that 2.0 equals 2."""
    found = re.findall(r"\d+", firmware)
    numbers = [int(n) if len(n) <= _MOST_DIGITS else 10**_MOST_DIGITS for n in found]
    while numbers and numbers[-1] == 0:
        numbers.pop()
    return tuple(numbers)


def is_version(text: str) -> bool:
    """Whether a text has a number to compare by."""
    return re.search(r"\d", text) is not None


class FirmwareRange:
    """A range such as `>=2.0 <3`; `"2.14" in FirmwareRange(">=2")` is true."""

    def __init__(self, text: str) -> None:
        self.text = " ".join(text.replace(",", " ").split())
        self._terms = [(_COMPARE[o], version_key(v)) for o, v in _TERM.findall(self.text)]
        if not self._terms or _TERM.sub("", self.text).strip():
            raise ValueError(f"{text!r} is no firmware range; write it like '>=2.0 <3'")

    def __contains__(self, firmware: str) -> bool:
        key = version_key(firmware)
        return all(compare(key, bound) for compare, bound in self._terms)

    def __str__(self) -> str:
        return self.text

    def __repr__(self) -> str:
        return f"FirmwareRange({self.text!r})"

    @classmethod
    def __get_pydantic_core_schema__(
        cls, _source: Any, _handler: GetCoreSchemaHandler
    ) -> CoreSchema:
        return core_schema.no_info_plain_validator_function(
            lambda v: v if isinstance(v, cls) else cls(str(v)),
            serialization=core_schema.to_string_ser_schema(),
        )
