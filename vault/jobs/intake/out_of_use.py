"""The guard against an export of an axis that somebody took out of use."""

from __future__ import annotations

from typing import TYPE_CHECKING

from vault.jobs.intake.objection import Objection
from vault.model.written_form import day_text

if TYPE_CHECKING:
    from vault.model.names import Address
    from vault.store.vault import Vault


def out_of_use(vault: Vault, address: Address) -> Objection | None:
    """Say since when an axis, or its whole machine, is retired, and the way back."""
    names = vault.names
    if (retired := names.retired(address)) is None:
        return None
    command, what = f"axis retire {address}", str(address)
    if names.machine_retired(address.machine) is not None:
        what = names.machine_name(address.machine)
        command = f"machine retire {what}"
    return Objection(
        "retired",
        f"{what} is retired since {day_text(retired.at)}: {retired.text}",
        hint=f"back in use: axisvault {command} --undo; or keep this one all the same: "
        "--even-so REASON",
    )
