"""Is a state a drive's whole set, so that others may be held against it or restored to it?"""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.model.errors import Refused
from vault.model.protecting_roles import protects
from vault.model.visible_text import one_line
from vault.model.wording import plural

if TYPE_CHECKING:
    from vault.jobs.state.selectors import State

_SHOWN = 3


def why_not_whole(state: State) -> str | None:
    """Why a state is no baseline and no target by itself; None where it is.

    Defaults of the file are a reason only where one of them protects.
    """
    coverage = state.coverage
    if coverage.kind in ("partial", "defaults_only"):
        return coverage.sentence
    protecting = [
        code
        for code in coverage.defaults
        if code in state.parameters and protects(state.parameters[code].role)
    ]
    if not protecting:
        return None
    values = plural(len(protecting), "value that protects is", "values that protect are")
    codes = ", ".join(protecting[:_SHOWN]) + (" …" if len(protecting) > _SHOWN else ".")
    return f"{values} the file's default, and not stated of the drive: {codes}"


def taken_in_although(state: State) -> str | None:
    """That a guard objected to a set, and why it was taken in all the same; None where none did."""
    record = state.record
    if record is None or record.override_reason is None:
        return None
    return (
        "a guard objected when this set was taken in; it was taken in all the same: "
        f"{record.override_reason}"
    )


def check_whole(state: State, override_reason: str | None, what: str) -> str | None:
    """The reason that is to be recorded, None where none is needed.

    Raises Refused where the set is not whole and nobody says why it is right.
    """
    why = why_not_whole(state)
    reason = one_line(override_reason)
    if why is not None and not reason:
        raise Refused(
            f"{state.name} is no {what}: {why}",
            hint="take in a whole export; if it is right so, say why: --even-so REASON",
        )
    return reason if why is not None else None
