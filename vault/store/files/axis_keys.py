"""Which section of an axis record a key belongs to: for who wrote it under another one."""

from __future__ import annotations

from functools import cache

from vault.model.axis import AxisRecord
from vault.store.files.known_keys import known_keys


@cache
def _homes() -> dict[str, tuple[str, ...]]:
    """Keys of the sections whose keys are not free, with the sections that have each."""
    homes: dict[str, tuple[str, ...]] = {}
    for section in known_keys(AxisRecord, ()):
        for key in known_keys(AxisRecord, (section,)):
            homes[key] = (*homes.get(key, ()), section)
    return homes


def homes_of(key: str) -> str:
    """`mechanics:`, or `mechanics: or motor:`, that have such a key; empty where none has."""
    return " or ".join(f"{section}:" for section in _homes().get(key, ()))
