"""Files of two copies that went on from the same beginning: which of them to keep."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

Files = Mapping[str, str]
"""Blob by path."""


@dataclass(frozen=True, slots=True)
class ThreeWay:
    """`taken`: only they changed it (None: removed it); `conflicts`: both sides did."""

    taken: dict[str, str | None]
    conflicts: tuple[str, ...]


def three_way(bases: Sequence[Files], ours: Files, theirs: Files) -> ThreeWay:
    """Compare both sides with every state that they have last had in common."""
    taken: dict[str, str | None] = {}
    conflicts = []
    for path in sorted(ours.keys() | theirs.keys()):
        our_blob, their_blob = ours.get(path), theirs.get(path)
        if our_blob == their_blob:
            continue
        common = {base.get(path) for base in bases}
        if common == {our_blob}:
            taken[path] = their_blob
        elif common != {their_blob}:
            conflicts.append(path)
    return ThreeWay(taken, tuple(conflicts))
