"""What somebody asks to waive: which parameter may be what, until when, and why."""

from __future__ import annotations

from dataclasses import dataclass

from vault.model.errors import Refused, WrongUsage
from vault.model.golden import Allowance
from vault.model.typed_text import required_text
from vault.model.visible_text import one_line
from vault.model.written_form import in_iso
from vault.store.clock import now, parse_time


@dataclass(frozen=True, slots=True)
class WaiverRequest:
    """`parameter` is a code or a role; `until` the last day that the waiver holds, in ISO 8601."""

    parameter: str
    allowance: Allowance
    until: str
    reason: str


def parse_waiver_request(
    parameter: str | None, *, allow: str | None, until: str | None, reason: str | None
) -> WaiverRequest:
    """Check what a person typed; `allow` is a range, a label, or `any`.

    Raises WrongUsage naming what is wrong, as a day that has passed, and Refused without a reason.
    """
    name, last_day = required_text(parameter, "code"), required_text(until, "until")
    why = one_line(reason)
    if not why:
        raise Refused("a waiver needs a reason", hint="--reason TEXT")
    allowance = Allowance.typed(required_text(allow, "allow"))
    if parse_time(last_day) <= now():
        raise WrongUsage(f"{last_day} has passed: the waiver would never hold")
    return WaiverRequest(name, allowance, in_iso(last_day), why)
