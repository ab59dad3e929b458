"""Why a trial or a trace that another copy has does not hold here.

An approval may rest on a trial, and what became of an axis is told by its earlier traces.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, Literal

from vault.store.files import layout
from vault.store.files.trace_record_text import read_trace_record
from vault.store.files.trial_text import read_kept_trial
from vault.store.git.history import is_ancestor
from vault.store.index.recorded import is_recorded

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.vault import Vault


TriedKind = Literal["trial", "trace", "recording"]


def tried_of(path: str) -> tuple[TriedKind, Address] | None:
    """What a file of the tree is of the trials and traces of which axis; None for any other."""
    name = path.rsplit("/", 1)[-1]
    if (trial := layout.trial_of(path)) is not None:
        return ("trial", trial[0]) if name == "trial.yaml" else None
    if (trace := layout.trace_of(path)) is not None:
        return ("trace" if name == "trace.yaml" else "recording", trace[0])
    return None


def foreign_objection(
    vault: Vault, kind: TriedKind, address: Address, path: str, content: bytes,
    authors: Sequence[str], *, partner: str, tip: str,
) -> str | None:  # fmt: skip
    """Why it needs consent; None where it does not. `authors` wrote the file there, in turn.

    A trial and a trace stay as they were added. Raises Damaged for one that cannot be read.
    """
    if kind == "recording":
        return None if vault.read(path) is None else "it is not the recording that was kept"
    read = read_kept_trial if kind == "trial" else read_trace_record
    there = read(content, f"{partner}:{path}")
    if vault.read(path) is not None:
        return f"it is not the {kind} that was added"
    if not is_recorded(vault.repository, tip, address, there.snapshot):
        return "what it belongs to is no snapshot of this axis"
    if not is_ancestor(vault.repository, there.vault_at, tip):
        return "it was added on a history that is not there"
    return f"it was written {len(authors)} times" if len(authors) > 1 else None
