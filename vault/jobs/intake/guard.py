"""Fifth stage: what speaks against taking an export in as it was said.

A verdict is plain content: whoever takes the export in enforces it, whoever previews it shows it.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import TYPE_CHECKING

from vault.jobs.intake.cut_off import lost_end
from vault.jobs.intake.missing import missing_parameters
from vault.jobs.intake.name_clash import name_clash
from vault.jobs.intake.objection import Objection
from vault.jobs.intake.out_of_use import out_of_use
from vault.jobs.intake.side import wrong_side
from vault.jobs.intake.wrong_axis import wrong_axis
from vault.model.errors import Refused, WrongUsage
from vault.model.names import CASE_HINT

if TYPE_CHECKING:
    from vault.jobs.export.parameter_set import Export
    from vault.model.names import Address
    from vault.store.index.rows import Snapshot
    from vault.store.vault import Vault


@dataclass(frozen=True, slots=True)
class Proof:
    """That an export is to prove a restore, and what is `against` it, if anything."""

    against: Objection | str | None = None


@dataclass(frozen=True, slots=True)
class Verdict:
    """What the guards say of an export.

    `clash` is why the axis cannot have its name, whatever anybody says; `objections` are what a
    reason overrides, `remarks` what is told and nothing more.
    """

    clash: str | None
    objections: tuple[Objection, ...]
    remarks: tuple[str, ...] = ()

    def enforce_name(self) -> None:
        """Raise WrongUsage where the axis cannot have its name."""
        if self.clash is not None:
            raise WrongUsage(self.clash, hint=CASE_HINT)

    def enforce(self, file: str, override_reason: str | None) -> None:
        """Raise WrongUsage as `enforce_name`, Refused where no reason overrides an objection."""
        self.enforce_name()
        if self.objections and not override_reason:
            first, more = self.objections[0], self.objections[1:]
            reason = "; ".join([first.reason, *(other.reason for other in more)])
            problems = tuple(one for objection in self.objections for one in objection.problems)
            raise Refused(reason, file=file, hint=first.hint, problems=problems)


def guard(
    vault: Vault,
    address: Address,
    export: Export,
    parameters_of: Callable[[Snapshot], bytes],
    proof: Proof | None = None,
) -> Verdict:
    """Ask every guard about an export of an axis.

    `parameters_of` gives parameters.yaml of a snapshot. Where a restore is checked (`proof`), what
    is missing is a difference to tell and no reason to refuse. Raises Damaged for the vault.
    """
    found = tuple(_found(vault, address, export, parameters_of, proof))
    return Verdict(
        clash=name_clash(vault, address),
        objections=tuple(one for one in found if isinstance(one, Objection)),
        remarks=tuple(one for one in found if isinstance(one, str)),
    )


def _found(
    vault: Vault,
    address: Address,
    export: Export,
    parameters_of: Callable[[Snapshot], bytes],
    proof: Proof | None,
) -> Iterator[Objection | str]:
    if (retired := out_of_use(vault, address)) is not None:
        yield retired
    if (other := wrong_side(vault, address, export)) is not None:
        yield other
    if (foreign := wrong_axis(vault, address, export, parameters_of)) is not None:
        yield foreign
    if export.coverage.kind == "defaults_only":
        yield _DESCRIPTION
        return
    if proof is not None:
        if proof.against is not None:
            yield proof.against
        return
    missing = missing_parameters(vault, address, export, parameters_of)
    if (told := missing.objection or missing.remark) is not None:
        yield told
    if (cut := lost_end(vault, address, export, parameters_of)) is not None:
        yield cut


_DESCRIPTION = Objection(
    "description",
    "this describes what a drive has, and holds no drive's values: every value is a default",
    hint="it is good for names, ranges and defaults; take in an export with values, or keep it "
    "as what it is: --even-so REASON",
)
