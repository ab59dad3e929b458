"""The normalised content of one export: parameters with value, unit and raw content."""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, ValuesView
from dataclasses import dataclass
from functools import lru_cache

from vault.model.export import Scalar

_OBJECT = re.compile(r"0[xX]([0-9A-Fa-f]{1,4})(?::([0-9A-Fa-f]{1,2}))?")
_DIGITS = re.compile(r"(\d+)")


@dataclass(frozen=True, slots=True)
class Parameter:
    """One parameter as it stood.

    `value` = `raw` x scale in `unit` (exact); `raw` is what the drive holds; `label` names a
    choice. Text parameters have equal `value` and `raw`.
    """

    code: str
    name: str
    value: Scalar
    raw: Scalar
    role: str | None = None
    unit: str | None = None
    label: str | None = None


def canonical_code(code: str) -> str:
    """Spell an object address one way (`0x608f:1` is `0x608F:01`); other codes are only trimmed."""
    code = code.strip()
    found = _OBJECT.fullmatch(code)
    if found is None:
        return code
    return f"0x{int(found[1], 16):04X}:{int(found[2] or '0', 16):02X}"


@lru_cache(maxsize=65536)
def code_order(code: str) -> tuple[object, ...]:
    """Sort key: object addresses by number, other codes in natural order (P2 before P10)."""
    found = _OBJECT.fullmatch(code)
    if found is not None:
        return (0, int(found[1], 16), int(found[2] or "0", 16), code)
    parts = _DIGITS.split(code)
    # Even places are text, odd ones numbers, so keys always compare like with like.
    return (1, tuple(int(p) if i % 2 else p for i, p in enumerate(parts)), code)


@lru_cache(maxsize=64)
def in_order(codes: tuple[str, ...]) -> tuple[str, ...]:
    """Codes in canonical order. Sets of one family have the same ones, and many are read."""
    return tuple(sorted(codes, key=code_order))


class ParameterSet(Mapping[str, Parameter]):
    """Parameters by code, in canonical order whatever order they came in."""

    __slots__ = ("_by_code",)

    def __init__(self, parameters: Iterable[Parameter]) -> None:
        given = list(parameters)
        by_code = {p.code: p for p in given}
        if len(by_code) != len(given):
            raise ValueError("a code occurs twice in one parameter set")
        codes = tuple(by_code)
        ordered = in_order(codes)
        self._by_code = by_code if codes == ordered else {code: by_code[code] for code in ordered}

    def __getitem__(self, code: str) -> Parameter:
        return self._by_code[code]

    def __iter__(self) -> Iterator[str]:
        return iter(self._by_code)

    def __len__(self) -> int:
        return len(self._by_code)

    def values(self) -> ValuesView[Parameter]:
        """The parameters; a mapping's own view would look each up by its code."""
        return self._by_code.values()
