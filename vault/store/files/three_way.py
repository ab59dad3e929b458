"""Files of two copies that went on from the same beginning: which of them to keep."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

Files = Mapping[str, str]
"""Blob by path."""


@dataclass(frozen=True, slots=True)
class ThreeWay:
    """`there`: only the other side changed it (None: removed it); `conflicts`: both did."""

    there: dict[str, str | None]
    conflicts: tuple[str, ...]


def three_way(bases: Sequence[Files], here: Files, there: Files) -> ThreeWay:
    """Compare both sides with every state that they have last had in common."""
    taken: dict[str, str | None] = {}
    conflicts = []
    for path in sorted(here.keys() | there.keys()):
        ours, theirs = here.get(path), there.get(path)
        if ours == theirs:
            continue
        common = {base.get(path) for base in bases}
        if common == {ours}:
            taken[path] = theirs
        elif common != {theirs}:
            conflicts.append(path)
    return ThreeWay(taken, tuple(conflicts))
