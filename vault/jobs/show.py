"""One parameter set, in groups."""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.model import roles
from vault.model.quantities import Physical, physical

if TYPE_CHECKING:
    from vault.jobs.selectors import State
    from vault.model.parameters import Parameter


@dataclass(frozen=True, slots=True)
class Shown:
    """A parameter with its group, access and size in SI."""

    parameter: Parameter
    group: str
    access: str
    physical: Physical | None


def shown(state: State) -> list[Shown]:
    """All parameters of a state, by group in the usual order, then by code."""
    order = {name: place for place, (name, _) in enumerate(roles.GROUPS)}
    found = []
    for parameter in state.parameters.values():
        definition = state.definitions.get(parameter.code)
        role = roles.find(parameter.role) if parameter.role else None
        group = definition.group if definition else role.group if role else "device"
        access = definition.access if definition else role.access if role else "rw"
        size = None if isinstance(parameter.value, str) else parameter.value
        si = None if size is None else physical(size, parameter.unit)
        found.append(Shown(parameter, group, access, si))
    found.sort(key=lambda s: order.get(s.group, len(order)))
    return found
