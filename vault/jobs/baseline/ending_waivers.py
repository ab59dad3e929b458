"""Waivers of all axes that end soon, or have ended: what somebody has to renew or to mend."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from vault.meaning.drift import in_force
from vault.model.errors import WrongUsage
from vault.model.internal_errors import told_apart
from vault.store.clock import now, parse_time
from vault.store.files.golden_text import read_golden

if TYPE_CHECKING:
    from vault.model.errors import VaultError
    from vault.model.golden import Golden, Waiver
    from vault.model.names import Address
    from vault.store.vault import Vault

USUAL_DAYS = 30
_MOST_DAYS = 36500
_MOST_KEPT = 8192
_READ: dict[str, Golden] = {}


@dataclass(frozen=True, slots=True)
class EndingWaiver:
    """A waiver of an axis; `ends` is the last moment at which it holds."""

    axis: Address
    waiver: Waiver
    ends: datetime
    has_ended: bool


def ending_waivers(
    vault: Vault, days: int = USUAL_DAYS, failures: list[VaultError] | None = None
) -> list[EndingWaiver]:
    """Waivers that end within some days, or have ended and still stand: the earliest end first.

    Only files of baselines at the tip are read, each once for as long as it is the same; those of
    retired axes are left out. One that cannot be read goes to `failures`.
    Raises WrongUsage for more than a hundred years.
    """
    if not 0 <= days <= _MOST_DAYS:
        raise WrongUsage(f"{days} days are no time to look ahead", hint=f"0 to {_MOST_DAYS}")
    moment = now()
    latest = moment + timedelta(days=days)
    found = []
    problems: list[VaultError] = [] if failures is None else failures
    for place, blob in vault.blobs_named("golden.yaml").items():
        axis = vault.names.named(place)
        if vault.names.retired(place) is not None:
            continue
        with told_apart(problems.append, str(axis)):
            for waiver in _golden(vault, blob).waivers:
                ends = parse_time(waiver.until)
                if ends <= latest:
                    found.append(EndingWaiver(axis, waiver, ends, not in_force(waiver, moment)))
    return sorted(found, key=lambda one: (one.ends, one.axis))


def _golden(vault: Vault, blob: str) -> Golden:
    if blob not in _READ:
        if len(_READ) >= _MOST_KEPT:
            _READ.clear()
        _READ[blob] = read_golden(vault.repository.blob(blob) or b"", "golden.yaml")
    return _READ[blob]
