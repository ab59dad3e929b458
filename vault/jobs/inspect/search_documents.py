"""JSON of a search for anything."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

from vault.store.clock import time_text

if TYPE_CHECKING:
    from vault.jobs.inspect.search import Hits


class AxisHitDocument(TypedDict):
    """An axis that was found."""

    axis: str
    """`machine/axis`."""

    title: str
    """What people call it; may be empty."""

    why: str
    """What of it fits, at most two reasons; of a serial number that it has no more, that too."""

    retired: bool
    """Whether it is out of use."""


class MachineHitDocument(TypedDict):
    """A machine that was found."""

    machine: str
    """Its name."""

    axes: int
    """How many axes it has."""

    why: str
    """What of it fits."""

    retired: bool
    """Whether it is out of use."""


class ParameterHitDocument(TypedDict):
    """A parameter that was found."""

    code: str
    """Its code."""

    name: str
    """Its name."""

    role: str | None
    """What it does, whatever the family calls it."""

    family: str | None
    """The family whose dictionary has it, null where only exports name it."""

    why: str
    """What of it fits: code, name, or a word of the trade for its role."""


class FaultHitDocument(TypedDict):
    """A fault that was found."""

    code: str
    """The code as it was noted, else as a dictionary or the standard has it."""

    name: str | None
    """What it is called; null where nothing is known about the code."""

    axes: list[str]
    """Some of the axes that it was noted on."""

    count: int
    """On how many axes it was noted."""

    why: str
    """What of it fits."""


class PersonHitDocument(TypedDict):
    """A person who was found."""

    person: str
    """The name."""

    axes: list[str]
    """Some of the axes that they had to do with."""

    why: str
    """What they did, and on how many axes."""


class FamilyHitDocument(TypedDict):
    """A drive family that was found."""

    family: str
    """Its name."""

    title: str
    """What people call it."""

    why: str
    """What of it fits."""


class SnapshotHitDocument(TypedDict):
    """A snapshot whose id begins so."""

    axis: str
    """`machine/axis`."""

    snapshot: str
    """Its id."""

    taken_at: str
    """When it was taken."""


class SearchDocument(TypedDict):
    """What a text may mean, of each kind the best first."""

    text: str
    """What was looked for."""

    axes: list[AxisHitDocument]
    """Axes by name, title, nameplate, work order, restore plan, or note of a fault; retired ones
    last."""

    machines: list[MachineHitDocument]
    """Machines by name, title or tag; retired ones last."""

    parameters: list[ParameterHitDocument]
    """Parameters by code, name, or a word of the trade for their role."""

    faults: list[FaultHitDocument]
    """Faults by code and name, those that somebody noted first."""

    people: list[PersonHitDocument]
    """Who took exports, approved, waived, or noted."""

    families: list[FamilyHitDocument]
    """Drive families."""

    snapshots: list[SnapshotHitDocument]
    """Snapshots by the begin of their id, seven digits at least."""

    did_you_mean: list[str]
    """Where nothing fits: texts that are near."""


def search_document(hits: Hits) -> SearchDocument:
    """What was found."""
    return {
        "text": hits.text,
        "axes": [
            {"axis": a.axis, "title": a.title, "why": a.why, "retired": a.retired}
            for a in hits.axes
        ],
        "machines": [
            {"machine": m.machine, "axes": m.axes, "why": m.why, "retired": m.retired}
            for m in hits.machines
        ],
        "parameters": [
            {"code": p.code, "name": p.name, "role": p.role, "family": p.family, "why": p.why}
            for p in hits.parameters
        ],
        "faults": [
            {
                "code": fault.code,
                "name": fault.name,
                "axes": list(fault.axes),
                "count": fault.count,
                "why": fault.why,
            }
            for fault in hits.faults
        ],
        "people": [{"person": p.person, "axes": list(p.axes), "why": p.why} for p in hits.people],
        "families": [{"family": f.family, "title": f.title, "why": f.why} for f in hits.families],
        "snapshots": [
            {
                "axis": str(s.address),
                "snapshot": s.id,
                "taken_at": time_text(s.record.taken_at),
            }
            for s in hits.snapshots
        ],
        "did_you_mean": list(hits.meant),
    }
