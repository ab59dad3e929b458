"""What two axes have each for itself: it differs and says nothing, so its name is enough."""

from __future__ import annotations

import re
from typing import TYPE_CHECKING

from vault.meaning.explainers import OWN_OF_EACH
from vault.meaning.sentences import surrounding_place

if TYPE_CHECKING:
    from vault.meaning.changes import Change, Surrounding

_ROLES = frozenset(
    {
        "home_offset", "encoder_absolute_offset", "commutation_offset", "node_address",
        "station_alias", "safety_address", "serial_number",
    }
)  # fmt: skip
_PLACES = re.compile(
    r"nameplate\.(serial|motor_serial|node_id|node_name|axis_name)|cabinet\.address_switch(es)?"
    r"|controller_link\.(node_address|station_alias)"
)
ALL_OF_THEM = "Each axis has its own, not to be carried over: {names}"


def is_own_of_each(change: Change) -> bool:
    """Whether two axes merely have what is each one's own."""
    role = (change.shown.role or "").partition(".")[0]
    told = role == "serial_number" or change.explanation.endswith(OWN_OF_EACH)
    return told and role in _ROLES and change.kind == "changed" and change.consequence != "hazard"


def is_own_place(around: Surrounding) -> bool:
    """Whether two axes merely have what is each one's own, beside the parameters."""
    return around.consequence in ("record", "link") and bool(_PLACES.fullmatch(around.path))


def own_of_each_text(changes: list[Change], surroundings: list[Surrounding]) -> str:
    """Names of what each axis has for itself; empty where that is nothing."""
    names = [change.shown.name for change in changes]
    names += [surrounding_place(around.path) for around in surroundings]
    return ALL_OF_THEM.format(names="; ".join(names)) if names else ""
