"""Fourth stage: what speaks against taking an export in as it was said.

A verdict is plain content: whoever takes the export in enforces it, whoever previews it shows it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import TYPE_CHECKING

from vault.jobs.intake.name_clash import name_clash
from vault.jobs.intake.wrong_axis import Objection, wrong_axis
from vault.model.errors import Refused, WrongUsage
from vault.store.clock import now

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the guards say of an export.

    `clash` is why the axis cannot have its name, whatever anybody says; `objections` are what a
    reason overrides; `remarks` are what to know in any case.
    """

    clash: str | None
    objections: tuple[Objection, ...]
    remarks: tuple[str, ...]

    def enforce_name(self) -> None:
        """Raise WrongUsage where the axis cannot have its name."""
        if self.clash is not None:
            hint = "some of the systems that vaults are copied to take them for the same"
            raise WrongUsage(self.clash, hint=hint)

    def enforce(self, file: str, override_reason: str | None) -> None:
        """Raise WrongUsage as `enforce_name`, Refused where no reason overrides an objection."""
        self.enforce_name()
        if self.objections and not override_reason:
            hint = "if it is right, say why: --even-so REASON"
            raise Refused(self.objections[0].reason, file=file, hint=hint)


def guard(
    vault: Vault,
    address: Address,
    export: Export,
    taken_at: datetime,
    parameters_of: Callable[[Snapshot], bytes],
) -> Verdict:
    """Ask every guard about an export of an axis.

    `parameters_of` gives parameters.yaml of a snapshot. Raises Damaged for the vault.
    """
    objection = wrong_axis(vault, address, export, parameters_of)
    return Verdict(
        clash=name_clash(vault, address),
        objections=(objection,) if objection is not None else (),
        remarks=_of_the_future(taken_at),
    )


def _of_the_future(taken_at: datetime) -> tuple[str, ...]:
    if taken_at <= now() + timedelta(days=1):
        return ()
    return (f"taken-at {taken_at:%Y-%m-%d %H:%M} lies in the future",)
