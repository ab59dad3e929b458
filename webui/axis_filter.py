"""Which axes a list shows and in which order: asked for in the address, and kept by its links."""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Mapping
from dataclasses import dataclass
from itertools import groupby
from typing import TYPE_CHECKING, Any
from urllib.parse import urlencode

from vault.jobs.baseline.axis_drift import STATUSES, AxisDrift
from vault.jobs.records.machines import tags_of_machines
from vault.meaning.consequences import CONSEQUENCES
from vault.model.errors import WrongUsage
from vault.store.clock import microseconds
from vault.store.index.rows import latest_families
from webui.request_fields import query_arg

if TYPE_CHECKING:
    from vault.store.vault import Vault

STATES: Mapping[str, Callable[[AxisDrift], bool]] = {
    "needs": lambda axis: axis.needs_attention,
    **{status: lambda axis, status=status: axis.status == status for status in STATUSES},  # type: ignore[misc]
    "floor": lambda axis: bool(axis.floors),
}
"""States that may be asked for: one of those an axis can be in, and two that go across them."""
SORTS: Mapping[str, Callable[[AxisDrift], Any]] = {
    "worst": lambda axis: (_badness(axis), -axis.count, axis.axis),
    "name": lambda axis: axis.axis,
    "seen": lambda axis: (microseconds(axis.taken_at) if axis.taken_at else 0, axis.axis),
}
FIELDS = {
    "state": "Only those in a state: " + ", ".join(STATES) + ".",
    "consequence": "Only those whose worst drift is of a class: " + ", ".join(CONSEQUENCES) + ".",
    "family": "Only those of a drive family.",
    "tag": "Only those of machines that have a tag.",
    "overdue": "Only those whose export is overdue, whatever else they are.",
    "sort": "worst first, by name, or longest not seen first: " + ", ".join(SORTS) + ".",
}


@dataclass(frozen=True, slots=True)
class AxisFilter:
    """What was asked for; None where any will do."""

    state: str | None = None
    consequence: str | None = None
    family: str | None = None
    tag: str | None = None
    overdue: str | None = None
    sort: str = "worst"

    @classmethod
    def asked(cls) -> AxisFilter:
        """What stands in the address. Raises WrongUsage for what there is not."""
        return cls(
            _one_of("state", STATES),
            _one_of("consequence", CONSEQUENCES),
            query_arg("family"),
            query_arg("tag"),
            query_arg("overdue"),
            _one_of("sort", SORTS) or "worst",
        )

    @property
    def is_active(self) -> bool:
        """Whether some axes are left out."""
        return any((self.state, self.consequence, self.family, self.tag, self.overdue))

    @property
    def query(self) -> str:
        """The same as the end of an address, with its question mark; empty for the usual list."""
        fields = {name: getattr(self, name) for name in FIELDS}
        asked = {name: text for name, text in fields.items() if text}
        if self.sort == "worst":
            del asked["sort"]
        return f"?{urlencode(asked)}" if asked else ""

    def of(self, vault: Vault, axes: Iterable[AxisDrift]) -> list[AxisDrift]:
        """Those that are asked for, in the order that they came in."""
        if not self.is_active:
            return list(axes)
        families = vault.index.ask(latest_families) if self.family else {}
        tags = tags_of_machines(vault) if self.tag else {}
        return [
            axis
            for axis in axes
            if (self.state is None or STATES[self.state](axis))
            and self.consequence in (None, axis.worst)
            and (self.family is None or families.get(vault.address(axis.axis)) == self.family)
            and (self.tag is None or self.tag in tags.get(vault.address(axis.axis).machine, ()))
            and (self.overdue is None or axis.overdue)
        ]

    def in_order(self, axes: Iterable[AxisDrift]) -> list[AxisDrift]:
        """The same, sorted as asked."""
        return sorted(axes, key=SORTS[self.sort])


def _one_of(name: str, known: Iterable[str]) -> str | None:
    text = query_arg(name)
    if text is not None and text not in known:
        raise WrongUsage(f"there is no {name} {text!r}", hint=", ".join(known))
    return text


def _badness(axis: AxisDrift) -> int:
    """Its place among axes, worst first: a hazard, a floor that is not kept, the other classes."""
    if axis.worst == "hazard":
        return 0
    if axis.floors:
        return 1
    if axis.worst is not None:
        return 2 + CONSEQUENCES.index(axis.worst)
    return 2 + len(CONSEQUENCES) + STATUSES.index(axis.status)


@dataclass(frozen=True, slots=True)
class Machine:
    """A machine, its axes in the order asked for, how many stand how, and what is worst."""

    name: str
    axes: tuple[AxisDrift, ...]
    counts: Mapping[str, int]
    floors: int
    worst: str | None

    @property
    def members(self) -> list[str]:
        """What its axes are called."""
        return [axis.axis for axis in self.axes]


def by_machine(axes: Iterable[AxisDrift], asked: AxisFilter) -> list[Machine]:
    """Machines in the order of their first axes."""
    ordered = sorted(asked.in_order(axes), key=_machine_of)  # stable: axes stay in their order
    machines = [_machine(name, tuple(members)) for name, members in groupby(ordered, _machine_of)]
    if asked.sort != "name":
        machines.sort(key=lambda machine: _badness_of(machine, asked))
    return machines


def _machine_of(axis: AxisDrift) -> str:
    return axis.axis.partition("/")[0]


def _machine(name: str, axes: tuple[AxisDrift, ...]) -> Machine:
    counts = Counter(axis.status for axis in axes)
    worst = min((a.worst for a in axes if a.worst), key=CONSEQUENCES.index, default=None)
    floors = sum(bool(axis.floors) for axis in axes)
    return Machine(name, axes, {s: counts[s] for s in STATUSES if counts[s]}, floors, worst)


def _badness_of(machine: Machine, asked: AxisFilter) -> tuple[Any, ...]:
    """Its place among machines: by its first axis, then by how many stand badly."""
    first = machine.axes[0]
    if asked.sort == "seen":
        return SORTS["seen"](first)  # type: ignore[no-any-return]
    numbers = (-machine.counts.get(status, 0) for status in STATUSES[:-1])
    return (_badness(first), *numbers, machine.name)
