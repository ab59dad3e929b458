"""Entries of the axis record one by one: what is changed together, and a record with one of them.

The key of an entry is its section and its name (`mechanics.gearbox`), or the section alone where
its parts make one thing (`duty`).
"""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.model.axis import AxisRecord

_SECTIONS = (
    "mechanics", "motor", "encoder", "load_encoder", "brake", "supply", "cabinet",
    "controller_link",
)  # fmt: skip
"""Sections of which each entry stands for itself."""


def key_of(path: str) -> str:
    """The key of the entry that a place in the record belongs to; of settings that people name as
    they like, the place itself."""
    section, _, rest = path.partition(".")
    if section not in _SECTIONS:
        return section
    if section in ("cabinet", "controller_link"):
        return path
    return f"{section}.{rest.partition('.')[0]}" if rest else section


def with_entries(own: AxisRecord, other: AxisRecord, keys: Iterable[str]) -> AxisRecord:
    """A record that has some entries as another one has them."""
    for key in keys:
        own = own.model_copy(update=_exchanged(own, other, key))
    return own


def _exchanged(own: AxisRecord, other: AxisRecord, key: str) -> dict[str, Any]:
    section, _, name = key.partition(".")
    mine, theirs = getattr(own, section, None), getattr(other, section, None)
    if not name or mine is None or theirs is None or isinstance(mine, dict):
        return {section: theirs}
    return {section: mine.model_copy(update={name: getattr(theirs, name)})}
