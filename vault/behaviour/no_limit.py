"""Numbers that many drives take for "none" or "off", and not for a size."""

from __future__ import annotations

_ALL_ONES = 0xFFFF_FFFF


def is_all_ones(raw: object) -> bool:
    """Whether a raw number is FFFFFFFFh: of a signed object -1.

    6065h: no monitoring (CiA 402-2, from memory); of limits common practice, no source.
    """
    return raw in (_ALL_ONES, -1)


def may_be_none(raw: object) -> bool:
    """Whether a raw number may stand for none: all ones, or 0, which some drives take for 0."""
    return raw == 0 or is_all_ones(raw)
