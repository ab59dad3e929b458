"""What tests of hostile copies share; plant and people are invented."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import pytest

from vault.jobs.baseline.golden import approve
from vault.jobs.sync.incoming import ConsentNeeded
from vault.jobs.sync.sync import take as sync_take
from vault.model.names import Address
from vault.store.vault import Vault

BY = "Mira Okafor <mira@tileworks.example>"
YARA = "Yara Okonjel <yara@tileworks.example>"
MALLORY = "Mallo Ribeck <mallo@elsewhere.example>"
LIFT = Address("m1", "lift")
Take = Callable[..., Any]
Export = Callable[..., str]
SITE = "schema: axisvault/vault/1\nreads: 2\nsite: Tile works (invented)\n"
STRICT = SITE + "approval: {second_person: true, reason: true}\n"


def place(vault: Vault) -> str:
    return str(vault.repository.path)


def write(vault: Vault, path: str, text: str | None, by: str) -> None:
    """Write a file past every check, as whoever owns a copy can."""
    with vault.writing():
        if text is None:
            vault.write_files({}, "gone\n", by, removed=[path])
        else:
            vault.write_files({path: text.encode()}, "changed\n", by)


def refused(vault: Vault, other: Vault, *needs: str) -> ConsentNeeded:
    """The take is refused whole, for these reasons and no others."""
    tip = vault.tip
    with pytest.raises(ConsentNeeded) as caught:
        sync_take(vault, place(other), BY)
    vault.refresh()
    assert vault.tip == tip, "nothing came in"
    assert sorted({one.needs for one in caught.value.changes if one.needs}) == sorted(needs)
    return caught.value


def drifting(vault: Vault, take: Take, export_text: Export) -> tuple[str, ...]:
    """Have the axis drift, so that messages go out; gives what is remarked."""
    approve(vault, "m1/lift", YARA, "tried")
    taken = take(export_text("9"), "2026-03-05T08:00:00+00:00", into=vault)
    vault.refresh()
    warnings: tuple[str, ...] = taken.warnings
    return warnings
