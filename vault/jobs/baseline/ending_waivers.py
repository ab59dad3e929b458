"""Waivers of all axes that end soon, or have ended: what somebody has to renew or to mend."""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from vault.model.errors import VaultError, WrongUsage
from vault.model.internal_errors import told_apart
from vault.model.remembered import EACH_AXIS, Remembered
from vault.model.written_form import WrittenForm, form
from vault.store.clock import now, parse_time
from vault.store.files import layout
from vault.store.files.golden_text import read_golden

if TYPE_CHECKING:
    from collections.abc import Callable

    from vault.model.golden import Waiver
    from vault.model.names import Address
    from vault.store.vault import Vault

USUAL_DAYS = 30
_MOST_DAYS = 36500
_Given = tuple[tuple["Address", "Waiver", datetime], ...]
_GIVEN = Remembered[tuple[str, str, WrittenForm], _Given](32)
_READ = Remembered[tuple[str, WrittenForm], "tuple[tuple[Waiver, datetime], ...]"](EACH_AXIS)


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
    key = str(vault.repository.path), vault.tip, form()
    problems: list[VaultError] = []
    try:
        given = _GIVEN.of(key, lambda: _given(vault, _raise))
    except VaultError:  # not remembered: an object that is put right has the same id
        given = _given(vault, problems.append)
    if failures is not None:
        failures.extend(problems)
    found = [
        EndingWaiver(axis, waiver, ends, ends < moment)
        for axis, waiver, ends in given
        if ends <= latest
    ]
    return sorted(found, key=lambda one: (one.ends, one.axis))


def _raise(error: VaultError) -> None:
    raise error


def _given(vault: Vault, tell: Callable[[VaultError], None]) -> _Given:
    """Every waiver of an axis in use at the tip; `tell` is told of each that cannot be read."""
    found: list[tuple[Address, Waiver, datetime]] = []
    of_controllers = vault.blobs_named(f"{layout.CONTROLLER}/golden.yaml")
    files = {place.controller: blob for place, blob in of_controllers.items()}
    for place, blob in {**vault.blobs_named("golden.yaml"), **files}.items():
        axis = vault.names.named(place)
        if vault.names.retired(place) is not None:
            continue
        with told_apart(tell, str(axis)):
            found += ((axis, *waiver) for waiver in _waivers(vault, blob))
    return tuple(found)


def _waivers(vault: Vault, blob: str) -> tuple[tuple[Waiver, datetime], ...]:
    """The waivers of a file, each with its end by the zone of the site."""

    def read() -> tuple[tuple[Waiver, datetime], ...]:
        golden = read_golden(vault.repository.blob(blob) or b"", "golden.yaml")
        return tuple((waiver, parse_time(waiver.until)) for waiver in golden.waivers)

    return _READ.of((blob, form()), read)
