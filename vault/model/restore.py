"""The record of a restore plan: what an axis is being restored to, and what was adapted."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime


@dataclass(frozen=True, slots=True)
class Adapted:
    """A value that the load file holds otherwise than the target, and why; raw as text."""

    code: str
    raw: str
    reason: str


@dataclass(frozen=True, slots=True)
class SignOff:
    """Who answers for a restore that is done: the as-left snapshot they looked at, and why the
    axis may run although something was left, where it was."""

    by: str
    at: datetime
    snapshot: str
    override_reason: str | None = None


@dataclass(frozen=True, slots=True)
class SheetMark:
    """What somebody ticked on the sheet, or filled in as `text`; `step` names the place."""

    step: str
    by: str
    at: datetime
    text: str | None = None


def plan_number(made_at: datetime, identity: str) -> str:
    """What people call a plan: its date and four hexadecimal digits of its id."""
    return f"{made_at:%Y-%m-%d}-{identity[:4]}"


@dataclass(frozen=True, slots=True)
class RestoreRecord:
    """What restore.yaml holds. `snapshot` is the commit of the target, `family` that of the drive
    to be loaded, where it is another one than the target's. `override_reason` is why a target that
    is not whole is restored all the same. `document_sha256` is that of the kept plan.json, None for
    plans of before those were kept."""

    id: str
    made_at: datetime
    by: str
    snapshot: str
    family: str | None = None
    load_file: str | None = None
    load_file_sha256: str | None = None
    adapted: tuple[Adapted, ...] = ()
    override_reason: str | None = None
    signed_off: SignOff | None = None
    document_sha256: str | None = None
    marks: tuple[SheetMark, ...] = ()

    @property
    def number(self) -> str:
        """What people call the plan."""
        return plan_number(self.made_at, self.id)
