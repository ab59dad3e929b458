"""One parameter set, in groups."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING

from vault.jobs.state.selectors import view_of
from vault.meaning.readings import Readings
from vault.model import roles
from vault.model.wording import capitalised

if TYPE_CHECKING:
    from collections.abc import Sequence

    from vault.jobs.state.selectors import State
    from vault.meaning.readings import Reading
    from vault.model.parameters import Parameter


@dataclass(frozen=True, slots=True)
class ShownParameter:
    """A parameter with its group and access, and what its value means."""

    parameter: Parameter
    group: str
    group_title: str
    access: str
    reading: Reading


def shown_parameters(state: State) -> list[ShownParameter]:
    """All parameters of a state, by group in the usual order, then by code."""
    order = {name: place for place, (name, _) in enumerate(roles.GROUPS)}
    titles = dict(roles.GROUPS)
    if state.family is not None:
        titles |= state.family.groups
    readings = Readings(view_of(state))
    shown = []
    for parameter in state.parameters.values():
        definition = state.definitions.get(parameter.code)
        role = roles.find(parameter.role) if parameter.role else None
        group = definition.group if definition else role.group if role else "device"
        access = definition.access if definition else role.access if role else "rw"
        title = titles.get(group) or capitalised(group)
        shown.append(ShownParameter(parameter, group, title, access, readings.of(parameter)))
        order.setdefault(group, len(order))  # a family's own come last, as they come
    shown.sort(key=lambda s: order[s.group])
    return shown


def in_groups(parameters: Sequence[ShownParameter]) -> list[tuple[str, list[ShownParameter]]]:
    """The parameters that `shown_parameters` gave, as title and members of each group there is."""
    grouped = (list(members) for _, members in groupby(parameters, key=lambda one: one.group))
    return [(members[0].group_title, members) for members in grouped]
