"""The guard against an old file as proof of a restore: what was there before the plan proves none.

A person's own word for the time is believed, and what it leaves in doubt is told.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from datetime import datetime

from vault.jobs.intake.objection import Objection
from vault.model.written_form import minute_text
from vault.store.clock import CLOCKS_APART


@dataclass(frozen=True, slots=True)
class AsLeft:
    """What an as-left export is to prove.

    `planned_at` is when the plan was made, None where there is none; `kept` says by SHA-256 which
    files were there before, in words.
    """

    planned_at: datetime | None = None
    kept: Mapping[str, str] = field(default_factory=dict)

    def doubt(self, sha256: str, taken_at: datetime) -> str | None:
        """Why an export of these bytes and this time proves nothing; None where it may."""
        same = self.kept.get(sha256)
        if same is not None:
            return f"this is {same}, byte for byte: it tells nothing of the drive as it is now"
        planned_at = self.planned_at
        if planned_at is None or taken_at >= planned_at - CLOCKS_APART:
            return None
        return (
            f"this was taken {minute_text(taken_at)}, before the plan was made "
            f"({minute_text(planned_at)}): it tells nothing of the drive as it is now"
        )


def proves_nothing(
    as_left: AsLeft, sha256: str, taken_at: datetime, source: str, head_time: datetime | None
) -> Objection | str | None:
    """What speaks against an export as proof; a remark where a person vouches for its time.

    `head_time` is when the file's head says it was written: an older one than the plan speaks
    against an export that is dated now for want of anything better.
    """
    doubt = as_left.doubt(sha256, taken_at)
    if doubt is None and source == "now" and head_time is not None:
        return _old_head(as_left, head_time)
    if doubt is None or (source == "given" and sha256 not in as_left.kept):
        return doubt
    return Objection(
        "proves_nothing",
        doubt,
        hint="load the file, restart the drive, export again and check that; if it is right so, "
        "say why: --even-so REASON",
    )


def _old_head(as_left: AsLeft, head_time: datetime) -> Objection | None:
    planned_at = as_left.planned_at
    if planned_at is None or head_time >= planned_at - CLOCKS_APART:
        return None
    return Objection(
        "proves_nothing",
        f"its head says {minute_text(head_time)}, before the plan was made "
        f"({minute_text(planned_at)}), and nothing else says when it was taken",
        hint="export again after loading and check that; if this was taken then, say it yourself: "
        "--taken-at TIME, or, if now is right, say why: --even-so REASON",
    )
