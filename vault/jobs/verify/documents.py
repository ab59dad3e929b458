"""The JSON object of a verification."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.state.documents import Json

if TYPE_CHECKING:
    from vault.jobs.verify.outcome import Verified


def verify_json(found: Verified) -> Json:
    """Outcome of a verification."""
    first, witness = found.first_untrusted, found.witness
    return {
        "ok": found.ok,
        "snapshots": found.snapshots,
        "problems": [
            {"kind": p.kind, "where": p.where, "details": p.details} for p in found.problems
        ],
        "remarks": found.remarks,
        "first_untrusted": None
        if first is None
        else {
            "snapshot": first.snapshot,
            "axis": first.axis,
            "taken_at": first.taken_at,
            "why": first.why,
        },
        "tip": found.tip,
        "witness": None
        if witness is None
        else {"id": witness.id, "lines": len(witness.lines), "head": witness.head},
    }
