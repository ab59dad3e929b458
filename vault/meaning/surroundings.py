"""Differences in what is no parameter: nameplate, mechanics, cabinet settings, controller link."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any

from vault.meaning.changes import Surrounding


def surroundings(left: Mapping[str, Any], right: Mapping[str, Any]) -> tuple[Surrounding, ...]:
    """Compare two nested mappings; what only one side has is None on the other."""
    if left == right:
        return ()
    from deepdiff import DeepDiff  # slow to import, seldom needed

    found = DeepDiff(
        left,
        right,
        view="tree",
        verbose_level=2,
        ignore_private_variables=False,
        threshold_to_diff_deeper=0,  # else mappings with little in common are one difference
    )
    return tuple(sorted(_entries(found), key=lambda entry: entry.path))


def _entries(found: Any) -> Iterator[Surrounding]:
    for levels in found.values():
        for level in levels:
            path = ".".join(str(step) for step in level.path(output_format="list"))
            yield Surrounding(path, _side(level.t1), _side(level.t2))


def _side(value: Any) -> object:
    return None if repr(value) == "not present" else value
