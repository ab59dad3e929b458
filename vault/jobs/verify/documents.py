"""JSON of a verification."""

from __future__ import annotations

from typing import TYPE_CHECKING

from typing_extensions import TypedDict

if TYPE_CHECKING:
    from collections.abc import Iterable

    from vault.jobs.verify.outcome import Problem, Untrusted, Verified
    from vault.store.proof.witness import Witness


class ProblemDocument(TypedDict):
    """Something in a vault that is not as it should be."""

    kind: str
    """What kind of thing it is about: `export`, `values`, `chain`, `witness` and so on."""

    where: str
    """Where it is: a snapshot as `machine/axis@commit`, or a file."""

    details: str
    """It in words."""


class UntrustedDocument(TypedDict):
    """The first snapshot that cannot be trusted, as far as it is known."""

    snapshot: str | None
    """Its id."""

    axis: str | None
    """`machine/axis`."""

    taken_at: str | None
    """When it was taken, as it says itself."""

    why: str
    """Why it cannot be trusted."""


class WitnessDocument(TypedDict):
    """The witness: what remembers every state that the history ever had."""

    id: str
    """Its id, which stays."""

    lines: int
    """How many states it remembers."""

    head: str | None
    """The hash that stands for all its lines; null where it has none."""


class VerificationDocument(TypedDict):
    """The vault against itself and its witness: `verify`."""

    ok: bool
    """Whether nothing is wrong."""

    snapshots: int
    """How many snapshots were checked."""

    problems: list[ProblemDocument]
    """What is wrong."""

    remarks: list[str]
    """What a reader should know and is no problem."""

    first_untrusted: UntrustedDocument | None
    """The first snapshot that cannot be trusted, null where all can."""

    tip: str
    """The commit that the vault stands at: worth writing down elsewhere."""

    witness: WitnessDocument | None
    """The witness, null where there is none."""


def verification_document(verified: Verified) -> VerificationDocument:
    """Outcome of a verification."""
    return {
        "ok": verified.ok,
        "snapshots": verified.snapshots,
        "problems": problem_documents(verified.problems),
        "remarks": verified.remarks,
        "first_untrusted": _untrusted_document(verified.first_untrusted),
        "tip": verified.tip,
        "witness": _witness_document(verified.witness),
    }


def problem_documents(problems: Iterable[Problem]) -> list[ProblemDocument]:
    """What is wrong."""
    return [{"kind": p.kind, "where": p.where, "details": p.details} for p in problems]


def _untrusted_document(first: Untrusted | None) -> UntrustedDocument | None:
    if first is None:
        return None
    return {
        "snapshot": first.snapshot,
        "axis": first.axis,
        "taken_at": first.taken_at,
        "why": first.why,
    }


def _witness_document(witness: Witness | None) -> WitnessDocument | None:
    if witness is None:
        return None
    return {"id": witness.id, "lines": len(witness.lines), "head": witness.head}
