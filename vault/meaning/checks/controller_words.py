"""How the rules about a controller name its values, and where they say to look. No rules."""

from __future__ import annotations

from math import inf
from typing import TYPE_CHECKING

from vault.meaning.changes import Finding
from vault.meaning.checks.sources import codes
from vault.meaning.findings import digits, figure

if TYPE_CHECKING:
    from vault.behaviour.controller import Told
    from vault.behaviour.controller_limits import Limit
    from vault.meaning.axis_view import AxisView
    from vault.model.parameters import Parameter

OF_CONTROLLER = "the controller's set"
OTHERS = {"one": "; so does one more", "several": "; so do {count} more"}
CONTROLLER_RECORD = "axis.yaml: controller"


def called(parameter: Parameter) -> str:
    """What a value of the controller is called: by its place in the program where it has one."""
    return parameter.code if "." in parameter.code else parameter.name


def place(parameter: Parameter) -> str:
    """Where to look at a value of the controller's set."""
    return f"controller: {parameter.code}"


def places(*parameters: Parameter) -> tuple[str, ...]:
    """Where to look at several, each once."""
    return tuple(dict.fromkeys(place(one) for one in parameters))


def looks(view: AxisView, rests_on: tuple[str, ...], *parameters: Parameter) -> tuple[str, ...]:
    """Where to look: the drive's parameters and sections of the record, then the controller's."""
    record = dict.fromkeys(
        f"axis.yaml: {key.partition('.')[0]}"
        for key in rests_on
        if "." in key and view.state.record(key) is not None
    )
    own = codes(view, *(role for role in rests_on if "." not in role))
    return (*own, *record, *places(*parameters))


def ratio(need: float, have: float) -> str:
    """How many times as much is asked for as there is."""
    times = need / have if have else inf
    count = 3 if abs(times - 1) >= 0.01 else 9  # what is beyond an edge does not read as 1
    return f"{digits(times, count)} times"


def both(told: Told, limit: Limit, unit: str) -> tuple[Finding, ...]:
    """The figures of a block and of what limits it, and how they stand to each other."""
    found = [
        figure(f"controller: {called(told.parameter)}", told.size, OF_CONTROLLER, unit=unit),
        figure(limit.name, limit.size, ", ".join(limit.rests_on), unit=unit),
    ]
    if limit.size:
        found.append(figure("ratio", abs(told.size) / limit.size, "need over have", unit="1"))
    return tuple(found)


def and_others(count: int) -> str:
    """Words for the blocks besides the one that is told."""
    if count <= 0:
        return ""
    return OTHERS["one" if count == 1 else "several"].format(count=count)
