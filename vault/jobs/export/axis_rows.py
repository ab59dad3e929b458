"""What of a controller's table is one axis's: rows by the tag that their codes begin with."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import replace
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from vault.model.axis_pick import AxisPick
    from vault.model.export import Entry, Listing

_JOINT = re.compile(r"[._/:\s]+")


def of_axis(entries: Iterable[Entry], pick: AxisPick) -> tuple[Entry, ...]:
    """The rows of an axis, each with the code behind its tag: `Lift.Jog` of Lift is `Jog`.

    The tag is the shortest begin of a code, up to a joint, that fits the rule; a code that fits
    only as a whole stays as it is.
    """
    found = []
    for entry in entries:
        code = _behind_tag(entry.code, pick)
        if code is not None:
            found.append(entry if code == entry.code else replace(entry, code=code))
    return tuple(found)


def picked(listing: Listing, pick: AxisPick) -> Listing:
    """A listing with the rows of an axis alone; the whole where its codes name no axis at all."""
    entries = of_axis(listing.entries, pick)
    return replace(listing, entries=entries, pick=pick) if entries else listing


def _behind_tag(code: str, pick: AxisPick) -> str | None:
    for joint in _JOINT.finditer(code):
        head, rest = code[: joint.start()], code[joint.end() :]
        names = (head, code[: joint.end()], _JOINT.split(head)[-1])
        if rest and pick.takes(names):
            return rest
    return code if pick.takes((code,)) else None
