"""What two axes have each for itself: it differs and says nothing, so its name is enough."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.meaning.explainers import OWN_OF_EACH
from vault.meaning.sentences import surrounding_place

if TYPE_CHECKING:
    from vault.meaning.changes import Change, Surrounding

    Plates = Collection[tuple[str, str]]

_ROLES = frozenset(
    {
        "home_offset", "encoder_absolute_offset", "commutation_offset", "node_address",
        "station_alias", "safety_address", "serial_number",
    }
)  # fmt: skip
_PLATES = ("serial", "motor_serial", "node_id", "node_name", "axis_name")
_PLACES = re.compile(
    rf"nameplate\.({'|'.join(_PLATES)})|cabinet\.address_switch(es)?"
    r"|controller_link\.(node_address|station_alias)"
)
ALL_OF_THEM = "Each axis has its own, not to be carried over: {names}"


@dataclass(frozen=True, slots=True)
class Apart:
    """What differs between two axes, and apart from it what each of them has for itself."""

    changes: tuple[Change, ...]
    surroundings: tuple[Surrounding, ...]
    own_changes: tuple[Change, ...]
    own_places: tuple[Surrounding, ...]


def set_apart(
    changes: Iterable[Change], surroundings: Iterable[Surrounding], plates: Plates = ()
) -> Apart:
    """Tell what must differ from what need not; `plates` as `own_plates` gives them."""
    by_own: tuple[list[Change], list[Change]] = [], []
    for change in changes:
        by_own[is_own_of_each(change, plates)].append(change)
    beside: tuple[list[Surrounding], list[Surrounding]] = [], []
    for around in surroundings:
        beside[is_own_place(around)].append(around)
    return Apart(tuple(by_own[0]), tuple(beside[0]), tuple(by_own[1]), tuple(beside[1]))


def own_plates(left: Mapping[str, str], right: Mapping[str, str]) -> Plates:
    """What the nameplates of two axes have each for itself: serial numbers and names."""
    return {(left[key], right[key]) for key in _PLATES if key in left and key in right}


def is_own_of_each(change: Change, plates: Plates = ()) -> bool:
    """Whether two axes merely have what is each one's own.

    `plates` are pairs of plates that must differ: a parameter that repeats them is as much its own.
    """
    if change.left is not None and change.right is not None and change.consequence == "record":
        values = change.left.value, change.right.value
        if isinstance(values[0], str) and values in plates:
            return True
    role = (change.shown.role or "").partition(".")[0]
    told = role == "serial_number" or change.explanation.endswith(OWN_OF_EACH)
    return told and role in _ROLES and change.kind == "changed" and change.consequence != "hazard"


def is_own_place(around: Surrounding) -> bool:
    """Whether two axes merely have what is each one's own, beside the parameters."""
    return around.consequence in ("record", "link") and bool(_PLACES.fullmatch(around.path))


def own_names(changes: Iterable[Change], surroundings: Iterable[Surrounding]) -> list[str]:
    """Names of what each axis has for itself."""
    names = [change.shown.name for change in changes]
    return names + [surrounding_place(around.path) for around in surroundings]


def own_of_each_text(changes: Iterable[Change], surroundings: Iterable[Surrounding]) -> str:
    """The same in a sentence; empty where that is nothing."""
    names = own_names(changes, surroundings)
    return ALL_OF_THEM.format(names="; ".join(names)) if names else ""
