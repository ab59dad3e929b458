"""Messages that went out or wait, read once for as long as the outbox is the same."""

from __future__ import annotations

from datetime import UTC, datetime
from typing import TYPE_CHECKING

from vault.store.local.outbox import FILE, Outbox

if TYPE_CHECKING:
    from pathlib import Path

    from vault.store.local.outbox import Message

_ALWAYS = datetime(1970, 1, 1, tzinfo=UTC)
_Signature = tuple[tuple[int, int], ...]
_READ: dict[Path, tuple[_Signature, tuple[Message, ...]]] = {}


def told_messages(state: Path) -> tuple[Message, ...]:
    """Every message that the outbox remembers, oldest first.

    Raises Unavailable where it cannot be used.
    """
    if not Outbox.exists(state):
        return ()
    known = _READ.get(state)
    if known is None or known[0] != _signature(state):
        with Outbox(state) as outbox:
            messages = tuple(outbox.all_since(_ALWAYS))
        known = _signature(state), messages
        _READ[state] = known
    return known[1]


def _signature(state: Path) -> _Signature:
    """Changes with whatever is written; closing the last connection empties the journal."""
    found = []
    for ending in ("", "-wal"):
        try:
            about = state.joinpath(f"{FILE}{ending}").stat()
        except OSError:
            continue
        if about.st_size:
            found.append((about.st_mtime_ns, about.st_size))
    return tuple(found)
